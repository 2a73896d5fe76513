//! The figures of what was extracted from recordings.

use super::extract_doc::levels_db;
use crate::analysis::extract::distortion::{Distortion, ORDERS};
use crate::analysis::extract::impedance::MeasuredImpedance;
use crate::analysis::extract::response::MeasuredResponse;
use crate::picture::{Axis, Band, Figure, Ink, Panel, Rule, Trace, Upright};
use crate::units::{hertz, significant};

/// Impedance magnitude and phase as measured.
pub fn impedance(measured: &MeasuredImpedance, title: &str) -> Figure {
    let z = &measured.impedance;
    let hz = z.grid().frequency_hz();
    let magnitude = z.magnitude();
    let (low, high) =
        magnitude.iter().fold((f64::MAX, 0.0_f64), |(l, h), m| (l.min(*m), h.max(*m)));
    let mut main = Panel::new(Axis::ohm_log(low * 0.8, high * 1.25));
    main.traces.push(Trace::new("", Ink::Sum, hz.to_vec(), magnitude));
    let phase = z.phase_deg();
    let widest = phase.iter().fold(0.0_f64, |m, p| m.max(p.abs()));
    let reach = if widest > 90.0 { 180.0 } else { 90.0 };
    let mut strip = Panel::new(Axis::stepped("Phase (degrees)", -reach, reach, 45.0, 15.0));
    strip.height = 0.5;
    strip.traces.push(Trace::new("", Ink::Sum, hz.to_vec(), phase));
    let axis = Axis::frequency(z.grid().start_hz(), z.grid().stop_hz());
    let mut figure = Figure::new("The impedance that was measured", title, axis);
    figure.description = "Measured impedance magnitude and phase against frequency.".into();
    figure.panels = vec![main, strip];
    figure
}

/// Level and phase as measured, from the lowest valid frequency up.
pub fn response(measured: &MeasuredResponse, title: &str) -> Figure {
    let hz = measured.grid.frequency_hz();
    let levels = levels_db(measured);
    let highest = levels.iter().copied().fold(f64::MIN, f64::max);
    let top = ((highest + 2.0) / 5.0).ceil() * 5.0;
    let label =
        if measured.in_pascals { "Level (dB re 20 µPa)" } else { "Level (dB re reference)" };
    let mut main = Panel::new(Axis::level_db(label, top - 50.0, top));
    main.traces.push(Trace::new("", Ink::Sum, hz.to_vec(), levels));
    let mut strip = Panel::new(Axis::phase_deg());
    strip.height = 0.5;
    let phase = measured.values.iter().map(|v| v.arg().to_degrees()).collect();
    strip.traces.push(Trace::wrapped("", Ink::Sum, hz.to_vec(), phase));
    let subtitle = format!(
        "{title}, valid from {} up, {} ms of travel taken out",
        hertz(measured.gate.lowest_hz),
        significant(measured.taken_out_s * 1e3, 4)
    );
    let axis = Axis::frequency(measured.grid.start_hz(), measured.grid.stop_hz());
    let mut figure = Figure::new("The response that was measured", subtitle, axis);
    figure.description = "Measured level and phase against frequency.".into();
    figure.panels = vec![main, strip];
    figure
}

/// The impulse response and the window that was laid over it; below, the same in dB.
pub fn impulse(measured: &MeasuredResponse, title: &str) -> Figure {
    let shown = &measured.shown;
    let ms = |k: usize| (shown.start_s + k as f64 / shown.rate_hz) * 1e3;
    let x: Vec<f64> = (0..shown.samples.len()).map(ms).collect();
    let peak = shown.samples.iter().fold(1e-12_f64, |m, v| m.max(v.abs()));
    let gate = &measured.gate;
    let weight: Vec<f64> =
        x.iter().map(|t| gate.window.weight(t * 1e-3 - gate.arrival_s)).collect();
    let low: Vec<f64> = weight.iter().map(|w| -w).collect();
    let scaled: Vec<f64> = shown.samples.iter().map(|v| v / peak).collect();
    let level = |v: &f64| if *v == 0.0 { f64::NAN } else { 20.0 * v.abs().log10() };
    let decay: Vec<f64> = scaled.iter().map(level).collect();
    let mut main = Panel::new(Axis::linear("Share of the peak", -1.1, 1.1));
    main.bands.push(Band::new("Window", Ink::Reference, x.clone(), low, weight));
    main.traces.push(Trace::new("Impulse response", Ink::Sum, x.clone(), scaled));
    main.uprights.push(Upright {
        name: format!("arrival {} ms", significant(gate.arrival_s * 1e3, 4)),
        x: gate.arrival_s * 1e3,
    });
    let mut strip = Panel::new(Axis::level_db("Level (dB re peak)", -80.0, 5.0));
    strip.height = 0.6;
    strip.traces.push(Trace::new("", Ink::Sum, x.clone(), decay));
    let end_ms = (gate.arrival_s + gate.window.after_s) * 1e3;
    strip.uprights.push(Upright { name: "window ends".into(), x: end_ms });
    let (first, last) = (x.first().copied().unwrap_or(0.0), x.last().copied().unwrap_or(1.0));
    let axis = Axis::linear("Time after the reference (ms)", first, last);
    let mut figure = Figure::new("What of the impulse response was kept", title, axis);
    figure.description = "Impulse response with the window laid over it.".into();
    figure.panels = vec![main, strip];
    figure
}

/// Harmonics over the level of the fundamental, and the noise that limits them.
pub fn distortion(found: &Distortion, title: &str) -> Figure {
    let db = |share: f64| if share > 0.0 { 20.0 * share.log10() } else { f64::NAN };
    let mut main = Panel::new(Axis::level_db("Harmonic over fundamental (dB)", -100.0, 0.0));
    let inks = [Ink::Order(1), Ink::Order(2), Ink::Order(4), Ink::Order(5)];
    for ((order, shares), ink) in ORDERS.iter().zip(&found.harmonics).zip(inks) {
        let name = ["Second", "Third", "Fourth", "Fifth"][(*order as usize - 2).min(3)];
        let y = shares.iter().map(|s| s.map_or(f64::NAN, db)).collect();
        main.traces.push(Trace::new(name, ink, found.frequency_hz.clone(), y));
    }
    let floor = found.floor.iter().map(|s| db(*s)).collect();
    main.traces.push(Trace::new("Noise", Ink::Quiet, found.frequency_hz.clone(), floor));
    main.rules.push(Rule { name: "1 %".into(), y: -40.0, ink: Ink::Reference });
    let ends = |at: Option<&f64>, otherwise: f64| at.copied().unwrap_or(otherwise);
    let axis = Axis::log(
        "Frequency of the fundamental (Hz)",
        ends(found.frequency_hz.first(), 20.0),
        ends(found.frequency_hz.last(), 20_000.0),
    );
    let mut figure = Figure::new("How much is added that was not played", title, axis);
    figure.description = "Harmonics relative to the fundamental against its frequency.".into();
    figure.panels = vec![main];
    figure
}
