//! Both drivers of a side as their terminals show them: two impedances, and one between them where
//! they share air.

use crate::circuit::ladder::Polarity;
use crate::circuit::load::Load;
use crate::circuit::solve::SolveError;
use crate::design::{Way, Ways};
use crate::grid::{Grid, Impedance, Transfer};
use num_complex::Complex64;
use std::sync::Arc;

/// The impedance matrix of a side's drivers, Ω.
#[derive(Debug, Clone)]
pub struct Terminals {
    /// The woofer's, the tweeter's terminals open.
    pub woofer: Impedance,
    /// The tweeter's, the woofer's terminals open.
    pub tweeter: Impedance,
    /// Voltage at either driver's open terminals over the current into the other's first terminal;
    /// `None` where they share no air.
    pub mutual: Option<Impedance>,
}

impl Terminals {
    /// That of one driver, the other's terminals open.
    pub fn of(&self, way: Way) -> &Impedance {
        match way {
            Way::Woofer => &self.woofer,
            Way::Tweeter => &self.tweeter,
        }
    }

    /// The axis.
    pub fn grid(&self) -> &Arc<Grid> {
        self.woofer.grid()
    }

    /// With resistances (Ω) in series.
    #[must_use]
    pub fn with_added(&self, ohm: &Ways<f64>) -> Self {
        let add = |way: Way| self.of(way).map(|_, z| z + *ohm.of(way));
        Self { woofer: add(Way::Woofer), tweeter: add(Way::Tweeter), mutual: self.mutual.clone() }
    }

    /// With both impedances scaled; what is between them goes with the root of the product, so that
    /// the drivers stay passive.
    #[must_use]
    pub fn scaled(&self, factors: &Ways<f64>) -> Self {
        let mean = (factors.woofer * factors.tweeter).sqrt();
        Self {
            woofer: self.woofer.map(|_, z| z * factors.woofer),
            tweeter: self.tweeter.map(|_, z| z * factors.tweeter),
            mutual: self.mutual.as_ref().map(|m| m.map(|_, z| z * mean)),
        }
    }

    /// The same as a network's ports see it, the tweeter connected as `polarity` says.
    #[must_use]
    pub fn connected(&self, polarity: Polarity) -> Self {
        let turned = self.mutual.as_ref().map(|m| m.map(|_, z| z * polarity.sign()));
        Self { mutual: turned, ..self.clone() }
    }

    /// The load on a network's two ports.
    ///
    /// # Errors
    /// Impedances that have no inverse.
    pub fn load(&self) -> Result<Load, SolveError> {
        let grid = self.grid();
        let Some(mutual) = &self.mutual else {
            return Ok(Load::diagonal(grid, &[Some(&self.woofer), Some(&self.tweeter)]));
        };
        let own = self.woofer.values().iter().zip(self.tweeter.values());
        let matrices = own.zip(mutual.values());
        let matrices: Vec<Complex64> = matrices.flat_map(|((w, t), m)| [*w, *m, *m, *t]).collect();
        Load::coupled(grid, 2, &matrices)
            .map_err(|(f, _)| SolveError::Load { frequency_hz: grid.frequency_hz()[f] })
    }

    /// Currents into the ports with `voltage` across them, A per volt of the source.
    pub fn currents(&self, voltage: &Ways<Transfer>) -> Ways<Vec<Complex64>> {
        let into = |way: Way, other: Way| -> Vec<Complex64> {
            let own = voltage.of(way).values().iter().zip(self.of(way).values());
            let Some(mutual) = &self.mutual else { return own.map(|(v, z)| v / z).collect() };
            let others = voltage.of(other).values().iter().zip(self.of(other).values());
            let each = own.zip(others).zip(mutual.values());
            each.map(|(((v, z), (v_other, z_other)), m)| {
                (v - v_other * m / z_other) / (z - m * m / z_other)
            })
            .collect()
        };
        Ways { woofer: into(Way::Woofer, Way::Tweeter), tweeter: into(Way::Tweeter, Way::Woofer) }
    }
}

/// How the motion of each cone answers the other driver's voltage: its flow per volt there over
/// that per volt at its own terminals, those without a volt shorted.
#[derive(Debug, Clone)]
pub struct Follows(pub Ways<Transfer>);

impl Follows {
    /// Voltage at each driver's own terminals that would move its cone as both do, V per volt of
    /// the source; `voltage` is across the ports, the tweeter connected as `polarity` says.
    pub fn voltage(&self, voltage: &Ways<Transfer>, polarity: Polarity) -> Ways<Transfer> {
        let moving = |way: Way, other: Way| {
            let by_other = voltage.of(other).then(self.0.of(way));
            voltage.of(way).plus(&by_other, polarity.sign())
        };
        Ways {
            woofer: moving(Way::Woofer, Way::Tweeter),
            tweeter: moving(Way::Tweeter, Way::Woofer),
        }
    }
}
