//! How often the limits err: units of the run swept on the fixture by simulation.

use super::gate::Gate;
use super::measuring::Measuring;
use super::population::Population;
use rayon::prelude::*;

/// Sweeps other than those that the limits were laid by.
const AGAIN: u64 = 1 << 32;

/// Shares of all units, 0 to 1; the first four add up to 1 (JCGM 106:2012, clause 9: the global
/// risks of consumer and producer).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Risk {
    /// Within the limits and accepted.
    pub right_accept: f64,
    /// Outside the limits and rejected.
    pub right_reject: f64,
    /// Outside the limits but accepted.
    pub false_accept: f64,
    /// Within the limits but rejected.
    pub false_reject: f64,
    /// Accepted by its impedance although the design does not accept its response: what an
    /// impedance sweep does not show.
    pub unheard: f64,
    /// Accepted by the design but rejected here, as a share of those that the design accepts.
    pub good_rejected: f64,
}

impl Risk {
    /// Sweeps every unit of `population` once.
    pub fn of(gate: &Gate, population: &Population, measuring: &Measuring, seed: u64) -> Self {
        let verdict = |(k, unit): (usize, &super::population::Drawn)| {
            let sweep = AGAIN + k as u64;
            let read = measuring.impedance_read(&unit.ln_ohm, &gate.copper_share, seed, sweep);
            let conforms = gate.impedance.conforms(&unit.ln_ohm);
            (conforms, gate.impedance.outside(&read).is_empty(), unit.accepted)
        };
        let verdicts: Vec<(bool, bool, bool)> =
            population.units.par_iter().enumerate().map(verdict).collect();
        let all = verdicts.len().max(1) as f64;
        let share = |wanted: &dyn Fn(&(bool, bool, bool)) -> bool| {
            verdicts.iter().filter(|v| wanted(v)).count() as f64 / all
        };
        let good = share(&|v| v.2);
        Self {
            right_accept: share(&|v| v.0 && v.1),
            right_reject: share(&|v| !v.0 && !v.1),
            false_accept: share(&|v| !v.0 && v.1),
            false_reject: share(&|v| v.0 && !v.1),
            unheard: share(&|v| v.1 && !v.2),
            good_rejected: share(&|v| v.2 && !v.1) / good.max(f64::MIN_POSITIVE),
        }
    }
}
