//! The modes in vacuo of all bays of one wall, and how the cavity's waves overlap with them.

use crate::model::plate::Plate;
use crate::model::sheet::Sheet;
use crate::model::wave_cavity::lattice::Lattice;
use nalgebra::DMatrix;
use num_complex::Complex64;

/// Points along either side of a bay at which the deflection is watched.
const WATCHED: usize = 7;
/// Most modes of all bays together; higher ones count by their compliance.
const MOST_MODES: usize = 128;

/// The modes of all bays; of each bay one shape more stands for what it leaves out.
#[derive(Debug)]
pub(super) struct Wall {
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

impl Wall {
    /// The modes of `sheet`, with the waves of `lattice` over an outline of `area_m2`; no sheet, no
    /// mode.
    pub fn new(sheet: Option<&Sheet>, lattice: &Lattice, area_m2: f64) -> Self {
        let waves: Vec<[usize; 2]> =
            lattice.modes.iter().map(|mode| mode.index.map(|i| i as usize)).collect();
        let bays = sheet.map_or(&[][..], |sheet| &sheet.bays);
        let limit = sheet.map_or(0.0, highest);
        let counts: Vec<usize> = bays.iter().map(|bay| kept(&bay.plate, limit)).collect();
        let size = counts.iter().map(|count| count + 1).sum();
        let watched = WATCHED * WATCHED;
        let mut this = Self {
            stiffness: Vec::new(),
            mass: Vec::new(),
            overlap: DMatrix::zeros(size, waves.len()),
            volume: Vec::new(),
            deflection: DMatrix::zeros(watched * counts.len(), size),
        };
        for (b, (bay, &count)) in bays.iter().zip(&counts).enumerate() {
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
