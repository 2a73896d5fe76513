//! Impedance from recordings of the voltages at both ends of a series resistor.

use super::one_port::Wiring;
use super::{ExtractError, Facts, Heard, TakeFault, mean};
use crate::grid::{Grid, Impedance, Spectrum};
use crate::signal::deconvolve::Impulse;
use crate::signal::sweep::Sweep;
use crate::signal::window::{Window, half_hann};
use num_complex::Complex64;
use std::sync::Arc;

/// Each point is the complex mean over a Hann window reaching this part of an octave to both sides.
pub const OCTAVE_FRACTION: f64 = 48.0;

/// An impedance as it was measured.
#[derive(Debug, Clone)]
pub struct MeasuredImpedance {
    /// The impedance at the terminals, Ω.
    pub impedance: Impedance,
    /// About each recording, those for correction left aside.
    pub facts: Vec<Facts>,
    /// Largest difference of one recording from the mean of all, dB; 0 for one.
    pub spread_db: f64,
    /// What the correction leaves, one phrase each.
    pub uncorrected: Vec<&'static str>,
}

/// Recordings with known terminations; all optional.
#[derive(Debug, Clone, Copy, Default)]
pub struct Terminations<'a> {
    /// Terminals joined.
    pub short: Option<&'a Heard>,
    /// Nothing at the terminals.
    pub open: Option<&'a Heard>,
    /// A resistor's value, Ω, and the recording with it.
    pub known: Option<(f64, &'a Heard)>,
}

/// The impedance on `grid`, which must lie within the sweep's band, from recordings whose
/// reference is the voltage before the resistor and whose signal is that behind it.
///
/// # Errors
/// There is more voltage behind the resistor than before it, or as much, or the takes contradict
/// one another.
pub fn measure(
    recordings: &[Heard],
    resistor_ohm: f64,
    terminations: Terminations<'_>,
    sweep: &Sweep,
    grid: &Arc<Grid>,
) -> Result<MeasuredImpedance, ExtractError> {
    let ratio = |heard: &Heard| ratio(&heard.impulse, sweep, grid.frequency_hz());
    let takes: Vec<Vec<Complex64>> = recordings.iter().map(ratio).collect();
    let (measured, spread_db) = mean(&takes);
    let refused = |fault| ExtractError {
        file: recordings.first().map_or_else(String::new, |r| r.facts.file.clone()),
        fault,
    };
    if median(measured.iter().map(|m| m.norm())) > 1.1 {
        return Err(refused(TakeFault::Swapped));
    }
    let wiring = Wiring {
        resistor_ohm,
        short: terminations.short.map(ratio),
        open: terminations.open.map(ratio),
        known: terminations.known.map(|(ohm, heard)| (ohm, ratio(heard))),
    };
    let values = wiring.impedance(&measured);
    let strange = |z: &Complex64| !(z.norm() > 1e-6 && z.norm() < 1e7);
    if let Some(at) = values.iter().position(strange) {
        let at_hz = grid.frequency_hz()[at];
        let alone = wiring.short.is_none() && wiring.open.is_none() && wiring.known.is_none();
        return Err(refused(match alone {
            true => TakeFault::NothingThere { at_hz },
            false => TakeFault::Contradiction { at_hz },
        }));
    }
    Ok(MeasuredImpedance {
        impedance: Spectrum::from_values(grid, values),
        facts: recordings.iter().map(|r| r.facts.clone()).collect(),
        spread_db,
        uncorrected: wiring.uncorrected(),
    })
}

/// Transfer from the first voltage to the second. The window ends half-way to the second harmonic;
/// below twice the sweep's first frequency, where there are no harmonics, it is longer, so that
/// the ringing at the band's end is kept whole.
fn ratio(impulse: &Impulse, sweep: &Sweep, hz: &[f64]) -> Vec<Complex64> {
    let lead_s = sweep.lead_s(2);
    let after =
        |before_s: f64| Window { before_s, rise_s: before_s / 2.0, after_s: 1.0, fall_s: 0.5 };
    let of = |window: Window| impulse.cut(0.0, &window).averaged(hz, OCTAVE_FRACTION);
    let (usual, long) = (of(after(lead_s / 2.0)), of(after(1.0)));
    let share = |hz: f64| half_hann((hz / sweep.from_hz).ln() - 1.4_f64.ln(), (1.8_f64 / 1.4).ln());
    let blend =
        |((hz, u), l): ((&f64, &Complex64), &Complex64)| u * share(*hz) + l * (1.0 - share(*hz));
    hz.iter().zip(&usual).zip(&long).map(blend).collect()
}

fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut all: Vec<f64> = values.collect();
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2).copied().unwrap_or(0.0)
}
