//! The slab, what sends from its skin, and the sound of all orders of diffraction round it.

use super::EdgeError;
use super::skin::{Skin, Sound};
use crate::model::place::Point;
use crate::model::quadrature::gauss_between;
use num_complex::Complex64;
use rayon::prelude::*;
use std::f64::consts::{PI, TAU};

/// A closed rigid slab: its face around the origin in z = 0, its back in z = −thickness.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slab {
    /// Side of the face along x, m.
    pub width_m: f64,
    /// Side of the face along y, m.
    pub height_m: f64,
    /// From the face to the back, m.
    pub thickness_m: f64,
}

impl Slab {
    /// The longer side of the face, D in kD, m.
    pub fn longest_m(&self) -> f64 {
        self.width_m.max(self.height_m)
    }

    /// Wavenumber of the lowest inner resonance of the box with soft walls, rad/m: there the
    /// integral equation has no single answer, and [`AllOrders`] must stay below 0.8 of it.
    pub fn lowest_inner_k(&self) -> f64 {
        let sides = [self.width_m, self.height_m, self.thickness_m];
        PI * sides.map(|side| side.powi(-2)).iter().sum::<f64>().sqrt()
    }

    fn half_m(&self) -> [f64; 3] {
        [self.width_m / 2.0, self.height_m / 2.0, self.thickness_m / 2.0]
    }

    pub(super) fn check(&self) -> Result<(), EdgeError> {
        let sound = |side: f64| side.is_finite() && side > 0.0;
        let sides = [self.width_m, self.height_m, self.thickness_m];
        if sides.into_iter().all(sound) { Ok(()) } else { Err(EdgeError::Slab) }
    }
}

/// Something that sends a volume flow of 1 out of the face, spread over points.
#[derive(Debug, Clone, PartialEq)]
pub struct Emitter {
    /// Places on the face, m, each with its share of the flow.
    pub(super) points: Vec<([f64; 2], f64)>,
}

impl Emitter {
    /// A disc on the face, as seven points (Abramowitz and Stegun, 25.4.61, degree 5).
    pub fn disc(x_m: f64, y_m: f64, radius_m: f64) -> Self {
        let ring = (0..6).map(|i| {
            let (sine, cosine) = (f64::from(i) * TAU / 6.0).sin_cos();
            let out_m = radius_m * (2.0f64 / 3.0).sqrt();
            ([x_m + out_m * cosine, y_m + out_m * sine], 1.0 / 8.0)
        });
        Self { points: std::iter::once(([x_m, y_m], 0.25)).chain(ring).collect() }
    }

    /// A rectangle on the face between two x and two y, as 3 × 3 Gauss points.
    pub fn rectangle(x_m: [f64; 2], y_m: [f64; 2]) -> Self {
        let mut points = Vec::new();
        for (x, wx) in gauss_between(3, x_m[0], x_m[1]) {
            for (y, wy) in gauss_between(3, y_m[0], y_m[1]) {
                let share = wx * wy / ((x_m[1] - x_m[0]) * (y_m[1] - y_m[0]));
                points.push(([x, y], share));
            }
        }
        Self { points }
    }

    /// Mean of e^{−jkr}/r over the emitter, 1/m.
    fn spread(&self, listener: &Point, k: f64) -> Complex64 {
        let wave = |([x, y], share): &([f64; 2], f64)| {
            let r = Point::new(*x, *y, 0.0).distance_m(listener).max(1e-9);
            Complex64::from_polar(share / r, -k * r)
        };
        self.points.iter().map(wave).sum()
    }
}

/// The sound of emitters round a slab with all orders of diffraction, at a few wavenumbers: one
/// solution serves every listener, in front, beside and behind.
///
/// The integral equation is solved on two meshes, one twice as fine, and 2 p(fine) − p(coarse) is
/// given: within 0.1 dB of a far finer mesh below kD = 9.
#[derive(Debug)]
pub struct AllOrders {
    slab: Slab,
    emitters: Vec<Emitter>,
    k: Vec<f64>,
    skins: [Skin; 2],
    /// For each wavenumber, on both meshes.
    sounds: Vec<[Sound; 2]>,
}

/// Cells of the coarse mesh to a wavelength.
const CELLS_PER_WAVE: f64 = 5.2;
/// Fewest cells of half a side of the coarse mesh, and most, so that time has a bound.
const FEWEST: f64 = 3.0;
const MOST: f64 = 14.0;

impl AllOrders {
    /// Solves for `emitters` at the wavenumbers `k` (rad/m), which should stay below 0.8 of
    /// [`Slab::lowest_inner_k`]. The highest sets the meshes.
    ///
    /// # Errors
    /// A slab without size, or an equation without an answer.
    pub fn new(slab: &Slab, emitters: &[Emitter], k: &[f64]) -> Result<Self, EdgeError> {
        slab.check()?;
        let highest = k.iter().copied().fold(0.0, f64::max);
        let half_m = slab.half_m();
        let cells = |half: f64| {
            let waves = highest * half / TAU;
            ((CELLS_PER_WAVE * waves).ceil() + 1.0).clamp(FEWEST, MOST) as usize
        };
        let counts = [cells(half_m[0]), cells(half_m[1]), 1];
        let skins = [counts, counts.map(|count| 2 * count)].map(|n| Skin::new(half_m, n));
        let face_m = half_m[2];
        let on_face = |e: &Emitter| -> Vec<([f64; 3], f64)> {
            e.points.iter().map(|&([x, y], share)| ([x, y, face_m], share)).collect()
        };
        let sights = [0, 1].map(|mesh: usize| -> Vec<_> {
            emitters.iter().map(|e| skins[mesh].sights(&on_face(e))).collect()
        });
        let solve = |&k: &f64| {
            let [coarse, fine] = [0, 1].map(|mesh: usize| skins[mesh].solve(&sights[mesh], k));
            Some([coarse?, fine?])
        };
        let sounds: Option<Vec<_>> = k.par_iter().map(solve).collect();
        let sounds = sounds.ok_or(EdgeError::Unsolved)?;
        Ok(Self { slab: *slab, emitters: emitters.to_vec(), k: k.to_vec(), skins, sounds })
    }

    /// Every emitter at `listener`. The box is its own mirror image: one on the back is heard as it
    /// would be on the face at the listener's mirror image in the middle plane.
    pub fn at(&self, listener: &Point) -> Heard<'_> {
        let seen = *listener;
        let place = [seen.x_m, seen.y_m, seen.z_m + self.slab.thickness_m / 2.0];
        let [coarse, fine] = [0, 1].map(|mesh: usize| self.skins[mesh].sight(place, 1.0));
        let heard = |sound: &[Sound; 2]| -> Vec<Complex64> {
            let pairs = sound[1].heard(&fine).into_iter().zip(sound[0].heard(&coarse));
            pairs.map(|(fine, coarse)| 2.0 * fine - coarse).collect()
        };
        Heard { field: self, seen, scattered: self.sounds.iter().map(heard).collect() }
    }
}

/// What all emitters of a slab, as if they were on its face, send to one place.
#[derive(Debug)]
pub struct Heard<'a> {
    field: &'a AllOrders,
    seen: Point,
    /// At each wavenumber, of each emitter: what the five other sides add to the infinite baffle.
    scattered: Vec<Vec<Complex64>>,
}

impl Heard<'_> {
    /// Pressure for emitter `index` over that in front of an infinite baffle, at each wavenumber.
    ///
    /// # Panics
    /// There is no emitter `index`.
    pub fn ratio(&self, index: usize) -> Vec<Complex64> {
        self.with_baffle(index).map(|(baffle, added)| 1.0 + added / baffle).collect()
    }

    /// Pressure for emitter `index` per jωρ times its flow, 1/m, at each wavenumber.
    ///
    /// # Panics
    /// There is no emitter `index`.
    pub fn pressure(&self, index: usize) -> Vec<Complex64> {
        self.with_baffle(index).map(|(baffle, added)| baffle + added).collect()
    }

    fn with_baffle(&self, index: usize) -> impl Iterator<Item = (Complex64, Complex64)> {
        let emitter = &self.field.emitters[index];
        let pairs = self.field.k.iter().zip(&self.scattered);
        pairs.map(move |(&k, added)| (emitter.spread(&self.seen, k) / TAU, added[index]))
    }
}

/// `listener` mirrored in the middle plane between face and back.
pub(super) fn mirrored(slab: &Slab, listener: &Point) -> Point {
    Point { z_m: -slab.thickness_m - listener.z_m, ..*listener }
}
