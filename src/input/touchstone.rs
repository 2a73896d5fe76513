//! Touchstone files of one port (`.s1p`), read as an impedance.
//!
//! IBIS Open Forum (EIA), *Touchstone File Format Specification*, version 1.1 (2002) and version
//! 2.0 (2009). Read here: the option line `# Hz|kHz|MHz|GHz S|Z|Y RI|MA|DB R n` with its defaults
//! GHz, S, MA, 50 Ω; comments from `!` on; three numbers a row; and of version 2 the keywords that
//! one port needs. **In version 1 the values of Z and Y are normalised to the reference
//! resistance** (z = Z/R, y = Y R), in version 2 they are in ohms and siemens; S is about R in both.
//!
//! ```
//! use slabtone::input::touchstone;
//!
//! let read = touchstone::parse("w.s1p", "# Hz Z RI R 8\n20 0.75 0.1 ! 6.0 + j0.8 ohm\n40 1 0\n")?;
//! assert!((read.impedance.magnitude[0] - 6.0_f64.hypot(0.8)).abs() < 1e-12);
//! # Ok::<(), slabtone::input::fault::InputError>(())
//! ```

mod option_line;
mod reading;
#[cfg(test)]
mod tests;

pub use option_line::Parameter;

use num_complex::Complex64;
use std::path::Path;

use super::fault::InputError;
use super::files::Files;
use crate::signal::curve::Curve;

/// The impedance at one port, and how its file stated it.
#[derive(Debug, Clone, PartialEq)]
pub struct OnePort {
    /// The impedance, Ω, with phase.
    pub impedance: Curve,
    /// The impedance at 0 Hz, Ω, where the first row is that.
    pub at_dc_ohm: Option<Complex64>,
    /// What the file holds.
    pub parameter: Parameter,
    /// Reference resistance, Ω.
    pub reference_ohm: f64,
    /// Whether the values were multiplied or divided by the reference resistance, as version 1 has
    /// it for Z and Y. Programs are known to write ohms there: look at the level.
    pub normalised: bool,
}

/// Reads a Touchstone file of one port.
///
/// # Errors
/// Everything wrong with the file.
pub fn load(files: &dyn Files, path: &Path) -> Result<OnePort, InputError> {
    parse(&path.display().to_string(), &files.read(path)?)
}

/// Reads a Touchstone file of one port from `text`; `file` is its name in messages.
///
/// # Errors
/// Everything wrong with the text, each fault at its line: more than one port, an option line or
/// keyword that is not understood, numbers that are missing, not finite or too many, frequencies
/// that do not rise, an impedance of zero or infinity, fewer than two rows.
pub fn parse(file: &str, text: &str) -> Result<OnePort, InputError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    reading::read(text).map_err(|faults| InputError::new(file, text, faults))
}
