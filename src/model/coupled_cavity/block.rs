//! The equations of shapes that share waves: symmetric, complex, solved at one frequency.

use super::Ports;
use super::basis::{Dry, Shapes};
use crate::model::sheet::Walls;
use crate::model::wave_cavity::lattice::{Lattice, Owner, POINTS, Weights};
use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;

/// Shapes with all that does not depend on frequency. Symmetric matrices are lower triangles, row
/// by row.
#[derive(Debug, Clone)]
pub(super) struct Block {
    size: usize,
    stiffness: Vec<Complex64>,
    mass: Vec<f64>,
    meetings: Vec<Meeting>,
    /// Of each cone, shape by shape.
    force: Vec<Vec<Walls<Weights>>>,
    volume: Walls<Vec<f64>>,
    deflection: DMatrix<f64>,
    slowness: Vec<f64>,
    loss: Vec<f64>,
}

/// How the waves meet the shapes at a wall, or at both as if they were one.
#[derive(Debug, Clone)]
struct Meeting {
    through: Through,
    /// Of each wave its overlap with the shapes; empty where there is none.
    waves: Vec<Vec<f64>>,
    /// Of each band of the lattice the products of overlaps that its points carry.
    points: Vec<Vec<Vec<f64>>>,
}

/// What the overlaps of a [`Meeting`] are with, and so what of the air they meet. With l and m the
/// overlaps with back and face, back llᵀ + across (lmᵀ + mlᵀ) + face mmᵀ is
/// across (l+m)(l+m)ᵀ + (back − across) llᵀ + (face − across) mmᵀ.
#[derive(Debug, Clone, Copy)]
enum Through {
    /// The back, the face being rigid.
    Back,
    /// The face, the back being rigid.
    Face,
    /// The sum of both.
    Both,
    /// The back for what it has more than the sum.
    BackBeside,
    /// The face for what it has more than the sum.
    FaceBeside,
}

impl Through {
    fn of(self, ports: &Ports) -> Vec<Complex64> {
        let beside =
            |own: &[Complex64]| own.iter().zip(&ports.across).map(|(z, x)| z - x).collect();
        match self {
            Self::Back => ports.own.back.clone(),
            Self::Face => ports.own.face.clone(),
            Self::Both => ports.across.clone(),
            Self::BackBeside => beside(&ports.own.back),
            Self::FaceBeside => beside(&ports.own.face),
        }
    }
}

impl Block {
    /// The block of these `shapes`, driven by cones with these `means` over the waves.
    pub fn new(dry: &Dry, shapes: &Shapes, lattice: &Lattice, means: &[Vec<f64>]) -> Self {
        let columns = &shapes.columns;
        let size = columns.ncols();
        let overlap = dry.overlap.as_ref().map(|dry| columns.tr_mul(dry));
        let part = |value: fn(&Complex64) -> f64| {
            projected(columns, &dry.stiffness.iter().map(value).collect::<Vec<f64>>())
        };
        let (spring, drag) = (part(|k| k.re), part(|k| k.im));
        let own = (0..size).map(|i| lower(i, i));
        let loss = own.map(|at| drag[at] / spring[at].max(f64::MIN_POSITIVE)).collect();
        let weights = |wall: &DMatrix<f64>, k: usize, means: &[f64]| {
            lattice.weights(wall.row(k).iter().zip(means).map(|(l, d)| l * d).collect())
        };
        let of_cone = |means: &Vec<f64>| -> Vec<Walls<Weights>> {
            (0..size).map(|k| overlap.as_ref().map(|wall| weights(wall, k, means))).collect()
        };
        let volume = |of: &Vec<f64>| columns.tr_mul(&DVector::from_column_slice(of));
        Self {
            size,
            stiffness: spring.iter().zip(&drag).map(|(&re, &im)| Complex64::new(re, im)).collect(),
            mass: projected(columns, &dry.mass),
            meetings: meetings(&overlap, lattice),
            force: means.iter().map(of_cone).collect(),
            volume: dry.volume.as_ref().map(|of| volume(of).as_slice().to_vec()),
            deflection: &dry.deflection * columns,
            slowness: shapes.slowness.clone(),
            loss,
        }
    }

    /// Force on each shape per flow of the cone, f.
    pub fn force(&self, lattice: &Lattice, ports: &Ports, cone: usize) -> Vec<Complex64> {
        let of = |weights: &Walls<Weights>| {
            lattice.sum(ports.near, &ports.across, &weights.back)
                + lattice.sum(ports.near, &ports.own.face, &weights.face)
        };
        self.force[cone].iter().map(of).collect()
    }

    /// Amplitude of each shape under each of `forces`, A⁻¹f.
    pub fn motions<const N: usize>(
        &self,
        lattice: &Lattice,
        ports: &Ports,
        omega: f64,
        forces: &[Vec<Complex64>; N],
    ) -> [Vec<Complex64>; N] {
        let length = self.mass.len();
        let (mut re, mut im) = (vec![0.0; length], vec![0.0; length]);
        for meeting in &self.meetings {
            for (owner, z) in lattice.owners(ports.near).zip(meeting.through.of(ports)) {
                match owner {
                    Owner::Point(band, point) => {
                        let matrix = &meeting.points[band][point];
                        for ((re, im), s) in re.iter_mut().zip(&mut im).zip(matrix) {
                            *re += z.re * s;
                            *im += z.im * s;
                        }
                    }
                    Owner::Mode(wave) => add_square(&mut re, &mut im, z, &meeting.waves[wave]),
                }
            }
        }
        let air = re.iter().zip(&im).map(|(&re, &im)| Complex64::new(-omega * im, omega * re));
        let own = self.stiffness.iter().zip(&self.mass).map(|(k, m)| k - omega * omega * m);
        solve(own.zip(air).map(|(a, b)| a + b).collect(), self.size, forces)
    }

    /// The same with each shape by itself and the air still: for the highest frequencies.
    pub fn motion_by_itself(&self, omega: f64, force: &[Complex64]) -> Vec<Complex64> {
        let own = self.slowness.iter().zip(&self.loss);
        let stiffness =
            own.map(|(s, loss)| Complex64::new(1.0 - omega * omega * s, loss.max(1e-3)));
        force.iter().zip(stiffness).map(|(f, k)| f / k).collect()
    }

    /// Volume that `motion` sweeps at each wall; the deflection of the back at each point is added
    /// to `deflection`.
    pub fn add_volume_and_deflection(
        &self,
        motion: &[Complex64],
        deflection: &mut [Complex64],
    ) -> Walls<Complex64> {
        for (column, q) in self.deflection.column_iter().zip(motion) {
            deflection.iter_mut().zip(column.iter()).for_each(|(w, shape)| *w += q * shape);
        }
        let swept = |volume: &Vec<f64>| volume.iter().zip(motion).map(|(v, q)| q * *v).sum();
        self.volume.as_ref().map(swept)
    }
}

/// The meetings of waves and shapes with this `overlap` (a row per shape, a column per wave): one
/// where one wall is rigid, else three.
fn meetings(overlap: &Walls<DMatrix<f64>>, lattice: &Lattice) -> Vec<Meeting> {
    let Walls { back, face } = overlap;
    let largest = back.amax().max(face.amax());
    let meeting = |through: Through, overlap: &DMatrix<f64>| {
        let waves = overlap.column_iter().map(|column| {
            if column.amax() > 1e-9 * largest { column.as_slice().to_vec() } else { Vec::new() }
        });
        let waves: Vec<Vec<f64>> = waves.collect();
        Meeting { through, points: points(lattice, &waves, overlap.nrows()), waves }
    };
    match (back.amax() > 0.0, face.amax() > 0.0) {
        (_, false) => vec![meeting(Through::Back, back)],
        (false, true) => vec![meeting(Through::Face, face)],
        (true, true) => vec![
            meeting(Through::Both, &(back + face)),
            meeting(Through::BackBeside, back),
            meeting(Through::FaceBeside, face),
        ],
    }
}

/// Where row `i`, column `j` ≤ `i` of a lower triangle is.
fn lower(i: usize, j: usize) -> usize {
    i * (i + 1) / 2 + j
}

/// Lower triangle of Cᵀ diag(`values`) C.
fn projected(columns: &DMatrix<f64>, values: &[f64]) -> Vec<f64> {
    let mut weighted = columns.clone();
    for (mut row, value) in weighted.row_iter_mut().zip(values) {
        row *= *value;
    }
    let full = columns.tr_mul(&weighted);
    let size = columns.ncols();
    (0..size).flat_map(|i| (0..=i).map(move |j| (i, j))).map(|at| full[at]).collect()
}

/// Adds z·l·lᵀ to a lower triangle.
fn add_square(re: &mut [f64], im: &mut [f64], z: Complex64, overlap: &[f64]) {
    for (i, &left) in overlap.iter().enumerate() {
        let row = lower(i, 0)..lower(i, i) + 1;
        let (zr, zi) = (z.re * left, z.im * left);
        for ((re, im), right) in re[row.clone()].iter_mut().zip(&mut im[row]).zip(overlap) {
            *re += zr * right;
            *im += zi * right;
        }
    }
}

/// For each band the sums of share·l·lᵀ over its modes, point by point; nothing for bands without
/// points.
fn points(lattice: &Lattice, waves: &[Vec<f64>], size: usize) -> Vec<Vec<Vec<f64>>> {
    let mut all = Vec::new();
    for (band, modes, shares) in lattice.shares() {
        all.resize(band, Vec::new());
        let mut sums = vec![vec![0.0; lower(size, 0)]; POINTS];
        for (overlap, share) in waves[modes].iter().zip(shares) {
            let square: Vec<f64> = overlap
                .iter()
                .enumerate()
                .flat_map(|(i, left)| overlap[..=i].iter().map(move |right| left * right))
                .collect();
            for (sum, share) in sums.iter_mut().zip(share) {
                sum.iter_mut().zip(&square).for_each(|(s, product)| *s += share * product);
            }
        }
        all.push(sums);
    }
    all
}

/// x of A x = each of `rights`, A symmetric with the lower triangle `a`: LDLᵀ without exchange of rows,
/// which is stable where A/(jω) has a positive real part, as every lossy passive system has.
fn solve<const N: usize>(
    mut a: Vec<Complex64>,
    size: usize,
    rights: &[Vec<Complex64>; N],
) -> [Vec<Complex64>; N] {
    let mut pivots = vec![Complex64::default(); size];
    for i in 0..size {
        let (above, row) = a.split_at_mut(lower(i, 0));
        for j in 0..i {
            let other = &above[lower(j, 0)..lower(j, j)];
            let known: Complex64 = row[..j].iter().zip(other).map(|(u, l)| u * l).sum();
            row[j] -= known;
        }
        let mut pivot = row[i];
        let scale = pivot.norm();
        for j in 0..i {
            let once = row[j];
            row[j] = once / pivots[j];
            pivot -= once * row[j];
        }
        // Only a lossless system at its very resonance has no pivot.
        if pivot.norm() <= 1e-14 * scale {
            pivot = Complex64::new(0.0, 1e-14 * scale.max(f64::MIN_POSITIVE));
        }
        pivots[i] = pivot;
    }
    rights.clone().map(|x| substituted(&a, &pivots, x))
}

/// The rest of [`solve`]: the factors are in the lower triangle `a` and the pivots.
fn substituted(a: &[Complex64], pivots: &[Complex64], mut x: Vec<Complex64>) -> Vec<Complex64> {
    let size = x.len();
    for i in 0..size {
        let row = &a[lower(i, 0)..lower(i, i)];
        let known: Complex64 = row.iter().zip(&x).map(|(l, x)| l * x).sum();
        x[i] -= known;
    }
    x.iter_mut().zip(pivots).for_each(|(x, pivot)| *x /= pivot);
    for i in (0..size).rev() {
        let last = x[i];
        for (j, l) in a[lower(i, 0)..lower(i, i)].iter().enumerate() {
            x[j] -= l * last;
        }
    }
    x
}
