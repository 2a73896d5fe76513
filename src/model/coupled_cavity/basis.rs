//! The shapes in which a sheet moves on its cavity.
//!
//! From the modes in vacuo, those with the cavity's still air on them are made: its spring under
//! uniform motion, its mass under every other. They nearly part the coupled equations, so that few
//! are enough at low frequency; what the rest would do slowly is one shape more. Shapes that share
//! no wave (of other symmetry) part exactly and are solved apart.

use super::still_mass;
use crate::model::air::Air;
use crate::model::plate::Plate;
use crate::model::sheet::Sheet;
use crate::model::wave_cavity::lattice::Lattice;
use nalgebra::{Cholesky, DMatrix, DVector, SymmetricEigen};
use num_complex::Complex64;

/// Shapes up to this much above the range's top move freely in it.
const KEPT_OVER_TOP: f64 = 2.5;
/// Points along either side of a bay at which the deflection is watched.
const WATCHED: usize = 7;
/// Overlaps below this part of a shape's largest are zero but for rounding.
const NOTHING: f64 = 1e-7;
/// Most modes of all bays together; higher ones count by their compliance.
const MOST_MODES: usize = 128;

/// The modes of all bays in vacuo; of each bay one shape more stands for what it leaves out.
#[derive(Debug)]
pub(super) struct Dry {
    /// Stiffness of each, 1/s² (1/compliance of the shape that stands for others).
    pub stiffness: Vec<Complex64>,
    /// Mass of each: 1, or 0 for a shape that stands for others.
    pub mass: Vec<f64>,
    /// √(ε/A) L: a row per shape, a column per wave.
    pub overlap: DMatrix<f64>,
    /// Volume per amplitude.
    pub volume: Vec<f64>,
    /// Deflection per amplitude: a row per point, a column per shape.
    pub deflection: DMatrix<f64>,
}

/// Air on both sides of the sheet, m.
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
    overlap: DMatrix<f64>,
    /// ρ/(κ sinh κL) of each wave: how still air carries pressure across.
    across: Vec<f64>,
}

impl Dry {
    /// The modes of `sheet`, with the waves of `lattice` over an outline of `area_m2`.
    pub fn new(sheet: &Sheet, lattice: &Lattice, area_m2: f64) -> Self {
        let waves: Vec<[usize; 2]> =
            lattice.modes.iter().map(|mode| mode.index.map(|i| i as usize)).collect();
        let limit = highest(sheet);
        let counts: Vec<usize> = sheet.bays.iter().map(|bay| kept(&bay.plate, limit)).collect();
        let size = counts.iter().map(|count| count + 1).sum();
        let watched = WATCHED * WATCHED;
        let mut this = Self {
            stiffness: Vec::new(),
            mass: Vec::new(),
            overlap: DMatrix::zeros(size, waves.len()),
            volume: Vec::new(),
            deflection: DMatrix::zeros(watched * counts.len(), size),
        };
        for (b, (bay, &count)) in sheet.bays.iter().zip(&counts).enumerate() {
            let (first, plate) = (this.mass.len(), &bay.plate);
            let all = plate.overlaps(bay.corner_m, lattice.size_m, &waves);
            let mut rest = plate.left_out_m3_per_pa();
            for (k, mode) in plate.modes().iter().enumerate() {
                if k < count {
                    this.push(mode.stiffness(), 1.0, mode.volume_m2_per_sqrt_kg);
                    this.overlap.set_row(first + k, &all.row(k));
                } else {
                    rest += mode.volume_m2_per_sqrt_kg.powi(2) / mode.stiffness();
                }
            }
            this.push(1.0 / least(rest, plate), 0.0, 1.0);
            this.overlap.set_row(first + count, &all.row(plate.modes().len()));
            for point in 0..watched {
                let row = watched * b + point;
                for (k, shape) in shapes_at(plate, point).iter().take(count).enumerate() {
                    this.deflection[(row, first + k)] = *shape;
                }
                this.deflection[(row, first + count)] = 1.0 / plate.area_m2();
            }
        }
        for (mut column, mode) in this.overlap.column_iter_mut().zip(&lattice.modes) {
            column *= (mode.epsilon / area_m2).sqrt();
        }
        this
    }

    fn push(&mut self, stiffness: Complex64, mass: f64, volume: f64) {
        self.stiffness.push(stiffness);
        self.mass.push(mass);
        self.volume.push(volume);
    }

    /// How many points are watched.
    pub fn points(&self) -> usize {
        self.deflection.nrows()
    }

    /// The shapes with still air on them, parted by what waves they share.
    pub fn families(&self, lattice: &Lattice, depths: &Depths, air: &Air) -> Vec<Family> {
        let sides = || [Some(depths.cavity_m), depths.gap_m].into_iter().flatten();
        let spring: f64 = sides().map(|depth| air.bulk_modulus_pa() / depth).sum();
        let kappas = || lattice.modes.iter().map(|mode| mode.kappa_per_m);
        let mass = |kappa: f64| sides().map(|depth| still_mass(air, depth, kappa)).sum::<f64>();
        let masses: Vec<f64> =
            kappas().map(|kappa| if kappa > 0.0 { mass(kappa) } else { 0.0 }).collect();
        let across = |kappa: f64| air.rho_kg_per_m3 / (kappa * (kappa * depths.cavity_m).sinh());
        let across: Vec<f64> =
            kappas().map(|kappa| if kappa > 0.0 { across(kappa) } else { 0.0 }).collect();
        let mut families = Vec::new();
        for rows in parted(&self.overlap) {
            let Some((shapes, slowness)) = self.wet(&rows, spring, &masses) else { continue };
            let overlap = shapes.tr_mul(&self.overlap);
            for columns in parted(&overlap) {
                families.push(Family {
                    shapes: shapes.select_columns(&columns),
                    slowness: columns.iter().map(|&k| slowness[k]).collect(),
                    overlap: overlap.select_rows(&columns),
                    across: across.clone(),
                });
            }
        }
        families
    }

    /// M v = (1/ω²) K v with vᵀKv = 1 among the modes `rows`, by rising frequency.
    fn wet(&self, rows: &[usize], spring: f64, masses: &[f64]) -> Option<(DMatrix<f64>, Vec<f64>)> {
        let overlap = self.overlap.select_rows(rows);
        let uniform = overlap.column(0);
        let own = DVector::from_fn(rows.len(), |i, _| self.stiffness[rows[i]].re);
        let stiffness = DMatrix::from_diagonal(&own) + uniform * uniform.transpose() * spring;
        let own = DVector::from_fn(rows.len(), |i, _| self.mass[rows[i]]);
        let mut carried = overlap.clone();
        for (mut column, &mass) in carried.column_iter_mut().zip(masses) {
            column *= mass;
        }
        let mass = DMatrix::from_diagonal(&own) + carried * overlap.transpose();
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
        let pushes = [self.overlap.column(0).into_owned()].into_iter();
        let pushes: Vec<DVector<f64>> = pushes
            .chain(means.iter().map(|means| {
                let across = means.iter().zip(&self.across).map(|(d, x)| d * x);
                &self.overlap * DVector::from_iterator(self.across.len(), across)
            }))
            .collect();
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

/// The frequency of the last mode that is kept where all bays together have too many, rad/s.
fn highest(sheet: &Sheet) -> f64 {
    let mut all: Vec<f64> =
        sheet.bays.iter().flat_map(|bay| bay.plate.modes()).map(|m| m.omega_rad_per_s).collect();
    all.sort_by(f64::total_cmp);
    all.get(MOST_MODES).copied().unwrap_or(f64::INFINITY)
}

fn kept(plate: &Plate, limit: f64) -> usize {
    plate.modes().partition_point(|mode| mode.omega_rad_per_s < limit)
}

/// A compliance that can be inverted: a billionth of the plate's own at least.
fn least(compliance: Complex64, plate: &Plate) -> Complex64 {
    let floor = 1e-9 * plate.static_compliance_m3_per_pa();
    if compliance.re > floor { compliance } else { floor.into() }
}

fn shapes_at(plate: &Plate, point: usize) -> Vec<f64> {
    let place = |index: usize| (index + 1) as f64 / (WATCHED + 1) as f64;
    let [x, y] = plate.sides_m();
    plate.shapes_at(place(point % WATCHED) * x, place(point / WATCHED) * y)
}

/// The rows of `overlap` in sets that share no column.
fn parted(overlap: &DMatrix<f64>) -> Vec<Vec<usize>> {
    let size = overlap.nrows();
    let least: Vec<f64> = overlap.row_iter().map(|row| NOTHING * row.amax()).collect();
    let mut set: Vec<usize> = (0..size).collect();
    for column in overlap.column_iter() {
        let mut met = (0..size).filter(|&k| column[k].abs() > least[k]);
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
