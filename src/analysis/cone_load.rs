//! What is behind a woofer as its cone feels it: one lump of air, or the wave field of the cavity;
//! between rigid walls, or with sheets that move.

use super::bay_walls;
use super::recent::Recent;
use crate::design::{Along, Cavity, Design, Models, Mounted, Panel, Side};
use crate::grid::{AcousticImpedance, Grid, Spectrum, Transfer};
use crate::model::air::Air;
use crate::model::closed_box::ClosedBox;
use crate::model::coupled_cavity::{Answer, CoupledCavity};
use crate::model::driver::{MassCondition, Motor, Size};
use crate::model::fill::Fill;
use crate::model::fluid::Foam;
use crate::model::sheet::{Sheet, SheetBox, Walls};
use crate::model::wave_cavity::{
    Coupling, MotorBody, Rear, RearSpace, WaveCavity, WaveField, WaveFill,
};
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
    /// One lump of air between sheets that move.
    LumpSheet {
        /// Air and sheets.
        sheet_box: SheetBox,
        /// The air.
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
    /// A wave field between sheets that move.
    WavesSheet {
        /// Field and sheets.
        coupled: Box<CoupledCavity>,
        /// The cone in it.
        rear: Rear,
    },
}

/// What is behind a cone, over a grid.
#[derive(Debug, Clone)]
pub struct Felt {
    /// Load on the cone, Pa·s/m³.
    pub load: AcousticImpedance,
    /// Share of the cone's flow that a far listener still counts: what leaks out near the cone is
    /// of opposite sign.
    pub net_flow: Transfer,
    /// Outward flow of each wall over the inward flow of the cone; `None` for a rigid one.
    pub walls: Walls<Option<Transfer>>,
}

/// All that the load depends on.
#[derive(PartialEq)]
struct Given {
    bay: Cavity,
    net_volume_m3: f64,
    place_m: [f64; 2],
    motor: Motor,
    size: Size,
    condition: MassCondition,
    panel: Panel,
    air: Air,
    models: Models,
}

static RECENT: Recent<Given, ConeLoad> = Recent::new(16);

impl ConeLoad {
    /// The load in the form that the design asks for.
    pub fn of(design: &Design, side: &Side) -> Arc<Self> {
        let side = &on_the_left(side);
        let (bay, woofer) = (side.bay(), &side.drivers.woofer);
        let given = Given {
            net_volume_m3: side.net_volume_m3(),
            place_m: in_cavity(&bay, woofer),
            bay,
            motor: woofer.driver.motor,
            size: woofer.driver.size,
            condition: woofer.driver.mass_condition,
            panel: design.panel,
            air: design.air,
            models: design.models,
        };
        RECENT.get(given, || Self::computed(design, side))
    }

    /// The same between rigid walls.
    pub fn behind_rigid_walls(design: &Design, side: &Side) -> Arc<Self> {
        let mut rigid = design.clone();
        rigid.models.sheets_move = Models::SIMPLE.sheets_move;
        Self::of(&rigid, side)
    }

    fn computed(design: &Design, side: &Side) -> Self {
        let sheets = bay_walls::sheets(design, side);
        if design.models.cavity_waves {
            Self::waves(side, &sheets, &design.air)
        } else {
            Self::lump(side, sheets, &design.air)
        }
    }

    fn lump(side: &Side, sheets: Walls<Option<Arc<Sheet>>>, air: &Air) -> Self {
        let closed_box = side.closed_box(air);
        if !sheets.any() {
            return Self::Lump { closed_box, air: *air };
        }
        let sheet_box = SheetBox { closed_box, sheets, air_loss_factor: 0.0 };
        Self::LumpSheet { sheet_box, air: *air }
    }

    fn waves(side: &Side, sheets: &Walls<Option<Arc<Sheet>>>, air: &Air) -> Self {
        let (field, rear) = rigid(side, air);
        if !sheets.any() {
            let own = field.own(&rear.disc);
            return Self::Waves { field, rear, own };
        }
        let sheets = sheets.as_ref().map(Option::as_deref);
        let coupled = Box::new(CoupledCavity::new(&field, sheets, &[rear.disc]));
        Self::WavesSheet { coupled, rear }
    }

    /// The load at `omega` (rad/s), Pa·s/m³.
    pub fn at(&self, omega: f64) -> Complex64 {
        match self {
            Self::Lump { closed_box, air } => closed_box.load(omega, air),
            Self::LumpSheet { sheet_box, air } => sheet_box.load(omega, air),
            Self::Waves { field, rear, own } => rear.load(omega, field.impedance_at(omega, own)),
            Self::WavesSheet { coupled, rear } => {
                // The one cone that was given is number 0.
                let answer = coupled.answer_at(omega, 0);
                rear.load(omega, answer.map_or_else(Complex64::default, |a| a.impedance))
            }
        }
    }

    /// Everything over a grid.
    pub fn on(&self, grid: &Arc<Grid>) -> Felt {
        match self {
            Self::Lump { closed_box, air } => Felt {
                load: Spectrum::from_fn(grid, |omega| self.at(omega)),
                net_flow: Spectrum::from_fn(grid, |omega| closed_box.net_flow(omega, air)),
                walls: Walls::default(),
            },
            Self::LumpSheet { sheet_box, air } => Felt {
                load: Spectrum::from_fn(grid, |omega| self.at(omega)),
                net_flow: Spectrum::from_fn(grid, |omega| 1.0 - sheet_box.leak_ratio(omega, air)),
                walls: Walls {
                    back: sheet_box.sheets.back.as_ref().map(|_| {
                        Spectrum::from_fn(grid, |omega| sheet_box.flow_ratio(omega, air).back)
                    }),
                    face: sheet_box.sheets.face.as_ref().map(|_| {
                        Spectrum::from_fn(grid, |omega| sheet_box.flow_ratio(omega, air).face)
                    }),
                },
            },
            Self::Waves { field, .. } => Felt {
                load: Spectrum::from_fn(grid, |omega| self.at(omega)),
                net_flow: Spectrum::from_fn(grid, |omega| field.cavity().net_flow(omega)),
                walls: Walls::default(),
            },
            Self::WavesSheet { coupled, rear } => with_sheets(coupled, rear, grid),
        }
    }
}

/// The side or its mirror image, which has the same load: that whose bay lies left of the middle.
fn on_the_left(side: &Side) -> Side {
    let mut side = side.clone();
    side.cavity.keep_out.clear();
    if side.bay().x_m > 0.0 {
        side.cavity.x_m = -side.cavity.x_m;
        side.drivers.woofer.x_m = -side.drivers.woofer.x_m;
        side.drivers.tweeter.x_m = -side.drivers.tweeter.x_m;
        let upright = side.cavity.ribs.iter_mut().filter(|rib| rib.along == Along::Height);
        upright.for_each(|rib| rib.at_m = -rib.at_m);
    }
    side
}

fn with_sheets(coupled: &CoupledCavity, rear: &Rear, grid: &Arc<Grid>) -> Felt {
    let answers: Vec<_> = grid.omega().map(|w| coupled.answer_at(w, 0)).collect();
    let of = |value: fn(&Answer) -> Complex64| -> Vec<Complex64> {
        answers.iter().map(|a| a.as_ref().map_or_else(Complex64::default, value)).collect()
    };
    let impedance = of(|a| a.impedance);
    let load = grid.omega().zip(impedance).map(|(w, z)| rear.load(w, z)).collect();
    let net_flow = of(|a| 1.0 - a.leak_ratio);
    let moves = coupled.moves();
    let ratio =
        |moves: bool, of_wall: Vec<Complex64>| moves.then(|| Spectrum::from_values(grid, of_wall));
    Felt {
        load: Spectrum::from_values(grid, load),
        net_flow: Spectrum::from_values(grid, net_flow),
        walls: Walls {
            back: ratio(moves.back, of(|a| a.flow_ratio.back)),
            face: ratio(moves.face, of(|a| a.flow_ratio.face)),
        },
    }
}

/// The cavity of a side between rigid walls, leak included, and the cone in it.
pub fn rigid(side: &Side, air: &Air) -> (WaveField, Rear) {
    let bay = side.bay();
    let woofer = &side.drivers.woofer;
    let motor = &woofer.driver.motor;
    let [x_m, y_m] = in_cavity(&bay, woofer);
    let mut rear = Rear::of(motor, woofer.driver.mass_condition, air, x_m, y_m);
    let mut tight = wave_cavity(side, &bay, air);
    rear.space = rear_space(side, air);
    // The air under the cone is part of the net volume, not of the field.
    tight.displaced_volume_m3 += rear.space.map_or(0.0, |space| space.volume_m3);
    let cavity = match bay.leak_ql {
        Some(ql) => tight.with_leak_ql(ql, motor, &rear),
        None => tight,
    };
    (WaveField::new(cavity, &[rear.disc], HIGHEST_HZ), rear)
}

/// The space under the woofer's cone, where its basket is known and the cavity has room for it.
fn rear_space(side: &Side, air: &Air) -> Option<RearSpace> {
    let woofer = &side.drivers.woofer;
    let size = &woofer.driver.size;
    let basket = size.basket?;
    let body = MotorBody {
        diameter_m: basket.motor_diameter_m,
        reach_m: size.mounting_depth_m,
        height_m: basket.motor_height_m,
    };
    let radius_m = woofer.driver.motor.radius_m();
    let space = RearSpace::around(&body, radius_m, basket.window_area_m2, air);
    (space.volume_m3 < 0.5 * side.net_volume_m3()).then_some(space)
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
