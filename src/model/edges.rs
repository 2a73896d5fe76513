//! What the edges of a finite panel do to the sound of its drivers and of its back.
//!
//! A driver in an infinite baffle hears nothing of the panel. A real panel lets the sound bend
//! round its edges: at low frequencies half the pressure is lost, above that the edges are
//! secondary sources that make ripples. [`EdgeField`] gives the ratio to the infinite baffle:
//!
//! - below kD = 6 (D the long side) with all orders of diffraction, by an integral equation on the
//!   skin of the slab ([`slab`]);
//! - above kD = 9 in first order, as a line integral round the square edges of the face ([`line`](mod@line));
//! - between, both complex ratios are cross-faded over log f.
//!
//! Edges are square and the slab rigid. Where accuracy ends: the first order is within 0.3 dB of
//! all orders in front of the face from kD = 9, but a few degrees from the plane of the face and
//! anywhere behind it several decibels uncertain, for there waves that met two edges are as strong.
//! A wall or table near by is an image: the same source heard at a mirrored listener, to be added
//! with the mirrored way; that the wall also hears the bent sound again is left out.

mod cells;
pub mod kirchhoff;
pub mod line;
pub mod listening;
mod phasor;
mod skin;
pub mod slab;

use super::air::Air;
use super::place::Point;
use crate::grid::{Grid, Transfer};
use listening::Listening;
use num_complex::Complex64;
use slab::{AllOrders, Emitter, Slab};
use std::f64::consts::{PI, TAU};
use std::sync::{Arc, LazyLock};
use thiserror::Error;

/// Why the field of the edges could not be computed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum EdgeError {
    /// A side of the slab is not positive.
    #[error("a side of the panel is not positive")]
    Slab,
    /// A source on the face, by its index, has its middle off the face or a radius below zero.
    #[error("source {0} is not on the face")]
    Source(usize),
    /// A patch, by its index, is empty or reaches past the panel.
    #[error("patch {0} is not on the panel")]
    Patch(usize),
    /// The integral equation has no single answer.
    #[error("the field round the panel has no solution")]
    Unsolved,
}

/// A driver on the face: a disc.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Disc {
    /// Middle of the disc in panel coordinates, m.
    pub x_m: f64,
    /// The same upwards, m.
    pub y_m: f64,
    /// Effective radius, m.
    pub radius_m: f64,
}

/// A rectangle of face or back that moves as one, in panel coordinates (x as the listener sees it).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Patch {
    /// From and to along x, m.
    pub x_m: [f64; 2],
    /// From and to along y, m.
    pub y_m: [f64; 2],
}

/// kD below which only the integral equation counts, and above which only the line integral.
const FADE_KD: [f64; 2] = [6.0, 9.0];
/// Share of the lowest inner resonance below which the integral equation is trusted.
const BELOW_RESONANCE: f64 = 0.8;
/// Solutions of the integral equation; the ratio between is a polynomial through all of them. It
/// turns by kD = 9 rad at most, which 14 nodes follow within 1e-5.
const NODES: usize = 14;

/// The edges of one panel, solved for its sources and the patches of its face or back that move; any
/// number of listeners may then be asked for.
#[derive(Debug)]
pub struct EdgeField {
    slab: Slab,
    sources: Vec<Disc>,
    patches: Vec<Patch>,
    grid: Arc<Grid>,
    c_m_per_s: f64,
    /// Wavenumbers between which the two ways are cross-faded, rad/m.
    fade: [f64; 2],
    /// Wavenumbers of the solutions with all orders, rad/m.
    nodes: [f64; NODES],
    /// Sources first, then patches, at the nodes; none where the grid lies above the fade.
    low: Option<AllOrders>,
}

impl EdgeField {
    /// Solves the field of `sources` on the face and `patches` of face or back for the grid's range.
    ///
    /// # Errors
    /// What is not on the panel, and a panel without size.
    pub fn new(
        slab: &Slab,
        sources: &[Disc],
        patches: &[Patch],
        grid: &Arc<Grid>,
        air: &Air,
    ) -> Result<Self, EdgeError> {
        slab.check()?;
        check_places(slab, sources, patches)?;
        let end = (FADE_KD[1] / slab.longest_m()).min(BELOW_RESONANCE * slab.lowest_inner_k());
        let fade = [end * FADE_KD[0] / FADE_KD[1], end];
        let front = sources.iter().map(|d| Emitter::disc(d.x_m, d.y_m, d.radius_m));
        let back = patches.iter().map(|p| Emitter::rectangle(p.x_m, p.y_m));
        let emitters: Vec<Emitter> = front.chain(back).collect();
        let wanted = TAU * grid.start_hz() / air.c_m_per_s < end;
        let low = wanted.then(|| AllOrders::new(slab, &emitters, &nodes(end))).transpose()?;
        Ok(Self {
            slab: *slab,
            sources: sources.to_vec(),
            patches: patches.to_vec(),
            grid: Arc::clone(grid),
            c_m_per_s: air.c_m_per_s,
            fade,
            nodes: nodes(end),
            low,
        })
    }

    /// What is heard at `listener`, outside the slab.
    pub fn at(&self, listener: &Point) -> Listening<'_> {
        Listening::new(self, listener)
    }

    /// [`Listening::ratio`] at `listener` over the grid.
    ///
    /// # Panics
    /// There is no source `index`.
    pub fn ratio(&self, index: usize, listener: &Point) -> Transfer {
        let values = self.at(listener).ratio(index, &self.wavenumbers());
        Transfer::from_values(&self.grid, values)
    }

    /// Wavenumbers of the grid, rad/m.
    fn wavenumbers(&self) -> Vec<f64> {
        self.grid.omega().map(|omega| omega / self.c_m_per_s).collect()
    }
}

impl Patch {
    /// A disc in its middle, as large.
    fn disc(&self) -> Disc {
        let middle = |range: [f64; 2]| 0.5 * (range[0] + range[1]);
        let area = (self.x_m[1] - self.x_m[0]) * (self.y_m[1] - self.y_m[0]);
        Disc { x_m: middle(self.x_m), y_m: middle(self.y_m), radius_m: (area / PI).sqrt() }
    }

    /// Four discs at the middles of the quarters, together as large as the patch.
    fn quarters(&self) -> [Disc; 4] {
        let at = |range: [f64; 2], share: f64| range[0] + share * (range[1] - range[0]);
        let area = (self.x_m[1] - self.x_m[0]) * (self.y_m[1] - self.y_m[0]);
        let radius_m = (area / 4.0 / PI).sqrt();
        [(0.25, 0.25), (0.25, 0.75), (0.75, 0.25), (0.75, 0.75)].map(|(x, y)| Disc {
            x_m: at(self.x_m, x),
            y_m: at(self.y_m, y),
            radius_m,
        })
    }
}

fn check_places(slab: &Slab, sources: &[Disc], patches: &[Patch]) -> Result<(), EdgeError> {
    let half = [slab.width_m / 2.0, slab.height_m / 2.0];
    // Rounding of a size in millimetres must not turn a full patch away.
    let within = |at: f64, half: f64| at.abs() <= half * (1.0 + 1e-9);
    for (i, disc) in sources.iter().enumerate() {
        let sound = within(disc.x_m, half[0]) && within(disc.y_m, half[1]) && disc.radius_m >= 0.0;
        if !sound || !disc.radius_m.is_finite() {
            return Err(EdgeError::Source(i));
        }
    }
    for (i, patch) in patches.iter().enumerate() {
        let sound = |range: [f64; 2], half: f64| {
            range[1] > range[0] && range.iter().all(|&at| within(at, half))
        };
        if !(sound(patch.x_m, half[0]) && sound(patch.y_m, half[1])) {
            return Err(EdgeError::Patch(i));
        }
    }
    Ok(())
}

/// Chebyshev's nodes of 0..`end`.
fn nodes(end: f64) -> [f64; NODES] {
    std::array::from_fn(|i| 0.5 * end * (1.0 - node_angle(i).cos()))
}

fn node_angle(i: usize) -> f64 {
    PI * (i as f64 + 0.5) / NODES as f64
}

/// Weights of the nodes in [`between`].
static WEIGHTS: LazyLock<[f64; NODES]> = LazyLock::new(|| {
    std::array::from_fn(|i| if i % 2 == 0 { node_angle(i).sin() } else { -node_angle(i).sin() })
});

/// The polynomial through `values` at the `nodes`, at `k`, in barycentric form (Berrut and Trefethen
/// 2004, *SIAM Review* 46, eqs. 4.2 and 5.3).
fn between(nodes: &[f64; NODES], values: &[Complex64], k: f64) -> Complex64 {
    let (mut above, mut below) = (Complex64::default(), 0.0);
    for ((value, node), weight) in values.iter().zip(nodes).zip(WEIGHTS.iter()) {
        if (k - node).abs() < 1e-12 * nodes[NODES - 1] {
            return *value;
        }
        let weight = weight / (k - node);
        above += weight * value;
        below += weight;
    }
    above / below
}
