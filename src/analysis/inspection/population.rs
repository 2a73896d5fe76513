//! Units of the run as one side of them would be swept on a perfect fixture, and which of them the
//! design accepts.

use super::fault::Fault;
use super::parameters;
use super::twin::Twin;
use crate::analysis::deviation::Deviation;
use crate::analysis::spread::Spread;
use crate::circuit::solve::SolveError;
use crate::design::{About, Acceptance, Design};
use crate::grid::level_db;
use crate::model::driver::REFERENCE_PRESSURE_PA;
use rayon::prelude::*;

/// One unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// Logarithm of the impedance's magnitude, Ω.
    pub ln_ohm: Vec<f64>,
    /// Level at the first seat, dB re 20 µPa.
    pub level_db: Vec<f64>,
    /// Whether it keeps what the design asks of a unit.
    pub accepted: bool,
}

/// Units drawn, each out of a lot of its own, in their order.
#[derive(Debug, Clone, PartialEq)]
pub struct Population {
    /// The units.
    pub units: Vec<Drawn>,
}

impl Population {
    /// `draws` units of side `index` of `design` by `seed`: the same on any number of threads. A
    /// design without a window accepts all of them.
    ///
    /// # Errors
    /// A network that cannot be solved.
    pub fn drawn(
        design: &Design,
        spread: &Spread,
        twin: &Twin,
        index: usize,
        draws: u64,
        seed: u64,
    ) -> Result<Self, SolveError> {
        let acceptance = design.acceptance();
        let nominal = level(&twin.nominal(&Fault::None)?.ln_p);
        let one = |k: u64| -> Result<Drawn, SolveError> {
            let unit = spread.unit(&spread.lot(seed, k), seed, k);
            let answer = twin.answer(&Fault::None, &parameters::of_unit(&unit.sides[index]))?;
            let ln_ohm: Vec<f64> = answer.ln_z.iter().map(|z| z.re).collect();
            let level_db = level(&answer.ln_p);
            let keeps = |a: &Acceptance| keeps(a, twin, &ln_ohm, &level_db, &nominal);
            let accepted = acceptance.as_ref().is_none_or(keeps);
            Ok(Drawn { ln_ohm, level_db, accepted })
        };
        let units = (0..draws).into_par_iter().map(one).collect::<Result<_, _>>()?;
        Ok(Self { units })
    }

    /// Those that the design accepts.
    pub fn accepted(&self) -> impl Iterator<Item = &Drawn> {
        self.units.iter().filter(|u| u.accepted)
    }
}

fn level(ln_p: &[f64]) -> Vec<f64> {
    ln_p.iter().map(|p| level_db(p.exp(), REFERENCE_PRESSURE_PA)).collect()
}

/// Whether one side keeps what is asked of it; what pairs must keep is not asked here.
fn keeps(a: &Acceptance, twin: &Twin, ln_ohm: &[f64], level: &[f64], nominal: &[f64]) -> bool {
    let (from_hz, to_hz) = a.band_hz();
    let difference: Vec<f64> = level.iter().zip(nominal).map(|(l, n)| l - n).collect();
    let judged = match a.about {
        About::Flat => level,
        About::Design => &difference,
    };
    let mean = match a.about {
        About::Flat => Deviation::of(&twin.grid, level, from_hz, to_hz).map_or(0.0, |d| d.mean_db),
        About::Design => 0.0,
    };
    let hz = twin.grid.frequency_hz();
    let inside = twin.grid.within(from_hz, to_hz).all(|f| {
        let (above, below) = a.limits_at(hz[f]);
        (-below..=above).contains(&(judged[f] - mean))
    });
    let loud = a.level_db.is_none_or(|most| {
        let shift = Deviation::of(&twin.grid, &difference, from_hz, to_hz);
        shift.is_none_or(|d| d.mean_db.abs() <= most)
    });
    inside && loud && ln_ohm.iter().all(|ln| ln.exp() >= a.lowest_ohm)
}
