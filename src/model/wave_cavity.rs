//! A shallow rectangular cavity as a field of waves: transverse modes of the outline, each a
//! transmission line across the depth, driven by discs in the face.
//!
//! Z_A = (1/A) Σ ε D² Z(κ), with κ² = (lπ/Lx)² + (mπ/Ly)², ε = 1 for an index 0 and 2 for any other
//! (multiplied), D the mean of the mode over the disc and Z(κ) the layers' impedance at the face
//! ([`TwoPort`]). Source: the Green function of a rigid room, e.g. Morse and Ingard, *Theoretical
//! Acoustics*, ch. 9 (from memory), its sum over the depth closed as a cotangent.
//!
//! Cavity coordinates: origin in an inside corner, x and y along the face, z from face to back.
//! Walls are rigid, the air is linear, the cone is a flat disc in the face: its depth is left out,
//! and so is what stands in the way behind it ([`LIMITS`]).

mod field;
pub(super) mod lattice;
mod rear;

pub use field::{Coupling, Faces, WaveField};
pub use lattice::Mode;
pub use rear::{MotorBody, Rear, RearSpace};

use super::air::{Air, GAMMA, THERMAL_DIFFUSIVITY_M2_PER_S, VISCOSITY_PA_S};
use super::driver::Motor;
use super::fluid::{AirLoss, Fluid, Foam};
use super::layers::{Layer, TwoPort};
use super::piston;
use num_complex::Complex64;
use std::f64::consts::PI;

/// Q of the standing waves in the air of a bare box where nothing else is stated; 60 to 100 is
/// common practice, no source.
pub const USUAL_MODAL_Q: f64 = 80.0;

/// What the model leaves out, in sentences for a reader of its results.
pub const LIMITS: [&str; 4] = [
    "The cavity is a rigid rectangular box: sheets that move, rounded corners and ribs are left out.",
    "The cone is a flat disc in the face; the depth of the cone is left out.",
    "Motor and basket take their volume from the depth of the whole cavity; as obstacles they are left out.",
    "Foam has a rigid frame and covers the whole outline; a light foam damps less at low frequencies.",
];

/// A flat disc in the face of a cavity, wholly inside its outline; radius 0 is a point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Disc {
    /// Centre from the corner along x, m.
    pub x_m: f64,
    /// Centre from the corner along y, m.
    pub y_m: f64,
    /// Radius, m.
    pub radius_m: f64,
}

/// Foam in a cavity.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum WaveFill {
    /// Air alone.
    #[default]
    None,
    /// Something that makes the air this many times softer and no heavier, everywhere.
    Softer {
        /// Factor of the compliance, 1 to 1.4.
        factor: f64,
    },
    /// The whole cavity full of foam.
    Whole(Foam),
    /// A sheet of foam over the whole back; one as thick as the cavity fills it.
    Back {
        /// The foam.
        foam: Foam,
        /// Thickness, m.
        thickness_m: f64,
    },
}

/// A rectangular cavity, its fill and its losses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaveCavity {
    /// Inner size in x, y and z, m.
    pub size_m: [f64; 3],
    /// Volume that motors and baskets take, m³. It is taken from the depth, so that the cavity
    /// has its net volume; a foam sheet keeps its thickness.
    pub displaced_volume_m3: f64,
    /// The fill.
    pub fill: WaveFill,
    /// Loss of the air outside the foam.
    pub loss: AirLoss,
    /// Acoustic resistance of leaks, Pa·s/m³, across the uniform mode; `None` for a tight cavity.
    pub leak_pa_s_per_m3: Option<f64>,
    /// The air.
    pub air: Air,
}

/// A standing wave of the empty cavity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandingWave {
    /// Half waves along x, y and z.
    pub index: [u32; 3],
    /// Frequency, Hz.
    pub frequency_hz: f64,
}

impl Disc {
    /// Mean over the disc of the mode with `index` half waves along x and y in an outline of
    /// `size_m` (m): cos(lπx/Lx) cos(mπy/Ly) 2J1(κa)/(κa), signed; 1 for a point in the corner of
    /// the origin. Exact: the mean of e^{jκ·r} over a disc does not depend on its direction.
    pub fn mean(&self, index: [u32; 2], size_m: [f64; 2]) -> f64 {
        let step = [0, 1].map(|axis| f64::from(index[axis]) * PI / size_m[axis]);
        let shape = (step[0] * self.x_m).cos() * (step[1] * self.y_m).cos();
        shape * piston::directivity(step[0].hypot(step[1]) * self.radius_m)
    }
}

impl WaveCavity {
    /// A tight bare cavity of `size_m` (m) with the usual Q and nothing in it.
    pub fn bare(size_m: [f64; 3], air: Air) -> Self {
        Self {
            size_m,
            displaced_volume_m3: 0.0,
            fill: WaveFill::None,
            loss: AirLoss::ModalQ { q: USUAL_MODAL_Q },
            leak_pa_s_per_m3: None,
            air,
        }
    }

    /// Area of the outline, m².
    pub fn area_m2(&self) -> f64 {
        self.size_m[0] * self.size_m[1]
    }

    /// Volume of air and fill, m³.
    pub fn net_volume_m3(&self) -> f64 {
        self.area_m2() * self.size_m[2] - self.displaced_volume_m3
    }

    /// Depth that gives the net volume, m; a tenth of the true one at least.
    pub fn effective_depth_m(&self) -> f64 {
        (self.net_volume_m3() / self.area_m2()).max(0.1 * self.size_m[2])
    }

    /// What lies between face and back at `omega` (rad/s).
    pub fn layers(&self, omega: f64) -> Vec<Layer> {
        let depth_m = self.effective_depth_m();
        let gas = |thickness_m| Layer { fluid: self.gas(omega), thickness_m };
        let sheet =
            |foam: Foam, thickness_m| Layer { fluid: foam.fluid(&self.air, omega), thickness_m };
        match self.fill {
            WaveFill::Whole(foam) => vec![sheet(foam, depth_m)],
            WaveFill::Back { foam, thickness_m } if thickness_m >= depth_m => {
                vec![sheet(foam, depth_m)]
            }
            WaveFill::Back { foam, thickness_m } if thickness_m > 0.0 => {
                vec![gas(depth_m - thickness_m), sheet(foam, thickness_m)]
            }
            WaveFill::Softer { factor } => {
                let fluid = self.gas(omega);
                let wavenumber_per_m = fluid.wavenumber_per_m * factor.sqrt();
                vec![Layer { fluid: Fluid { wavenumber_per_m, ..fluid }, thickness_m: depth_m }]
            }
            WaveFill::None | WaveFill::Back { .. } => vec![gas(depth_m)],
        }
    }

    fn gas(&self, omega: f64) -> Fluid {
        Fluid::air(&self.air, self.loss, omega)
    }

    /// Mean pressure in the face over a flow into the cavity, the uniform mode alone with the
    /// leak beside it, Pa·s/m³. At low frequency ρc²/(jωV).
    pub fn uniform_impedance(&self, omega: f64) -> Complex64 {
        self.uniform_of(&self.layers(omega), omega)
    }

    fn uniform_of(&self, layers: &[Layer], omega: f64) -> Complex64 {
        let tight = TwoPort::of(layers, 0.0, omega).face / self.area_m2();
        match self.leak_pa_s_per_m3 {
            Some(leak) => tight * leak / (tight + leak),
            None => tight,
        }
    }

    /// Acoustic compliance of the uniform mode without the leak, 1/(jωZ), m³/Pa; complex where
    /// the fill is lossy.
    pub fn compliance(&self, omega: f64) -> Complex64 {
        let tight = Self { leak_pa_s_per_m3: None, ..*self };
        1.0 / (Complex64::new(0.0, omega) * tight.uniform_impedance(omega))
    }

    /// Share of a cone's flow that a far listener still counts, (Ud − Uleak)/Ud: what leaves by
    /// the leak near the cone is of opposite sign.
    pub fn net_flow(&self, omega: f64) -> Complex64 {
        match self.leak_pa_s_per_m3 {
            Some(leak) => 1.0 - self.uniform_impedance(omega) / leak,
            None => Complex64::new(1.0, 0.0),
        }
    }

    /// The cavity with a leak of the quality QL = ωc Cab Ral at the resonance of `motor` with its
    /// rear `rear` in the cavity (without the leak).
    pub fn with_leak_ql(mut self, ql: f64, motor: &Motor, rear: &Rear) -> Self {
        self.leak_pa_s_per_m3 = None;
        let field = WaveField::new(self, &[rear.disc], 0.0);
        let own = field.own(&rear.disc);
        let omega_c = rear.resonance(motor, |w| field.impedance_at(w, &own));
        self.leak_pa_s_per_m3 = Some(ql / (omega_c * self.compliance(omega_c).re));
        self
    }

    /// The highest Q that the modes without a half wave in depth could have in the bare cavity:
    /// Lz/(δv + (γ−1) δt), the boundary layers δv = √(2η/(ρω)) and δt = √(2κ/(ρ cp ω)) of the two
    /// large walls alone (boundary-layer theory, e.g. Morse and Ingard, ch. 6, from memory). Side
    /// walls, wires and wood lower it.
    pub fn wall_loss_q(&self, omega: f64) -> f64 {
        let viscous = (2.0 * VISCOSITY_PA_S / (self.air.rho_kg_per_m3 * omega)).sqrt();
        let thermal = (2.0 * THERMAL_DIFFUSIVITY_M2_PER_S / omega).sqrt();
        self.size_m[2] / (viscous + (GAMMA - 1.0) * thermal)
    }

    /// The `count` lowest standing waves of the empty cavity at its full depth, rising:
    /// (c/2) √((l/Lx)² + (m/Ly)² + (n/Lz)²). Those within 0.001 Hz count as equal, and the one
    /// with the lower first index comes first.
    pub fn standing_waves(&self, count: usize) -> Vec<StandingWave> {
        let last = count as u32;
        let frequency_hz = |index: [u32; 3]| {
            let steps =
                index.iter().zip(self.size_m).map(|(&i, side)| (f64::from(i) / side).powi(2));
            0.5 * self.air.c_m_per_s * steps.sum::<f64>().sqrt()
        };
        // All that lie below the lowest `count` along the longest side are enough.
        let longest_m = self.size_m.into_iter().fold(0.0, f64::max);
        let highest_hz = 0.5 * self.air.c_m_per_s * f64::from(last) / longest_m * (1.0 + 1e-9);
        let reach = self.size_m.map(|side| (2.0 * highest_hz * side / self.air.c_m_per_s) as u32);
        let mut found = Vec::new();
        for l in 0..=reach[0] {
            for m in 0..=reach[1] {
                for index in (0..=reach[2]).map(|n| [l, m, n]) {
                    let frequency_hz = frequency_hz(index);
                    if index != [0, 0, 0] && frequency_hz <= highest_hz {
                        found.push(StandingWave { index, frequency_hz });
                    }
                }
            }
        }
        found.sort_by_key(|wave| ((1e3 * wave.frequency_hz).round() as u64, wave.index));
        found.truncate(count);
        found
    }
}
