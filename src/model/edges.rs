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
mod phasor;
mod skin;
pub mod slab;

use super::air::Air;
use super::piston::directivity;
use super::place::Point;
use crate::grid::{Grid, Transfer};
use line::{EdgeLine, Wedge, geometric};
use num_complex::Complex64;
use slab::{AllOrders, Emitter, Slab, mirrored};
use std::f64::consts::{PI, TAU};
use std::ops::Range;
use std::sync::Arc;
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
    /// A patch of the back, by its index, is empty or reaches past the back.
    #[error("patch {0} is not on the back")]
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

/// A rectangle of the back that moves as one, in panel coordinates (x as the listener sees it).
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
/// ka above which a source sends from a smaller part of itself: a cone that breaks up (common
/// practice, no source).
const LARGEST_KA: f64 = 2.0;
/// Width of the bands that share the nodes of one line integral, as a ratio of wavenumbers.
const BAND: f64 = 2.0;

/// The edges of one panel, solved for its sources and the moving patches of its back; any number
/// of listeners may then be asked for.
#[derive(Debug)]
pub struct EdgeField {
    slab: Slab,
    sources: Vec<Disc>,
    patches: Vec<Patch>,
    grid: Arc<Grid>,
    c_m_per_s: f64,
    /// Wavenumbers between which the two ways are cross-faded, rad/m.
    fade: [f64; 2],
    /// Sources first, then patches, at the nodes; none where the grid lies above the fade.
    low: Option<AllOrders>,
}

impl EdgeField {
    /// Solves the field of `sources` on the face and `patches` of the back for the grid's range.
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
        let back = patches.iter().map(|p| Emitter::rectangle(p.x_m, p.y_m).on_back());
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
            low,
        })
    }

    /// p/p∞ of source `index` at `listener`, p∞ that of the same disc in an infinite baffle: what
    /// [`piston::transfer_to`](super::piston::transfer_to) with the angle from the disc's axis, or a
    /// curve measured in a large baffle, is to be multiplied by.
    ///
    /// Above kD = 9 the disc counts as a point, but for what it sends less towards the edges
    /// than to the listener: its directivity, with ka held at 2. The listener is outside the slab.
    ///
    /// # Panics
    /// There is no source `index`.
    pub fn ratio(&self, index: usize, listener: &Point) -> Transfer {
        let values = self.ratio_at(index, listener, &self.wavenumbers());
        Transfer::from_values(&self.grid, values)
    }

    /// The same at the wavenumbers `k` (rad/m), rising, within the range of the grid: cheap for a
    /// few, and the same in air of any temperature.
    ///
    /// # Panics
    /// There is no source `index`.
    pub fn ratio_at(&self, index: usize, listener: &Point, k: &[f64]) -> Vec<Complex64> {
        let disc = &self.sources[index];
        let sine = Point::new(disc.x_m, disc.y_m, 0.0).angle_off_axis_rad(listener).sin();
        let low = |field: &AllOrders| field.ratio(index, listener);
        let high = |k: &[f64]| {
            let mut sum = self.first_order(disc, listener, k);
            for (value, &k) in sum.iter_mut().zip(k) {
                *value /= directivity(disc.radius_m.min(LARGEST_KA / k) * k * sine);
            }
            sum
        };
        self.faded(k, low, high)
    }

    /// Pressure of patch `index` of the back at `listener` per outward volume flow, over
    /// jωρ e^{−jkR}/(2πR) with R from the panel's origin (the middle of the face) to the listener.
    ///
    /// Above kD = 9 it is an estimate in first order, the patch taken as four discs of its area: a
    /// listener in front, hidden by the slab, is taken where the first edge would just let it see.
    ///
    /// # Panics
    /// There is no patch `index`.
    pub fn rear(&self, index: usize, listener: &Point) -> Transfer {
        let values = self.rear_at(index, listener, &self.wavenumbers());
        Transfer::from_values(&self.grid, values)
    }

    /// The same at the wavenumbers `k` (rad/m), rising, within the range of the grid: cheap for a
    /// few, and the same in air of any temperature.
    ///
    /// # Panics
    /// There is no patch `index`.
    pub fn rear_at(&self, index: usize, listener: &Point, k: &[f64]) -> Vec<Complex64> {
        let from_origin_m = Point::default().distance_m(listener);
        let seen = mirrored(&self.slab, listener);
        let high = |k: &[f64]| {
            let mut sum = vec![Complex64::default(); k.len()];
            for disc in self.patches[index].quarters() {
                let distance_m = Point::new(disc.x_m, disc.y_m, 0.0).distance_m(&seen);
                let share = 0.25 * from_origin_m / distance_m;
                let one = self.first_order(&disc, &seen, k);
                for ((total, one), &k) in sum.iter_mut().zip(one).zip(k) {
                    *total += one * Complex64::from_polar(share, k * (from_origin_m - distance_m));
                }
            }
            sum
        };
        self.faded(k, |field| self.patch(field, index, listener, from_origin_m), high)
    }

    /// The same with the patch on the face, where it is on the back. Above kD = 9 four discs of its
    /// area send straight to the listener, and the edges hear one of them all in the middle.
    ///
    /// # Panics
    /// There is no patch `index`.
    pub fn front_at(&self, index: usize, listener: &Point, k: &[f64]) -> Vec<Complex64> {
        let from_origin_m = Point::default().distance_m(listener);
        let discs = self.patches[index].quarters();
        let middle = self.patches[index].disc();
        let at = |disc: &Disc| Point::new(disc.x_m, disc.y_m, 0.0);
        let middle_m = at(&middle).distance_m(listener);
        let high = |k: &[f64]| {
            let beam = |k: f64| -> Complex64 {
                let one = |disc: &Disc| {
                    let way_m = at(disc).distance_m(listener);
                    let sine = at(disc).angle_off_axis_rad(listener).sin();
                    let strength = 0.25 * middle_m / way_m * directivity(k * disc.radius_m * sine);
                    Complex64::from_polar(strength, k * (middle_m - way_m))
                };
                discs.iter().map(one).sum()
            };
            let mut sum = self.first_order_with(&middle, listener, k, beam);
            for (value, &k) in sum.iter_mut().zip(k) {
                *value *=
                    Complex64::from_polar(from_origin_m / middle_m, k * (from_origin_m - middle_m));
            }
            sum
        };
        // In the slab's middle plane the mirror image of a patch on the face is one on the back.
        let seen = mirrored(&self.slab, listener);
        self.faded(k, |field| self.patch(field, index, &seen, from_origin_m), high)
    }

    /// Pressure of patch `index` of the back with all orders at the nodes, per outward flow, over
    /// that of a point in an endless panel at `from_origin_m`.
    fn patch(
        &self,
        field: &AllOrders,
        index: usize,
        listener: &Point,
        from_origin_m: f64,
    ) -> Vec<Complex64> {
        let pressure = field.pressure(self.sources.len() + index, listener);
        let scale = |k: f64| Complex64::from_polar(TAU * from_origin_m, k * from_origin_m);
        pressure.into_iter().zip(nodes(self.fade[1])).map(|(p, k)| p * scale(k)).collect()
    }

    /// Wavenumbers of the grid, rad/m.
    fn wavenumbers(&self) -> Vec<f64> {
        self.grid.omega().map(|omega| omega / self.c_m_per_s).collect()
    }

    /// Pressure of a disc in first order over that of a point source of its flow in an infinite
    /// baffle, at rising wavenumbers `k`.
    fn first_order(&self, disc: &Disc, listener: &Point, k: &[f64]) -> Vec<Complex64> {
        let sine = Point::new(disc.x_m, disc.y_m, 0.0).angle_off_axis_rad(listener).sin();
        let radius_m = disc.radius_m;
        let beam = |k: f64| directivity(k * radius_m.min(LARGEST_KA / k) * sine).into();
        self.first_order_with(disc, listener, k, beam)
    }

    /// The same with another `beam` straight to the listener.
    fn first_order_with(
        &self,
        disc: &Disc,
        listener: &Point,
        k: &[f64],
        beam: impl Fn(f64) -> Complex64,
    ) -> Vec<Complex64> {
        let place = [disc.x_m, disc.y_m];
        let size = [self.slab.width_m, self.slab.height_m];
        let direct = geometric(listener);
        let mut found = Vec::with_capacity(k.len());
        for band in bands(k) {
            let k = &k[band];
            let highest = k.last().copied().unwrap_or_default();
            let line = EdgeLine::new(size, place, listener, Wedge::Square, highest);
            found.extend(k.iter().map(|&k| {
                let ka = k * disc.radius_m.min(LARGEST_KA / k);
                direct * beam(k) + line.at(k) * directivity(ka)
            }));
        }
        found
    }

    /// `low` (values at the nodes) and `high` (values at given wavenumbers), each where it holds.
    fn faded(
        &self,
        k: &[f64],
        low: impl FnOnce(&AllOrders) -> Vec<Complex64>,
        high: impl FnOnce(&[f64]) -> Vec<Complex64>,
    ) -> Vec<Complex64> {
        let [start, end] = self.fade;
        let first = k.partition_point(|&k| k <= start);
        let high = if first < k.len() { high(&k[first..]) } else { Vec::new() };
        let below = self.low.as_ref().filter(|_| k.first().is_some_and(|&k| k < end)).map(low);
        let value = |(i, &k): (usize, &f64)| {
            let above = i.checked_sub(first).map(|i| high[i]);
            let share = ((k / start).ln() / (end / start).ln()).clamp(0.0, 1.0);
            let smooth = share * share * (3.0 - 2.0 * share);
            match (&below, above) {
                (Some(nodes), None) => between(nodes, end, k),
                (Some(nodes), Some(above)) if smooth < 1.0 => {
                    between(nodes, end, k) * (1.0 - smooth) + above * smooth
                }
                (_, above) => above.unwrap_or_default(),
            }
        };
        k.iter().enumerate().map(value).collect()
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
fn nodes(end: f64) -> Vec<f64> {
    (0..NODES).map(|i| 0.5 * end * (1.0 - node_angle(i).cos())).collect()
}

fn node_angle(i: usize) -> f64 {
    PI * (i as f64 + 0.5) / NODES as f64
}

/// The polynomial through `values` at the nodes of 0..`end`, at `k`, in barycentric form (Berrut
/// and Trefethen 2004, *SIAM Review* 46, eqs. 4.2 and 5.3).
fn between(values: &[Complex64], end: f64, k: f64) -> Complex64 {
    let (mut above, mut below) = (Complex64::default(), 0.0);
    for (i, (value, node)) in values.iter().zip(nodes(end)).enumerate() {
        if (k - node).abs() < 1e-12 * end {
            return *value;
        }
        let sign = if i % 2 == 0 { 1.0 } else { -1.0 };
        let weight = sign * node_angle(i).sin() / (k - node);
        above += weight * value;
        below += weight;
    }
    above / below
}

/// Cuts rising `k` into bands of a ratio of at most [`BAND`].
fn bands(k: &[f64]) -> Vec<Range<usize>> {
    let mut found = Vec::new();
    let mut start = 0;
    while start < k.len() {
        let end = start + k[start..].partition_point(|&at| at <= BAND * k[start]);
        let end = end.max(start + 1);
        found.push(start..end);
        start = end;
    }
    found
}
