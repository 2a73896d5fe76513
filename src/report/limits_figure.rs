//! Limits over frequency, and sweeps against them.

use crate::analysis::inspection::conformity::Tolerance;
use crate::analysis::inspection::examine::Examined;
use crate::analysis::inspection::gate::{Band as Limits, Gate};
use crate::picture::{Axis, Band, Figure, Ink, Panel, Trace};

/// Curves of failed units that are drawn.
const DRAWN: usize = 7;

fn ends(limits: &[Tolerance], value: fn(f64) -> f64) -> (Vec<f64>, Vec<f64>) {
    limits.iter().map(|t| (value(t.low), value(t.high))).unzip()
}

fn panel(axis: Axis, hz: &[f64], limits: &Limits, value: fn(f64) -> f64) -> Panel {
    let mut panel = Panel::new(axis);
    let (low, high) = ends(&limits.tolerance, value);
    for (name, edge) in [("Tolerance", &low), ("", &high)] {
        panel.traces.push(Trace::new(name, Ink::Reference, hz.to_vec(), edge.clone()));
    }
    let (low, high) = ends(&limits.acceptance, value);
    panel.bands.push(Band::new("Accepted", Ink::Woofer, hz.to_vec(), low.clone(), high.clone()));
    for (name, edge) in [("Limit with guard band", low), ("", high)] {
        panel.traces.push(Trace::new(name, Ink::Limit, hz.to_vec(), edge));
    }
    panel
}

fn middle(name: &str, hz: &[f64], limits: &Limits, value: fn(f64) -> f64) -> Trace {
    let y = limits.reference.iter().map(|v| value(*v)).collect();
    Trace::new(name, Ink::Sum, hz.to_vec(), y)
}

fn extent(limits: &Limits, value: fn(f64) -> f64) -> (f64, f64) {
    let (low, high) = ends(&limits.tolerance, value);
    let least = low.iter().copied().fold(f64::INFINITY, f64::min);
    (least, high.iter().copied().fold(f64::NEG_INFINITY, f64::max))
}

/// Limits of impedance and response with the reference in the middle.
pub fn figure(gate: &Gate, side: &str) -> Figure {
    let hz = &gate.frequency_hz;
    let axis = Axis::frequency(hz[0], hz[hz.len() - 1]);
    let mut figure = Figure::new(
        "Within which limits a unit is accepted",
        format!("{side} side, copper at 20 °C, limits drawn in by the guard band"),
        axis,
    );
    figure.description = "Impedance and level over frequency with their limits.".into();
    let (low, high) = extent(&gate.impedance, f64::exp);
    let mut z = panel(Axis::ohm_log(0.9 * low, 1.6 * high), hz, &gate.impedance, f64::exp);
    z.traces.push(middle("Reference", hz, &gate.impedance, f64::exp));
    let own: fn(f64) -> f64 = |db| db;
    let (low, high) = extent(&gate.response, own);
    // Deep nulls of a response say nothing of the limits elsewhere.
    let axis = Axis::level_db("Level (dB re 20 µPa)", (low - 2.0).max(high - 50.0), high + 3.0);
    let mut p = panel(axis, hz, &gate.response, own);
    p.traces.push(middle("Reference", hz, &gate.response, own));
    p.traces.iter_mut().for_each(|t| t.name.clear());
    p.bands.iter_mut().for_each(|b| b.name.clear());
    figure.panels = vec![z, p];
    figure.height = 720;
    figure
}

/// The worst of the failed units of `side` against the limits.
pub fn failures(gate: &Gate, name: &str, units: &[Examined], side: usize) -> Figure {
    let hz = &gate.frequency_hz;
    let of_side = || units.iter().filter(|u| u.side == side);
    let failed = of_side().filter(|u| !u.passes).count();
    let mut figure = Figure::new(
        "Where failed units leave the limits",
        format!("{name} side, {failed} of {} units failed", of_side().count()),
        Axis::frequency(hz[0], hz[hz.len() - 1]),
    );
    figure.description = "Impedance of failed units over the limits of acceptance.".into();
    let mut worst: Vec<&Examined> = of_side().filter(|u| !u.passes).collect();
    worst.sort_by_key(|u| std::cmp::Reverse(u.outside_hz.len()));
    worst.truncate(DRAWN);
    let (mut low, mut high) = extent(&gate.impedance, f64::exp);
    for ln in worst.iter().flat_map(|u| &u.ln_ohm) {
        (low, high) = (low.min(ln.exp()), high.max(ln.exp().min(1e4)));
    }
    let mut z = panel(Axis::ohm_log(0.9 * low, 1.6 * high), hz, &gate.impedance, f64::exp);
    for (k, unit) in worst.into_iter().enumerate() {
        let y = unit.ln_ohm.iter().map(|ln| ln.exp()).collect();
        z.traces.push(Trace::new(unit.name.clone(), Ink::Order(k as u8), hz.clone(), y));
    }
    figure.panels = vec![z];
    figure
}
