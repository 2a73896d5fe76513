//! What a search for values sees of a side: its load and how loud each way is, at the seats and
//! all round.

use crate::analysis::side::SideModel;
use crate::analysis::study::StudyError;
use crate::circuit::ladder::Polarity;
use crate::circuit::load::Load;
use crate::design::{Design, Listener, Side, Ways};
use crate::grid::Grid;
use crate::model::place::Point;
use crate::signal::curve::CurveError;
use num_complex::Complex64;
use std::sync::Arc;

/// A side on the search's grid.
#[derive(Debug, Clone)]
pub struct View {
    /// Both drivers' impedances, the tweeter connected as the search has it.
    pub load: Load,
    /// The seats; shares add up to 1.
    pub seats: Vec<Heard>,
    /// Directions all over the front half space; shares add up to 1. Empty if not asked for.
    pub directions: Vec<Heard>,
}

/// A place and the pressure there per volt at each driver's terminals, Pa/V.
#[derive(Debug, Clone)]
pub struct Heard {
    /// Its share in averages.
    pub share: f64,
    /// Woofer and tweeter, one value a grid point.
    pub paths: Ways<Vec<Complex64>>,
}

impl View {
    /// The view of `side`, the tweeter connected as `polarity` says, with the directions for a power response if `all_round`.
    ///
    /// # Errors
    /// A measured curve that cannot be used, or drivers that cannot be told apart.
    pub fn new(
        design: &Design,
        side: &Side,
        grid: &Arc<Grid>,
        polarity: Polarity,
        all_round: bool,
    ) -> Result<Self, StudyError> {
        let model = SideModel::new(design, side, grid)?;
        let directions = if all_round { directions(design, side, grid)? } else { Vec::new() };
        let load = model.impedance.connected(polarity).load()?;
        Ok(Self { load, seats: heard(&model), directions })
    }
}

fn heard(model: &SideModel) -> Vec<Heard> {
    let total: f64 = model.seats().map(|(weight, _)| weight).sum();
    let one = |(weight, sensitivity): (f64, &Ways<crate::grid::Sensitivity>)| Heard {
        share: weight / total,
        paths: sensitivity.map(|s| s.values().to_vec()),
    };
    model.seats().map(one).collect()
}

/// Rings at 0, 30, 60 and 80 degrees off the side's axis, 3 m away, weighted by solid angle.
fn directions(design: &Design, side: &Side, grid: &Arc<Grid>) -> Result<Vec<Heard>, CurveError> {
    const DISTANCE_M: f64 = 3.0;
    // Middle of the ring, its inner and outer edge, degrees; number of places on it.
    const RINGS: [(f64, f64, f64, u32); 4] =
        [(0.0, 0.0, 15.0, 1), (30.0, 15.0, 45.0, 4), (60.0, 45.0, 70.0, 4), (80.0, 70.0, 90.0, 4)];
    let woofer = &side.drivers.woofer;
    let mut all = design.clone();
    all.listeners = RINGS
        .iter()
        .flat_map(|&(middle, inner, outer, places)| {
            let solid = inner.to_radians().cos() - outer.to_radians().cos();
            let (sin, cos) = middle.to_radians().sin_cos();
            (0..places).map(move |k| {
                let turn = f64::from(k) * std::f64::consts::FRAC_PI_2;
                let place = Point::new(
                    woofer.x_m + DISTANCE_M * sin * turn.cos(),
                    woofer.y_m + DISTANCE_M * sin * turn.sin(),
                    DISTANCE_M * cos,
                );
                let weight = solid / f64::from(places);
                Listener { name: String::new(), place, weight, spread_m: 0.0 }
            })
        })
        .collect();
    Ok(heard(&SideModel::new(&all, side, grid)?))
}
