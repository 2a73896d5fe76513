//! Drivers under an amplifier that clips: programme noise cut off at the supply.

use super::faced::clipping_v;
use crate::analysis::side::SideResponse;
use crate::analysis::terminals::Terminals;
use crate::design::{Design, Guard, Side, Way, Ways};
use crate::signal::clipping::ProgrammeNoise;
use std::f64::consts::SQRT_2;

/// Levels told: just fitting, and this far into clipping, dB.
pub const OVER_DB: [f64; 3] = [0.0, 6.0, 10.0];

/// The drivers at one level.
#[derive(Debug, Clone, PartialEq)]
pub struct Overdriven {
    /// Over the level at which the noise's peaks just fit, dB.
    pub over_db: f64,
    /// V²/Re of each driver, W.
    pub power_w: Ways<f64>,
    /// Current in the tweeter, A rms.
    pub tweeter_a: f64,
}

/// All levels of [`OVER_DB`] for `side` with the response `response` and `drivers` as connected behind it.
pub fn levels(
    design: &Design,
    side: &Side,
    response: &SideResponse,
    drivers: &Terminals,
    noise: &ProgrammeNoise,
) -> Vec<Overdriven> {
    let grid = response.impedance.grid();
    let currents = drivers.currents(&response.voltage);
    let peak_v = SQRT_2 * clipping_v(&design.amplifier);
    let level = |over_db: f64| {
        let square_v2: Vec<f64> =
            noise.clipped(over_db, grid).into_iter().map(|s| s * peak_v * peak_v).collect();
        let at_terminals = |way: Way| square_v2.iter().zip(response.voltage.of(way).values());
        let power_w = |way: Way| {
            let square: f64 = at_terminals(way).map(|(v2, h)| v2 * h.norm_sqr()).sum();
            square / side.drivers.of(way).driver.motor.re_ohm
        };
        let currents = square_v2.iter().zip(&currents.tweeter);
        let square_a: f64 = currents.map(|(v2, i)| v2 * i.norm_sqr()).sum();
        Overdriven {
            over_db,
            power_w: Ways { woofer: power_w(Way::Woofer), tweeter: power_w(Way::Tweeter) },
            tweeter_a: square_a.sqrt(),
        }
    };
    OVER_DB.into_iter().map(level).collect()
}

/// What the tweeter's resettable fuse does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fused {
    /// It carries the programme that just fits.
    pub holds: bool,
    /// It certainly trips before the tweeter gets more than its rated power, as long as the current
    /// flows: its trip current into Re is no more than that.
    pub saves: bool,
    /// The most current that the tweeter's rating allows, A rms.
    pub allowed_a: f64,
}

impl Fused {
    /// The fuse of `guard` with a tweeter of `rated_w` (W) and `re_ohm` (Ω) at these levels.
    pub fn of(guard: &Guard, rated_w: f64, re_ohm: f64, levels: &[Overdriven]) -> Option<Self> {
        let Guard::ResettableFuse { hold_a, trip_a, .. } = *guard else { return None };
        let allowed_a = (rated_w / re_ohm).sqrt();
        let fitting = levels.iter().find(|l| l.over_db == 0.0).map_or(0.0, |l| l.tweeter_a);
        Some(Self { holds: fitting <= hold_a, saves: trip_a <= allowed_a, allowed_a })
    }
}
