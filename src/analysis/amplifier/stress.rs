//! What every part of a network has to bear.

use crate::circuit::load::Load;
use crate::circuit::network::{Component, Network};
use crate::circuit::solve::{self, SolveError};
use crate::grid::{Grid, Impedance, Spectrum};
use num_complex::Complex64;
use std::f64::consts::{SQRT_2, TAU};
use std::sync::Arc;

/// Points of the fine axis: resonances of an unplugged network are narrow.
const FINE_POINTS: usize = 4801;

/// The largest of something, and where.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Largest {
    /// The value.
    pub value: f64,
    /// Frequency, Hz.
    pub at_hz: f64,
}

/// A network's lowest impedance and its parts' stress under a sine of one voltage at any frequency.
#[derive(Debug, Clone, PartialEq)]
pub struct Stress {
    /// Lowest impedance magnitude at the input, Ω.
    pub lowest: Largest,
    /// Voltage across each part, V peak.
    pub volts_peak: Vec<Largest>,
    /// Current in each part, A rms.
    pub amperes: Vec<Largest>,
    /// Power lost in each part under noise with these shares of its mean square, W.
    pub noise_w: Vec<f64>,
}

impl Stress {
    /// Of `network` with `load` under `sine_v` (V rms), and under noise of which each point of the
    /// grid stands for `noise_v2` (V²; may be empty).
    ///
    /// # Errors
    /// What the solver finds wrong with the network.
    pub fn of(
        network: &Network,
        grid: &Arc<Grid>,
        load: &Load,
        sine_v: f64,
        noise_v2: &[f64],
    ) -> Result<Self, SolveError> {
        let solution = solve::solve(network, grid, load)?;
        let impedance = solution.input_impedance();
        let (value, at_hz) =
            impedance.lowest(grid.start_hz(), grid.stop_hz()).unwrap_or((0.0, grid.start_hz()));
        let mut stress = Self {
            lowest: Largest { value, at_hz },
            volts_peak: Vec::new(),
            amperes: Vec::new(),
            noise_w: Vec::new(),
        };
        for part in &network.parts {
            let across = solution.between(part.nodes).magnitude();
            let through: Vec<f64> = across
                .iter()
                .zip(grid.omega())
                .map(|(v, w)| v / part.component.impedance(w).norm())
                .collect();
            let lost_ohm = match part.component {
                Component::Resistor { ohm } => ohm,
                other => other.loss_ohm(),
            };
            let square = through.iter().zip(noise_v2).map(|(i, v2)| i * i * v2).sum::<f64>();
            stress.volts_peak.push(largest(grid, &across, SQRT_2 * sine_v));
            stress.amperes.push(largest(grid, &through, sine_v));
            stress.noise_w.push(square * lost_ohm);
        }
        Ok(stress)
    }
}

fn largest(grid: &Grid, values: &[f64], times: f64) -> Largest {
    let most = (0..values.len()).max_by(|&a, &b| values[a].total_cmp(&values[b])).unwrap_or(0);
    Largest { value: times * values[most], at_hz: grid.frequency_hz()[most] }
}

/// `impedance` on a fine logarithmic axis over the same band, straight between its points.
///
/// # Errors
/// No axis over that band.
pub fn on_fine_axis(impedance: &Impedance) -> Result<Impedance, crate::grid::GridError> {
    let own = impedance.grid();
    let fine = Grid::log(own.start_hz(), own.stop_hz(), FINE_POINTS)?;
    let (hz, z) = (own.frequency_hz(), impedance.values());
    let at = |omega: f64| -> Complex64 {
        let f = omega / TAU;
        let next = hz.partition_point(|g| *g <= f).clamp(1, hz.len() - 1);
        let share = (f / hz[next - 1]).ln() / (hz[next] / hz[next - 1]).ln();
        z[next - 1] + (z[next] - z[next - 1]) * share
    };
    Ok(Spectrum::from_fn(&fine, at))
}
