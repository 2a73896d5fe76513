//! What the edges of a design's panel do to the sound of one side: its drivers on the face, and the
//! sheets that move behind and around them.

use super::recent::Recent;
use crate::design::{Cavity, Design, Side, Way, Ways};
use crate::grid::{Grid, Spectrum, Transfer};
use crate::model::air::Air;
use crate::model::edges::listening::Listening;
use crate::model::edges::slab::Slab;
use crate::model::edges::{Disc, EdgeField, Patch};
use crate::model::piston::directivity;
use crate::model::place::Point;
use num_complex::Complex64;
use std::sync::Arc;

/// Below this a driver's directivity counts as this much: in its nulls the sheet, which hardly moves
/// there, would otherwise seem to be all there is.
const LEAST_DIRECTIVITY: f64 = 0.2;
/// Lowest frequency that may be asked for, Hz.
const LOWEST_HZ: f64 = 1.0;

/// The panel's edges round one side.
#[derive(Debug, Clone)]
pub struct PanelEdges {
    field: Arc<Option<EdgeField>>,
    /// The field is that of the side's mirror image.
    mirrored: bool,
    /// Middles of the drivers, mirrored where the field is, and their radii.
    drivers: Ways<Disc>,
    air: Air,
}

/// All that the field depends on: over wavenumber it is the same in any air, and sides that mirror
/// one another share it.
#[derive(PartialEq)]
struct Given {
    slab: Slab,
    drivers: Ways<Disc>,
    bay: Patch,
}

static RECENT: Recent<Given, Option<EdgeField>> = Recent::new(8);

impl PanelEdges {
    /// The edges round `side`; `None` where the design takes its panel as endless, or where a
    /// driver is not on the panel, which the fit tells.
    pub fn of(design: &Design, side: &Side) -> Option<Self> {
        if !design.models.panel_ends {
            return None;
        }
        let Cavity { x_m, y_m, width_m, height_m, .. } = side.bay();
        let slab = Slab {
            width_m: design.panel.width_m,
            height_m: design.panel.height_m,
            thickness_m: design.panel.thickness_m(side.cavity.depth_m),
        };
        let mirrored = side.drivers.woofer.x_m > 0.0;
        let sign = if mirrored { -1.0 } else { 1.0 };
        let drivers = side.drivers.map(|m| Disc {
            x_m: sign * m.x_m,
            y_m: m.y_m,
            radius_m: m.driver.motor.radius_m(),
        });
        let ends = |middle: f64, length: f64| [middle - 0.5 * length, middle + 0.5 * length];
        let bay = Patch { x_m: ends(sign * x_m, width_m), y_m: ends(y_m, height_m) };
        let field = RECENT.get(Given { slab, drivers, bay }, || {
            let range = Grid::log(LOWEST_HZ, 20_000.0, 2).ok()?;
            let (discs, any) = ([drivers.woofer, drivers.tweeter], Air::default());
            EdgeField::new(&slab, &discs, &[bay], &range, &any).ok()
        });
        field.is_some().then_some(Self { field, mirrored, drivers, air: design.air })
    }

    /// `place` as the field has it.
    fn in_field(&self, place: &Point) -> Point {
        if self.mirrored { Point { x_m: -place.x_m, ..*place } } else { *place }
    }

    /// What `place` hears.
    pub fn at(&self, place: &Point, grid: &Arc<Grid>) -> EdgesAt<'_> {
        let place = self.in_field(place);
        EdgesAt {
            listening: self.field.as_ref().as_ref().map(|field| field.at(&place)),
            k: grid.omega().map(|omega| omega / self.air.c_m_per_s).collect(),
            drivers: &self.drivers,
            grid: Arc::clone(grid),
            place,
        }
    }
}

/// The panel's edges as one place hears them.
pub struct EdgesAt<'a> {
    listening: Option<Listening<'a>>,
    k: Vec<f64>,
    drivers: &'a Ways<Disc>,
    grid: Arc<Grid>,
    place: Point,
}

impl EdgesAt<'_> {
    /// Pressure of each driver over that in an endless panel.
    pub fn drivers(&self) -> Ways<Transfer> {
        let of = |index: usize| {
            let values = match &self.listening {
                Some(listening) => listening.ratio(index, &self.k),
                None => vec![Complex64::new(1.0, 0.0); self.k.len()],
            };
            Spectrum::from_values(&self.grid, values)
        };
        Ways { woofer: of(0), tweeter: of(1) }
    }

    /// Pressure of the bay's back per outward flow, over that of a driver in an endless panel per
    /// outward flow of its cone.
    pub fn back(&self, way: Way) -> Transfer {
        self.wall(way, |heard, k| heard.rear(0, k))
    }

    /// The same of the bay's face.
    pub fn face(&self, way: Way) -> Transfer {
        self.wall(way, |heard, k| heard.front(0, k))
    }

    fn wall(&self, way: Way, sound: impl Fn(&Listening<'_>, &[f64]) -> Vec<Complex64>) -> Transfer {
        let Some(listening) = &self.listening else {
            return Spectrum::from_fn(&self.grid, |_| Complex64::default());
        };
        let values = sound(listening, &self.k);
        Spectrum::from_values(
            &self.grid,
            over_driver(self.drivers.of(way), &self.place, &self.k, values),
        )
    }
}

/// Pressure at `place` of the face of a bay that moves, per outward flow, over that of a driver per
/// outward flow of its cone, both in an endless panel: a rectangle that moves as one (its far field,
/// e.g. Kinsler et al., *Fundamentals of Acoustics*, ch. 7, from memory).
pub fn face_in_endless_panel(
    side: &Side,
    way: Way,
    place: &Point,
    grid: &Arc<Grid>,
    air: &Air,
) -> Transfer {
    let (bay, mounted) = (side.bay(), side.drivers.of(way));
    let radius_m = mounted.driver.motor.radius_m();
    let driver = Disc { x_m: mounted.x_m, y_m: mounted.y_m, radius_m };
    let (origin_m, bay_m) =
        (Point::default().distance_m(place), Point::new(bay.x_m, bay.y_m, 0.0).distance_m(place));
    let beam = |k: f64, side_m: f64, off_m: f64| {
        let x = 0.5 * k * side_m * off_m / bay_m;
        if x.abs() < 1e-6 { 1.0 } else { x.sin() / x }
    };
    let k: Vec<f64> = grid.omega().map(|omega| omega / air.c_m_per_s).collect();
    let values = k.iter().map(|&k| {
        let beams =
            beam(k, bay.width_m, place.x_m - bay.x_m) * beam(k, bay.height_m, place.y_m - bay.y_m);
        Complex64::from_polar(beams * origin_m / bay_m, k * (origin_m - bay_m))
    });
    let values = values.collect();
    Spectrum::from_values(grid, over_driver(&driver, place, &k, values))
}

/// Pressures `from_origin` at `place`, over that of a point at the panel's origin, as ratios to the
/// driver's in an endless panel.
fn over_driver(
    driver: &Disc,
    place: &Point,
    k: &[f64],
    from_origin: Vec<Complex64>,
) -> Vec<Complex64> {
    let centre = Point::new(driver.x_m, driver.y_m, 0.0);
    let sine = centre.angle_off_axis_rad(place).sin();
    let (origin_m, driver_m) = (Point::default().distance_m(place), centre.distance_m(place));
    let ratio = |(&k, from_origin): (&f64, Complex64)| {
        let beam = directivity(k * driver.radius_m * sine);
        let beam = beam.abs().max(LEAST_DIRECTIVITY).copysign(beam);
        let way = Complex64::from_polar(driver_m / origin_m, k * (driver_m - origin_m));
        from_origin * way / beam
    };
    k.iter().zip(from_origin).map(ratio).collect()
}
