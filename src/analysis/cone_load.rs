//! What is behind a woofer as its cone feels it: one lump of air, or the wave field of the cavity;
//! between rigid walls, or with sheets that move.

mod neighbour;

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
    Coupling, Disc, MotorBody, Rear, RearSpace, WaveCavity, WaveField, WaveFill,
};
use neighbour::Neighbour;
use num_complex::Complex64;
use std::sync::Arc;

/// Highest frequency that is computed, Hz.
const HIGHEST_HZ: f64 = 20_000.0;

/// What is behind a woofer, and behind a tweeter whose back is open to the same air: the loads on
/// the cones beyond what their Mms hold.
#[derive(Debug, Clone)]
pub struct ConeLoad {
    form: Form,
    tweeter: Option<Neighbour>,
}

/// The load on a woofer's cone in the form that the design asks for.
#[derive(Debug, Clone)]
enum Form {
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
        coupled: Arc<CoupledCavity>,
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

/// What is behind both cones, over a grid.
#[derive(Debug, Clone)]
pub struct Both {
    /// Behind the woofer.
    pub woofer: Felt,
    /// Behind a tweeter that shares the woofer's air, and the pressure on either cone over the
    /// other's flow into the cavity, Pa·s/m³.
    pub tweeter: Option<(Felt, AcousticImpedance)>,
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
    tweeter: Option<([f64; 2], Motor, Size, MassCondition)>,
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
            tweeter: side.shares_air().then(|| {
                let Mounted { driver, .. } = &side.drivers.tweeter;
                let place_m = in_cavity(&side.bay(), &side.drivers.tweeter);
                (place_m, driver.motor, driver.size, driver.mass_condition)
            }),
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
        let form = if design.models.cavity_waves {
            Form::waves(side, &sheets, &design.air)
        } else {
            Form::lump(side, sheets, &design.air)
        };
        let tweeter = side.shares_air().then(|| Neighbour::of(side, &form, &design.air));
        Self { form, tweeter }
    }

    /// The load on the woofer's cone at `omega` (rad/s), Pa·s/m³; a tweeter in the same air follows
    /// with its terminals open, as behind the capacitor of its way.
    pub fn at(&self, omega: f64) -> Complex64 {
        match &self.tweeter {
            None => self.form.at(omega),
            Some(tweeter) => tweeter.followed(omega, &tweeter.air(omega, &self.form)),
        }
    }

    /// The load on the cone of a tweeter that shares the woofer's air, the woofer held, at `omega`
    /// (rad/s), Pa·s/m³.
    pub fn at_tweeter(&self, omega: f64) -> Option<Complex64> {
        self.tweeter.as_ref().map(|tweeter| tweeter.air(omega, &self.form).own[1])
    }

    /// Everything over a grid.
    pub fn on(&self, grid: &Arc<Grid>) -> Both {
        match &self.tweeter {
            None => Both { woofer: self.form.on(grid), tweeter: None },
            Some(tweeter) => tweeter.on(grid, &self.form),
        }
    }
}

impl Form {
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
        let coupled = Arc::new(CoupledCavity::new(&field, sheets, &discs(side, &rear, air)));
        Self::WavesSheet { coupled, rear }
    }

    /// The load on the woofer, alone in its air, at `omega` (rad/s), Pa·s/m³.
    fn at(&self, omega: f64) -> Complex64 {
        match self {
            Self::Lump { closed_box, air } => closed_box.load(omega, air),
            Self::LumpSheet { sheet_box, air } => sheet_box.load(omega, air),
            Self::Waves { field, rear, own } => rear.load(omega, field.impedance_at(omega, own)),
            Self::WavesSheet { coupled, rear } => {
                // The woofer is number 0 of the cones.
                let answer = coupled.answer_at(omega, 0);
                rear.load(omega, answer.map_or_else(Complex64::default, |a| a.impedance))
            }
        }
    }

    /// Behind the woofer, alone in its air, over a grid.
    fn on(&self, grid: &Arc<Grid>) -> Felt {
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
            Self::WavesSheet { coupled, rear } => {
                let answers: Vec<Answer> =
                    grid.omega().filter_map(|omega| coupled.answer_at(omega, 0)).collect();
                let felt = Felt::of(&answers, coupled.moves(), grid);
                Felt { load: felt.load.map(|omega, z| rear.load(omega, z)), ..felt }
            }
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

impl Felt {
    /// Between walls of which some move, from what a cone finds at each point of `grid`; the load is
    /// that on its disc.
    fn of(answers: &[Answer], moves: Walls<bool>, grid: &Arc<Grid>) -> Self {
        let of = |value: fn(&Answer) -> Complex64| answers.iter().map(value).collect();
        let ratio = |moves: bool, of_wall: fn(&Answer) -> Complex64| {
            moves.then(|| Spectrum::from_values(grid, of(of_wall)))
        };
        Self {
            load: Spectrum::from_values(grid, of(|a| a.impedance)),
            net_flow: Spectrum::from_values(grid, of(|a| 1.0 - a.leak_ratio)),
            walls: Walls {
                back: ratio(moves.back, |a| a.flow_ratio.back),
                face: ratio(moves.face, |a| a.flow_ratio.face),
            },
        }
    }
}

/// The cavity of a side between rigid walls, leak included, and the woofer's cone in it.
pub fn rigid(side: &Side, air: &Air) -> (WaveField, Rear) {
    let bay = side.bay();
    let woofer = &side.drivers.woofer;
    let rear = cone_in(side, woofer, air);
    let mut tight = wave_cavity(side, &bay, air);
    // The air under a cone is part of the net volume, not of the field.
    let space = |rear: &Rear| rear.space.map_or(0.0, |space| space.volume_m3);
    tight.displaced_volume_m3 += space(&rear);
    let second = side.shares_air().then(|| cone_in(side, &side.drivers.tweeter, air));
    tight.displaced_volume_m3 += second.as_ref().map_or(0.0, space);
    let cavity = match bay.leak_ql {
        Some(ql) => tight.with_leak_ql(ql, &woofer.driver.motor, &rear),
        None => tight,
    };
    (WaveField::new(cavity, &discs(side, &rear, air), HIGHEST_HZ), rear)
}

/// The discs in the field of a side: the woofer's, and the tweeter's where it shares the air.
fn discs(side: &Side, woofer: &Rear, air: &Air) -> Vec<Disc> {
    let tweeter = side.shares_air().then(|| cone_in(side, &side.drivers.tweeter, air).disc);
    std::iter::once(woofer.disc).chain(tweeter).collect()
}

/// The rear of a driver's cone at its place in the bay.
fn cone_in(side: &Side, mounted: &Mounted, air: &Air) -> Rear {
    let Mounted { driver, .. } = mounted;
    let [x_m, y_m] = in_cavity(&side.bay(), mounted);
    let mut rear = Rear::of(&driver.motor, driver.mass_condition, air, x_m, y_m);
    rear.space = rear_space(side, mounted, air);
    rear
}

/// The space under a cone, where its basket is known and the cavity has room for it.
fn rear_space(side: &Side, mounted: &Mounted, air: &Air) -> Option<RearSpace> {
    let size = &mounted.driver.size;
    let basket = size.basket?;
    let body = MotorBody {
        diameter_m: basket.motor_diameter_m,
        reach_m: size.mounting_depth_m,
        height_m: basket.motor_height_m,
    };
    let radius_m = mounted.driver.motor.radius_m();
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
