//! Measured curves as text: columns of frequency in Hz, magnitude, and phase in degrees where it
//! was measured. Further columns are left alone.
//!
//! Columns are parted by commas, semicolons, tabs or spaces, whichever most rows show. A decimal
//! comma is read where commas do not part columns (or stand in a quoted number), and refused where
//! it could be either. Lines that begin with `#`, `;`, `*`, `%`, `//` or `"` are comments (a quoted
//! number is not). Lines of words before the first row are a header: kept, and never taken to state
//! a unit, which only the caller knows.
//!
//! ```
//! use slabtone::input::curve_file::{self, MagnitudeUnit};
//!
//! let text = "* impedance, free air\nHz;Ohm;deg\n20;6,1;10,5\n40;8,3;35\n";
//! let read = curve_file::parse("z.txt", text, MagnitudeUnit::Ohm)?;
//! assert_eq!(read.curve.magnitude, [6.1, 8.3]);
//! assert_eq!((read.header[0].as_str(), read.decimal_comma), ("Hz;Ohm;deg", true));
//! # Ok::<(), slabtone::input::fault::InputError>(())
//! ```

mod layout;
mod number;
mod rows;
#[cfg(test)]
mod tests;

pub use layout::Separator;
pub(super) use number::{NotNumber, number, quoted};

use std::path::Path;

use super::fault::{Fault, InputError};
use super::files::Files;
use crate::signal::curve::Curve;

/// Faults after which reading stops.
pub(super) const MOST_FAULTS: usize = 1000;

/// Largest level and largest phase that are taken for one, dB and degrees.
const LARGEST_DB: f64 = 300.0;

/// Sound pressure at 0 dB, Pa.
const REFERENCE_PA: f64 = 20e-6;

/// What the magnitude column holds. The curve is linear in every case.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MagnitudeUnit {
    /// Ω.
    Ohm,
    /// dB re 20 µPa; becomes Pa.
    DbSpl,
    /// dB re 1; becomes a ratio.
    Db,
    /// Pa.
    Pascal,
    /// A ratio.
    Linear,
}

impl MagnitudeUnit {
    /// The linear value of a number in the column; `None` where it cannot be one.
    pub fn linear(self, value: f64) -> Option<f64> {
        let level = || (value.abs() <= LARGEST_DB).then(|| 10f64.powf(value / 20.0));
        match self {
            Self::DbSpl => level().map(|ratio| REFERENCE_PA * ratio),
            Self::Db => level(),
            Self::Ohm | Self::Pascal | Self::Linear => Some(value),
        }
        .filter(|linear| linear.is_finite() && *linear > 0.0)
    }

    fn expected(self) -> &'static str {
        match self {
            Self::Ohm => "an impedance above 0 ohm",
            Self::DbSpl => "a level from -300 to 300 dB re 20 uPa",
            Self::Db => "a level from -300 to 300 dB",
            Self::Pascal => "a pressure above 0 Pa",
            Self::Linear => "a ratio above 0",
        }
    }

    fn help(self) -> &'static str {
        match self {
            Self::DbSpl | Self::Db => "check that the column is in decibels",
            _ => "check that the column is not in decibels",
        }
    }
}

/// A curve, and how its file was understood.
#[derive(Debug, Clone, PartialEq)]
pub struct CurveFile {
    /// The curve; phase where every row has one.
    pub curve: Curve,
    /// What parts the columns.
    pub separator: Separator,
    /// Whether numbers had a decimal comma.
    pub decimal_comma: bool,
    /// The lines of words before the first row, as they stand.
    pub header: Vec<String>,
}

/// Reads a curve file.
///
/// # Errors
/// Everything wrong with the file.
pub fn load(files: &dyn Files, path: &Path, unit: MagnitudeUnit) -> Result<CurveFile, InputError> {
    parse(&path.display().to_string(), &files.read(path)?, unit)
}

/// Reads a curve from `text`; `file` is its name in messages.
///
/// # Errors
/// Everything wrong with the text, each fault at its line (reading stops at 1000): words and values
/// that are not finite among the numbers, frequencies that are not positive or do not rise,
/// magnitudes that `unit` does not allow, phase in some rows only, fewer than two rows, commas that
/// part columns or decimals.
pub fn parse(file: &str, text: &str, unit: MagnitudeUnit) -> Result<CurveFile, InputError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let refused = |faults| InputError::new(file, text, faults);
    let lines: Vec<_> = layout::lines(text).collect();
    let layout = layout::Layout::find(&lines).map_err(|fault| refused(vec![*fault]))?;
    let (header, body) = layout.header(&lines);
    if body.is_empty() {
        return Err(refused(vec![no_rows(text)]));
    }
    let rows = rows::Rows::read(&layout, body, unit);
    let header = header.iter().map(|line| line.text.to_owned()).collect();
    let decimal_comma = rows.decimal_comma();
    let columns = rows.finish().map_err(refused)?;
    let curve = Curve::new(columns.frequency_hz, columns.magnitude, columns.phase_deg)
        .map_err(|error| refused(vec![Fault::whole(error.to_string())]))?;
    Ok(CurveFile { curve, separator: layout.separator, decimal_comma, header })
}

fn no_rows(text: &str) -> Fault {
    let help = if text.contains('\r') && !text.contains('\n') {
        "end the lines with a line feed: save the file again as plain text"
    } else {
        "write one row a line: frequency in Hz, magnitude, and phase in degrees if there is one"
    };
    Fault::whole("no rows of numbers were found, expected at least 2").help(help)
}
