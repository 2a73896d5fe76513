//! Driver parameters from measured impedance: a free-air sweep, alone or with a second one that
//! weighs the cone (a known mass on it, or a known box behind it).
//!
//! All sweeps are fitted at once by non-linear least squares (Levenberg-Marquardt, Moré 1978) on
//! ln(Zmodel/Z), which is the relative error, complex, without the bias that a division by a
//! noisy magnitude makes; without a measured phase its real part is used. Standard errors follow
//! from the residual and the curvature at the minimum: they cover noise, not what the model
//! leaves out (creep of the suspension, leads in series, a warm coil).
//!
//! ```
//! use slabtone::analysis::identify::{CoilChoice, Request, identify};
//! use slabtone::grid::Grid;
//! use slabtone::input::{driver_file, files::Embedded};
//! use slabtone::signal::curve::Curve;
//!
//! let bramble = driver_file::load(&Embedded, "drivers/bramble.toml".as_ref())?.driver;
//! let grid = Grid::audible(200)?;
//! let z = bramble.respond(&grid, None).impedance;
//! let free = Curve {
//!     frequency_hz: grid.frequency_hz().to_vec(),
//!     magnitude: z.magnitude(),
//!     phase_deg: Some(z.phase_deg()),
//! };
//! let found = identify(&Request::free_air(free, 38e-4, CoilChoice::Auto))?;
//! assert!((found.value("fs_hz").unwrap_or(0.0) - 78.0).abs() < 1e-6);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod check;
mod classic;
mod estimate;
mod joint;
mod model;
mod solve;
mod start;
mod words;

pub use check::IdentifyError;
pub use classic::{
    ThreeFrequency, added_mass_kg, added_mass_sensitivity, power_law_through, sealed_volume_m3,
};
pub use estimate::Parameter;

use super::finding::Finding;
use crate::model::air::Air;
use crate::model::coil::VoiceCoil;
use crate::model::driver::{MassCondition, Motor};
use crate::signal::curve::Curve;
use joint::{Joint, Solo};
use model::Load;
use num_complex::Complex64;
use solve::Fit;

/// Models of the voice coil.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CoilKind {
    /// jωLe.
    Plain,
    /// K (jω)ⁿ.
    PowerLaw,
    /// jωLe + (jωL2 ∥ R2).
    Shunted,
}

impl CoilKind {
    /// All, the simplest first.
    pub const ALL: [Self; 3] = [Self::Plain, Self::PowerLaw, Self::Shunted];

    /// How many parameters it has.
    pub fn parameters(self) -> usize {
        match self {
            Self::Plain => 1,
            Self::PowerLaw => 2,
            Self::Shunted => 3,
        }
    }

    /// "plain", "power_law", "shunted".
    pub fn word(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::PowerLaw => "power_law",
            Self::Shunted => "shunted",
        }
    }
}

/// A residual beyond this is no fit at all: a model that is half off everywhere.
const WORST_PERCENT: f64 = 50.0;

/// Which coil model to fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CoilChoice {
    /// This one.
    Fixed(CoilKind),
    /// The one with the lowest Bayesian information criterion.
    Auto,
}

/// What a sweep was measured with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Condition {
    /// The driver alone.
    FreeAir,
    /// With a mass stuck to the cone, kg.
    AddedMass(f64),
    /// With its rear in a tight empty box, m³.
    Box(f64),
}

impl Condition {
    /// "free-air", "added-mass" or "box".
    pub fn word(self) -> &'static str {
        match self {
            Self::FreeAir => "free-air",
            Self::AddedMass(_) => "added-mass",
            Self::Box(_) => "box",
        }
    }
}

/// What to identify a driver from.
#[derive(Debug, Clone, PartialEq)]
pub struct Request {
    /// Impedance in free air, Ω.
    pub free: Curve,
    /// Impedance with a mass on the cone, and the mass, kg.
    pub added_mass: Option<(Curve, f64)>,
    /// Impedance in a tight empty box, and its net volume, m³.
    pub closed_box: Option<(Curve, f64)>,
    /// Piston area, m².
    pub sd_m2: f64,
    /// Resistance at DC, Ω, where it was measured on its own: held then.
    pub re_ohm: Option<f64>,
    /// The coil's model.
    pub coil: CoilChoice,
    /// Whether the free-air sweep was taken without a baffle: a box then adds the air at the
    /// cone's rear, as in [`crate::model::closed_box::ClosedBox::behind`].
    pub mass_condition: MassCondition,
    /// The air.
    pub air: Air,
}

impl Request {
    /// From a free-air sweep alone (Ω), unbaffled, in standard air; `sd_m2` is the piston area.
    pub fn free_air(free: Curve, sd_m2: f64, coil: CoilChoice) -> Self {
        Self {
            free,
            added_mass: None,
            closed_box: None,
            sd_m2,
            re_ohm: None,
            coil,
            mass_condition: MassCondition::FreeAir,
            air: Air::default(),
        }
    }

    /// The sweeps and their conditions, the free-air one first.
    pub(crate) fn sweeps(&self) -> Vec<(Condition, &Curve)> {
        let mut all = vec![(Condition::FreeAir, &self.free)];
        all.extend(self.added_mass.iter().map(|(c, kg)| (Condition::AddedMass(*kg), c)));
        all.extend(self.closed_box.iter().map(|(c, m3)| (Condition::Box(*m3), c)));
        all
    }

    fn load(&self, condition: Condition) -> Load {
        match condition {
            Condition::FreeAir => Load::default(),
            Condition::AddedMass(mass_kg) => Load { mass_kg, stiffness_n_per_m: 0.0 },
            Condition::Box(volume_m3) => {
                let area2 = self.sd_m2.powi(2);
                let radius_m = (self.sd_m2 / std::f64::consts::PI).sqrt();
                let rear = match self.mass_condition {
                    MassCondition::FreeAir => self.air.disc_mass_kg_per_m4(radius_m),
                    MassCondition::Baffled => 0.0,
                };
                let stiffness_n_per_m = area2 * self.air.bulk_modulus_pa() / volume_m3;
                Load { mass_kg: area2 * rear, stiffness_n_per_m }
            }
        }
    }
}

/// How well a coil model does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Score {
    /// Which.
    pub coil: CoilKind,
    /// Bayesian information criterion (Schwarz 1978); lower is better, 10 less is decisive.
    pub bic: f64,
    /// Residual, rms over all points, percent of |Z|.
    pub residual_percent: f64,
    /// Free parameters.
    pub parameters: usize,
}

/// A sweep and the model over it.
#[derive(Debug, Clone, PartialEq)]
pub struct FittedSweep {
    /// What it was measured with.
    pub condition: Condition,
    /// As measured.
    pub curve: Curve,
    /// The model at the same frequencies, Ω.
    pub model: Vec<Complex64>,
    /// Measured against model, percent: of the magnitude (real part) and, where a phase was
    /// measured, hundredths of a radian (imaginary part).
    pub residual_percent: Vec<Complex64>,
    /// Its rms, percent.
    pub rms_percent: f64,
    /// Correlation of neighbouring residuals; near 0 for noise.
    pub neighbour_correlation: f64,
    /// Resonance of this sweep when it is fitted on its own, Hz.
    pub resonance_hz: f64,
}

/// The same driver by the methods of paper and pencil.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct CrossCheck {
    /// The three-frequency method on the free-air curve.
    pub three_frequency: Option<ThreeFrequency>,
    /// By how much the coil biases that method on this driver, percent of fs, Qms and Qes; from
    /// the fitted model.
    pub coil_bias_percent: Option<[f64; 3]>,
    /// Mms by the two resonances with and without the mass, kg.
    pub added_mass_kg: Option<f64>,
    /// Vas by resonance and Qes with and without the box, m³.
    pub sealed_volume_m3: Option<f64>,
}

/// A driver as its impedance tells it.
#[derive(Debug, Clone, PartialEq)]
pub struct Identified {
    /// What was found, SI units, in the order people read it.
    pub parameters: Vec<Parameter>,
    /// The coil.
    pub coil: VoiceCoil,
    /// Its model.
    pub coil_kind: CoilKind,
    /// The elements; `None` without a second sweep.
    pub motor: Option<Motor>,
    /// Every coil model that was tried, in the order of [`CoilKind::ALL`].
    pub scores: Vec<Score>,
    /// Residual over all sweeps, rms, percent of |Z|.
    pub residual_percent: f64,
    /// The sweeps, free air first.
    pub sweeps: Vec<FittedSweep>,
    /// Paper and pencil.
    pub cross_check: CrossCheck,
    /// What the data cannot carry, and what else to know.
    pub findings: Vec<Finding>,
}

impl Identified {
    /// A parameter by its key (`fs_hz`, `qms`, `mms_kg`, ...).
    pub fn parameter(&self, key: &str) -> Option<&Parameter> {
        self.parameters.iter().find(|p| p.key == key)
    }

    /// Its value, SI units.
    pub fn value(&self, key: &str) -> Option<f64> {
        self.parameter(key).map(|p| p.value)
    }
}

/// Identifies the driver that `request` describes. Same sweeps, same result.
///
/// # Errors
/// Sweeps or values that cannot be used, no resonance in a sweep, a second sweep that moves the
/// resonance the wrong way or by less than 2 %, a search without an end.
pub fn identify(request: &Request) -> Result<Identified, IdentifyError> {
    check::request(request)?;
    let sweeps = request.sweeps();
    let solos = sweeps
        .iter()
        .map(|(condition, curve)| Solo::of(*condition, curve, request.re_ohm))
        .collect::<Result<Vec<Solo>, IdentifyError>>()?;
    let joint = Joint::of(request, &sweeps, &solos)?;
    let kinds = match request.coil {
        CoilChoice::Fixed(kind) => vec![kind],
        CoilChoice::Auto => CoilKind::ALL.to_vec(),
    };
    let fits: Vec<Fit> =
        kinds.iter().filter_map(|kind| joint.fit(*kind, &joint.all(), request.re_ohm)).collect();
    // Among equals the first, which has fewer parameters.
    let ended = fits.iter().filter(|fit| fit.converged);
    let best = ended.min_by(|a, b| a.bic().total_cmp(&b.bic())).ok_or(IdentifyError::NoEnd)?;
    let fitted = joint.fitted(best, &sweeps, &solos);
    let mut found = Identified {
        parameters: estimate::parameters(best, request),
        coil: best.shape.coil(&best.theta),
        coil_kind: best.shape.kind,
        motor: estimate::motor(best, request),
        scores: fits.iter().map(|fit| score(fit, joint.points())).collect(),
        residual_percent: score(best, joint.points()).residual_percent,
        sweeps: fitted,
        cross_check: joint::cross_check(request, best, &sweeps, &solos),
        findings: Vec::new(),
    };
    let finite = found.parameters.iter().all(|p| p.value.is_finite());
    if !finite || found.residual_percent > WORST_PERCENT {
        return Err(IdentifyError::NoEnd);
    }
    found.findings = words::findings(request, &found, best, &joint);
    Ok(found)
}

fn score(fit: &Fit, points: usize) -> Score {
    Score {
        coil: fit.shape.kind,
        bic: fit.bic(),
        residual_percent: 100.0 * (fit.squares / points.max(1) as f64).sqrt(),
        parameters: fit.free.len(),
    }
}
