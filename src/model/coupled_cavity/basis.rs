//! The shapes in which the sheets of a cavity move on it, each sheet by itself or both as one.
//!
//! From the modes in vacuo, those with the cavity's still air on them are made: its spring under
//! uniform motion, its mass under every other. They nearly part the coupled equations, so that few
//! are enough at low frequency; what the rest would do slowly is one shape more. Shapes that share
//! no wave (of other symmetry) part exactly and are solved apart.

use super::still_mass;
use super::wall::Wall;
use crate::model::air::Air;
use crate::model::sheet::{Sheet, Walls};
use crate::model::wave_cavity::lattice::Lattice;
use nalgebra::{Cholesky, DMatrix, DVector, SymmetricEigen};
use num_complex::Complex64;
use std::sync::Arc;

/// Shapes up to this much above the range's top move freely in it.
const KEPT_OVER_TOP: f64 = 2.5;
/// Overlaps below this part of a shape's largest are zero but for rounding.
const NOTHING: f64 = 1e-7;

/// The modes of all bays in vacuo, those of the back first; of each bay one shape more stands for
/// what it leaves out.
#[derive(Debug)]
pub(super) struct Dry {
    /// Stiffness of each, 1/s² (1/compliance of the shape that stands for others).
    pub stiffness: Vec<Complex64>,
    /// Mass of each: 1, or 0 for a shape that stands for others.
    pub mass: Vec<f64>,
    /// √(ε/A) L at each wall: a row per shape, a column per wave.
    pub overlap: Walls<DMatrix<f64>>,
    /// Volume per amplitude at each wall.
    pub volume: Walls<Vec<f64>>,
    /// Deflection of the back per amplitude: a row per point, a column per shape.
    pub deflection: DMatrix<f64>,
}

/// Air on both sides of the back, m.
pub(super) struct Depths {
    pub cavity_m: f64,
    pub gap_m: Option<f64>,
}

/// Shapes that share waves among themselves and with no other.
#[derive(Debug)]
pub(super) struct Family {
    /// A column per shape over the modes in vacuo, of unit stiffness, by rising frequency.
    shapes: DMatrix<f64>,
    /// 1/ω² of each, s².
    slowness: Vec<f64>,
    /// Of each: its push by uniform pressure, and by the waves one by one.
    overlap: Walls<DMatrix<f64>>,
    still: Arc<Still>,
}

/// The mass of still air by each wave, kg/m²; zero for the uniform one.
#[derive(Debug)]
struct Still {
    /// At each wall, the other held.
    own: Walls<Vec<f64>>,
    /// ρ/(κ sinh κL): how it carries pressure across.
    across: Vec<f64>,
}

impl Still {
    fn new(lattice: &Lattice, depths: &Depths, air: &Air) -> Self {
        let (rho, depth) = (air.rho_kg_per_m3, depths.cavity_m);
        let of = |mass: &dyn Fn(f64) -> f64| -> Vec<f64> {
            let kappas = lattice.modes.iter().map(|mode| mode.kappa_per_m);
            kappas.map(|kappa| if kappa > 0.0 { mass(kappa) } else { 0.0 }).collect()
        };
        let inside = |kappa: f64| still_mass(air, depth, kappa);
        let behind = |kappa: f64| depths.gap_m.map_or(0.0, |gap_m| still_mass(air, gap_m, kappa));
        Self {
            own: Walls { back: of(&|kappa| inside(kappa) + behind(kappa)), face: of(&inside) },
            across: of(&|kappa| rho / (kappa * (kappa * depth).sinh())),
        }
    }
}

impl Dry {
    /// The modes of the sheets of `walls`, with the waves of `lattice` over an outline of `area_m2`.
    pub fn new(walls: &Walls<Option<&Sheet>>, lattice: &Lattice, area_m2: f64) -> Self {
        let Walls { back, face } = walls.map(|sheet| Wall::new(sheet, lattice, area_m2));
        let (of_back, of_face) = (back.mass.len(), face.mass.len());
        let nothing = |size: usize| vec![0.0; size];
        Self {
            stiffness: [back.stiffness, face.stiffness].concat(),
            mass: [back.mass, face.mass].concat(),
            overlap: Walls {
                back: back.overlap.resize_vertically(of_back + of_face, 0.0),
                face: face.overlap.insert_rows(0, of_back, 0.0),
            },
            volume: Walls {
                back: [back.volume, nothing(of_face)].concat(),
                face: [nothing(of_back), face.volume].concat(),
            },
            deflection: back.deflection.resize_horizontally(of_back + of_face, 0.0),
        }
    }

    /// How many points are watched.
    pub fn points(&self) -> usize {
        self.deflection.nrows()
    }

    /// The shapes with still air on them, parted by what waves they share.
    pub fn families(&self, lattice: &Lattice, depths: &Depths, air: &Air) -> Vec<Family> {
        let still = Arc::new(Still::new(lattice, depths, air));
        let springs = Springs {
            cavity: air.bulk_modulus_pa() / depths.cavity_m,
            behind: depths.gap_m.map_or(0.0, |gap_m| air.bulk_modulus_pa() / gap_m),
        };
        let mut families = Vec::new();
        for rows in parted(&self.overlap) {
            let Some((shapes, slowness)) = self.wet(&rows, &springs, &still) else { continue };
            let overlap = self.overlap.as_ref().map(|wall| shapes.tr_mul(wall));
            for columns in parted(&overlap) {
                families.push(Family {
                    shapes: shapes.select_columns(&columns),
                    slowness: columns.iter().map(|&k| slowness[k]).collect(),
                    overlap: overlap.as_ref().map(|wall| wall.select_rows(&columns)),
                    still: Arc::clone(&still),
                });
            }
        }
        families
    }

    /// M v = (1/ω²) K v with vᵀKv = 1 among the modes `rows`, by rising frequency.
    fn wet(
        &self,
        rows: &[usize],
        springs: &Springs,
        still: &Still,
    ) -> Option<(DMatrix<f64>, Vec<f64>)> {
        let Walls { back, face } = self.overlap.as_ref().map(|wall| wall.select_rows(rows));
        let own = DVector::from_fn(rows.len(), |i, _| self.stiffness[rows[i]].re);
        let squeezed = back.column(0) + face.column(0);
        let stiffness = DMatrix::from_diagonal(&own)
            + &squeezed * squeezed.transpose() * springs.cavity
            + back.column(0) * back.column(0).transpose() * springs.behind;
        let own = DVector::from_fn(rows.len(), |i, _| self.mass[rows[i]]);
        // Of each wave: what the motion of either wall presses on the back, and on the face.
        let carried = |own: &DMatrix<f64>, of_own: &[f64], other: &DMatrix<f64>| {
            let mut carried = own.clone();
            for (n, mut column) in carried.column_iter_mut().enumerate() {
                column *= of_own[n];
                column.axpy(still.across[n], &other.column(n), 1.0);
            }
            carried
        };
        let mut mass = DMatrix::from_diagonal(&own);
        mass += carried(&back, &still.own.back, &face) * back.transpose();
        if face.amax() > 0.0 {
            mass += carried(&face, &still.own.face, &back) * face.transpose();
        }
        let factor = Cholesky::new(stiffness)?.l();
        let half = factor.solve_lower_triangular(&mass)?;
        let eigen = SymmetricEigen::new(factor.solve_lower_triangular(&half.transpose())?);
        let mut order: Vec<usize> = (0..rows.len()).collect();
        order.sort_by(|&a, &b| eigen.eigenvalues[b].total_cmp(&eigen.eigenvalues[a]));
        let vectors =
            factor.tr_solve_lower_triangular(&eigen.eigenvectors.select_columns(&order))?;
        let mut shapes = DMatrix::zeros(self.mass.len(), rows.len());
        for (i, &row) in rows.iter().enumerate() {
            shapes.set_row(row, &vectors.row(i));
        }
        Some((shapes, order.iter().map(|&k| eigen.eigenvalues[k].max(0.0)).collect()))
    }
}

/// The springs of air under uniform motion, Pa/m.
struct Springs {
    /// Between the walls.
    cavity: f64,
    /// Behind the back.
    behind: f64,
}

/// Shapes chosen for a range of frequencies.
pub(super) struct Shapes {
    /// A column per shape over the modes in vacuo.
    pub columns: DMatrix<f64>,
    /// 1/ω² of each with still air on it, s²; of the added shapes an estimate.
    pub slowness: Vec<f64>,
}

impl Family {
    /// The shapes that matter up to `top` (rad/s), and what slow pressure of the cones with these
    /// `means` over the waves, and uniform pressure, does with the others.
    pub fn up_to(&self, top: f64, means: &[Vec<f64>]) -> Shapes {
        let limit = (KEPT_OVER_TOP * top).powi(-2);
        let count = self.slowness.partition_point(|&slowness| slowness >= limit);
        let all = self.slowness.len();
        let Walls { back, face } = &self.overlap;
        let still = &self.still;
        // On each wall by itself: where one has more loss than the other they do not keep step.
        let walls = [(back, &still.across), (face, &still.own.face)];
        let pushes = walls.into_iter().flat_map(|(wall, mass)| {
            let of_cone = move |means: &Vec<f64>| {
                let values = means.iter().zip(mass).map(|(d, x)| d * x);
                wall * DVector::from_iterator(mass.len(), values)
            };
            std::iter::once(wall.column(0).into_owned()).chain(means.iter().map(of_cone))
        });
        let pushes: Vec<DVector<f64>> = pushes.filter(|push| push.norm() > 0.0).collect();
        if count + pushes.len() >= all {
            return Shapes { columns: self.shapes.clone(), slowness: self.slowness.clone() };
        }
        let mut columns: Vec<DVector<f64>> =
            self.shapes.column_iter().take(count).map(|c| c.into_owned()).collect();
        let mut slowness = self.slowness[..count].to_vec();
        let mut added: Vec<DVector<f64>> = Vec::new();
        for push in &pushes {
            let mut rest = push.rows(count, all - count).into_owned();
            let size = rest.norm();
            for other in &added {
                rest -= other * other.dot(&rest);
            }
            if rest.norm() > 1e-6 * size {
                added.push(rest.normalize());
            }
        }
        for rest in added {
            columns.push(self.shapes.columns(count, all - count) * &rest);
            slowness.push(rest.iter().zip(&self.slowness[count..]).map(|(v, s)| v * v * s).sum());
        }
        Shapes { columns: DMatrix::from_columns(&columns), slowness }
    }
}

/// The shapes in sets that share no wave, `overlap` having a row for each.
fn parted(overlap: &Walls<DMatrix<f64>>) -> Vec<Vec<usize>> {
    let reach = overlap.back.abs() + overlap.face.abs();
    let size = reach.nrows();
    let least: Vec<f64> = reach.row_iter().map(|row| NOTHING * row.max()).collect();
    let mut set: Vec<usize> = (0..size).collect();
    for column in reach.column_iter() {
        let mut met = (0..size).filter(|&k| column[k] > least[k]);
        let Some(first) = met.next() else { continue };
        for other in met {
            let (from, to) = (set[other], set[first]);
            if from != to {
                set.iter_mut().filter(|s| **s == from).for_each(|s| *s = to);
            }
        }
    }
    let members = |of: usize| (0..size).filter(|&k| set[k] == of).collect::<Vec<_>>();
    (0..size).map(members).filter(|rows| !rows.is_empty()).collect()
}
