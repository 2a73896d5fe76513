//! The option line, and what it makes of a pair of numbers.

use num_complex::Complex64;

use crate::input::curve_file::{number, quoted};

/// Which network parameter a file holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Parameter {
    /// Reflection, S11.
    Scattering,
    /// Impedance, Z11.
    Impedance,
    /// Admittance, Y11.
    Admittance,
}

/// How two numbers make a complex one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Pair {
    RealImaginary,
    MagnitudeAngle,
    DecibelAngle,
}

/// What the option line states.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Options {
    pub hz_per_unit: f64,
    pub parameter: Parameter,
    pub pair: Pair,
    pub reference_ohm: f64,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            hz_per_unit: 1e9,
            parameter: Parameter::Scattering,
            pair: Pair::MagnitudeAngle,
            reference_ohm: 50.0,
        }
    }
}

impl Options {
    /// Reads what follows the `#`, in any order and any case.
    ///
    /// # Errors
    /// The first word that is not understood, in a sentence.
    pub(super) fn parse(line: &str) -> Result<Self, String> {
        let mut options = Self::default();
        let mut words = line.split_whitespace();
        while let Some(word) = words.next() {
            match word.to_ascii_uppercase().as_str() {
                "HZ" => options.hz_per_unit = 1.0,
                "KHZ" => options.hz_per_unit = 1e3,
                "MHZ" => options.hz_per_unit = 1e6,
                "GHZ" => options.hz_per_unit = 1e9,
                "S" => options.parameter = Parameter::Scattering,
                "Z" => options.parameter = Parameter::Impedance,
                "Y" => options.parameter = Parameter::Admittance,
                "RI" => options.pair = Pair::RealImaginary,
                "MA" => options.pair = Pair::MagnitudeAngle,
                "DB" => options.pair = Pair::DecibelAngle,
                "R" => options.reference_ohm = resistance(words.next().unwrap_or_default())?,
                "G" | "H" => {
                    return Err(format!("{word}-parameters are of two ports, expected one port"));
                }
                _ => {
                    let known = "Hz, kHz, MHz, GHz, S, Z, Y, RI, MA, DB or R with a resistance";
                    return Err(format!("found {}, expected {known}", quoted(word)));
                }
            }
        }
        Ok(options)
    }

    /// The complex number that two numbers of a row are; `None` for a negative magnitude.
    pub(super) fn value(&self, first: f64, second: f64) -> Option<Complex64> {
        let angle = second.to_radians();
        match self.pair {
            Pair::RealImaginary => Some(Complex64::new(first, second)),
            Pair::MagnitudeAngle => (first >= 0.0).then(|| Complex64::from_polar(first, angle)),
            Pair::DecibelAngle => Some(Complex64::from_polar(10f64.powf(first / 20.0), angle)),
        }
    }

    /// The impedance in ohms of a value of the file; may come out infinite or not a number.
    pub(super) fn impedance(&self, value: Complex64, normalised: bool) -> Complex64 {
        let r = if normalised { self.reference_ohm } else { 1.0 };
        match self.parameter {
            Parameter::Scattering => self.reference_ohm * (1.0 + value) / (1.0 - value),
            Parameter::Impedance => r * value,
            Parameter::Admittance => r / value,
        }
    }
}

/// A reference resistance in ohms.
///
/// # Errors
/// A sentence on what was found.
pub(super) fn resistance(text: &str) -> Result<f64, String> {
    let value = number(text, false).ok().filter(|value| *value > 0.0);
    let found = if text.is_empty() { "nothing".to_owned() } else { quoted(text) };
    value.ok_or_else(|| format!("found {found}, expected a reference resistance above 0 ohm"))
}
