//! What the supply has to give, what becomes heat in the amplifier, and the fuse between.

use super::faced::Faced;
use crate::circuit::cable;
use crate::design::{Amplifier, Design, Stage};
use std::f64::consts::{PI, SQRT_2};

/// Share of the clipping power that stands for normal listening (IEC 62368-1, normal operating
/// conditions, from memory).
pub const NORMAL_SHARE: f64 = 1.0 / 8.0;
/// An adaptor is chosen for this much more than the programme takes (common practice, no source).
const RESERVE: f64 = 1.1;
/// A fuse carries this share of its rating for ever (common practice, no source).
const FUSE_SHARE: f64 = 0.75;
/// Adaptors as they are sold, W (common practice, no source).
const ADAPTORS_W: [f64; 16] = [
    12.0, 18.0, 24.0, 30.0, 36.0, 45.0, 60.0, 65.0, 75.0, 90.0, 120.0, 150.0, 180.0, 240.0, 320.0,
    480.0,
];

/// All sides at one level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Draw {
    /// Power into the loads, W.
    pub out_w: f64,
    /// Power from the supply, W.
    pub in_w: f64,
    /// Current from the supply, A, where its voltage is known.
    pub supply_a: Option<f64>,
}

impl Draw {
    /// What stays in the amplifier, W.
    pub fn heat_w(&self) -> f64 {
        (self.in_w - self.out_w).max(0.0)
    }
}

/// What feeds the amplifier.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Supply {
    /// A sine at clipping into all sides, at the frequency that takes most.
    pub sine: Draw,
    /// Programme noise whose peaks just fit, into all sides.
    pub programme: Draw,
    /// Programme of an eighth of the clipping power: normal listening.
    pub normal: Draw,
    /// Nothing played.
    pub idle: Draw,
    /// The adaptor to take, W; `None` beyond what is sold.
    pub adaptor_w: Option<f64>,
    /// The fuse to take, A, time-lag; `None` without a supply voltage or beyond 10 A.
    pub fuse_a: Option<f64>,
}

/// How a signal's mean rectified value goes with its rms.
#[derive(Debug, Clone, Copy)]
enum Signal {
    Sine,
    Noise,
}

impl Signal {
    /// Mean rectified over rms: 2√2/π of a sine, √(2/π) of Gaussian noise.
    fn rectified(self) -> f64 {
        match self {
            Self::Sine => 2.0 * SQRT_2 / PI,
            Self::Noise => (2.0 / PI).sqrt(),
        }
    }
}

impl Supply {
    /// For `sides` as the amplifier faces them.
    pub fn of(design: &Design, sides: &[&Faced]) -> Self {
        let amplifier = &design.amplifier;
        let sum = |of: &dyn Fn(&Faced) -> f64| sides.iter().map(|s| of(s)).sum::<f64>();
        let watts = |k: usize| sum(&|s: &Faced| s.power_w.get(k).copied().unwrap_or(0.0));
        let points = sides.first().map_or(0, |s| s.power_w.len());
        let most = (0..points).max_by(|&a, &b| watts(a).total_cmp(&watts(b))).unwrap_or(0);
        let sine_a = |s: &Faced| {
            // What the current limit lets through of the current that clipping would ask for.
            let held = s.limit_v.get(most).map_or(1.0, |v| v / s.clipping_v);
            held * s.current_a.get(most).copied().unwrap_or(0.0) / SQRT_2
        };
        let programme_w = sum(&|s| s.programme_w);
        let programme_a = sum(&|s| s.programme_a);
        // The noise that just fits has half the mean square of the sine at clipping.
        let quieter = (2.0 * NORMAL_SHARE).sqrt();
        let programme = draw(amplifier, Signal::Noise, programme_w, programme_a);
        let normal_w = programme_w * quieter * quieter;
        let needed_a = programme.supply_a.map(|a| a / FUSE_SHARE);
        let adaptor_w = ADAPTORS_W.into_iter().find(|w| *w >= RESERVE * programme.in_w);
        Self {
            sine: draw(amplifier, Signal::Sine, watts(most), sum(&sine_a)),
            normal: draw(amplifier, Signal::Noise, normal_w, programme_a * quieter),
            idle: draw(amplifier, Signal::Noise, 0.0, 0.0),
            programme,
            adaptor_w,
            fuse_a: needed_a.and_then(cable::fuse_a),
        }
    }
}

/// A switching stage takes its output over its efficiency. A linear one draws the rectified output
/// current, from the whole supply when bridged, in every other half wave when not (class B; any
/// textbook, from memory).
fn draw(amplifier: &Amplifier, signal: Signal, out_w: f64, out_a: f64) -> Draw {
    let hardware = &amplifier.hardware;
    let conducted = |supply_v: f64| {
        let mean_a = signal.rectified() * out_a;
        supply_v * if amplifier.bridged { mean_a } else { 0.5 * mean_a }
    };
    let driven_w = match (hardware.stage, amplifier.supply_v) {
        (Stage::Switching { efficiency }, _) => out_w / efficiency,
        (Stage::Linear, supply_v) => supply_v.map_or(out_w, conducted).max(out_w),
    };
    let in_w = hardware.idle_w + driven_w;
    Draw { out_w, in_w, supply_a: amplifier.supply_v.map(|v| in_w / v) }
}
