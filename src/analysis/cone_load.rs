//! The air behind a woofer as its cone feels it: one lump, or the wave field of the cavity.

use super::recent::Recent;
use crate::design::{Cavity, Design, Models, Mounted, Panel, Side};
use crate::grid::{AcousticImpedance, Grid, Spectrum, Transfer};
use crate::model::air::Air;
use crate::model::closed_box::ClosedBox;
use crate::model::driver::{MassCondition, Motor};
use crate::model::fill::Fill;
use crate::model::fluid::Foam;
use crate::model::wave_cavity::{Coupling, Rear, WaveCavity, WaveField, WaveFill};
use num_complex::Complex64;
use std::sync::Arc;

/// Highest frequency that is computed, Hz.
const HIGHEST_HZ: f64 = 20_000.0;

/// The load on a woofer's cone beyond what its Mms holds.
#[derive(Debug, Clone)]
pub enum ConeLoad {
    /// One lump of air.
    Lump {
        /// The box.
        closed_box: ClosedBox,
        /// The air in it.
        air: Air,
    },
    /// A wave field between rigid walls.
    Waves {
        /// The field.
        field: WaveField,
        /// The cone in it.
        rear: Rear,
        /// How the cone couples to the field.
        own: Coupling,
    },
}

/// All that the load depends on.
#[derive(PartialEq)]
struct Given {
    bay: Cavity,
    net_volume_m3: f64,
    place_m: [f64; 2],
    motor: Motor,
    condition: MassCondition,
    panel: Panel,
    air: Air,
    models: Models,
}

static RECENT: Recent<Given, ConeLoad> = Recent::new(16);

impl ConeLoad {
    /// The load in the form that the design asks for.
    pub fn of(design: &Design, side: &Side) -> Arc<Self> {
        let (bay, woofer) = (side.bay(), &side.drivers.woofer);
        let given = Given {
            net_volume_m3: side.net_volume_m3(),
            place_m: in_cavity(&bay, woofer),
            bay,
            motor: woofer.driver.motor,
            condition: woofer.driver.mass_condition,
            panel: design.panel,
            air: design.air,
            models: design.models,
        };
        RECENT.get(given, || Self::computed(design, side))
    }

    fn computed(design: &Design, side: &Side) -> Self {
        if design.models.cavity_waves {
            Self::waves(side, &design.air)
        } else {
            Self::Lump { closed_box: side.closed_box(&design.air), air: design.air }
        }
    }

    fn waves(side: &Side, air: &Air) -> Self {
        let bay = side.bay();
        let woofer = &side.drivers.woofer;
        let motor = &woofer.driver.motor;
        let [x_m, y_m] = in_cavity(&bay, woofer);
        let rear = Rear::of(motor, woofer.driver.mass_condition, air, x_m, y_m);
        let tight = wave_cavity(side, &bay, air);
        let cavity = match bay.leak_ql {
            Some(ql) => tight.with_leak_ql(ql, motor, &rear),
            None => tight,
        };
        let field = WaveField::new(cavity, &[rear.disc], HIGHEST_HZ);
        let own = field.own(&rear.disc);
        Self::Waves { field, rear, own }
    }

    /// The load at `omega` (rad/s), Pa·s/m³.
    pub fn at(&self, omega: f64) -> Complex64 {
        match self {
            Self::Lump { closed_box, air } => closed_box.load(omega, air),
            Self::Waves { field, rear, own } => rear.load(omega, field.impedance_at(omega, own)),
        }
    }

    /// The load over a grid, Pa·s/m³.
    pub fn on(&self, grid: &Arc<Grid>) -> AcousticImpedance {
        Spectrum::from_fn(grid, |omega| self.at(omega))
    }

    /// Share of the cone's flow that a far listener still counts: what leaks out near the cone is
    /// of opposite sign.
    pub fn net_flow_on(&self, grid: &Arc<Grid>) -> Transfer {
        Spectrum::from_fn(grid, |omega| match self {
            Self::Lump { closed_box, air } => closed_box.net_flow(omega, air),
            Self::Waves { field, .. } => field.cavity().net_flow(omega),
        })
    }
}

/// The middle of a driver from the corner of a cavity, m.
pub fn in_cavity(bay: &Cavity, mounted: &Mounted) -> [f64; 2] {
    [mounted.x_m - bay.x_m + 0.5 * bay.width_m, mounted.y_m - bay.y_m + 0.5 * bay.height_m]
}

/// The bay of a side as a wave field sees it, tight.
pub fn wave_cavity(side: &Side, bay: &Cavity, air: &Air) -> WaveCavity {
    let fill = match bay.fill {
        Fill::Empty => WaveFill::None,
        Fill::Factor(factor) => WaveFill::Softer { factor },
        Fill::Foam { fraction, flow_resistivity_pa_s_per_m2, .. } => WaveFill::Back {
            foam: Foam { flow_resistivity_pa_s_per_m2 },
            thickness_m: fraction * bay.depth_m,
        },
    };
    WaveCavity {
        displaced_volume_m3: bay.gross_volume_m3() - side.net_volume_m3(),
        fill,
        ..WaveCavity::bare([bay.width_m, bay.height_m, bay.depth_m], *air)
    }
}
