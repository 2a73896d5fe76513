//! Textbook crossover sections for a resistive load, and how the two of a slope meet.

use super::network::Component;
use super::prototype;
use super::slope::Slope;
use std::f64::consts::TAU;

/// Which half of the crossover.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pass {
    /// Feeds the woofer.
    Low,
    /// Feeds the tweeter.
    High,
}

/// Whether an element stands in the way or across it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// In series with the signal.
    Series,
    /// Across the signal, to the return.
    Shunt,
}

/// One element of a section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Element {
    /// Series or shunt.
    pub place: Place,
    /// The part, without losses.
    pub component: Component,
}

/// What a section needs and was not given.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum LadderError {
    /// The crossover frequency is not a finite positive number.
    #[error("the crossover frequency must be positive and finite, found {0} Hz")]
    Frequency(f64),
    /// The load is not a finite positive resistance.
    #[error("the load must be a positive and finite resistance, found {0} Ω")]
    Load(f64),
}

/// The elements of one section, from the amplifier towards the driver.
///
/// Low-pass: L = g R/ωc, C = g/(ωc R) with the prototype's g. High-pass: s → 1/s turns each into
/// its opposite, C = 1/(g ωc R), L = R/(g ωc). Stiff source, load `load_ohm` (Ω), `at_hz` the
/// −3.01 dB (Butterworth) or −6.02 dB (Linkwitz-Riley) frequency.
///
/// # Errors
/// A frequency or load that is not positive and finite.
pub fn section(
    slope: Slope,
    pass: Pass,
    at_hz: f64,
    load_ohm: f64,
) -> Result<Vec<Element>, LadderError> {
    let usable = |v: f64| v.is_finite() && v > 0.0;
    if !usable(at_hz) {
        return Err(LadderError::Frequency(at_hz));
    }
    if !usable(load_ohm) {
        return Err(LadderError::Load(load_ohm));
    }
    let omega = TAU * at_hz;
    let inductor = |henry| Component::Inductor { henry, dcr_ohm: 0.0 };
    let capacitor = |farad| Component::Capacitor { farad, esr_ohm: 0.0 };
    let element = |(k, g): (usize, f64)| {
        let place = if k % 2 == 0 { Place::Series } else { Place::Shunt };
        let component = match (pass, place) {
            (Pass::Low, Place::Series) => inductor(g * load_ohm / omega),
            (Pass::Low, Place::Shunt) => capacitor(g / (omega * load_ohm)),
            (Pass::High, Place::Series) => capacitor(1.0 / (g * omega * load_ohm)),
            (Pass::High, Place::Shunt) => inductor(load_ohm / (g * omega)),
        };
        Element { place, component }
    };
    Ok(prototype::ladder(slope).into_iter().enumerate().map(element).collect())
}

/// Polarity of the tweeter against the woofer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Polarity {
    /// Both connected the same way.
    Normal,
    /// The tweeter reversed.
    Inverted,
}

impl Polarity {
    /// +1 or −1.
    pub fn sign(self) -> f64 {
        match self {
            Self::Normal => 1.0,
            Self::Inverted => -1.0,
        }
    }

    /// The other one.
    pub fn flipped(self) -> Self {
        match self {
            Self::Normal => Self::Inverted,
            Self::Inverted => Self::Normal,
        }
    }

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Normal => "normal",
            Self::Inverted => "inverted",
        }
    }
}

/// How the two ideal halves of a slope meet at the crossover frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meeting {
    /// Level of each half there, dB.
    pub each_db: f64,
    /// Level of the sum with normal polarity, dB (clamped for a null).
    pub normal_db: f64,
    /// Level of the sum with the tweeter inverted, dB (clamped for a null).
    pub inverted_db: f64,
}

impl Meeting {
    /// Computes it from the prototype's responses at s = j.
    pub fn of(slope: Slope) -> Self {
        let (low, high) = prototype::responses(slope, 1.0);
        // What cancels to rounding error is an exact null.
        let db = |v: f64| crate::grid::level_db(if v < 1e-12 { 0.0 } else { v }, 1.0);
        Self {
            each_db: db(low.norm()),
            normal_db: db((low + high).norm()),
            inverted_db: db((low - high).norm()),
        }
    }

    /// The polarity that sums higher; normal where both are equal.
    pub fn polarity(&self) -> Polarity {
        if self.inverted_db > self.normal_db + 1e-6 { Polarity::Inverted } else { Polarity::Normal }
    }

    /// Level of the sum with that polarity, dB.
    pub fn sum_db(&self) -> f64 {
        self.normal_db.max(self.inverted_db)
    }
}
