//! What cannot be fitted, and why.

use super::model::Load;
use super::{Condition, Request};
use crate::signal::curve::Curve;
use std::f64::consts::TAU;

/// Fewest points of a sweep: the free parameters and as many again.
const POINTS: usize = 16;
/// No driver has more than this, Ω.
const MOST_OHM: f64 = 1e6;
/// Least shift of the resonance that weighs a cone, as a share.
const LEAST_SHIFT: f64 = 0.02;

/// Why no driver can be identified.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum IdentifyError {
    /// Too few points.
    #[error("the {sweep} sweep has {found} points; at least {needed} are needed, 200 are better")]
    FewPoints {
        /// Which sweep.
        sweep: &'static str,
        /// How many it has.
        found: usize,
        /// How many it needs.
        needed: usize,
    },
    /// A value that is no impedance, or a frequency out of order.
    #[error(
        "the {sweep} sweep is no impedance: point {point} is {value} {what}; frequencies must be positive and rise, magnitudes be positive and below 1 MΩ, phases lie within 120 degrees"
    )]
    NoImpedance {
        /// Which sweep.
        sweep: &'static str,
        /// Which point, from 1.
        point: usize,
        /// Its value.
        value: f64,
        /// Its unit.
        what: &'static str,
    },
    /// A stated value out of range.
    #[error("{what}: found {value} {unit}, expected {low} to {high} {unit}")]
    OutOfRange {
        /// What it is.
        what: &'static str,
        /// Its value.
        value: f64,
        /// Least value.
        low: f64,
        /// Greatest value.
        high: f64,
        /// Unit of all three.
        unit: &'static str,
    },
    /// Two sweeps without a common frequency.
    #[error(
        "the free-air and the {sweep} sweep have no frequency in common: {free_start_hz:.0}-{free_stop_hz:.0} Hz and {start_hz:.0}-{stop_hz:.0} Hz"
    )]
    NoOverlap {
        /// The other sweep.
        sweep: &'static str,
        /// Lowest frequency in free air, Hz.
        free_start_hz: f64,
        /// Highest frequency in free air, Hz.
        free_stop_hz: f64,
        /// Lowest frequency of the other, Hz.
        start_hz: f64,
        /// Highest frequency of the other, Hz.
        stop_hz: f64,
    },
    /// A sweep that does not hold the resonance.
    #[error(
        "the {sweep} sweep ({start_hz:.0}-{stop_hz:.0} Hz) shows no resonance: no point stands 8 % above both its sides; sweep from a third of the resonance up"
    )]
    NoResonance {
        /// Which sweep.
        sweep: &'static str,
        /// Its lowest frequency, Hz.
        start_hz: f64,
        /// Its highest frequency, Hz.
        stop_hz: f64,
    },
    /// A mass that does not lower the resonance.
    #[error(
        "the added mass does not lower the resonance: {free_hz:.1} Hz without it, {loaded_hz:.1} Hz with it; are the two sweeps exchanged?"
    )]
    NotLowered {
        /// In free air, Hz.
        free_hz: f64,
        /// With the mass, Hz.
        loaded_hz: f64,
    },
    /// A box that does not raise it.
    #[error(
        "the box does not raise the resonance: {free_hz:.1} Hz without it, {boxed_hz:.1} Hz in it; are the two sweeps exchanged, does the box leak?"
    )]
    NotRaised {
        /// In free air, Hz.
        free_hz: f64,
        /// In the box, Hz.
        boxed_hz: f64,
    },
    /// A shift too small to weigh by.
    #[error(
        "the {sweep} sweep shifts the resonance by {percent:.1} % only ({free_hz:.1} to {other_hz:.1} Hz), too little to weigh the cone by: take a {remedy}, for 15 to 30 %"
    )]
    SmallShift {
        /// Which sweep.
        sweep: &'static str,
        /// Shift, percent.
        percent: f64,
        /// In free air, Hz.
        free_hz: f64,
        /// In the other sweep, Hz.
        other_hz: f64,
        /// What to take.
        remedy: &'static str,
    },
    /// The search for a minimum found none.
    #[error(
        "no driver model comes near these sweeps: check that they are impedances in ohm of a moving-coil driver alone, without crossover parts"
    )]
    NoEnd,
}

/// Lowest and highest frequency, Hz.
pub(super) fn ends(curve: &Curve) -> (f64, f64) {
    let end = |f: Option<&f64>| f.copied().unwrap_or(0.0);
    (end(curve.frequency_hz.first()), end(curve.frequency_hz.last()))
}

/// Everything that can be told without fitting.
pub(super) fn request(request: &Request) -> Result<(), IdentifyError> {
    within("piston area", request.sd_m2 * 1e4, 0.5, 2000.0, "cm2")?;
    if let Some(re) = request.re_ohm {
        within("resistance at DC", re, 0.5, 100.0, "ohm")?;
    }
    if let Some((_, kg)) = &request.added_mass {
        within("added mass", kg * 1e3, 0.01, 500.0, "g")?;
    }
    if let Some((_, m3)) = &request.closed_box {
        within("volume of the box", m3 * 1e3, 0.01, 1000.0, "l")?;
    }
    let (free_start_hz, free_stop_hz) = ends(&request.free);
    for (condition, curve) in request.sweeps() {
        let sweep = condition.word();
        sound(sweep, curve)?;
        let (start_hz, stop_hz) = ends(curve);
        if start_hz > free_stop_hz || stop_hz < free_start_hz {
            let error =
                IdentifyError::NoOverlap { sweep, free_start_hz, free_stop_hz, start_hz, stop_hz };
            return Err(error);
        }
    }
    Ok(())
}

fn within(
    what: &'static str,
    value: f64,
    low: f64,
    high: f64,
    unit: &'static str,
) -> Result<(), IdentifyError> {
    // What was given in other units and scaled may have lost its last digit.
    let (least, most) = (low * (1.0 - 1e-12), high * (1.0 + 1e-12));
    match (least..=most).contains(&value) {
        true => Ok(()),
        false => Err(IdentifyError::OutOfRange { what, value, low, high, unit }),
    }
}

fn sound(sweep: &'static str, curve: &Curve) -> Result<(), IdentifyError> {
    let phases = curve.phase_deg.as_ref().map_or(usize::MAX, Vec::len);
    let found = curve.frequency_hz.len().min(curve.magnitude.len()).min(phases);
    let longest = curve.frequency_hz.len().max(curve.magnitude.len());
    if found < POINTS || found < longest {
        return Err(IdentifyError::FewPoints { sweep, found, needed: POINTS });
    }
    let bad = |at: usize, value: f64, what| {
        Err(IdentifyError::NoImpedance { sweep, point: at + 1, value, what })
    };
    let mut before = 0.0;
    for (at, (&hz, &ohm)) in curve.frequency_hz.iter().zip(&curve.magnitude).enumerate() {
        if !(hz.is_finite() && hz > before) {
            return bad(at, hz, "Hz");
        }
        before = hz;
        if !(ohm > 0.0 && ohm < MOST_OHM) {
            return bad(at, ohm, "ohm");
        }
        // Some degrees beyond a quarter turn are noise or a delay.
        let phase = curve.phase_deg.as_ref().map_or(0.0, |p| p[at]);
        let turned = crate::grid::wrap_deg(phase);
        if !turned.is_finite() || turned.abs() >= 120.0 {
            return bad(at, phase, "degrees");
        }
    }
    Ok(())
}

/// About how heavy the cone is, from the resonances without and with `load`, kg.
pub(super) fn weight(
    condition: Condition,
    load: Load,
    free_hz: f64,
    other_hz: f64,
) -> Result<Option<f64>, IdentifyError> {
    let square = (other_hz / free_hz).powi(2);
    let sweep = condition.word();
    let small = |percent: f64, remedy| IdentifyError::SmallShift {
        sweep,
        percent,
        free_hz,
        other_hz,
        remedy,
    };
    match condition {
        Condition::FreeAir => Ok(None),
        Condition::AddedMass(mass_kg) => {
            let kg = super::added_mass_kg(free_hz, other_hz, mass_kg)?;
            let shift = 1.0 - other_hz / free_hz;
            if shift < LEAST_SHIFT {
                Err(small(100.0 * shift, "heavier mass"))
            } else {
                Ok(Some(kg))
            }
        }
        Condition::Box(_) => {
            let shift = other_hz / free_hz - 1.0;
            if shift <= 0.0 {
                return Err(IdentifyError::NotRaised { free_hz, boxed_hz: other_hz });
            }
            if shift < LEAST_SHIFT {
                return Err(small(100.0 * shift, "smaller box"));
            }
            // ωc² (M + m) = ωs² M + k
            let omega2 = (TAU * free_hz).powi(2);
            let left = load.stiffness_n_per_m - omega2 * square * load.mass_kg;
            let mms = left.max(0.1 * load.stiffness_n_per_m) / (omega2 * (square - 1.0));
            Ok(Some(mms))
        }
    }
}
