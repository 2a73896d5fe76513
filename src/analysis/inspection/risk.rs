//! How often the limits err: units of the run swept on the fixture by simulation.

use super::gate::Gate;
use super::measuring::Measuring;
use super::population::Population;
use crate::analysis::chance::Chance;
use crate::analysis::spread::COPPER_PER_K;
use rayon::prelude::*;

/// Rows of chance for the fixture, apart from those of the units.
const FIXTURE: u64 = 1 << 40;

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

/// What a sweep of a unit reads: the logarithm of its magnitude with gain, leads, temperature and
/// noise of this sweep. `sweep` numbers the sweeps of a seed.
pub fn swept(
    gate: &Gate,
    ln_ohm: &[f64],
    measuring: &Measuring,
    seed: u64,
    sweep: u64,
) -> Vec<f64> {
    let chance = Chance::of(seed).row(FIXTURE + sweep);
    let gain = measuring.gain * chance.normal(0);
    let leads = measuring.leads_ohm * chance.normal(1);
    let warmth = COPPER_PER_K * measuring.temperature_k * chance.normal(2);
    let one = |(f, (ln, copper)): (usize, (&f64, &f64))| {
        let noise = measuring.noise * chance.normal(3 + f as u64);
        ln + gain + leads / ln.exp() + warmth * copper + noise
    };
    ln_ohm.iter().zip(&gate.copper_share).enumerate().map(one).collect()
}

impl Risk {
    /// Sweeps every unit of `population` once.
    pub fn of(gate: &Gate, population: &Population, measuring: &Measuring, seed: u64) -> Self {
        let verdict = |(k, unit): (usize, &super::population::Drawn)| {
            let read = swept(gate, &unit.ln_ohm, measuring, seed, k as u64);
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
