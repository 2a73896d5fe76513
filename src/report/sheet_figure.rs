//! `sheet.svg`: what the thin back adds to the cone.

use super::level_range::level_axis;
use crate::picture::{Axis, Figure, Ink, Panel, Trace};

/// Output of the cone, of the sheet and of both together against frequency; all levels in dB on one
/// reference, each as long as `frequency_hz`. `conditions` says of what, where and at which voltage.
pub fn figure(
    conditions: &str,
    frequency_hz: &[f64],
    cone_db: &[f64],
    sheet_db: &[f64],
    net_db: &[f64],
) -> Figure {
    let axis = level_axis("Level (dB)", &[cone_db, sheet_db, net_db], 50.0);
    let mut panel = Panel::new(axis);
    for (name, ink, levels) in [
        ("Cone", Ink::Woofer, cone_db),
        ("Back sheet", Ink::Limit, sheet_db),
        ("Both together", Ink::Sum, net_db),
    ] {
        panel.traces.push(Trace::new(name, ink, frequency_hz.to_vec(), levels.to_vec()));
    }
    let (first, last) = (frequency_hz.first(), frequency_hz.last());
    let x = Axis::frequency(*first.unwrap_or(&20.0), *last.unwrap_or(&20_000.0));
    let mut figure = Figure::new("What the back adds, and takes away", conditions, x);
    figure.description =
        "Level of the cone, of the back sheet and of both together against frequency.".into();
    figure.panels = vec![panel];
    figure
}
