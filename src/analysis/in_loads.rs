//! The drivers of a side in their acoustic loads: each by itself, or both in air that they share.

use super::acoustics::Acoustics;
use super::terminals::{Follows, Terminals};
use crate::design::{Mounted, Side, Way, Ways};
use crate::grid::{AcousticImpedance, Grid, Impedance, Sensitivity};
use crate::model::driver::DriverResponse;
use crate::model::measured;
use crate::model::shared_air::PairResponse;
use crate::signal::curve::CurveError;
use num_complex::Complex64;
use std::sync::Arc;

/// The drivers of a side in their loads.
pub(super) struct InLoads {
    /// Impedance with the other's terminals open, flow with them shorted.
    pub(super) drivers: Ways<DriverResponse>,
    /// Load that each driver's impedance shows, Pa·s/m³.
    loads: Ways<AcousticImpedance>,
    /// Voltage at one over current in the other.
    mutual: Option<Impedance>,
    /// How each cone answers the other driver.
    pub(super) follows: Option<Follows>,
}

impl InLoads {
    pub(super) fn of(side: &Side, acoustics: &Acoustics, grid: &Arc<Grid>) -> Self {
        let loads = &acoustics.load;
        let motors = side.drivers.map(|m| &m.driver);
        let Some(between) = &acoustics.between else {
            let drivers = Ways {
                woofer: motors.woofer.respond(grid, Some(&loads.woofer)),
                tweeter: motors.tweeter.respond(grid, Some(&loads.tweeter)),
            };
            return Self { drivers, loads: loads.clone(), mutual: None, follows: None };
        };
        let own = [&loads.woofer, &loads.tweeter];
        let pair = PairResponse::of([motors.woofer, motors.tweeter], own, between);
        Self {
            drivers: ways(pair.drivers),
            loads: ways(pair.open),
            mutual: Some(pair.mutual),
            follows: Some(Follows(ways(pair.follows))),
        }
    }

    /// The impedances, as measured where they were.
    pub(super) fn terminals(&self, side: &Side) -> Result<Terminals, CurveError> {
        let shown =
            |way: Way| impedance(side.drivers.of(way), self.drivers.of(way), self.loads.of(way));
        Ok(Terminals {
            woofer: shown(Way::Woofer)?,
            tweeter: shown(Way::Tweeter)?,
            mutual: self.mutual.clone(),
        })
    }

    /// Displacement of each cone per volt at its own terminals, m/V.
    pub(super) fn displacements(&self, side: &Side) -> Ways<Vec<f64>> {
        let of = |way: Way| {
            let flow = &self.drivers.of(way).flow;
            let sd_m2 = side.drivers.of(way).driver.motor.sd_m2;
            let pairs = flow.values().iter().zip(flow.grid().omega());
            pairs.map(|(u, w)| u.norm() / (sd_m2 * w)).collect()
        };
        Ways { woofer: of(Way::Woofer), tweeter: of(Way::Tweeter) }
    }

    /// Pressure per volt at each driver with the other's terminals shorted, from what is heard of
    /// each cone per volt at its own.
    pub(super) fn heard(&self, own: Ways<Sensitivity>) -> Ways<Sensitivity> {
        let Some(Follows(follows)) = &self.follows else { return own };
        let by = |way: Way, other: Way| {
            let carried = own.of(other).map_with(follows.of(other), |p, share| p * share);
            own.of(way).plus(&carried, 1.0)
        };
        Ways { woofer: by(Way::Woofer, Way::Tweeter), tweeter: by(Way::Tweeter, Way::Woofer) }
    }

    /// The converse: what is heard of each cone per volt at its own terminals, from the pressure
    /// `by_volts` per volt at each driver.
    pub(super) fn heard_alone(&self, by_volts: &Ways<Sensitivity>) -> Ways<Sensitivity> {
        let Some(Follows(follows)) = &self.follows else { return by_volts.clone() };
        let round = follows.woofer.then(&follows.tweeter);
        let of = |way: Way, other: Way| {
            let carried = by_volts.of(other).map_with(follows.of(other), |p, share| p * share);
            by_volts.of(way).plus(&carried, -1.0).map_with(&round, |p, round| p / (1.0 - round))
        };
        Ways { woofer: of(Way::Woofer, Way::Tweeter), tweeter: of(Way::Tweeter, Way::Woofer) }
    }
}

fn ways<T>([woofer, tweeter]: [T; 2]) -> Ways<T> {
    Ways { woofer, tweeter }
}

/// The driver's impedance: as measured where it was, else the model's.
fn impedance(
    mounted: &Mounted,
    response: &DriverResponse,
    load: &AcousticImpedance,
) -> Result<Impedance, CurveError> {
    let driver = &mounted.driver;
    let Some(curve) = &driver.measured.impedance else { return Ok(response.impedance.clone()) };
    let square = driver.motor.sd_m2.powi(2);
    let mechanical: Vec<Complex64> = load.values().iter().map(|za| za * square).collect();
    measured::impedance(curve, driver, &mechanical, &response.impedance)
}
