//! A comparison as a document, as CSV and as text.

use super::json::SCHEMA_VERSION;
use super::parts_doc::money;
use super::table::{Gives, lines, plain_table, right_align};
use crate::analysis::compare::Outcome;
use crate::analysis::finding::Severity;
use crate::analysis::side::SeatResponse;
use crate::units;
use serde::Serialize;

/// The document of `compare --json`.
#[derive(Debug, Clone, Serialize)]
pub struct CompareDoc {
    schema_version: u32,
    frequency_hz: Vec<f64>,
    variants: Vec<VariantDoc>,
}

#[derive(Debug, Clone, Serialize)]
struct VariantDoc {
    label: String,
    fit: bool,
    tweeter_polarity: &'static str,
    crossover_hz: f64,
    deviation_rms_db: f64,
    deviation_peak_db: f64,
    cancel_db: f64,
    lowest_impedance_ohm: f64,
    lowest_impedance_hz: f64,
    tweeter_travel_re_bw1_db: f64,
    tweeter_heat_re_bw1_db: f64,
    delay_bump_s: f64,
    seat_spread_db: f64,
    part_count: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    cost_per_panel: Option<f64>,
    /// At the first seat of the first side.
    sum_db: Vec<f64>,
    impedance_ohm: Vec<f64>,
}

impl CompareDoc {
    /// The document of some outcomes on one grid.
    pub fn new(outcomes: &[Outcome]) -> Self {
        let frequency_hz = outcomes.first().map(|o| o.study.grid.frequency_hz().to_vec());
        Self {
            schema_version: SCHEMA_VERSION,
            frequency_hz: frequency_hz.unwrap_or_default(),
            variants: outcomes.iter().map(variant).collect(),
        }
    }
}

fn variant(outcome: &Outcome) -> VariantDoc {
    let response = outcome.study.sides[0].response();
    VariantDoc {
        label: outcome.label.clone(),
        fit: !outcome.study.is_unfit(),
        tweeter_polarity: outcome.polarity.word(),
        crossover_hz: outcome.study.design.crossover.at_hz,
        deviation_rms_db: outcome.rms_db,
        deviation_peak_db: outcome.peak_db,
        cancel_db: outcome.cancel_db,
        lowest_impedance_ohm: outcome.lowest_ohm,
        lowest_impedance_hz: outcome.lowest_at_hz,
        tweeter_travel_re_bw1_db: outcome.tweeter_travel_db,
        tweeter_heat_re_bw1_db: outcome.tweeter_heat_db,
        delay_bump_s: outcome.delay_bump_s,
        seat_spread_db: outcome.spread_db,
        part_count: outcome.parts,
        cost_per_panel: outcome.cost,
        sum_db: response.seats.first().map(|s| SeatResponse::level_db(&s.sum)).unwrap_or_default(),
        impedance_ohm: response.impedance.magnitude(),
    }
}

/// `compare.csv` (RFC 4180), one row a variant.
///
/// # Errors
/// Writing to memory does not fail in practice; the error is passed on.
pub fn csv(outcomes: &[Outcome]) -> Result<String, csv::Error> {
    let mut writer =
        csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    writer.write_record([
        "variant",
        "fit",
        "tweeter_polarity",
        "crossover_hz",
        "deviation_rms_db",
        "deviation_peak_db",
        "cancel_db",
        "lowest_impedance_ohm",
        "lowest_impedance_hz",
        "tweeter_travel_re_bw1_db",
        "tweeter_heat_re_bw1_db",
        "delay_bump_ms",
        "seat_spread_db",
        "part_count",
        "cost_per_panel",
        "currency",
        "schema_version",
    ])?;
    for outcome in outcomes {
        writer.write_record(row(outcome))?;
    }
    let bytes = writer.into_inner().map_err(|e| csv::Error::from(e.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn row(outcome: &Outcome) -> [String; 17] {
    let document = variant(outcome);
    let fixed = |v: f64| format!("{v:.3}");
    let currency = outcome.cost.and(outcome.study.design.purchase.currency.clone());
    [
        document.label,
        document.fit.to_string(),
        document.tweeter_polarity.to_owned(),
        document.crossover_hz.to_string(),
        fixed(outcome.rms_db),
        fixed(outcome.peak_db),
        fixed(outcome.cancel_db),
        fixed(outcome.lowest_ohm),
        fixed(outcome.lowest_at_hz),
        fixed(outcome.tweeter_travel_db),
        fixed(outcome.tweeter_heat_db),
        fixed(outcome.delay_bump_s * 1e3),
        fixed(outcome.spread_db),
        outcome.parts.to_string(),
        outcome.cost.map_or(String::new(), money),
        currency.unwrap_or_default(),
        SCHEMA_VERSION.to_string(),
    ]
}

/// The table for people, in lines of `width` characters.
pub fn text(outcomes: &[Outcome], width: u16) -> String {
    let mut table = plain_table();
    let priced = outcomes.iter().any(|o| o.cost.is_some());
    let mut header = HEADER.to_vec();
    let currencies: Vec<&String> =
        outcomes.iter().filter_map(|o| o.study.design.purchase.currency.as_ref()).collect();
    let one = currencies.windows(2).all(|pair| pair[0] == pair[1]);
    if priced {
        header.push("cost");
    }
    table.set_header(header);
    for outcome in outcomes {
        let mut cells = cells(outcome);
        if priced {
            let own = outcome.study.design.purchase.currency.as_deref().unwrap_or_default();
            let unit = if one { String::new() } else { format!(" {own}") };
            cells.push(outcome.cost.map_or("?".into(), |c| format!("{}{unit}", money(c))));
        }
        table.add_row(cells);
    }
    for index in 1..12 {
        right_align(&mut table, index);
    }
    let cost = match currencies.first() {
        Some(currency) if priced && one => {
            format!("  cost: of a panel's crossover parts, {currency}\n")
        }
        _ => String::new(),
    };
    format!("{}\n{}{LEGEND}{cost}", lines(table, width, Gives::First), why_unfit(outcomes))
}

/// The first reason of each variant that is unfit.
fn why_unfit(outcomes: &[Outcome]) -> String {
    let reason = |o: &Outcome| {
        let first = o.study.findings.iter().find(|f| f.severity == Severity::Unfit)?;
        Some(format!("  {} is unfit: {}: {}\n", o.label, first.subject, first.text))
    };
    let reasons: String = outcomes.iter().filter_map(reason).collect();
    if reasons.is_empty() { reasons } else { reasons + "\n" }
}

const HEADER: [&str; 11] =
    ["", "rms", "worst", "cancel", "lowest", "at", "travel", "heat", "delay", "seats", "parts"];

const LEGEND: &str =
    "  rms, worst: deviation in dB over two octaves around the crossover, over all seats
  cancel: dB with one way turned round, at the seat where it is least; * tweeter reversed
  lowest, at: impedance at the amplifier's terminals
  travel, heat: the tweeter's at its resonance, dB relative to bw1
  delay: group-delay bump; seats: dB by which the seats differ; parts: of one side
";

fn cells(outcome: &Outcome) -> Vec<String> {
    use crate::circuit::ladder::Polarity;
    let mark = if outcome.polarity == Polarity::Inverted { "*" } else { "" };
    let fit = if outcome.study.is_unfit() { " (unfit)" } else { "" };
    vec![
        format!("{}{mark}{fit}", outcome.label),
        format!("{:.1}", outcome.rms_db),
        format!("{:.1}", outcome.peak_db),
        format!("{:.0}", outcome.cancel_db),
        units::ohms(outcome.lowest_ohm),
        units::hertz(outcome.lowest_at_hz),
        format!("{:+.0}", outcome.tweeter_travel_db),
        format!("{:+.0}", outcome.tweeter_heat_db),
        format!("{:.2} ms", outcome.delay_bump_s * 1e3),
        format!("{:.1}", outcome.spread_db),
        outcome.parts.to_string(),
    ]
}
