//! Harmonics, from their own places in the impulse response of one sweep.
//!
//! The n-th harmonic of an exponential sweep is the sweep itself L ln n earlier, so division by
//! the reference puts its response at −L ln n (A. Farina, AES 108th Convention, Paris 2000). Its
//! transform at n f, over that of the linear response at f, is its share at the fundamental f.

use super::Heard;
use crate::signal::sweep::Sweep;
use crate::signal::window::Window;

/// Orders that are looked at.
pub const ORDERS: [u32; 4] = [2, 3, 4, 5];
/// A window shorter than this tells nothing, s.
const SHORTEST_S: f64 = 0.01;
/// Each magnitude is the root mean square over a Hann window reaching this part of an octave to
/// both sides.
pub const OCTAVE_FRACTION: f64 = 12.0;
/// Points an octave.
const PER_OCTAVE: f64 = 12.0;
/// Where the noise is looked at: so long after the arrival, s.
const QUIET_S: f64 = 0.5;

/// Shares of the harmonics; a harmonic beyond the sweep's last frequency is `None`.
#[derive(Debug, Clone, PartialEq)]
pub struct Distortion {
    /// Frequencies of the fundamental, Hz.
    pub frequency_hz: Vec<f64>,
    /// Per order of [`ORDERS`], amplitude over that of the fundamental.
    pub harmonics: Vec<Vec<Option<f64>>>,
    /// Root of the sum of squares of all harmonics found at a frequency.
    pub total: Vec<f64>,
    /// What the same window finds of noise where no harmonic is, over the fundamental, at 2f:
    /// harmonics near it are noise.
    pub floor: Vec<f64>,
}

/// Harmonics of the signal channel relative to its fundamental, from the first recording. `None`
/// where the sweep is too short to keep them apart.
pub fn measure(heard: &Heard, arrival_s: f64, sweep: &Sweep) -> Option<Distortion> {
    let highest_hz = sweep.to_hz * 2_f64.powf(-1.0 - 1.0 / OCTAVE_FRACTION);
    let count = ((highest_hz / sweep.from_hz).log2() * PER_OCTAVE).floor() as i32;
    let hz: Vec<f64> =
        (0..=count).map(|k| sweep.from_hz * 2_f64.powf(f64::from(k) / PER_OCTAVE)).collect();
    let size = |at_s: f64, order: u32, window: &Window| -> Vec<f64> {
        let there: Vec<f64> = hz.iter().map(|f| f * f64::from(order)).collect();
        let segment = heard.impulse.cut(at_s, window);
        segment.magnitude(&there, OCTAVE_FRACTION)
    };
    // Beyond, the window in frequency reaches over the end of the sweep.
    let last_hz = sweep.to_hz * 2_f64.powf(-1.0 / OCTAVE_FRACTION);
    let first = window_of(2, sweep)?;
    let linear = size(arrival_s, 1, &first);
    let share = |sizes: &[f64], order: u32| -> Vec<Option<f64>> {
        let one = |((f, h), l): ((&f64, &f64), &f64)| {
            (f * f64::from(order) <= last_hz && *l > 0.0).then(|| h / l)
        };
        hz.iter().zip(sizes).zip(&linear).map(one).collect()
    };
    let harmonic = |order: u32| match window_of(order, sweep) {
        Some(window) => share(&size(arrival_s - sweep.lead_s(order), order, &window), order),
        None => vec![None; hz.len()],
    };
    let harmonics: Vec<Vec<Option<f64>>> = ORDERS.iter().map(|n| harmonic(*n)).collect();
    let squares = |k: usize| harmonics.iter().filter_map(|h| h[k]).map(|v| v * v).sum::<f64>();
    let total = (0..hz.len()).map(|k| squares(k).sqrt()).collect();
    let quiet_s = arrival_s + QUIET_S + first.before_s;
    let floor = share(&size(quiet_s, 2, &first), 2).into_iter().map(|v| v.unwrap_or(0.0)).collect();
    Some(Distortion { frequency_hz: hz, harmonics, total, floor })
}

/// The window of a harmonic: a quarter of the way to the next higher one, which comes earlier, and
/// two thirds of the way to the next lower one.
fn window_of(order: u32, sweep: &Sweep) -> Option<Window> {
    let before_s = 0.25 * (sweep.lead_s(order + 1) - sweep.lead_s(order));
    let after_s = 0.66 * (sweep.lead_s(order) - sweep.lead_s(order - 1));
    let window = Window { before_s, rise_s: before_s / 2.0, after_s, fall_s: after_s / 3.0 };
    (window.length_s() > SHORTEST_S).then_some(window)
}

/// Harmonics at the measured frequency nearest to `hz`, as shares of the fundamental.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct At {
    /// Second harmonic.
    pub second: f64,
    /// Third harmonic.
    pub third: f64,
    /// Noise in the same window.
    pub floor: f64,
}

impl Distortion {
    /// Second and third harmonic near a frequency; `None` where the sweep does not cover both.
    pub fn near(&self, hz: f64) -> Option<At> {
        let apart = |k: &usize| (self.frequency_hz[*k] / hz).ln().abs();
        let nearest = (0..self.frequency_hz.len()).min_by(|a, b| apart(a).total_cmp(&apart(b)))?;
        let k = Some(nearest).filter(|k| apart(k) < 0.1)?;
        Some(At {
            second: self.harmonics[0][k]?,
            third: self.harmonics[1][k]?,
            floor: self.floor[k],
        })
    }
}
