//! A shallow cavity whose back, face or both are sheets that bend: every standing wave of the cavity
//! with every mode of the sheets.
//!
//! With the layers of the cavity as [`TwoPort`]s at the transverse wave n (ε of the mode, A the
//! area of the outline, D its mean over the cone, L and M its overlaps with the mode k of the back
//! and with that of the face, both outward):
//!
//! face velocity a = εDU/A − (ε/A) jωΣ M r, back velocity b = (ε/A) jωΣ L q, pressures
//! p_b = across·a − back·b and p_f = face·a − across·b, and (ω_k²(1 + jη) − ω²) q_k = Σ L p_b
//! for each mode of the back, the same with r, M and p_f for the face. So A [q r]ᵀ = f U with
//!
//! A = diag(ω_k²(1+jη) − ω²) + jωΣ (ε/A) (back LLᵀ + across (LMᵀ + MLᵀ) + face MMᵀ),
//! f = Σ (ε/A) D (across L + face M), Z = Z_rigid − jω fᵀA⁻¹f.
//!
//! Modal coupling of a plate and a cavity, e.g. Fahy and Gardonio, *Sound and Structural
//! Vibration*, 2nd ed. (2007), ch. 7 (from memory), with the sum over the depth closed as in
//! [`WaveCavity`](super::wave_cavity::WaveCavity).
//!
//! Any set of bays on either wall works. The face bends as if it had no holes and bore no drivers,
//! and the cone stays a rigid disc in it. The field between rigid walls is passive, and sheets only
//! take from it, so the whole is passive.

mod basis;
mod block;
mod wall;

use super::air::Air;
use super::fluid::Fluid;
use super::layers::{Layer, TwoPort};
use super::sheet::{Rear, Sheet, Walls};
use super::wave_cavity::lattice::Lattice;
use super::wave_cavity::{Coupling, Disc, WaveField};
use crate::grid::{AcousticImpedance, Grid, Spectrum, Transfer};
use basis::{Depths, Dry};
use block::Block;
use num_complex::Complex64;
use std::f64::consts::{PI, TAU};
use std::sync::Arc;

/// Upper ends of the ranges that keep a set of shapes of their own, Hz; the last has no end.
const RANGES_HZ: [f64; 3] = [300.0, 700.0, 1500.0];
/// Sheets act back on the cavity up to this frequency at most, Hz; above it they follow the
/// pressure and are to the cone as good as rigid.
const HIGHEST_REACTION_HZ: f64 = 3500.0;
/// The same over the highest mode that is kept.
const REACTION_OVER_HIGHEST: f64 = 1.15;
/// Waves of the cavity over the finest mode of a sheet, in wavenumber.
const WAVES_OVER_SHAPES: f64 = 2.0;
/// The least waves over the wavenumber of air at the highest frequency of reaction.
const WAVES_OVER_AIR: f64 = 1.6;
/// Most waves that meet a sheet.
const MOST_WAVES: f64 = 2000.0;

/// A cavity, sheets on its walls and cones in its face.
#[derive(Debug, Clone)]
pub struct CoupledCavity {
    field: WaveField,
    lattice: Lattice,
    rear: Rear,
    moves: Walls<bool>,
    cones: Vec<Coupling>,
    ranges: Vec<FrequencyRange>,
    points: usize,
    reaction_end: f64,
}

#[derive(Debug, Clone)]
struct FrequencyRange {
    top: f64,
    blocks: Vec<Block>,
}

/// What one cone finds at one frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Answer {
    /// Mean pressure on the cone's disc over its flow into the cavity, Pa·s/m³, with the inertance
    /// of the waves above the cut: what [`WaveField::impedance_at`] is between rigid walls.
    pub impedance: Complex64,
    /// Outward flow of back and face over inward flow of the cone.
    pub flow_ratio: Walls<Complex64>,
    /// Outward flow of the leak over inward flow of the cone.
    pub leak_ratio: Complex64,
    /// Largest deflection of the back over the cone's flow, m per m³/s, among 49 points of each
    /// bay.
    pub deflection: f64,
}

/// [`Answer`]s over a grid.
#[derive(Debug, Clone)]
pub struct Response {
    /// Impedance on the cone's disc, Pa·s/m³.
    pub impedance: AcousticImpedance,
    /// Outward flow of back and face over inward flow of the cone.
    pub flow_ratio: Walls<Transfer>,
    /// Outward flow of the leak over inward flow of the cone.
    pub leak_ratio: Transfer,
    /// Largest deflection of the back over the cone's flow, m per m³/s.
    pub deflection: Vec<f64>,
}

impl CoupledCavity {
    /// The cavity of `field` with the sheets of `walls`, rigid where there is none, and cones at
    /// `discs`. Bays lie within the outline; air closed behind the back ([`Rear::Gap`]) has the
    /// whole outline and no fill. The face has open air before it, whatever its sheet says.
    pub fn new(field: &WaveField, walls: Walls<Option<&Sheet>>, discs: &[Disc]) -> Self {
        let cavity = field.cavity();
        let outline = [cavity.size_m[0], cavity.size_m[1]];
        let mut finest = 0f64;
        let mut reaction_end = TAU * HIGHEST_REACTION_HZ;
        for sheet in moving(&walls) {
            let modes = || sheet.bays.iter().flat_map(|bay| bay.plate.modes());
            finest = modes().map(|mode| mode.wavenumber_per_m).fold(finest, f64::max);
            let highest = modes().map(|mode| mode.omega_rad_per_s).fold(0.0, f64::max);
            reaction_end = reaction_end.min(REACTION_OVER_HIGHEST * highest);
        }
        let air = WAVES_OVER_AIR * reaction_end / cavity.air.c_m_per_s;
        let most = (MOST_WAVES * 4.0 * PI / cavity.area_m2()).sqrt();
        let lattice = Lattice::new(outline, (WAVES_OVER_SHAPES * finest).max(air).min(most));
        let mut this = Self {
            field: field.clone(),
            lattice,
            rear: walls.back.map_or(Rear::Open, |sheet| sheet.rear),
            moves: walls.map(|sheet| sheet.is_some()),
            cones: discs.iter().map(|disc| field.own(disc)).collect(),
            ranges: Vec::new(),
            points: 0,
            reaction_end,
        };
        if moving(&walls).next().is_some() {
            this.meet(&walls, discs);
        }
        this
    }

    /// Fills in the shapes of the sheets, range by range.
    fn meet(&mut self, walls: &Walls<Option<&Sheet>>, discs: &[Disc]) {
        let cavity = *self.field.cavity();
        let dry = Dry::new(walls, &self.lattice, cavity.area_m2());
        let means = discs.iter().map(|disc| {
            let means = self.lattice.means(disc).zip(&self.lattice.modes);
            means.map(|(d, mode)| d * (mode.epsilon / cavity.area_m2()).sqrt()).collect()
        });
        let means: Vec<Vec<f64>> = means.collect();
        let depths = Depths { cavity_m: cavity.effective_depth_m(), gap_m: self.gap_m() };
        let families = dry.families(&self.lattice, &depths, &cavity.air);
        let tops = RANGES_HZ.map(|hz| TAU * hz).into_iter().chain([f64::INFINITY]);
        self.points = dry.points();
        self.ranges = tops
            .map(|top| {
                let shapes = families.iter().map(|family| family.up_to(top, &means));
                let blocks = shapes.map(|s| Block::new(&dry, &s, &self.lattice, &means));
                FrequencyRange { top, blocks: blocks.collect() }
            })
            .collect();
    }

    fn gap_m(&self) -> Option<f64> {
        match self.rear {
            Rear::Open => None,
            Rear::Gap { depth_m } => Some(depth_m),
        }
    }

    /// Which walls are sheets.
    pub fn moves(&self) -> Walls<bool> {
        self.moves
    }

    /// The field between rigid walls.
    pub fn field(&self) -> &WaveField {
        &self.field
    }

    /// What the cone number `cone` (of the discs that were given) finds at `omega` (rad/s); `None`
    /// for a number that there is not.
    pub fn answer_at(&self, omega: f64, cone: usize) -> Option<Answer> {
        let [(answer, _)] = self.answers_at(omega, [cone])?;
        Some(answer)
    }

    /// What two cones find, and what the sheets take off the pressure on either per flow of the
    /// other, jω f₁ᵀA⁻¹f₂, Pa·s/m³.
    pub fn pair_at(&self, omega: f64, cones: [usize; 2]) -> Option<([Answer; 2], Complex64)> {
        let [(first, [_, given_way]), (second, _)] = self.answers_at(omega, cones)?;
        Some(([first, second], given_way))
    }

    /// What each cone finds, and what the sheets take off the pressure on it per flow of each.
    fn answers_at<const N: usize>(
        &self,
        omega: f64,
        cones: [usize; N],
    ) -> Option<[(Answer, [Complex64; N]); N]> {
        if cones.iter().any(|cone| *cone >= self.cones.len()) {
            return None;
        }
        let ports = self.ports(omega);
        let jw = Complex64::new(0.0, omega);
        let mut reaction = [[Complex64::default(); N]; N];
        let mut volume = [Walls::<Complex64>::default(); N];
        let mut deflection = [(); N].map(|()| vec![Complex64::default(); self.points]);
        let range = self.ranges.iter().find(|range| omega <= range.top).or(self.ranges.last());
        for block in range.iter().flat_map(|range| &range.blocks) {
            let forces = cones.map(|cone| block.force(&self.lattice, &ports, cone));
            let motions = if omega <= self.reaction_end {
                let motions = block.motions(&self.lattice, &ports, omega, &forces);
                for (row, force) in reaction.iter_mut().zip(&forces) {
                    for (sum, motion) in row.iter_mut().zip(&motions) {
                        *sum += force.iter().zip(motion).map(|(f, q)| f * q).sum::<Complex64>();
                    }
                }
                motions
            } else {
                forces.map(|force| block.motion_by_itself(omega, &force))
            };
            for (i, motion) in motions.iter().enumerate() {
                let swept = block.add_volume_and_deflection(motion, &mut deflection[i]);
                volume[i].back += swept.back;
                volume[i].face += swept.face;
            }
        }
        let answer = |i: usize| {
            let rigid = self.field.impedance_at(omega, &self.cones[cones[i]]);
            let given_way = reaction[i].map(|sum| jw * sum);
            let flow_ratio = Walls { back: jw * volume[i].back, face: jw * volume[i].face };
            let largest = deflection[i].iter().map(|w| w.norm_sqr()).fold(0.0, f64::max);
            let answer = Answer {
                impedance: rigid - given_way[i],
                flow_ratio,
                leak_ratio: self.leak_ratio(&ports, &flow_ratio),
                deflection: largest.sqrt(),
            };
            (answer, given_way)
        };
        Some(std::array::from_fn(answer))
    }

    fn leak_ratio(&self, ports: &Ports, flow_ratio: &Walls<Complex64>) -> Complex64 {
        let cavity = self.field.cavity();
        cavity.leak_pa_s_per_m3.map_or(Complex64::default(), |leak| {
            let TwoPort { face, across, .. } = ports.uniform;
            let pressure = face * (1.0 - flow_ratio.face) - across * flow_ratio.back;
            pressure / (cavity.area_m2() * leak)
        })
    }

    /// [`CoupledCavity::answer_at`] over a grid.
    pub fn answer_on(&self, grid: &Arc<Grid>, cone: usize) -> Option<Response> {
        let answers: Option<Vec<Answer>> =
            grid.omega().map(|omega| self.answer_at(omega, cone)).collect();
        let answers = answers?;
        let of = |value: fn(&Answer) -> Complex64| answers.iter().map(value).collect::<Vec<_>>();
        Some(Response {
            impedance: Spectrum::from_values(grid, of(|a| a.impedance)),
            flow_ratio: Walls {
                back: Spectrum::from_values(grid, of(|a| a.flow_ratio.back)),
                face: Spectrum::from_values(grid, of(|a| a.flow_ratio.face)),
            },
            leak_ratio: Spectrum::from_values(grid, of(|a| a.leak_ratio)),
            deflection: answers.iter().map(|a| a.deflection).collect(),
        })
    }

    /// The layers at each place of the lattice at `omega`.
    fn ports(&self, omega: f64) -> Ports {
        let cavity = self.field.cavity();
        let layers = cavity.layers(omega);
        let gas = Fluid::air(&cavity.air, cavity.loss, omega);
        let gap = self.gap_m().map(|thickness_m| Layer { fluid: gas, thickness_m });
        let wavenumber = |layer: &Layer| layer.fluid.wavenumber_per_m.norm();
        let largest = layers.iter().chain(&gap).map(wavenumber).fold(0.0, f64::max);
        let near = self.lattice.near(largest);
        let mut uniform = TwoPort::of(&layers, 0.0, omega);
        if let Some(leak) = cavity.leak_pa_s_per_m3 {
            uniform = uniform.leaking(leak * cavity.area_m2());
        }
        let mut ports = Ports { near, uniform, own: Walls::default(), across: Vec::new() };
        for (place, kappa) in self.lattice.places(near).enumerate() {
            let port = if place == 0 { uniform } else { TwoPort::of(&layers, kappa, omega) };
            let behind = gap.map(|layer| TwoPort::of(&[layer], kappa, omega).face);
            ports.own.back.push(port.back + behind.unwrap_or_default());
            ports.own.face.push(port.face);
            ports.across.push(port.across);
        }
        ports
    }
}

/// The sheets that are there.
fn moving<'a>(walls: &Walls<Option<&'a Sheet>>) -> impl Iterator<Item = &'a Sheet> {
    [walls.back, walls.face].into_iter().flatten().filter(|sheet| !sheet.bays.is_empty())
}

/// What the waves do between the walls at one frequency, place by place.
struct Ports {
    near: usize,
    uniform: TwoPort,
    /// Pressure on a wall over its own velocity.
    own: Walls<Vec<Complex64>>,
    /// Pressure on a wall over the velocity of the other.
    across: Vec<Complex64>,
}

/// Quasi-static air between two walls at the transverse wavenumber `kappa`, kg/m²: its mass as
/// felt at one wall, ρ coth(κL)/κ.
fn still_mass(air: &Air, depth_m: f64, kappa: f64) -> f64 {
    air.rho_kg_per_m3 / (kappa * (kappa * depth_m).tanh())
}
