//! How frequencies are split: slope or listed network, level, shaping, polarity.

use super::Ways;
use crate::circuit::ladder::Polarity;
use crate::circuit::network::Network;
use crate::circuit::slope::Slope;

/// Which resistance the textbook values are made for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LoadRule {
    /// Magnitude of each driver's free-air impedance at the crossover frequency.
    ImpedanceAtCrossover,
    /// Each driver's Re.
    CoilResistance,
}

/// How the tweeter's level is set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TweeterLevel {
    /// As it is.
    Untouched,
    /// Lowered to the woofer's sensitivity.
    Match,
    /// Lowered by this many dB (> 0).
    Lowered(f64),
}

/// What of a driver's impedance is made flat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Flatten {
    /// Nothing.
    #[default]
    Nothing,
    /// The rise by the voice coil: a Zobel.
    Coil,
    /// The resonance peak: a notch.
    Resonance,
    /// Both, by the exact dual with one shared resistor.
    Both,
}

/// Which end a shelf lowers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShelfKind {
    /// A resistor with a coil across it: treble down.
    TrebleCut,
    /// A resistor with a capacitor across it: bass down.
    BassCut,
}

/// A step in the response.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shelf {
    /// Which end is lowered.
    pub kind: ShelfKind,
    /// By how much, dB.
    pub db: f64,
    /// Where half of it is reached, Hz.
    pub at_hz: f64,
}

/// What stands between a filter and its driver, beside the pad.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Shaping {
    /// What is flattened.
    pub flatten: Flatten,
    /// A shelf, if any.
    pub shelf: Option<Shelf>,
}

/// Where the network comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum Topology {
    /// Textbook sections of a slope.
    Textbook {
        /// The slope.
        slope: Slope,
        /// What they are computed for.
        load: LoadRule,
        /// The tweeter's level.
        level: TweeterLevel,
        /// What stands between each filter and its driver.
        shaping: Ways<Shaping>,
    },
    /// A list of parts between nodes; its ports are the woofer and the tweeter, in this order.
    Listed(Network),
}

/// How the tweeter is connected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PolarityRule {
    /// Whichever adds up more around the crossover at the seats; the flatter of two that draw.
    Best,
    /// As told.
    Fixed(Polarity),
}

/// The crossover.
#[derive(Debug, Clone, PartialEq)]
pub struct Crossover {
    /// Crossover frequency (nominal for a listed network), Hz.
    pub at_hz: f64,
    /// Parts or a slope.
    pub topology: Topology,
    /// Polarity of the tweeter.
    pub polarity: PolarityRule,
    /// What stands in series with the tweeter to protect it.
    pub guard: Option<Guard>,
}

/// A part in series with the tweeter that protects it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Guard {
    /// A resistor.
    Resistor {
        /// Resistance, Ω.
        ohm: f64,
    },
    /// A resettable fuse (a resistor whose resistance leaps when it is hot), by its data.
    ResettableFuse {
        /// Resistance when cold, Ω.
        cold_ohm: f64,
        /// Current that it carries for ever, A.
        hold_a: f64,
        /// Current that certainly trips it, A.
        trip_a: f64,
    },
}

impl Guard {
    /// Reference name of the part.
    pub const REFERENCE: &'static str = "F1";

    /// Resistance while it does not act, Ω.
    pub fn ohm(&self) -> f64 {
        match *self {
            Self::Resistor { ohm } => ohm,
            Self::ResettableFuse { cold_ohm, .. } => cold_ohm,
        }
    }
}
