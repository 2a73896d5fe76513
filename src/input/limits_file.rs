//! Limits for the factory as a table: what `limits` writes, and anything with the same columns.

use super::fault::{Fault, InputError};
use super::files::Files;
use std::path::Path;

/// Columns that must be there, in any order; others are left alone.
pub const COLUMNS: [&str; 5] = [
    "frequency_hz",
    "impedance_low_ohm",
    "impedance_high_ohm",
    "response_low_db",
    "response_high_db",
];

/// Limits of acceptance over frequency.
#[derive(Debug, Clone, PartialEq)]
pub struct LimitTable {
    /// Rising, Hz.
    pub frequency_hz: Vec<f64>,
    /// Low and high, Ω.
    pub impedance_ohm: Vec<(f64, f64)>,
    /// Low and high, dB re 20 µPa.
    pub response_db: Vec<(f64, f64)>,
}

/// Reads a table of limits.
///
/// # Errors
/// Everything wrong with the file.
pub fn load(files: &dyn Files, path: &Path) -> Result<LimitTable, InputError> {
    parse(&path.display().to_string(), &files.read(path)?)
}

/// Reads a table of limits from `text`; `file` is its name in messages.
///
/// # Errors
/// A missing column, cells that are no numbers, frequencies that do not rise, limits that cross, or
/// fewer than two rows, each at its line.
pub fn parse(file: &str, text: &str) -> Result<LimitTable, InputError> {
    let mut faults = Vec::new();
    let mut table =
        LimitTable { frequency_hz: Vec::new(), impedance_ohm: Vec::new(), response_db: Vec::new() };
    let mut places: Option<[usize; 5]> = None;
    let mut from = 0;
    for line in text.split_inclusive('\n') {
        let span = from..from + line.trim_end().len();
        from += line.len();
        let cells: Vec<&str> = line.trim().split(',').map(|c| c.trim().trim_matches('"')).collect();
        if line.trim().is_empty() || line.starts_with('#') {
            continue;
        }
        match &places {
            None => match header(&cells) {
                Ok(found) => places = Some(found),
                Err(message) => {
                    faults.push(
                        Fault::at(span, message).help("take the limits.csv that `limits` writes"),
                    );
                    break;
                }
            },
            Some(places) => {
                if let Err(message) = row(&cells, places, &mut table) {
                    faults.push(Fault::at(span, message));
                }
            }
        }
    }
    if faults.is_empty() && table.frequency_hz.len() < 2 {
        faults.push(Fault::whole("limits need at least two rows"));
    }
    if faults.is_empty() { Ok(table) } else { Err(InputError::new(file, text, faults)) }
}

fn header(cells: &[&str]) -> Result<[usize; 5], String> {
    let mut places = [0; 5];
    for (place, name) in places.iter_mut().zip(COLUMNS) {
        let found = cells.iter().position(|c| *c == name);
        *place = found.ok_or_else(|| format!("the column `{name}` is missing"))?;
    }
    Ok(places)
}

fn row(cells: &[&str], places: &[usize; 5], table: &mut LimitTable) -> Result<(), String> {
    let mut values = [0.0; 5];
    for ((value, place), name) in values.iter_mut().zip(places).zip(COLUMNS) {
        let cell = cells.get(*place).copied().unwrap_or_default();
        let number = cell.parse::<f64>().ok().filter(|v| v.is_finite());
        *value = number.ok_or_else(|| format!("`{name}` is `{cell}`, expected a number"))?;
    }
    let [hz, low_ohm, high_ohm, low_db, high_db] = values;
    if hz <= table.frequency_hz.last().copied().unwrap_or(0.0) {
        return Err(format!("the frequency {hz} Hz does not rise"));
    }
    if !(0.0 < low_ohm && low_ohm < high_ohm && low_db < high_db) {
        return Err("a lower limit is not below its upper one".into());
    }
    table.frequency_hz.push(hz);
    table.impedance_ohm.push((low_ohm, high_ohm));
    table.response_db.push((low_db, high_db));
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEAD: &str =
        "frequency_hz,impedance_low_ohm,impedance_high_ohm,response_low_db,response_high_db\r\n";

    #[test]
    fn limits_are_read_and_faults_are_at_their_lines() {
        let good = format!("# about\r\n{HEAD}20,5,6,60,70\r\n40,5,7,60,70\r\n");
        assert_eq!(parse("l.csv", &good).unwrap().impedance_ohm[1], (5.0, 7.0));
        let bad = format!("{HEAD}20,5,6,60,70\r\n40,7,5,60,70\r\n40,x,7,60,70\r\n");
        let error = parse("l.csv", &bad).unwrap_err();
        let lines: Vec<_> = error.faults.iter().map(|f| error.position(f).map(|p| p.0)).collect();
        assert_eq!(lines, [Some(3), Some(4)]);
        assert!(
            parse("l.csv", "frequency_hz,a\n").unwrap_err().to_string().contains("impedance_low")
        );
        assert!(parse("l.csv", HEAD).is_err());
    }
}
