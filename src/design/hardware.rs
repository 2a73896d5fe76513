//! What an amplifier is built of, as far as its user knows: stage, filter, supply, cable, board.

use crate::circuit::cable;
use crate::circuit::output_filter::OutputFilter;

/// How the output stage takes its current from the supply.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Stage {
    /// It switches: what it takes is what it gives over its efficiency, 0 to 1.
    Switching {
        /// Power out over power in, without what it takes idle.
        efficiency: f64,
    },
    /// It conducts: the supply gives the load's current at the supply's voltage.
    Linear,
}

/// Where the board is that spreads the amplifier's heat.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BoardPlace {
    /// In the cavities, each side's share in its own.
    Cavity,
    /// In a place of its own.
    Outside,
}

/// The cable from the amplifier to a side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cable {
    /// Length one way, m.
    pub length_m: f64,
    /// Cross-section of a conductor, m².
    pub area_m2: f64,
}

impl Cable {
    /// Resistance there and back at 20 °C, Ω.
    pub fn ohm(&self) -> f64 {
        cable::loop_ohm(self.length_m, self.area_m2)
    }
}

/// What an amplifier is built of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hardware {
    /// Largest current of an output, A peak; `None`: none is stated.
    pub current_limit_a: Option<f64>,
    /// Two supplies around ground: a single-ended output rests at zero volts.
    pub split_supply: bool,
    /// Capacitor between a single-ended output and what it feeds, F.
    pub coupling_f: Option<f64>,
    /// Filter of each output.
    pub filter: Option<OutputFilter>,
    /// How the stage takes its current.
    pub stage: Stage,
    /// What the whole amplifier takes without a signal, W.
    pub idle_w: f64,
    /// Power of the adaptor that feeds it, W, where it is known.
    pub adaptor_w: Option<f64>,
    /// Cable to each side; its resistance is in the output's.
    pub cable: Option<Cable>,
    /// Copper of the board, m.
    pub copper_m: f64,
    /// How much warmer a trace may be than the board, K.
    pub trace_rise_k: f64,
    /// Where the board is.
    pub board: BoardPlace,
}

/// 85 % and a watt idle for a switching amplifier, 35 µm of copper and 20 K: common practice, no
/// source.
impl Default for Hardware {
    fn default() -> Self {
        Self {
            current_limit_a: None,
            split_supply: false,
            coupling_f: None,
            filter: None,
            stage: Stage::Switching { efficiency: 0.85 },
            idle_w: 1.0,
            adaptor_w: None,
            cable: None,
            copper_m: 35e-6,
            trace_rise_k: 20.0,
            board: BoardPlace::Cavity,
        }
    }
}
