//! The `[[impedance]]` and `[[response]]` tables of a driver file: measured curves, each brought to
//! one form (impedance in ohm; response at 1 m for 1 V in half space, without the time of flight).

use super::curve_file::{self, MagnitudeUnit};
use super::fault::InputError;
use super::files::{self, Files};
use super::reader::{Bounds, Section};
use super::touchstone;
use crate::model::air::Air;
use crate::model::measured::{Condition, Measured, MeasuredImpedance, MeasuredResponse};
use crate::signal::curve::{Curve, CurveError};
use crate::signal::interpolate::Outside;
use crate::signal::minimum_phase::Tails;
use std::path::Path;

/// What reading measured curves leaves beside them.
#[derive(Default)]
pub(super) struct Remarks {
    /// Faults inside curve files.
    pub(super) refused: Vec<InputError>,
    /// What the user should know: steps at splices, phase that was made.
    pub(super) notes: Vec<String>,
}

/// Where curve files are looked for.
pub(super) struct Place<'p> {
    pub(super) files: &'p dyn Files,
    /// The driver file, which curve paths are relative to.
    pub(super) from: &'p Path,
}

/// A response and how it joins another.
struct Part {
    response: MeasuredResponse,
    splice_hz: Option<f64>,
    /// Its phase was not measured.
    made_phase: bool,
    tails: Tails,
}

/// All measured curves of a driver with a piston of radius `radius_m`.
pub(super) fn read(
    root: &mut Section<'_>,
    place: &Place<'_>,
    radius_m: f64,
    remarks: &mut Remarks,
) -> Measured {
    let mut impedances = root.sections("impedance");
    if let Some(second) = impedances.get(1) {
        second.refuse("file", "a second impedance", "keep the one that fits best");
    }
    let impedance = impedances.iter_mut().map(|s| impedance(s, place, remarks)).next().flatten();
    let mut sections = root.sections("response");
    let parts: Vec<Option<Part>> =
        sections.iter_mut().map(|s| response(s, place, radius_m, remarks)).collect();
    let responses = joined(parts, &sections, remarks);
    Measured { impedance, responses }
}

fn impedance(
    section: &mut Section<'_>,
    place: &Place<'_>,
    remarks: &mut Remarks,
) -> Option<MeasuredImpedance> {
    let condition = section.choice(
        "condition",
        &[("free_air", Condition::FreeAir), ("in_this_panel", Condition::InThisPanel)],
    );
    let named = section.text("file");
    let is_touchstone = named.to_ascii_lowercase().ends_with(".s1p");
    let mut touch = None;
    let curve = load((section, "file"), place, &named, remarks, |path| {
        if is_touchstone {
            touchstone::load(place.files, path)
                .inspect(|p| touch = p.normalised.then_some(p.reference_ohm))
                .map(|p| p.impedance)
        } else {
            curve_file::load(place.files, path, MagnitudeUnit::Ohm).map(|file| file.curve)
        }
    })?;
    if let Some(reference_ohm) = touch {
        remarks.notes.push(format!(
            "`{named}`: values taken as normalised to {reference_ohm} ohm, as Touchstone has them"
        ));
    }
    let curve = if curve.phase_deg.is_some() {
        curve
    } else {
        remarks.notes.push(format!("`{named}` has no phase: made as minimum phase"));
        told(section, "file", curve.to_minimum_phase(impedance_tails(&curve)))?
    };
    Some(MeasuredImpedance { curve, condition })
}

/// Level below, and above the slope of the last octave: a voice coil goes on rising.
fn impedance_tails(curve: &Curve) -> Tails {
    let last = curve.frequency_hz.len() - 1;
    let octave = curve.frequency_hz.partition_point(|f| *f < 0.5 * curve.frequency_hz[last]);
    let high = if octave < last {
        (curve.magnitude[last] / curve.magnitude[octave]).ln()
            / (curve.frequency_hz[last] / curve.frequency_hz[octave]).ln()
    } else {
        0.0
    };
    Tails { low: 0.0, high: high.clamp(-1.0, 1.0) }
}

/// When time is zero in a measured phase.
#[derive(Debug, Clone, Copy, PartialEq)]
enum TimeZero {
    /// When the sound leaves the driver: no time of flight in the phase.
    Driver,
    /// When the signal leaves the source: the time of flight is in the phase.
    Source,
    /// Not known: the phase is made as minimum phase.
    Unknown,
}

/// What a `[[response]]` says of its curve.
struct Stated {
    condition: Condition,
    unit: MagnitudeUnit,
    drive_v: f64,
    /// From the acoustic centre; 1 m for a near field, whose place is the cone itself.
    distance_m: f64,
    angle_deg: f64,
    time_zero: TimeZero,
    tails: Tails,
    gate_ms: Option<f64>,
    splice_hz: Option<f64>,
    microphone: Option<String>,
    file: String,
}

impl Stated {
    fn read(section: &mut Section<'_>) -> Self {
        let conditions = [
            ("half_space", Condition::HalfSpace),
            ("near_field", Condition::NearField),
            ("in_this_panel", Condition::InThisPanel),
        ];
        let units = [("db_spl", MagnitudeUnit::DbSpl), ("pascal", MagnitudeUnit::Pascal)];
        let zeros = [
            ("driver", TimeZero::Driver),
            ("source", TimeZero::Source),
            ("unknown", TimeZero::Unknown),
        ];
        let slope = Bounds::symmetric(48.0, "dB/octave");
        let condition = section.choice("condition", &conditions);
        let distance_m = match condition {
            Condition::NearField => 1.0,
            _ => section.number("distance_mm", Bounds::new(50.0, 20_000.0, "mm")) * 1e-3,
        };
        Self {
            condition,
            distance_m,
            unit: section.choice("magnitude", &units),
            drive_v: section.number("drive_v", Bounds::new(1e-3, 200.0, "V")),
            angle_deg: section.number_or("angle_deg", Bounds::new(0.0, 90.0, "deg"), 0.0),
            time_zero: section.choice("time_zero", &zeros),
            tails: Tails::from_db_per_octave(
                section.number_or("low_db_per_octave", slope, 12.0),
                section.number_or("high_db_per_octave", slope, -12.0),
            ),
            gate_ms: section.optional_number("gate_ms", Bounds::new(0.1, 1000.0, "ms")),
            splice_hz: section.optional_number("splice_hz", Bounds::new(20.0, 20_000.0, "Hz")),
            microphone: section.optional_text("microphone"),
            file: section.text("file"),
        }
    }
}

fn response(
    section: &mut Section<'_>,
    place: &Place<'_>,
    radius_m: f64,
    remarks: &mut Remarks,
) -> Option<Part> {
    let stated = Stated::read(section);
    let mut curve = load((section, "file"), place, &stated.file, remarks, |path| {
        curve_file::load(place.files, path, stated.unit).map(|file| file.curve)
    })?;
    if let Some(microphone) = &stated.microphone {
        let own = load((section, "microphone"), place, microphone, remarks, |path| {
            curve_file::load(place.files, path, MagnitudeUnit::Db).map(|file| file.curve)
        })?;
        curve = told(section, "microphone", curve.divided(&own, Outside::Hold))?;
    }
    let air = Air::default();
    let near = stated.condition == Condition::NearField;
    let to_1m = if near { 0.5 * radius_m } else { stated.distance_m };
    curve = told(section, "drive_v", curve.scaled(to_1m / stated.drive_v))?;
    let flight_s = if near { 0.0 } else { stated.distance_m / air.c_m_per_s };
    let measured = curve.phase_deg.is_some();
    let made_phase = stated.time_zero == TimeZero::Unknown || !measured;
    // The phase is made from the whole magnitude: what is cut off below belongs to it.
    let curve = match stated.time_zero {
        _ if made_phase => {
            remarks.notes.push(format!("`{}`: phase made as minimum phase", stated.file));
            curve.to_minimum_phase(stated.tails)
        }
        TimeZero::Source => curve.delayed(-flight_s),
        _ => Ok(curve),
    };
    let curve = told(section, "file", curve)?;
    let (low, high) = valid(near, stated.gate_ms, radius_m, &air);
    let curve = within(section, curve, low, high)?;
    if low > 0.0 || high.is_finite() {
        let (from, to) = (curve.frequency_hz[0], curve.frequency_hz[curve.frequency_hz.len() - 1]);
        remarks.notes.push(format!("`{}`: used from {from:.0} to {to:.0} Hz", stated.file));
    }
    let Stated { condition, angle_deg, splice_hz, tails, .. } = stated;
    if splice_hz.is_some() && !near {
        let help = "splice_hz belongs to the near field, which gives way to this curve there";
        section.refuse("splice_hz", "stands on a far curve", help);
    }
    let response = MeasuredResponse { curve, condition, angle_deg, near_below_hz: None };
    Some(Part { response, splice_hz, made_phase, tails })
}

/// Frequencies between which a curve holds: a gate of T ms sees nothing below 1/T; a near field
/// stands for the far one up to ka = 1 (Keele 1974, *J. Audio Eng. Soc.* 22, 154, from memory: the
/// far pressure at r in half space is the near one times a/2r).
fn valid(near: bool, gate_ms: Option<f64>, radius_m: f64, air: &Air) -> (f64, f64) {
    let low = gate_ms.map_or(0.0, |ms| 1e3 / ms);
    let ka_one = air.c_m_per_s / (std::f64::consts::TAU * radius_m);
    (low, if near { ka_one } else { f64::INFINITY })
}

/// The points between `low_hz` and `high_hz`; `None` after telling that too few are left.
fn within(section: &Section<'_>, curve: Curve, low_hz: f64, high_hz: f64) -> Option<Curve> {
    let inside = |f: &f64| (low_hz..=high_hz).contains(f);
    let from = curve.frequency_hz.iter().position(inside);
    let to = curve.frequency_hz.iter().rposition(inside);
    match from.zip(to) {
        Some((from, to)) if to > from => Some(Curve {
            frequency_hz: curve.frequency_hz[from..=to].to_vec(),
            magnitude: curve.magnitude[from..=to].to_vec(),
            phase_deg: curve.phase_deg.map(|p| p[from..=to].to_vec()),
        }),
        _ => {
            let message = format!("no points left between {low_hz:.0} and {high_hz:.0} Hz");
            let help = "a gate holds above 1/gate_ms, a near field up to ka = 1";
            section.refuse("file", &message, help);
            None
        }
    }
}

/// Near fields joined to the far field of their angle; the others as they are, by rising angle.
fn joined(
    parts: Vec<Option<Part>>,
    sections: &[Section<'_>],
    remarks: &mut Remarks,
) -> Vec<MeasuredResponse> {
    let mut far: Vec<Part> = Vec::new();
    let mut near: Vec<(usize, Part)> = Vec::new();
    for (k, part) in parts.into_iter().enumerate() {
        match part {
            Some(part) if part.response.condition == Condition::NearField => near.push((k, part)),
            Some(part) => {
                if far.iter().any(|f| f.response.condition != part.response.condition) {
                    let help = "give all far curves of a driver one condition";
                    sections[k].refuse("condition", "not that of the other responses", help);
                }
                if far.iter().any(|f| same_angle(f, &part)) {
                    let help = "keep one far curve for each angle";
                    sections[k].refuse("angle_deg", "another curve has this angle", help);
                }
                far.push(part);
            }
            None => {}
        }
    }
    for (k, part) in near {
        join(&sections[k], part, &mut far, remarks);
    }
    let mut responses: Vec<MeasuredResponse> = far.into_iter().map(|p| p.response).collect();
    responses.sort_by(|a, b| a.angle_deg.total_cmp(&b.angle_deg));
    responses
}

fn same_angle(a: &Part, b: &Part) -> bool {
    (a.response.angle_deg - b.response.angle_deg).abs() < 0.5
}

fn join(section: &Section<'_>, part: Part, far: &mut Vec<Part>, remarks: &mut Remarks) {
    match (far.iter_mut().find(|f| same_angle(f, &part)), part.splice_hz) {
        (None, None) => far.push(part),
        (Some(other), Some(at_hz)) if other.response.condition == Condition::InThisPanel => {
            // A phase that was made is made anew, from the whole magnitude.
            let made = part.made_phase || other.made_phase;
            let plain = |curve: &Curve| {
                let phase_deg = if made { None } else { curve.phase_deg.clone() };
                Curve { phase_deg, ..curve.clone() }
            };
            let (level, upper) = (plain(&part.response.curve), plain(&other.response.curve));
            let tails = Tails { low: part.tails.low, high: other.tails.high };
            let first = Curve::spliced(&level, &upper, at_hz, SPLICE_OCTAVES);
            // The edges are in the far curve only: the near one is brought to its level, and
            // their slope below the join is added where the panel is known.
            let aligned = first.and_then(|s| {
                let factor = 10f64.powf(s.level_step_db / 20.0);
                let joined = Curve::spliced(&level.scaled(factor)?, &upper, at_hz, SPLICE_OCTAVES)?;
                let curve = if made { joined.curve.to_minimum_phase(tails)? } else { joined.curve };
                Ok((curve, joined.phase_step_deg, s.level_step_db))
            });
            if let Some((curve, phase_step, step_db)) = told(section, "splice_hz", aligned) {
                let phase = match phase_step {
                    Some(step) => format!("phase step {step:+.0} degrees"),
                    None => "phase made of the whole".to_owned(),
                };
                // The panel's edges account for up to 6 dB.
                let doubt = if step_db.abs() > 7.0 {
                    ": more than the edges explain, check drive_v and magnitude"
                } else {
                    ""
                };
                remarks.notes.push(format!(
                    "near field joined at {at_hz:.0} Hz after a step of {step_db:+.1} dB{doubt}; {phase}"
                ));
                other.response.curve = curve;
                other.response.near_below_hz = Some(at_hz);
            }
        }
        (Some(_), Some(_)) => {
            let help = "the near field holds the cavity; take the far curve in_this_panel as well";
            section.refuse("condition", "cannot be joined to a half_space curve", help);
        }
        (Some(_), None) => {
            let help = "say where the near field gives way to the far one: splice_hz = 300";
            section.refuse("condition", "two curves at this angle and no splice_hz", help);
        }
        (None, Some(_)) => {
            section.refuse("splice_hz", "there is no far curve at this angle to join", "");
        }
    }
}

/// Width of the fade from near to far field, octaves.
const SPLICE_OCTAVES: f64 = 1.0 / 3.0;

/// A file that `section` names; what is wrong inside it reports for itself.
fn load(
    (section, key): (&Section<'_>, &str),
    place: &Place<'_>,
    named: &str,
    remarks: &mut Remarks,
    read: impl FnOnce(&Path) -> Result<Curve, InputError>,
) -> Option<Curve> {
    if named.is_empty() {
        return None;
    }
    match read(&files::beside(place.from, named)) {
        Ok(curve) => Some(curve),
        Err(error) if error.text.is_empty() => {
            let why = error.faults.first().map_or("", |f| f.message.as_str());
            section.refuse(key, why, "the path is relative to this driver file");
            None
        }
        Err(error) => {
            remarks.refused.push(error);
            None
        }
    }
}

/// The value, or `None` after telling what is wrong at `key`.
fn told<T>(section: &Section<'_>, key: &str, result: Result<T, CurveError>) -> Option<T> {
    result.map_err(|error| section.refuse(key, &error.to_string(), "")).ok()
}
