//! Where in its cavity a woofer is least uneven, which standing waves it excites where it is, and
//! how much foam it needs there.

use super::ripple::{Cavity, Ripple};
use crate::design::{self, Design, Side};
use crate::grid::GridError;
use crate::model::fill::Fill;
use crate::model::fluid::Foam;
use crate::model::wave_cavity::{Disc, WaveField, WaveFill};
use rayon::prelude::*;
use std::f64::consts::TAU;

/// Places along the longer side of the cavity that are tried.
const PLACES: usize = 31;
/// Solid edge that a cut-out keeps to the cavity's outline, m. Common practice, no source.
const EDGE_M: f64 = 4e-3;
/// How many of the lowest standing waves are told.
const WAVES_TOLD: usize = 8;
/// Flow resistivity of the foam that is tried in a cavity that has none, Pa·s/m². Common practice,
/// no source.
pub(super) const USUAL_FOAM: Foam = Foam { flow_resistivity_pa_s_per_m2: 10_000.0 };
/// Step of the thickness, m.
const FOAM_STEP_M: f64 = 1e-3;

/// A place for the woofer's middle and what it gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// Panel coordinates, x, m.
    pub x_m: f64,
    /// Panel coordinates, y, m.
    pub y_m: f64,
    /// Ripple there.
    pub ripple: Ripple,
}

/// A standing wave and how strongly the woofer drives it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Excited {
    /// Half waves along x and y.
    pub index: [u32; 2],
    /// Frequency in the empty cavity, Hz.
    pub frequency_hz: f64,
    /// Amplitude at the cone over that in a corner, 0 to 1; its square counts.
    pub share: f64,
}

/// Ripple over the places that the woofer may take, and foam.
#[derive(Debug, Clone, PartialEq)]
pub struct Placement {
    /// Places along x, panel coordinates, m.
    pub x_m: Vec<f64>,
    /// Places along y, m.
    pub y_m: Vec<f64>,
    /// From lowest to highest level, dB: a row for each of `y_m`; `None` where the woofer may not
    /// be.
    pub ripple_db: Vec<Option<f64>>,
    /// Where it is.
    pub here: Spot,
    /// Where it is least; `None` if it fits nowhere.
    pub best: Option<Spot>,
    /// The lowest standing waves.
    pub waves: Vec<Excited>,
    /// The limit that the foam is to meet, dB.
    pub limit_db: f64,
    /// The thinnest foam on the whole back, m, with which the present place meets the limit;
    /// `None` if none does.
    pub foam_m: Option<f64>,
}

impl Placement {
    /// Tries the places in the bay of `side`.
    ///
    /// # Errors
    /// None in practice: the band's axis is sound.
    pub fn of(design: &Design, side: &Side) -> Result<Self, GridError> {
        let cavity = Cavity::of(design, side)?;
        let bay = side.bay();
        let corner = [bay.x_m - 0.5 * bay.width_m, bay.y_m - 0.5 * bay.height_m];
        let step_m = bay.width_m.max(bay.height_m) / PLACES as f64;
        let (x_m, y_m) =
            (steps(bay.x_m, bay.width_m, step_m), steps(bay.y_m, bay.height_m, step_m));
        let places: Vec<(f64, f64)> =
            y_m.iter().flat_map(|&y| x_m.iter().map(move |&x| (x, y))).collect();
        let spot = |x_m: f64, y_m: f64| {
            let ripple = cavity.ripple_at(x_m - corner[0], y_m - corner[1]);
            Spot { x_m, y_m, ripple }
        };
        let spots: Vec<Option<Spot>> =
            places.par_iter().map(|&(x, y)| may_be(side, &bay, x, y).then(|| spot(x, y))).collect();
        let span = |s: &Spot| s.ripple.span_db();
        let best = spots.iter().flatten().min_by(|a, b| span(a).total_cmp(&span(b))).copied();
        let woofer = &side.drivers.woofer;
        Ok(Self {
            ripple_db: spots.iter().map(|s| s.as_ref().map(span)).collect(),
            x_m,
            y_m,
            here: spot(woofer.x_m, woofer.y_m),
            best,
            waves: excited(cavity.field(), &cavity.disc()),
            limit_db: bay.ripple_limit_db,
            foam_m: foam(&cavity, &bay),
        })
    }
}

/// Middles of a row of places along a side of the bay.
fn steps(middle_m: f64, length_m: f64, step_m: f64) -> Vec<f64> {
    let count = ((length_m / step_m).round() as usize).max(1);
    let first = middle_m - 0.5 * length_m;
    (0..count).map(|i| first + length_m * (i as f64 + 0.5) / count as f64).collect()
}

/// Whether the woofer's middle may be at a place: its cut-out within the bay, its flange clear of
/// the tweeter's, its middle out of what the user keeps free.
fn may_be(side: &Side, bay: &design::Cavity, x_m: f64, y_m: f64) -> bool {
    let (woofer, tweeter) = (&side.drivers.woofer.driver.size, &side.drivers.tweeter);
    let apart = (x_m - tweeter.x_m).hypot(y_m - tweeter.y_m);
    let needed = 0.5 * (woofer.flange_m + tweeter.driver.size.flange_m);
    bay.holds_disc(x_m, y_m, 0.5 * woofer.cutout_m + EDGE_M)
        && apart >= needed
        && !bay.keep_out.iter().any(|k| k.meets_disc(x_m, y_m, 0.5 * woofer.cutout_m))
}

/// The lowest standing waves without a half wave in depth, and the share of the cone in each.
fn excited(field: &WaveField, disc: &Disc) -> Vec<Excited> {
    let c = field.cavity().air.c_m_per_s;
    let waves = field.modes().iter().zip(field.means(disc)).skip(1).take(WAVES_TOLD);
    let told = waves.map(|(mode, mean)| Excited {
        index: mode.index,
        frequency_hz: mode.kappa_per_m * c / TAU,
        share: mean.abs(),
    });
    told.collect()
}

/// The thinnest foam with which the ripple keeps its limit.
fn foam(cavity: &Cavity<'_>, bay: &design::Cavity) -> Option<f64> {
    let foam = match bay.fill {
        Fill::Foam { flow_resistivity_pa_s_per_m2, .. } => Foam { flow_resistivity_pa_s_per_m2 },
        Fill::Empty | Fill::Factor(_) => USUAL_FOAM,
    };
    let count = (bay.depth_m / FOAM_STEP_M).floor() as usize;
    (0..=count).map(|n| n as f64 * FOAM_STEP_M).find(|&thickness_m| {
        let fill = WaveFill::Back { foam, thickness_m };
        cavity.filled(fill).ripple().span_db() <= bay.ripple_limit_db
    })
}
