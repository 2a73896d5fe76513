//! The skin of the slab in cells, and the sound on it: all orders of diffraction.
//!
//! Formulation. The field is p = 2g + s, g that of the source in free space (per jωρU, so 2g is the
//! field in front of an infinite baffle). 2g has no normal velocity on the face, so s is what the
//! five other sides send out to cancel it: ∂s/∂n = −2 ∂g/∂n there. With Green's theorem outside the
//! slab (Kirchhoff-Helmholtz; Burton and Miller 1971, *Proc. R. Soc. A* 323, eq. 2.4)
//!
//! s/2 − ∫ s ∂G/∂n' dS = 2 ∫ G ∂g/∂n' dS on the skin,
//! s(L) = ∫ s ∂G/∂n' dS + 2 ∫ G ∂g/∂n' dS outside,
//!
//! solved for one value a cell at the cells' middles. The flow 2 ∂g/∂n' through a cell is taken
//! with the exact solid angle, so that exactly half of the source's flow passes the five sides and
//! the low-frequency limit is right on any mesh.
//!
//! The box is its own mirror image in three planes, so the problem falls into eight of an eighth
//! of the size (even or odd in x, y, z); a source on the rear is a source on the face with the
//! listener mirrored.

use super::cells::{Cell, Pairs};
use nalgebra::DMatrix;
use num_complex::Complex64;
use std::f64::consts::FRAC_PI_2;

/// Mirror images of one place in the three middle planes; bit 0 mirrors x, 1 y, 2 z.
const IMAGES: usize = 8;

/// The cells of the eighth of the skin where x, y, z are positive; the origin is the middle of
/// the box.
#[derive(Debug)]
pub(super) struct Skin {
    cells: Vec<Cell>,
    /// Every cell's middle in its eight images, towards every cell.
    pairs: Pairs,
}

/// What one point of a source sends through the cells, or one listener hears from them.
#[derive(Debug)]
pub(super) struct Sight(Pairs);

/// The solution at one wavenumber.
#[derive(Debug)]
pub(super) struct Sound {
    k: f64,
    /// For each source the pressure s and the flow 2 ∂g/∂n' per area, of each image of each cell.
    sources: Vec<Vec<[Complex64; 2]>>,
}

impl Skin {
    /// A box of half sides `half_m`, each cut into `counts` cells that get finer towards the edges.
    pub fn new(half_m: [f64; 3], counts: [usize; 3]) -> Self {
        let lines = [0, 1, 2].map(|axis| cuts(half_m[axis], counts[axis]));
        let mut cells = Vec::new();
        for axis in [2, 0, 1] {
            let [u, v] = [[1, 2], [0, 2], [0, 1]][axis];
            for a in lines[u].windows(2) {
                for b in lines[v].windows(2) {
                    let mut centre_m = half_m;
                    centre_m[u] = 0.5 * (a[0] + a[1]);
                    centre_m[v] = 0.5 * (b[0] + b[1]);
                    let half = [0.5 * (a[1] - a[0]), 0.5 * (b[1] - b[0])];
                    cells.push(Cell { centre_m, half_m: half, axis });
                }
            }
        }
        let mut pairs = Pairs::with_capacity(cells.len() * cells.len() * IMAGES);
        for at in &cells {
            for cell in &cells {
                (0..IMAGES).for_each(|i| pairs.push(image(at.centre_m, i), cell, 1.0));
            }
        }
        Self { cells, pairs }
    }

    /// How the cells are seen from `point`, all times `weight`.
    pub fn sight(&self, point: [f64; 3], weight: f64) -> Sight {
        let mut pairs = Pairs::with_capacity(self.cells.len() * IMAGES);
        for cell in &self.cells {
            (0..IMAGES).for_each(|i| pairs.push(image(point, i), cell, weight));
        }
        Sight(pairs)
    }

    /// The same for each of a source's points.
    pub fn sights(&self, points: &[([f64; 3], f64)]) -> Vec<Sight> {
        points.iter().map(|&(point, weight)| self.sight(point, weight)).collect()
    }

    /// Solves for all sources, each given by the sights from its points; none where the equation
    /// has no answer.
    pub fn solve(&self, sources: &[Vec<Sight>], k: f64) -> Option<Sound> {
        let flows: Vec<Vec<Complex64>> = sources.iter().map(|s| self.flows(s, k)).collect();
        let (double, single) = self.blocks(k);
        let mut found: Vec<Vec<[Complex64; 2]>> =
            flows.iter().map(|f| f.iter().map(|&u| [Complex64::default(), u]).collect()).collect();
        let n = self.cells.len();
        for (block, (double, single)) in double.into_iter().zip(single).enumerate() {
            let part = DMatrix::from_fn(n, flows.len(), |j, s| part(&flows[s], block, j));
            let pressure = double.lu().solve(&(single * part))?;
            for (s, source) in found.iter_mut().enumerate() {
                for (at, value) in source.iter_mut().enumerate() {
                    value[0] += sign(block, at % IMAGES) * pressure[(at / IMAGES, s)];
                }
            }
        }
        Some(Sound { k, sources: found })
    }

    /// 2 ∂g/∂n' on each image of each cell.
    fn flows(&self, sights: &[Sight], k: f64) -> Vec<Complex64> {
        let through = |at: usize| sights.iter().map(|s| s.0.get(at, k).0).sum::<Complex64>();
        (0..self.cells.len() * IMAGES)
            .map(|at| 2.0 * through(at) / self.cells[at / IMAGES].area_m2())
            .collect()
    }

    /// The matrices 1/2 − ∫ ∂G/∂n' and ∫ G of the eight symmetries.
    fn blocks(&self, k: f64) -> (Vec<DMatrix<Complex64>>, Vec<DMatrix<Complex64>>) {
        let n = self.cells.len();
        let empty = || vec![DMatrix::<Complex64>::zeros(n, n); IMAGES];
        let (mut double, mut single) = (empty(), empty());
        for j in 0..n {
            for i in 0..n {
                let mut values = [[Complex64::default(); 2]; IMAGES];
                for (image, value) in values.iter_mut().enumerate() {
                    let (slope, green) = self.pairs.get((i * n + j) * IMAGES + image, k);
                    *value = [-slope, green];
                }
                unfold(&mut values);
                for block in 0..IMAGES {
                    let own = if i == j { 0.5 } else { 0.0 };
                    double[block][(i, j)] = values[block][0] + own;
                    single[block][(i, j)] = values[block][1];
                }
            }
        }
        (double, single)
    }
}

impl Sound {
    /// s of every source at a listener seen by `sight`.
    pub fn heard(&self, sight: &Sight) -> Vec<Complex64> {
        let mut heard = vec![Complex64::default(); self.sources.len()];
        let cells = self.sources.first().map_or(0, Vec::len);
        for at in 0..cells {
            let (slope, green) = sight.0.get(at, self.k);
            for (sum, source) in heard.iter_mut().zip(&self.sources) {
                *sum += slope * source[at][0] + green * source[at][1];
            }
        }
        heard
    }
}

/// Cuts of half a side from the middle to the edge: between even cells and a cosine's, which are
/// finest at the edge, where the pressure bends.
fn cuts(half_m: f64, count: usize) -> Vec<f64> {
    /// Share of the cosine's; 0.2 to 0.4 made the smallest errors on slabs of 20 to 60 mm.
    const GRADED: f64 = 0.25;
    let place = |i: usize| {
        let even = i as f64 / count as f64;
        half_m * (GRADED * (FRAC_PI_2 * even).sin() + (1.0 - GRADED) * even)
    };
    (0..=count).map(place).collect()
}

fn image(mut point: [f64; 3], image: usize) -> [f64; 3] {
    for (axis, value) in point.iter_mut().enumerate() {
        if image >> axis & 1 == 1 {
            *value = -*value;
        }
    }
    point
}

/// Sign of `image` in the symmetry `block`, whose set bits are odd.
fn sign(block: usize, image: usize) -> f64 {
    if (block & image).count_ones().is_multiple_of(2) { 1.0 } else { -1.0 }
}

/// The part of `values` (all images of all cells) in cell `j` that has the symmetry `block`.
fn part(values: &[Complex64], block: usize, j: usize) -> Complex64 {
    let images = values[j * IMAGES..(j + 1) * IMAGES].iter().enumerate();
    images.map(|(i, v)| sign(block, i) * v).sum::<Complex64>() / IMAGES as f64
}

/// Sums over the images with the signs of each symmetry, in place (Walsh-Hadamard).
fn unfold(values: &mut [[Complex64; 2]; IMAGES]) {
    for axis in 0..3 {
        let step = 1 << axis;
        for at in (0..IMAGES).filter(|at| at & step == 0) {
            let (one, other) = (values[at], values[at + step]);
            values[at] = [one[0] + other[0], one[1] + other[1]];
            values[at + step] = [one[0] - other[0], one[1] - other[1]];
        }
    }
}
