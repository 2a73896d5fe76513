//! What one place hears of a panel's sources and patches.

use super::line::{EdgeLine, Wedge, geometric};
use super::slab::{Heard, mirrored};
use super::{Disc, EdgeField, between};
use crate::model::piston::directivity;
use crate::model::place::Point;
use num_complex::Complex64;
use std::cell::OnceCell;
use std::f64::consts::TAU;
use std::ops::Range;

/// ka above which a source sends from a smaller part of itself: a cone that breaks up (common
/// practice, no source).
const LARGEST_KA: f64 = 2.0;
/// Width of the bands that share the nodes of one line integral, as a ratio of wavenumbers.
const BAND: f64 = 2.0;

/// An [`EdgeField`] as one place hears it. Wavenumbers `k` (rad/m) rise and are within the range of
/// the field's grid; what is heard depends on them alone, in air of any temperature.
#[derive(Debug)]
pub struct Listening<'a> {
    field: &'a EdgeField,
    listener: Point,
    /// With all orders: here, and where the place lies mirrored in the slab's middle plane. A patch
    /// on the back is heard as one on the face is there.
    here: OnceCell<Option<Heard<'a>>>,
    mirrored: OnceCell<Option<Heard<'a>>>,
}

impl<'a> Listening<'a> {
    pub(super) fn new(field: &'a EdgeField, listener: &Point) -> Self {
        let (here, mirrored) = (OnceCell::new(), OnceCell::new());
        Self { field, listener: *listener, here, mirrored }
    }

    /// p/p∞ of source `index`, p∞ that of the same disc in an infinite baffle: what
    /// [`piston::transfer_to`](crate::model::piston::transfer_to) with the angle from the disc's axis,
    /// or a curve measured in a large baffle, is to be multiplied by.
    ///
    /// Above kD = 9 the disc counts as a point, but for what it sends less towards the edges
    /// than to the listener: its directivity, with ka held at 2.
    ///
    /// # Panics
    /// There is no source `index`.
    pub fn ratio(&self, index: usize, k: &[f64]) -> Vec<Complex64> {
        let disc = &self.field.sources[index];
        let sine = centre(disc).angle_off_axis_rad(&self.listener).sin();
        let high = |k: &[f64]| {
            let mut sum = self.first_order(disc, &self.listener, k);
            for (value, &k) in sum.iter_mut().zip(k) {
                *value /= directivity(disc.radius_m.min(LARGEST_KA / k) * k * sine);
            }
            sum
        };
        self.faded(k, || Some(self.here()?.ratio(index)), high)
    }

    /// Pressure of patch `index` on the back per outward volume flow, over jωρ e^{−jkR}/(2πR) with R
    /// from the panel's origin (the middle of the face) to the listener.
    ///
    /// Above kD = 9 it is an estimate in first order, the patch taken as four discs of its area: a
    /// listener in front, hidden by the slab, is taken where the first edge would just let it see.
    ///
    /// # Panics
    /// There is no patch `index`.
    pub fn rear(&self, index: usize, k: &[f64]) -> Vec<Complex64> {
        let seen = mirrored(&self.field.slab, &self.listener);
        let high = |k: &[f64]| {
            let mut sum = vec![Complex64::default(); k.len()];
            for disc in self.field.patches[index].quarters() {
                let way_m = centre(&disc).distance_m(&seen);
                let one = self.told_from_origin(way_m, k, self.first_order(&disc, &seen, k));
                sum.iter_mut().zip(one).for_each(|(total, one)| *total += 0.25 * one);
            }
            sum
        };
        self.faded(k, || Some(self.patch(self.mirrored()?, index)), high)
    }

    /// The same of a patch on the face. Above kD = 9 four discs of its area send straight to the
    /// listener, and the edges hear one of them all in the middle.
    ///
    /// # Panics
    /// There is no patch `index`.
    pub fn front(&self, index: usize, k: &[f64]) -> Vec<Complex64> {
        let patch = &self.field.patches[index];
        let middle = patch.disc();
        let middle_m = centre(&middle).distance_m(&self.listener);
        let discs = patch.quarters().map(|disc| {
            let middle = centre(&disc);
            let sine = middle.angle_off_axis_rad(&self.listener).sin();
            (middle.distance_m(&self.listener), disc.radius_m * sine)
        });
        let beam = |k: f64| -> Complex64 {
            let one = |&(way_m, across_m): &(f64, f64)| {
                let strength = 0.25 * middle_m / way_m * directivity(k * across_m);
                Complex64::from_polar(strength, k * (middle_m - way_m))
            };
            discs.iter().map(one).sum()
        };
        let high = |k: &[f64]| {
            let sum = self.first_order_with(&middle, &self.listener, k, beam);
            self.told_from_origin(middle_m, k, sum)
        };
        self.faded(k, || Some(self.patch(self.here()?, index)), high)
    }

    fn here(&self) -> Option<&Heard<'a>> {
        let all = |place: &Point| self.field.low.as_ref().map(|low| low.at(place));
        self.here.get_or_init(|| all(&self.listener)).as_ref()
    }

    fn mirrored(&self) -> Option<&Heard<'a>> {
        let all = |place: &Point| self.field.low.as_ref().map(|low| low.at(place));
        let seen = mirrored(&self.field.slab, &self.listener);
        self.mirrored.get_or_init(|| all(&seen)).as_ref()
    }

    fn origin_m(&self) -> f64 {
        Point::default().distance_m(&self.listener)
    }

    /// Patch `index` at the nodes, over a point at the origin in an endless panel.
    fn patch(&self, heard: &Heard<'_>, index: usize) -> Vec<Complex64> {
        let from_m = self.origin_m();
        let scale = |k: f64| Complex64::from_polar(TAU * from_m, k * from_m);
        let pressure = heard.pressure(self.field.sources.len() + index);
        pressure.into_iter().zip(&self.field.nodes).map(|(p, k)| p * scale(*k)).collect()
    }

    /// `values` over a point at `way_m`, over one at the origin instead.
    fn told_from_origin(
        &self,
        way_m: f64,
        k: &[f64],
        mut values: Vec<Complex64>,
    ) -> Vec<Complex64> {
        let from_m = self.origin_m();
        for (value, k) in values.iter_mut().zip(k) {
            *value *= Complex64::from_polar(from_m / way_m, k * (from_m - way_m));
        }
        values
    }

    /// Pressure of a disc in first order over that of a point source of its flow in an infinite
    /// baffle.
    fn first_order(&self, disc: &Disc, listener: &Point, k: &[f64]) -> Vec<Complex64> {
        let sine = centre(disc).angle_off_axis_rad(listener).sin();
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
        let size = [self.field.slab.width_m, self.field.slab.height_m];
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
        low: impl FnOnce() -> Option<Vec<Complex64>>,
        high: impl FnOnce(&[f64]) -> Vec<Complex64>,
    ) -> Vec<Complex64> {
        let [start, end] = self.field.fade;
        let first = k.partition_point(|&k| k <= start);
        let high = if first < k.len() { high(&k[first..]) } else { Vec::new() };
        let below = if k.first().is_some_and(|&k| k < end) { low() } else { None };
        let at_low = |nodes: &[Complex64], k: f64| between(&self.field.nodes, nodes, k);
        let value = |(i, &k): (usize, &f64)| {
            let above = i.checked_sub(first).map(|i| high[i]);
            let share = ((k / start).ln() / (end / start).ln()).clamp(0.0, 1.0);
            let smooth = share * share * (3.0 - 2.0 * share);
            match (&below, above) {
                (Some(nodes), None) => at_low(nodes, k),
                (Some(nodes), Some(above)) if smooth < 1.0 => {
                    at_low(nodes, k) * (1.0 - smooth) + above * smooth
                }
                (_, above) => above.unwrap_or_default(),
            }
        };
        k.iter().enumerate().map(value).collect()
    }
}

fn centre(disc: &Disc) -> Point {
    Point::new(disc.x_m, disc.y_m, 0.0)
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
