//! A rectangular plate held at its edges: modes, static compliance, and the flow that pressure
//! drives through it.
//!
//! The plate is thin (Kirchhoff) and linear: deflections above half its thickness stiffen it and
//! are not followed.

pub mod air_load;
pub mod edge;
pub(crate) mod gauss;
mod ritz;
pub mod section;
mod span;

use edge::Edges;
use nalgebra::DMatrix;
use num_complex::Complex64;
use section::Section;
use span::Span;
use std::f64::consts::{PI, TAU};

/// Modes above this frequency count by their compliance alone, Hz.
const HIGHEST_MODE_HZ: f64 = 6000.0;
/// No plate keeps more modes than this; the rest counts by its compliance.
const MOST_MODES: usize = 100;
/// Nor fewer than this.
const FEWEST_MODES: usize = 6;

/// A mode of vibration, scaled to unit modal mass: ∫µφ² dA = 1.
#[derive(Debug, Clone)]
pub struct Mode {
    /// Resonance, rad/s.
    pub omega_rad_per_s: f64,
    /// Loss factor: the stiffness is ω²(1 + jη).
    pub loss_factor: f64,
    /// ∫φ dA, m²/√kg.
    pub volume_m2_per_sqrt_kg: f64,
    /// √(∫|∇φ|²/∫φ²): how finely it is divided, 1/m.
    pub wavenumber_per_m: f64,
    /// Weights of the products of span functions in φ, 1/√(kg/m²).
    weights: DMatrix<f64>,
}

impl Mode {
    /// Resonance, Hz.
    pub fn frequency_hz(&self) -> f64 {
        self.omega_rad_per_s / TAU
    }

    /// ω²(1 + jη), 1/s².
    pub fn stiffness(&self) -> Complex64 {
        self.omega_rad_per_s.powi(2) * Complex64::new(1.0, self.loss_factor)
    }

    /// Static volume per pressure, m³/Pa, complex for the loss.
    fn compliance(&self) -> Complex64 {
        self.volume_m2_per_sqrt_kg.powi(2) / self.stiffness()
    }
}

/// A plate with its modes.
#[derive(Debug, Clone)]
pub struct Plate {
    sides_m: [f64; 2],
    section: Section,
    spans: [Span; 2],
    modes: Vec<Mode>,
    left_out_m3_per_pa: Complex64,
    centre_m_per_pa: f64,
}

impl Plate {
    /// A plate of `sides_m` along x and y, held at its `edges`, in vacuo.
    ///
    /// Ritz method with about 320 products of span functions, fewer where the plate has no mode that
    /// needs them; exact where all edges turn freely.
    pub fn new(sides_m: [f64; 2], section: &Section, edges: &Edges) -> Self {
        let [a, b] = sides_m;
        // As many functions along each side as give waves of one length there.
        let grain = (section.y_n_m.re / section.x_n_m.re).powf(0.25);
        let slender = (a / b * grain).sqrt();
        let count = |share: f64, length_m: f64, stiffness_n_m: f64| {
            let finest = bending_wavenumber(section, stiffness_n_m, TAU * HIGHEST_MODE_HZ);
            let needed = finest * length_m / PI + 6.0;
            (18.0 * share).min(needed).round().clamp(10.0, 32.0) as usize
        };
        let x_count = count(slender, a, section.x_n_m.re);
        let y_count = count(1.0 / slender, b, section.y_n_m.re);
        let x = Span::new(a, edges.x, section.x_n_m.re, x_count);
        let y = Span::new(b, edges.y, section.y_n_m.re, y_count);
        let lift = [x.cosines(0.0, a, 1), y.cosines(0.0, b, 1)];
        let middle = [x.at(0.5 * a), y.at(0.5 * b)].map(nalgebra::DVector::from_vec);
        let scale = section.mass_kg_per_m2.sqrt();
        let mut centre_m_per_pa = 0.0;
        let mut modes = Vec::new();
        for mode in ritz::modes(section, &x, &y) {
            let weights = mode.weights / scale;
            let volume = (lift[0].transpose() * &weights * &lift[1])[(0, 0)];
            centre_m_per_pa += volume * middle[0].dot(&(&weights * &middle[1])) / mode.stiffness.re;
            modes.push(Mode {
                omega_rad_per_s: mode.stiffness.re.sqrt(),
                loss_factor: mode.stiffness.im / mode.stiffness.re,
                volume_m2_per_sqrt_kg: volume,
                wavenumber_per_m: mode.wavenumber_per_m,
                weights,
            });
        }
        let low = modes.partition_point(|mode| mode.frequency_hz() <= HIGHEST_MODE_HZ);
        let dropped = modes.split_off(low.clamp(FEWEST_MODES, MOST_MODES).min(modes.len()));
        let left_out_m3_per_pa = dropped.iter().map(Mode::compliance).sum();
        Self {
            sides_m,
            section: *section,
            spans: [x, y],
            modes,
            left_out_m3_per_pa,
            centre_m_per_pa,
        }
    }

    /// The plate with fluid mass of `first_kg_per_m2` on its first mode, kg/m². On higher modes it
    /// falls as one over their wavenumber, as the reach of the near field does; static compliance
    /// stays.
    #[must_use]
    pub fn with_added_mass(mut self, first_kg_per_m2: f64) -> Self {
        let first = self.modes.first().map_or(0.0, |mode| mode.wavenumber_per_m);
        for mode in &mut self.modes {
            let added = first_kg_per_m2 * first / mode.wavenumber_per_m;
            let share = (1.0 + added / self.section.mass_kg_per_m2).sqrt();
            mode.omega_rad_per_s /= share;
            mode.volume_m2_per_sqrt_kg /= share;
            mode.weights /= share;
        }
        self
    }

    /// Length along x and y, m.
    pub fn sides_m(&self) -> [f64; 2] {
        self.sides_m
    }

    /// Area, m².
    pub fn area_m2(&self) -> f64 {
        self.sides_m[0] * self.sides_m[1]
    }

    /// What it is made of.
    pub fn section(&self) -> &Section {
        &self.section
    }

    /// Its modes by rising frequency; higher ones are left out, see [`Plate::left_out_m3_per_pa`].
    pub fn modes(&self) -> &[Mode] {
        &self.modes
    }

    /// Static volume compliance of all modes that are not in [`Plate::modes`], m³/Pa.
    pub fn left_out_m3_per_pa(&self) -> Complex64 {
        self.left_out_m3_per_pa
    }

    /// Volume swept per uniform pressure, without loss, m³/Pa.
    pub fn static_compliance_m3_per_pa(&self) -> f64 {
        let lossless = |m: &Mode| (m.volume_m2_per_sqrt_kg / m.omega_rad_per_s).powi(2);
        // Of the modes left out the loss is small against the compliance.
        self.modes.iter().map(lossless).sum::<f64>() + self.left_out_m3_per_pa.re
    }

    /// Deflection of the centre per uniform static pressure, m/Pa.
    pub fn static_centre_m_per_pa(&self) -> f64 {
        self.centre_m_per_pa
    }

    /// Outward flow over uniform pressure, m³/s/Pa: jωΣ V²/(ω_k²(1+jη) − ω²), the modes left out
    /// as a compliance, so that it tends to jωC_p.
    pub fn admittance(&self, omega: f64) -> Complex64 {
        let motion = |m: &Mode| m.volume_m2_per_sqrt_kg.powi(2) / (m.stiffness() - omega * omega);
        let volume = self.modes.iter().map(motion).sum::<Complex64>() + self.left_out_m3_per_pa;
        Complex64::new(0.0, omega) * volume
    }

    /// φ of every mode at (`x_m`, `y_m`) from the plate's low corner, 1/√kg.
    pub fn shapes_at(&self, x_m: f64, y_m: f64) -> Vec<f64> {
        let along = nalgebra::DVector::from_vec(self.spans[0].at(x_m));
        let across = nalgebra::DVector::from_vec(self.spans[1].at(y_m));
        self.modes.iter().map(|mode| along.dot(&(&mode.weights * &across))).collect()
    }

    /// ∫φ cos(lπx/Lx) cos(mπy/Ly) dA of every mode over the waves (l, m) of a wall of `wall_m` in
    /// which the plate's low corner lies at `corner_m`, m²/√kg: a row per mode, a column per wave.
    /// The last row is the mean of each wave over the plate, without unit: the shape of what the
    /// modes left out do.
    pub fn overlaps(
        &self,
        corner_m: [f64; 2],
        wall_m: [f64; 2],
        waves: &[[usize; 2]],
    ) -> DMatrix<f64> {
        let most = |axis: usize| waves.iter().map(|w| w[axis] + 1).max().unwrap_or(1);
        let [x, y] = [0, 1].map(|i| self.spans[i].cosines(corner_m[i], wall_m[i], most(i)));
        let mean = |axis: usize, wave: usize| {
            let step = wave as f64 * PI / wall_m[axis];
            let half = 0.5 * self.sides_m[axis];
            let sinc = if wave == 0 { 1.0 } else { (step * half).sin() / (step * half) };
            sinc * (step * (corner_m[axis] + half)).cos()
        };
        let mut found = DMatrix::zeros(self.modes.len() + 1, waves.len());
        for (k, mode) in self.modes.iter().enumerate() {
            let table = x.tr_mul(&(&mode.weights * &y));
            for (n, &[l, m]) in waves.iter().enumerate() {
                found[(k, n)] = table[(l, m)];
            }
        }
        for (n, &[l, m]) in waves.iter().enumerate() {
            found[(self.modes.len(), n)] = mean(0, l) * mean(1, m);
        }
        found
    }
}

/// Wavenumber of free bending waves along a side of `stiffness_n_m`, (µω²/D)^¼, 1/m.
fn bending_wavenumber(section: &Section, stiffness_n_m: f64, omega: f64) -> f64 {
    (section.mass_kg_per_m2 * omega * omega / stiffness_n_m).powf(0.25)
}
