//! From a closer look at a side to the figures that show it.

use super::{cavity_figure, directions_figure, placement_figure, sheet_figure};
use crate::analysis::in_panel::InPanel;
use crate::analysis::placement;
use crate::analysis::study::Study;
use crate::design::{KeepOut, Rear, Sheet, Side};
use crate::grid::{Transfer, level_db};
use crate::model::driver::REFERENCE_PRESSURE_PA;
use crate::model::sheet::Walls;
use crate::picture::Figure;
use num_complex::Complex64;
use std::f64::consts::{FRAC_1_SQRT_2, TAU};

/// Corners of the polygon that stands for a disc.
const CORNERS: usize = 48;

/// `cavity.svg`, `sheet.svg`, `placement.svg` and `directions.svg` of a side.
pub fn all(study: &Study, side: &Side, look: &InPanel, names: &str) -> Vec<(&'static str, Figure)> {
    let subject = format!("{}, {names}", study.design.name);
    let mut figures = vec![("cavity.svg", cavity(study, side, look, &subject))];
    figures.extend(sheet(study, side, &subject).map(|figure| ("sheet.svg", figure)));
    figures.extend(placement(side, look, &subject).map(|figure| ("placement.svg", figure)));
    figures.push(("directions.svg", directions(look, subject)));
    figures
}

fn cavity(study: &Study, side: &Side, look: &InPanel, subject: &str) -> Figure {
    let study_side = study.sides.iter().find(|s| s.name == side.name);
    let load = study_side.map_or(Vec::new(), |s| s.cavity.load.magnitude());
    let bay = side.bay();
    let conditions = format!(
        "{subject}; {:.0} × {:.0} × {:.0} mm behind {}",
        1e3 * bay.width_m,
        1e3 * bay.height_m,
        1e3 * bay.depth_m,
        side.drivers.woofer.driver.name
    );
    let hz = study.grid.frequency_hz();
    cavity_figure::figure(&conditions, hz, &load, &look.lump.magnitude(), &look.change_db)
}

/// `None` where no wall moves. Levels are those of points that send into a half space, at
/// 1 m: what the flows would come to before the panel's edges.
fn sheet(study: &Study, side: &Side, subject: &str) -> Option<Figure> {
    let design = &study.design;
    let side_study = study.sides.iter().find(|s| s.name == side.name)?;
    let walls = side_study.cavity.walls.as_ref().map(Option::as_ref);
    let grid = walls.back.or(walls.face)?.grid();
    let woofer = &side.drivers.woofer.driver;
    // Excursion is peak at the rated voltage.
    let rms = FRAC_1_SQRT_2 * design.drive_v / design.amplifier.rated_v();
    let pressure = |omega: f64, travel_m: f64| {
        let flow = omega * travel_m * rms * woofer.motor.sd_m2;
        omega * design.air.rho_kg_per_m3 * flow / TAU
    };
    let level = |share: &dyn Fn(usize) -> f64| -> Vec<f64> {
        let points = grid.omega().zip(&side_study.excursion_m.woofer).enumerate();
        let one = |(i, (w, &x)): (usize, (f64, &f64))| {
            level_db(pressure(w, x) * share(i), REFERENCE_PRESSURE_PA)
        };
        points.map(one).collect()
    };
    let of = |sheet: &Sheet| format!("{:.1} mm {}", mm(sheet.thickness_m), sheet.material.word());
    let conditions = format!(
        "{subject}; back of {}, face of {}, {} V, 1 m",
        of(&design.panel.back),
        of(&design.panel.face),
        design.drive_v
    );
    let heard =
        Walls { back: walls.back.filter(|_| design.panel.rear == Rear::Room), face: walls.face };
    let at =
        |ratio: Option<&Transfer>, i: usize| ratio.map_or(Complex64::default(), |r| r.values()[i]);
    let net = level(&|i| (1.0 - at(heard.back, i) - at(heard.face, i)).norm());
    let of_wall = walls.map(|ratio| ratio.map(|r| level(&|i| r.values()[i].norm())));
    Some(sheet_figure::figure(&conditions, grid.frequency_hz(), level(&|_| 1.0), of_wall, net))
}

fn mm(metres: f64) -> f64 {
    1e3 * metres
}

/// `None` where the woofer fits nowhere in its cavity.
fn placement(side: &Side, look: &InPanel, subject: &str) -> Option<Figure> {
    let found = &look.placement;
    let best = found.best?;
    let bay = side.bay();
    let spot = |spot: &placement::Spot| placement_figure::Spot {
        x_mm: mm(spot.x_m),
        y_mm: mm(spot.y_m),
        ripple_db: spot.ripple.span_db(),
    };
    let (half_w, half_h) = (0.5 * bay.width_m, 0.5 * bay.height_m);
    let kept = bay.keep_out.iter().map(kept_free);
    let map = placement_figure::PlacementMap {
        subject: format!("{subject}, {}", side.drivers.woofer.driver.name),
        x_mm: found.x_m.iter().copied().map(mm).collect(),
        y_mm: found.y_m.iter().copied().map(mm).collect(),
        ripple_db: found.ripple_db.clone(),
        cavity_mm: [
            (mm(bay.x_m - half_w), mm(bay.y_m - half_h)),
            (mm(bay.x_m + half_w), mm(bay.y_m + half_h)),
        ],
        obstacles: std::iter::once(tweeter(side)).chain(kept).collect(),
        present: spot(&found.here),
        best: spot(&best),
    };
    Some(placement_figure::figure(&map))
}

fn tweeter(side: &Side) -> placement_figure::Obstacle {
    let tweeter = &side.drivers.tweeter;
    let radius = 0.5 * tweeter.driver.size.flange_m;
    let corner = |n: usize| {
        let (sin, cos) = (TAU * n as f64 / CORNERS as f64).sin_cos();
        (mm(tweeter.x_m + radius * cos), mm(tweeter.y_m + radius * sin))
    };
    placement_figure::Obstacle {
        name: "Tweeter".into(),
        outline_mm: (0..CORNERS).map(corner).collect(),
    }
}

fn kept_free(kept: &KeepOut) -> placement_figure::Obstacle {
    let [x0, y0] = kept.low_m.map(mm);
    let [x1, y1] = kept.high_m.map(mm);
    placement_figure::Obstacle {
        name: "Kept free".into(),
        outline_mm: vec![(x0, y0), (x1, y0), (x1, y1), (x0, y1)],
    }
}

fn directions(look: &InPanel, subject: String) -> Figure {
    let found = &look.directions;
    let plane = |rows: &[Vec<f64>], angle: fn(&crate::analysis::directions::SeatAngles) -> f64| {
        directions_figure::Plane {
            angle_deg: found.angle_deg.clone(),
            frequency_hz: found.frequency_hz.clone(),
            level_db: rows.concat(),
            seats: found
                .seats
                .iter()
                .map(|s| directions_figure::SeatAngle { name: s.name.clone(), angle_deg: angle(s) })
                .collect(),
        }
    };
    let zero = found.seats.first().map_or(String::new(), |s| format!("at {}", s.name));
    directions_figure::figure(&directions_figure::Directions {
        subject,
        zero,
        horizontal: plane(&found.across_db, |s| s.across_deg),
        vertical: plane(&found.up_db, |s| s.up_deg),
        index_hz: found.power.frequency_hz.clone(),
        index_db: found.power.index_db.clone(),
    })
}
