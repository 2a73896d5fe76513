//! `sheet.svg`: what back and face add to the cone.

use super::level_range::level_axis;
use crate::model::sheet::Walls;
use crate::picture::{Axis, Figure, Ink, Panel, Trace};

/// Output of the cone, of each wall that moves (`None` for a rigid one) and of all together against
/// frequency; all levels in dB on one reference, each as long as `frequency_hz`. `conditions` says
/// of what, where and at which voltage.
pub fn figure(
    conditions: &str,
    frequency_hz: &[f64],
    cone_db: Vec<f64>,
    walls_db: Walls<Option<Vec<f64>>>,
    net_db: Vec<f64>,
) -> Figure {
    let all = [
        ("Cone", Ink::Woofer, Some(cone_db)),
        ("Back sheet", Ink::Limit, walls_db.back),
        ("Face", Ink::Tweeter, walls_db.face),
        ("All together", Ink::Sum, Some(net_db)),
    ];
    // The face, often far below the others, is cut off at the bottom.
    let shown: Vec<&[f64]> =
        all.iter().filter(|t| t.0 != "Face").filter_map(|t| t.2.as_deref()).collect();
    let mut panel = Panel::new(level_axis("Level (dB)", &shown, 50.0));
    for (name, ink, levels) in all {
        let trace = |levels| Trace::new(name, ink, frequency_hz.to_vec(), levels);
        panel.traces.extend(levels.map(trace));
    }
    let (first, last) = (frequency_hz.first(), frequency_hz.last());
    let x = Axis::frequency(*first.unwrap_or(&20.0), *last.unwrap_or(&20_000.0));
    let mut figure = Figure::new("What back and face add, and take away", conditions, x);
    figure.description =
        "Level of the cone, of back and face, and of all together against frequency.".into();
    figure.panels = vec![panel];
    figure
}
