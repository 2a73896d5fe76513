//! What the edges of a design's panel do to the sound of one side: its drivers on the face, and the
//! sheet that moves behind them.

use super::recent::Recent;
use crate::design::{Design, Side, Way, Ways};
use crate::grid::{Grid, Spectrum, Transfer};
use crate::model::air::Air;
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
    /// Middle of the woofer, mirrored where the field is, and its radius.
    woofer: Disc,
    air: Air,
}

/// All that the field depends on: over wavenumber it is the same in any air, and sides that mirror
/// one another share it.
#[derive(PartialEq)]
struct Given {
    slab: Slab,
    drivers: Ways<Disc>,
    back: Patch,
}

static RECENT: Recent<Given, Option<EdgeField>> = Recent::new(8);

impl PanelEdges {
    /// The edges round `side`; `None` where the design takes its panel as endless, or where a
    /// driver is not on the panel, which the fit tells.
    pub fn of(design: &Design, side: &Side) -> Option<Self> {
        if !design.models.panel_ends {
            return None;
        }
        let bay = side.bay();
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
        let back =
            Patch { x_m: ends(sign * bay.x_m, bay.width_m), y_m: ends(bay.y_m, bay.height_m) };
        let field = RECENT.get(Given { slab, drivers, back }, || {
            let range = Grid::log(LOWEST_HZ, 20_000.0, 2).ok()?;
            let (discs, any) = ([drivers.woofer, drivers.tweeter], Air::default());
            EdgeField::new(&slab, &discs, &[back], &range, &any).ok()
        });
        let woofer = drivers.woofer;
        field.is_some().then_some(Self { field, mirrored, woofer, air: design.air })
    }

    /// `place` as the field has it.
    fn in_field(&self, place: &Point) -> Point {
        if self.mirrored { Point { x_m: -place.x_m, ..*place } } else { *place }
    }

    fn wavenumbers(&self, grid: &Grid) -> Vec<f64> {
        grid.omega().map(|omega| omega / self.air.c_m_per_s).collect()
    }

    /// Pressure of a driver at `place` over that in an endless panel.
    pub fn ratio(&self, way: Way, place: &Point, grid: &Arc<Grid>) -> Transfer {
        let index = match way {
            Way::Woofer => 0,
            Way::Tweeter => 1,
        };
        let Some(field) = self.field.as_ref() else {
            return Spectrum::from_fn(grid, |_| Complex64::new(1.0, 0.0));
        };
        let values = field.ratio_at(index, &self.in_field(place), &self.wavenumbers(grid));
        Spectrum::from_values(grid, values)
    }

    /// Pressure of the back at `place` per outward flow, over that of the woofer in an endless panel
    /// per outward flow of its cone.
    pub fn back(&self, place: &Point, grid: &Arc<Grid>) -> Transfer {
        let Some(field) = self.field.as_ref() else {
            return Spectrum::from_fn(grid, |_| Complex64::default());
        };
        let (woofer, place) = (&self.woofer, &self.in_field(place));
        let centre = Point::new(woofer.x_m, woofer.y_m, 0.0);
        let sine = centre.angle_off_axis_rad(place).sin();
        let (origin_m, woofer_m) = (Point::default().distance_m(place), centre.distance_m(place));
        let k = self.wavenumbers(grid);
        let values = field.rear_at(0, place, &k);
        let over_woofer = k.into_iter().zip(values).map(|(k, from_origin)| {
            let beam = directivity(k * woofer.radius_m * sine);
            let beam = beam.abs().max(LEAST_DIRECTIVITY).copysign(beam);
            let way = Complex64::from_polar(woofer_m / origin_m, k * (woofer_m - origin_m));
            from_origin * way / beam
        });
        Spectrum::from_values(grid, over_woofer.collect())
    }
}
