//! `cavity.svg`: what the standing waves of the cavity do.

use super::level_range::level_axis;
use crate::picture::{Axis, Figure, Ink, Panel, Trace};

/// Magnitude of the acoustic load on the cone, with waves and as one lump of air (Pa·s/m³), and
/// below what the waves change in the level (dB); all as long as `frequency_hz`. `conditions` says
/// of which cavity.
pub fn figure(
    conditions: &str,
    frequency_hz: &[f64],
    wave_pa_s_per_m3: &[f64],
    lump_pa_s_per_m3: &[f64],
    ripple_db: &[f64],
) -> Figure {
    let loads = || wave_pa_s_per_m3.iter().chain(lump_pa_s_per_m3).copied();
    let usable = || loads().filter(|v| v.is_finite() && *v > 0.0);
    let high = 1.2 * usable().fold(0.0, f64::max);
    // An exact null would take the axis with it: four decades are enough.
    let low = (0.8 * usable().fold(f64::INFINITY, f64::min)).max(1e-4 * high);
    let mut load = Panel::new(Axis::log("Load on the cone (Pa·s/m³)", low, high));
    let trace =
        |name, ink, values: &[f64]| Trace::new(name, ink, frequency_hz.to_vec(), values.to_vec());
    load.traces.push(trace("One lump of air", Ink::Inverted, lump_pa_s_per_m3));
    load.traces.push(trace("With its waves", Ink::Sum, wave_pa_s_per_m3));
    let label = "What the waves change in the level (dB)";
    let mut strip = Panel::new(level_axis(label, &[ripple_db], 24.0));
    strip.height = 0.5;
    strip.traces.push(trace("", Ink::Sum, ripple_db));
    let (first, last) = (frequency_hz.first(), frequency_hz.last());
    let x = Axis::frequency(*first.unwrap_or(&20.0), *last.unwrap_or(&20_000.0));
    let mut figure = Figure::new("What the cone feels of the cavity", conditions, x);
    figure.description =
        "Acoustic load on the cone with and without standing waves, and the change of level."
            .into();
    figure.panels = vec![load, strip];
    figure
}
