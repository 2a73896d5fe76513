//! `curves.csv` (RFC 4180): every curve of a side, one row a frequency.

use super::json::SCHEMA_VERSION;
use crate::analysis::side::SeatResponse;
use crate::analysis::study::SideStudy;
use crate::grid::{Grid, Transfer};

/// The table of a side, with a header row; levels in dB re 20 µPa, phases in degrees.
///
/// # Errors
/// Writing to memory does not fail in practice; the error is passed on.
pub fn csv(side: &SideStudy, grid: &Grid) -> Result<String, csv::Error> {
    let columns = columns(side, grid);
    let mut writer =
        csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    let version = SCHEMA_VERSION.to_string();
    let header = columns.iter().map(|(name, _)| name.as_str());
    writer.write_record(header.chain(["schema_version"]))?;
    for row in 0..grid.len() {
        let cells = columns.iter().map(|(_, values)| number(values[row]));
        writer.write_record(cells.chain([version.clone()]))?;
    }
    let bytes = writer.into_inner().map_err(|e| csv::Error::from(e.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// Eight significant digits: more than any model is worth, and stable.
fn number(value: f64) -> String {
    let rounded: f64 = format!("{value:.7e}").parse().unwrap_or(value);
    rounded.to_string()
}

fn columns(side: &SideStudy, grid: &Grid) -> Vec<(String, Vec<f64>)> {
    let mut columns = vec![("frequency_hz".to_owned(), grid.frequency_hz().to_vec())];
    for seat in &side.response().seats {
        let excess = seat.excess(&seat.sum);
        let of = |what: &str| format!("{} {what}", seat.name);
        columns.extend([
            (of("sum_db"), SeatResponse::level_db(&seat.sum)),
            (of("sum_phase_deg"), seat.sum.phase_deg()),
            (of("sum_phase_excess_deg"), excess.phase_deg()),
            (of("sum_group_delay_excess_s"), excess.group_delay_s()),
            (of("woofer_db"), SeatResponse::level_db(&seat.woofer)),
            (of("tweeter_db"), SeatResponse::level_db(&seat.tweeter)),
            (of("inverted_db"), SeatResponse::level_db(&seat.inverted)),
        ]);
    }
    columns.push(("impedance_ohm".into(), side.response().impedance.magnitude()));
    columns.push(("impedance_phase_deg".into(), side.response().impedance.phase_deg()));
    let voltage = &side.response().voltage;
    columns.extend(transfer("woofer", &voltage.woofer));
    columns.extend(transfer("tweeter", &voltage.tweeter));
    columns.push(("woofer_excursion_m".into(), side.excursion_m.woofer.clone()));
    columns.push(("tweeter_excursion_m".into(), side.excursion_m.tweeter.clone()));
    columns
}

fn transfer(way: &str, transfer: &Transfer) -> [(String, Vec<f64>); 2] {
    [
        (format!("{way}_voltage_db"), transfer.level_db(1.0)),
        (format!("{way}_voltage_phase_deg"), transfer.phase_deg()),
    ]
}
