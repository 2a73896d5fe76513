//! Measured impedance and the fitted model over each other.

use crate::analysis::identify::{Condition, FittedSweep, Identified};
use crate::picture::{Axis, Figure, Ink, Panel, Trace, Upright};
use crate::units;

/// Pens of the measured sweeps; the model is dashed over each.
const MEASURED: [Ink; 3] = [Ink::Order(2), Ink::Order(5), Ink::Order(0)];
const MODEL: Ink = Ink::Order(6);

/// Magnitude, phase and residual of every sweep; `name` is the driver's.
pub fn figure(found: &Identified, name: &str) -> Figure {
    let curves = || found.sweeps.iter().map(|s| &s.curve);
    let hz = || curves().flat_map(|c| c.frequency_hz.iter().copied());
    let axis = Axis::frequency(hz().fold(f64::INFINITY, f64::min), hz().fold(0.0, f64::max));
    let coil = found.coil_kind.word().replace('_', " ");
    let subtitle = format!(
        "{name}; {coil} coil; residual {} % rms",
        units::significant(found.residual_percent, 2)
    );
    let mut figure = Figure::new("How well the model fits the measurement", subtitle, axis);
    figure.description =
        "Measured and modelled impedance, its phase, and their difference in percent.".into();
    figure.panels.push(magnitude(found));
    if curves().any(|c| c.phase_deg.is_some()) {
        figure.panels.push(phase(found));
    }
    figure.panels.push(residual(found));
    figure.height = 760;
    figure
}

fn label(sweep: &FittedSweep) -> String {
    match sweep.condition {
        Condition::FreeAir => "Measured in free air".into(),
        Condition::AddedMass(kg) => format!("with {} g", units::plain(kg * 1e3)),
        Condition::Box(m3) => format!("in {} l", units::plain(m3 * 1e3)),
    }
}

fn inked(found: &Identified) -> impl Iterator<Item = (&FittedSweep, Ink)> {
    found.sweeps.iter().zip(MEASURED.iter().copied().cycle())
}

fn magnitude(found: &Identified) -> Panel {
    let values = || found.sweeps.iter().flat_map(|s| s.curve.magnitude.iter().copied());
    let low = values().fold(f64::INFINITY, f64::min);
    let high = values().fold(0.0, f64::max);
    let mut panel = Panel::new(Axis::ohm_log(0.8 * low, 1.25 * high));
    for (sweep, ink) in inked(found) {
        let hz = &sweep.curve.frequency_hz;
        let measured = sweep.curve.magnitude.clone();
        panel.traces.push(Trace::new(label(sweep), ink, hz.clone(), measured));
    }
    for (k, sweep) in found.sweeps.iter().enumerate() {
        let name = if k == 0 { "Model" } else { "" };
        let model = sweep.model.iter().map(|z| z.norm()).collect();
        panel.traces.push(Trace::new(name, MODEL, sweep.curve.frequency_hz.clone(), model));
    }
    if let Some(fs) = found.value("fs_hz") {
        panel.uprights.push(Upright { name: format!("fs {}", units::hertz(fs)), x: fs });
    }
    panel
}

fn phase(found: &Identified) -> Panel {
    let mut panel = Panel::new(Axis::stepped("Phase (°)", -90.0, 90.0, 45.0, 15.0));
    panel.height = 0.6;
    for (sweep, ink) in inked(found) {
        if let Some(phase) = &sweep.curve.phase_deg {
            let hz = sweep.curve.frequency_hz.clone();
            let wrapped = phase.iter().map(|p| crate::grid::wrap_deg(*p)).collect();
            panel.traces.push(Trace::new("", ink, hz, wrapped));
        }
    }
    for sweep in &found.sweeps {
        let model = sweep.model.iter().map(|z| z.arg().to_degrees()).collect();
        panel.traces.push(Trace::new("", MODEL, sweep.curve.frequency_hz.clone(), model));
    }
    panel
}

/// Of the magnitude in the sweep's own pen; of the phase, hundredths of a radian, in grey.
fn residual(found: &Identified) -> Panel {
    let sizes = found.sweeps.iter().flat_map(|s| &s.residual_percent);
    let largest = sizes.map(|r| r.re.abs().max(r.im.abs())).fold(0.0, f64::max);
    let bounds = [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0];
    let bound = bounds.into_iter().find(|b| *b >= largest).unwrap_or(100.0);
    let label = "Measured against model (%)";
    let mut panel = Panel::new(Axis::stepped(label, -bound, bound, bound / 2.0, bound / 10.0));
    panel.height = 0.5;
    for (sweep, ink) in inked(found) {
        let hz = &sweep.curve.frequency_hz;
        if sweep.curve.phase_deg.is_some() {
            let turn = sweep.residual_percent.iter().map(|r| r.im).collect();
            panel.traces.push(Trace::new("Phase", Ink::Quiet, hz.clone(), turn));
        }
        let size = sweep.residual_percent.iter().map(|r| r.re).collect();
        panel.traces.push(Trace::new("", ink, hz.clone(), size));
    }
    // One word for all greys.
    for trace in panel.traces.iter_mut().skip(1) {
        trace.name.clear();
    }
    panel
}
