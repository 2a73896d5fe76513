//! Pressures that discs in the face of a cavity make on one another.

use super::lattice::{Lattice, Weights};
use super::{Disc, Mode, WaveCavity, WaveFill};
use crate::grid::{AcousticImpedance, Grid, Spectrum};
use crate::model::layers::{Layer, TwoPort};
use num_complex::Complex64;
use std::f64::consts::{PI, TAU};
use std::sync::Arc;

/// The cut of the sum times the radius of the smallest disc. With the tail, what is left out is
/// 0.003 % of the disc's own inertance.
const CUT_TIMES_RADIUS: f64 = 24.0;
/// The cut over the largest wavenumber of air.
const CUT_OVER_WAVENUMBER: f64 = 1.5;
/// Most modes that are summed; a disc very small for its cavity leaves more to the tail.
const MOST_MODES: f64 = 40_000.0;

/// A cavity with its transverse modes listed up to a cut.
#[derive(Debug, Clone)]
pub struct WaveField {
    cavity: WaveCavity,
    lattice: Arc<Lattice>,
}

/// How two discs, or a disc and itself, share the modes of a cavity.
#[derive(Debug, Clone)]
pub struct Coupling {
    weights: Weights,
    /// Inertance of the modes above the cut over the density, 1/m.
    tail_per_m: f64,
}

impl Coupling {
    /// Without the inertance that stands for the modes above the cut.
    pub fn without_tail(self) -> Self {
        Self { tail_per_m: 0.0, ..self }
    }
}

/// The layers' impedances at the face over a grid: all that depends on frequency and fill, and
/// nothing that depends on the discs.
#[derive(Debug, Clone)]
pub struct Faces {
    grid: Arc<Grid>,
    lattice: Arc<Lattice>,
    at: Vec<Face>,
}

#[derive(Debug, Clone)]
struct Face {
    near: usize,
    /// At the places of the lattice, over the area, Pa·s/m³.
    values: Vec<Complex64>,
    /// jωρ of the layer at the face, kg/(s·m³).
    mass_rate: Complex64,
}

impl WaveField {
    /// The field for these discs up to `highest_hz`: κ up to 20 over the smallest radius, and at
    /// least 1.5 times the wavenumber there. Points (radius 0) have no say.
    pub fn new(cavity: WaveCavity, discs: &[Disc], highest_hz: f64) -> Self {
        let radii = discs.iter().map(|disc| disc.radius_m).filter(|r| *r > 0.0);
        let smallest = radii.fold(f64::INFINITY, f64::min);
        let highest = CUT_OVER_WAVENUMBER * TAU * highest_hz / cavity.air.c_m_per_s;
        let wanted = (CUT_TIMES_RADIUS / smallest).max(highest);
        let most = (MOST_MODES * 4.0 * PI / cavity.area_m2()).sqrt();
        Self::up_to(cavity, wanted.min(most))
    }

    /// The field with all modes of κ up to `cut_per_m`.
    pub fn up_to(cavity: WaveCavity, cut_per_m: f64) -> Self {
        let outline = [cavity.size_m[0], cavity.size_m[1]];
        Self { cavity, lattice: Arc::new(Lattice::new(outline, cut_per_m)) }
    }

    /// The same with every mode summed by itself at every frequency: slow, for comparison.
    pub fn summed_in_full(self) -> Self {
        Self { lattice: Arc::new(Lattice::clone(&self.lattice).in_full()), ..self }
    }

    /// The same outline with another fill; the modes are kept.
    pub fn filled(&self, fill: WaveFill) -> Self {
        Self { cavity: WaveCavity { fill, ..self.cavity }, lattice: Arc::clone(&self.lattice) }
    }

    /// The cavity.
    pub fn cavity(&self) -> &WaveCavity {
        &self.cavity
    }

    /// The transverse modes up to the cut, of rising κ, the uniform one first.
    pub fn modes(&self) -> &[Mode] {
        &self.lattice.modes
    }

    /// Mean of each of the [`WaveField::modes`] over `disc`, signed; a point in a corner has ±1.
    pub fn means(&self, disc: &Disc) -> Vec<f64> {
        self.lattice.means(disc).collect()
    }

    /// The disc with itself: its input impedance. What lies above the cut K is added as the
    /// inertance ρ/(π² a³ K²), the integral of the terms over the density of modes. A point has
    /// no finite input impedance; its sum ends at the cut.
    pub fn own(&self, disc: &Disc) -> Coupling {
        let tail = PI.powi(2) * disc.radius_m.powi(3) * self.lattice.cut_per_m.powi(2);
        let tail_per_m = if disc.radius_m > 0.0 { 1.0 / tail } else { 0.0 };
        Coupling { tail_per_m, ..self.between(disc, disc) }
    }

    /// Mean pressure on one disc over the flow of the other into the cavity, either way round.
    pub fn between(&self, one: &Disc, other: &Disc) -> Coupling {
        let means = self.lattice.means(one).zip(self.lattice.means(other));
        let products = self.modes().iter().zip(means).map(|(mode, (a, b))| mode.epsilon * a * b);
        Coupling { weights: self.lattice.weights(products.collect()), tail_per_m: 0.0 }
    }

    /// The impedance of `coupling` at `omega` (rad/s), Pa·s/m³.
    pub fn impedance_at(&self, omega: f64, coupling: &Coupling) -> Complex64 {
        self.face(omega).impedance(&self.lattice, coupling)
    }

    /// The impedances of several couplings at `omega` (rad/s), Pa·s/m³.
    pub fn impedances_at<const N: usize>(
        &self,
        omega: f64,
        couplings: [&Coupling; N],
    ) -> [Complex64; N] {
        let face = self.face(omega);
        couplings.map(|coupling| face.impedance(&self.lattice, coupling))
    }

    /// The layers' impedances over `grid`.
    pub fn faces(&self, grid: &Arc<Grid>) -> Faces {
        let at = grid.omega().map(|omega| self.face(omega)).collect();
        Faces { grid: Arc::clone(grid), lattice: Arc::clone(&self.lattice), at }
    }

    fn face(&self, omega: f64) -> Face {
        let layers = self.cavity.layers(omega);
        let longest = |k: f64, layer: &Layer| k.max(layer.fluid.wavenumber_per_m.norm());
        let near = self.lattice.near(layers.iter().fold(0.0, longest));
        let per_area = 1.0 / self.cavity.area_m2();
        let of_mode = |kappa: f64| TwoPort::of(&layers, kappa, omega).face * per_area;
        let mut values: Vec<Complex64> = self.lattice.places(near).map(of_mode).collect();
        values[0] = self.cavity.uniform_of(&layers, omega);
        let mass_rate = Complex64::new(0.0, omega) * layers[0].fluid.density_kg_per_m3;
        Face { near, values, mass_rate }
    }
}

impl Face {
    fn impedance(&self, lattice: &Lattice, coupling: &Coupling) -> Complex64 {
        lattice.sum(self.near, &self.values, &coupling.weights)
            + self.mass_rate * coupling.tail_per_m
    }
}

impl Faces {
    /// The impedance of `coupling`, made by the same field or one with another fill, Pa·s/m³.
    pub fn impedance(&self, coupling: &Coupling) -> AcousticImpedance {
        let values = self.at.iter().map(|face| face.impedance(&self.lattice, coupling));
        Spectrum::from_values(&self.grid, values.collect())
    }
}
