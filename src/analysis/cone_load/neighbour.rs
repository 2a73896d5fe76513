//! A tweeter with an open back in the woofer's air.

use super::{Both, Felt, Form, cone_in};
use crate::design::{Mounted, Side};
use crate::grid::{Grid, Spectrum};
use crate::model::air::Air;
use crate::model::closed_box::ClosedBox;
use crate::model::coupled_cavity::{Answer, CoupledCavity};
use crate::model::driver::Motor;
use crate::model::shared_air::AirMatrix;
use crate::model::wave_cavity::{Coupling, Rear, WaveField};
use num_complex::Complex64;
use std::sync::Arc;

/// The tweeter's cone, beside the woofer's.
#[derive(Debug, Clone)]
pub(super) struct Neighbour {
    motor: Motor,
    place: Place,
}

/// How both cones meet the air.
#[derive(Debug, Clone)]
enum Place {
    /// In one lump: the acoustic mass that moves with woofer and tweeter beyond what Mms holds,
    /// kg/m⁴.
    Lump([f64; 2]),
    /// In a wave field.
    Waves(Box<InWaves>),
}

/// Woofer and tweeter in a wave field.
#[derive(Debug, Clone)]
struct InWaves {
    field: WaveField,
    /// The field with its walls, where they move.
    coupled: Option<Arc<CoupledCavity>>,
    rears: [Rear; 2],
    own: [Coupling; 2],
    between: Coupling,
}

impl Neighbour {
    /// The tweeter of `side` in the air of `form`.
    pub(super) fn of(side: &Side, form: &Form, air: &Air) -> Self {
        let Mounted { driver, .. } = &side.drivers.tweeter;
        let lump = |woofer: &ClosedBox| {
            let tight = ClosedBox::tight(woofer.volume_m3, woofer.fill);
            let tweeter = tight.behind(&driver.motor, driver.mass_condition, air);
            Place::Lump([woofer, &tweeter].map(|lump| lump.rear_mass_kg_per_m4))
        };
        let waves = |field: &WaveField, coupled: Option<&Arc<CoupledCavity>>, woofer: &Rear| {
            let rears = [*woofer, cone_in(side, &side.drivers.tweeter, air)];
            Place::Waves(Box::new(InWaves {
                field: field.clone(),
                coupled: coupled.cloned(),
                own: rears.map(|rear| field.own(&rear.disc)),
                between: field.between(&rears[0].disc, &rears[1].disc),
                rears,
            }))
        };
        let place = match form {
            Form::Lump { closed_box, .. } => lump(closed_box),
            Form::LumpSheet { sheet_box, .. } => lump(&sheet_box.closed_box),
            Form::Waves { field, rear, .. } => waves(field, None, rear),
            Form::WavesSheet { coupled, rear } => waves(coupled.field(), Some(coupled), rear),
        };
        Self { motor: driver.motor, place }
    }

    /// The loads on woofer and tweeter in the air of `form` at `omega` (rad/s).
    pub(super) fn air(&self, omega: f64, form: &Form) -> AirMatrix {
        match &self.place {
            Place::Lump(mass_kg_per_m4) => {
                let mass = mass_kg_per_m4.map(|m| Complex64::new(0.0, omega * m));
                let between = form.at(omega) - mass[0];
                AirMatrix { own: mass.map(|m| between + m), between }
            }
            Place::Waves(waves) => waves.at(omega).0,
        }
    }

    /// The load on the woofer, whose tweeter follows with open terminals in `air` at `omega`
    /// (rad/s), Pa·s/m³.
    pub(super) fn followed(&self, omega: f64, air: &AirMatrix) -> Complex64 {
        let tweeter = self.motor.mechanical_impedance(omega, air.own[1]);
        air.followed(0, tweeter, self.motor.sd_m2)
    }

    /// Everything over a grid, in the air of `form`.
    pub(super) fn on(&self, grid: &Arc<Grid>, form: &Form) -> Both {
        let waves = match &self.place {
            Place::Lump(_) => None,
            Place::Waves(waves) => Some(waves),
        };
        let at = |omega: f64| match waves {
            None => (self.air(omega, form), None),
            Some(waves) => waves.at(omega),
        };
        let points: Vec<(AirMatrix, Option<[Answer; 2]>)> = grid.omega().map(at).collect();
        let of = |value: fn(&AirMatrix) -> Complex64| {
            Spectrum::from_values(grid, points.iter().map(|(air, _)| value(air)).collect())
        };
        let answers: Option<Vec<[Answer; 2]>> = points.iter().map(|(_, both)| *both).collect();
        let [woofer, tweeter] = match answers.zip(waves.and_then(|waves| waves.coupled.as_ref())) {
            Some((answers, coupled)) => [0, 1].map(|cone| {
                let own: Vec<Answer> = answers.iter().map(|both| both[cone]).collect();
                Felt::of(&own, coupled.moves(), grid)
            }),
            // Walls and leak follow any flow into a lump, or into the uniform wave, alike.
            None => {
                let felt = form.on(grid);
                [felt.clone(), felt]
            }
        };
        Both {
            woofer: Felt { load: of(|air| air.own[0]), ..woofer },
            tweeter: Some((Felt { load: of(|air| air.own[1]), ..tweeter }, of(|air| air.between))),
        }
    }
}

impl InWaves {
    /// The loads at `omega` (rad/s), and what each cone finds where walls move.
    fn at(&self, omega: f64) -> (AirMatrix, Option<[Answer; 2]>) {
        let [first, second] = &self.own;
        let [first, second, between] =
            self.field.impedances_at(omega, [first, second, &self.between]);
        let mut air = AirMatrix { own: [first, second], between };
        let answers = self.coupled.as_ref().and_then(|coupled| {
            let (both, given_way) = coupled.pair_at(omega, [0, 1])?;
            air.own = both.map(|answer| answer.impedance);
            air.between -= given_way;
            Some(both)
        });
        let [woofer, tweeter] = &self.rears;
        (air.felt(omega, [woofer, tweeter]), answers)
    }
}
