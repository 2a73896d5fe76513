//! What the sweeps cannot carry, in words.

use super::joint::Joint;
use super::model::RE;
use super::solve::Fit;
use super::{CoilKind, Condition, FittedSweep, Identified, Request, check, estimate};
use crate::analysis::finding::{Finding, Severity};
use crate::units;
use std::f64::consts::TAU;

/// A relative standard error above this is told.
const LOOSE: f64 = 0.3;
/// A shift of the resonance below this is told, as a share.
const SMALL_SHIFT: f64 = 0.1;
/// A residual above this is told, percent.
const LARGE_PERCENT: f64 = 5.0;
/// Neighbours correlated above this are no noise.
const SYSTEMATIC: f64 = 0.5;

/// Cautions first.
pub(super) fn findings(
    request: &Request,
    found: &Identified,
    fit: &Fit,
    joint: &Joint,
) -> Vec<Finding> {
    let mut all = Vec::new();
    loose(found, fit, &mut all);
    range(found, &mut all);
    found.sweeps.iter().for_each(|sweep| shift(found, sweep, &mut all));
    found.sweeps.iter().for_each(|sweep| residual(sweep, &mut all));
    resistance(request, fit, joint, &mut all);
    two_weights(request, found.coil_kind, joint, &mut all);
    scales(request, &mut all);
    all.sort_by_key(|f| f.severity < Severity::Caution);
    all
}

fn loose(found: &Identified, fit: &Fit, all: &mut Vec<Finding>) {
    for p in &found.parameters {
        if p.held || p.relative_error() <= LOOSE {
            continue;
        }
        // K alone is loose where n is: its size at the frequencies measured is not.
        if p.key == "k_si" && found.parameter("n").is_some_and(|n| n.relative_error() <= LOOSE) {
            continue;
        }
        let how = match p.standard_error {
            Some(_) => format!("is known to ±{:.0} % only", 100.0 * p.relative_error()),
            None => "is not determined at all".to_owned(),
        };
        let what = match p.key {
            "le_h" | "k_si" | "n" | "l2_h" | "r2_ohm" => {
                "the sweeps hardly show it: take a simpler coil model, or sweep higher"
            }
            "re_ohm" => "sweep lower, or measure it at DC and state it",
            _ => "sweep with more points around the resonance, or less noise",
        };
        all.push(Finding::caution(p.symbol, format!("{how}; {what}")));
    }
    for at in &fit.bound {
        let symbol = estimate::symbol(fit.shape, *at);
        let (value, what) = match symbol {
            "n" if fit.theta[*at] > 0.9 => ("1", "this coil is a plain inductance"),
            "n" => ("0.3", "the impedance rises less than a voice coil's does"),
            _ => ("0", "the sweeps show no series inductance"),
        };
        let text = format!("stands at the bound of its range, {value}: {what}");
        all.push(Finding::caution(symbol, text));
    }
}

/// Whether the free-air sweep reaches far enough to both sides.
fn range(found: &Identified, all: &mut Vec<Finding>) {
    let Some(free) = found.sweeps.first() else { return };
    let (start_hz, stop_hz) = check::ends(&free.curve);
    let (Some(fs), Some(re)) = (found.value("fs_hz"), found.value("re_ohm")) else { return };
    let Some(qts) = found.value("qts") else { return };
    if start_hz > 0.7 * fs {
        let text = format!(
            "starts at {} and does not hold the lower side of the resonance at {}: Re and the losses lean on the model",
            units::hertz(start_hz),
            units::hertz(fs)
        );
        all.push(Finding::caution("free-air sweep", text));
    }
    let coil = found.coil.impedance(TAU * stop_hz).norm();
    if coil < 0.3 * re {
        let text = format!(
            "ends at {} where the coil adds {} to Re = {} only: sweep to 20 kHz to tell the coil",
            units::hertz(stop_hz),
            units::ohms(coil),
            units::ohms(re)
        );
        all.push(Finding::caution("free-air sweep", text));
    }
    // Half-power width of the motion.
    let half = 0.5 / qts;
    let root = (1.0 + half * half).sqrt();
    let (low, high) = (fs * (root - half), fs * (root + half));
    let inside = free.curve.frequency_hz.iter().filter(|f| (low..=high).contains(*f)).count();
    if inside < 5 {
        let text = format!(
            "has {inside} points on the resonance ({} to {}): take more there",
            units::hertz(low),
            units::hertz(high)
        );
        all.push(Finding::caution("free-air sweep", text));
    }
    if found.sweeps.iter().any(|s| s.curve.phase_deg.is_none()) {
        let text =
            "a sweep holds no phase: its magnitude alone is fitted, with larger errors of the coil";
        all.push(Finding::note("phase", text));
    }
}

fn shift(found: &Identified, sweep: &FittedSweep, all: &mut Vec<Finding>) {
    let Some(free) = found.sweeps.first() else { return };
    let share = (sweep.resonance_hz / free.resonance_hz - 1.0).abs();
    if sweep.condition == Condition::FreeAir || share >= SMALL_SHIFT {
        return;
    }
    let amplified = super::added_mass_sensitivity(free.resonance_hz, sweep.resonance_hz).abs();
    let what =
        if matches!(sweep.condition, Condition::Box(_)) { "smaller box" } else { "heavier mass" };
    let text = format!(
        "shifts the resonance by {:.1} % only, so that 1 % in a resonance is {amplified:.0} % in Mms: take a {what}",
        100.0 * share
    );
    all.push(Finding::caution(format!("{} sweep", sweep.condition.word()), text));
}

fn residual(sweep: &FittedSweep, all: &mut Vec<Finding>) {
    let subject = format!("{} sweep", sweep.condition.word());
    if sweep.rms_percent > LARGE_PERCENT {
        let text = format!(
            "is {:.1} % rms away from the model: trust the figure before the numbers",
            sweep.rms_percent
        );
        all.push(Finding::caution(subject.clone(), text));
    }
    if sweep.neighbour_correlation > SYSTEMATIC && sweep.rms_percent > 1e-4 {
        let text = format!(
            "misses the model systematically (neighbouring residuals correlate by {:.2}): the errors told cover noise only, the true ones are larger",
            sweep.neighbour_correlation
        );
        all.push(Finding::caution(subject, text));
    }
}

/// A stated resistance against what the sweeps say by themselves.
fn resistance(request: &Request, fit: &Fit, joint: &Joint, all: &mut Vec<Finding>) {
    let Some(stated) = request.re_ohm else { return };
    let Some(open) = joint.fit(fit.shape.kind, &joint.all(), None) else { return };
    let (re, error) = (open.theta[RE].exp(), open.covariance[(RE, RE)].max(0.0).sqrt());
    let off = re / stated - 1.0;
    if off.abs() > 0.01 && (re / stated).ln().abs() > 3.0 * error {
        let why = match off > 0.0 {
            true => "leads and contacts in series, or a warm coil",
            false => "a resistance measured with its leads, or a series resistor set wrong",
        };
        let text = format!(
            "by the sweeps alone it is {} Ω (±{:.1} %), {:+.1} % from the {} stated: {why}",
            units::significant(re, 4),
            100.0 * error,
            100.0 * off,
            units::ohms(stated)
        );
        all.push(Finding::caution("Re", text));
    }
}

/// Mass and box each for itself, where both were swept.
fn two_weights(request: &Request, kind: CoilKind, joint: &Joint, all: &mut Vec<Finding>) {
    let (Some((_, kg)), Some((_, m3))) = (&request.added_mass, &request.closed_box) else { return };
    let alone = |second: Condition| -> Option<(f64, f64)> {
        let fit = joint.fit(kind, &[Condition::FreeAir, second], request.re_ohm)?;
        let at = fit.shape.mass()?;
        let mms = fit.theta[at].exp();
        Some((mms, mms * fit.covariance[(at, at)].max(0.0).sqrt()))
    };
    let (Some(mass), Some(boxed)) = (alone(Condition::AddedMass(*kg)), alone(Condition::Box(*m3)))
    else {
        return;
    };
    let gram = |(value, error): (f64, f64)| {
        format!("{} ± {} g", units::significant(value * 1e3, 4), units::significant(error * 1e3, 2))
    };
    let off = boxed.0 / mass.0 - 1.0;
    let sure = (boxed.0 - mass.0).abs() > 3.0 * mass.1.hypot(boxed.1);
    let text = format!(
        "the added mass alone says {}, the box alone {} ({:+.1} %)",
        gram(mass),
        gram(boxed),
        100.0 * off
    );
    if sure && off.abs() > 0.03 {
        let text = format!(
            "{text}: weigh the mass, measure the box and the piston area again, look for leaks"
        );
        all.push(Finding::caution("Mms", text));
    } else {
        all.push(Finding::note("Mms", text));
    }
}

/// What a second sweep takes for granted.
fn scales(request: &Request, all: &mut Vec<Finding>) {
    if request.added_mass.is_some() {
        let text = "1 % in the added mass is 1 % in Mms, Rms and Cms and half a percent in Bl; 1 % in the piston area is 2 % in Vas";
        all.push(Finding::note("what was stated", text));
    } else if request.closed_box.is_some() {
        let text = "the box counts as tight, rigid and empty; 1 % in the piston area is 2 % in Mms, 1 % in the volume is 1 % in Mms and Vas";
        all.push(Finding::note("what was stated", text));
    } else {
        let text = "a free-air sweep does not weigh the cone: Mms, Cms, Rms, Bl and Vas need a second sweep with a known mass or box";
        all.push(Finding::note("free-air sweep", text));
    }
}
