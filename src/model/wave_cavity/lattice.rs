//! The transverse modes of a rectangle, and how their sum is made short.
//!
//! A sum Σ c_i Z(κ_i) over thousands of modes is wanted at hundreds of frequencies, and only Z
//! changes with frequency and fill. Where κ is well above every wavenumber in the cavity, Z is
//! smooth in κ²; there the modes of a band in κ are replaced by a few Chebyshev points in κ², each
//! carrying the sum of c_i times its Lagrange polynomial at κ_i². The points depend on the outline
//! alone, their shares on the discs: neither on frequency nor on fill.

use super::Disc;
use crate::model::piston;
use num_complex::Complex64;
use std::f64::consts::PI;
use std::ops::Range;

/// Points that stand for a band.
pub(in crate::model) const POINTS: usize = 8;
/// Upper over lower κ of a band.
const BAND_RATIO: f64 = 1.4;
/// A band is summed by its points where its lower κ is this far above all wavenumbers.
const CLEAR_OF: f64 = 1.5;

/// A mode of the outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mode {
    /// Half waves along x and y.
    pub index: [u32; 2],
    /// Transverse wavenumber κ, 1/m.
    pub kappa_per_m: f64,
    /// ε: 1 for an index 0 and 2 for any other, multiplied.
    pub epsilon: f64,
}

/// The modes up to a cut, in bands.
#[derive(Debug, Clone)]
pub(in crate::model) struct Lattice {
    pub(in crate::model) size_m: [f64; 2],
    pub(in crate::model) cut_per_m: f64,
    pub(in crate::model) modes: Vec<Mode>,
    bands: Vec<Band>,
}

#[derive(Debug, Clone)]
struct Band {
    low_per_m: f64,
    modes: Range<usize>,
    points: Option<Points>,
}

#[derive(Debug, Clone)]
struct Points {
    kappa_per_m: [f64; POINTS],
    /// Of each mode of the band: its Lagrange polynomials.
    shares: Vec<[f64; POINTS]>,
}

/// Weights of a sum over the modes, mode by mode and by the points of each band.
#[derive(Debug, Clone)]
pub(in crate::model) struct Weights {
    modes: Vec<f64>,
    points: Vec<[f64; POINTS]>,
}

/// What a place of a sum stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::model) enum Owner {
    /// The mode of this number.
    Mode(usize),
    /// In the band of the first number, the point of the second.
    Point(usize, usize),
}

impl Lattice {
    /// All modes of a rectangle of `size_m` (m) with κ up to `cut_per_m`.
    pub(in crate::model) fn new(size_m: [f64; 2], cut_per_m: f64) -> Self {
        let step = size_m.map(|side| PI / side);
        let mut modes = Vec::new();
        for l in 0..=(cut_per_m / step[0]) as u32 {
            let along = f64::from(l) * step[0];
            let rest = (cut_per_m * cut_per_m - along * along).max(0.0).sqrt();
            for m in 0..=(rest / step[1]) as u32 {
                let epsilon = f64::from(1 + u32::from(l > 0)) * f64::from(1 + u32::from(m > 0));
                let kappa_per_m = along.hypot(f64::from(m) * step[1]);
                modes.push(Mode { index: [l, m], kappa_per_m, epsilon });
            }
        }
        modes.sort_by(|a, b| a.kappa_per_m.total_cmp(&b.kappa_per_m).then(a.index.cmp(&b.index)));
        let bands = bands(&modes);
        Self { size_m, cut_per_m, modes, bands }
    }

    /// The same with every mode summed by itself at every frequency.
    pub(in crate::model) fn in_full(mut self) -> Self {
        self.bands.iter_mut().for_each(|band| band.points = None);
        self
    }

    /// Mean of each mode over `disc`: cos(lπx/Lx) cos(mπy/Ly) 2J1(κa)/(κa).
    pub(in crate::model) fn means<'a>(&'a self, disc: &Disc) -> impl Iterator<Item = f64> + 'a {
        let along = [(disc.x_m, 0), (disc.y_m, 1)].map(|(at, axis)| {
            let side = self.size_m[axis];
            let last = (self.cut_per_m * side / PI) as u32;
            (0..=last).map(|i| (f64::from(i) * PI * at / side).cos()).collect::<Vec<f64>>()
        });
        let radius_m = disc.radius_m;
        self.modes.iter().map(move |mode| {
            let shape = along[0][mode.index[0] as usize] * along[1][mode.index[1] as usize];
            shape * piston::directivity(mode.kappa_per_m * radius_m)
        })
    }

    /// The weights of a sum in which each mode counts `of_modes`.
    pub(in crate::model) fn weights(&self, of_modes: Vec<f64>) -> Weights {
        let of_band = |band: &Band| {
            let mut sums = [0.0; POINTS];
            let Some(points) = &band.points else { return sums };
            for (weight, shares) in of_modes[band.modes.clone()].iter().zip(&points.shares) {
                sums.iter_mut().zip(shares).for_each(|(sum, share)| *sum += weight * share);
            }
            sums
        };
        Weights { points: self.bands.iter().map(of_band).collect(), modes: of_modes }
    }

    /// How many bands must be summed mode by mode where the largest wavenumber is `k_per_m`.
    pub(in crate::model) fn near(&self, k_per_m: f64) -> usize {
        self.bands.partition_point(|band| band.low_per_m <= CLEAR_OF * k_per_m)
    }

    /// [`Lattice::places`] as what they stand for.
    pub(in crate::model) fn owners(&self, near: usize) -> impl Iterator<Item = Owner> + '_ {
        self.bands.iter().enumerate().flat_map(move |(i, band)| {
            let merged = i >= near && band.points.is_some();
            let points = if merged { 0..POINTS } else { 0..0 };
            let modes = if merged { 0..0 } else { band.modes.clone() };
            points.map(move |p| Owner::Point(i, p)).chain(modes.map(Owner::Mode))
        })
    }

    /// Of every band with points: its number, its modes, and each mode's shares of the points.
    pub(in crate::model) fn shares(
        &self,
    ) -> impl Iterator<Item = (usize, Range<usize>, &[[f64; POINTS]])> + '_ {
        self.bands.iter().enumerate().filter_map(|(i, band)| {
            let points = band.points.as_ref()?;
            Some((i, band.modes.clone(), points.shares.as_slice()))
        })
    }

    /// The κ at which a sum with the first `near` bands mode by mode is to be evaluated, in order,
    /// 1/m; the first is 0, the uniform mode.
    pub(in crate::model) fn places(&self, near: usize) -> impl Iterator<Item = f64> + '_ {
        self.bands.iter().enumerate().flat_map(move |(i, band)| {
            let points = band.points.as_ref().filter(|_| i >= near);
            let modes = if points.is_some() { 0..0 } else { band.modes.clone() };
            let one_by_one = self.modes[modes].iter().map(|mode| mode.kappa_per_m);
            points.into_iter().flat_map(|p| p.kappa_per_m).chain(one_by_one)
        })
    }

    /// The sum of `values`, one for each of the [`Lattice::places`] for the same `near`.
    pub(in crate::model) fn sum(
        &self,
        near: usize,
        values: &[Complex64],
        weights: &Weights,
    ) -> Complex64 {
        let mut sum = Complex64::default();
        let mut at = 0;
        for (i, band) in self.bands.iter().enumerate() {
            let here: &[f64] = match band.points {
                Some(_) if i >= near => &weights.points[i],
                _ => &weights.modes[band.modes.clone()],
            };
            for (value, weight) in values[at..].iter().zip(here) {
                sum += value * weight;
            }
            at += here.len();
        }
        sum
    }
}

/// Modes of rising κ cut into the uniform mode and bands of a constant ratio.
fn bands(modes: &[Mode]) -> Vec<Band> {
    let mut bands = Vec::new();
    let mut start = 0;
    while let Some(first) = modes.get(start) {
        let low_per_m = first.kappa_per_m;
        let high_per_m = low_per_m * BAND_RATIO;
        let length = modes[start..].partition_point(|mode| mode.kappa_per_m <= high_per_m);
        let range = start..start + length.max(1);
        let points = Points::of(&modes[range.clone()], low_per_m, high_per_m);
        start = range.end;
        bands.push(Band { low_per_m, modes: range, points });
    }
    bands
}

impl Points {
    /// Chebyshev points in κ² for the modes of a band; `None` where the points would be no fewer.
    fn of(modes: &[Mode], low_per_m: f64, high_per_m: f64) -> Option<Self> {
        if modes.len() <= POINTS {
            return None;
        }
        let (low, high) = (low_per_m * low_per_m, high_per_m * high_per_m);
        let angle = |i: usize| PI * (i as f64 + 0.5) / POINTS as f64;
        // The points on −1…1, and the band scaled to it.
        let unit: [f64; POINTS] = std::array::from_fn(|i| angle(i).cos());
        let squares = unit.map(|u| 0.5 * (low + high) + 0.5 * (high - low) * u);
        let polynomial = |x: f64, i: usize| -> f64 {
            let others = unit.iter().enumerate().filter(|(j, _)| *j != i);
            others.map(|(_, u)| (x - u) / (unit[i] - u)).product()
        };
        let shares = modes.iter().map(|mode| {
            let x = (2.0 * mode.kappa_per_m.powi(2) - low - high) / (high - low);
            std::array::from_fn(|i| polynomial(x, i))
        });
        Some(Self { kappa_per_m: squares.map(f64::sqrt), shares: shares.collect() })
    }
}
