//! The figures of a run: where its units lie, how far they depart, and what decides.

use super::figures::hertz_axis;
use super::yield_doc::percent;
use crate::analysis::yields::whole::Answer;
use crate::design::Design;
use crate::picture::{Axis, Band, Figure, Ink, Mark, Panel, Trace};

/// Sources that a figure shows.
const SOURCES: usize = 8;

/// File name and figure of each.
pub fn all(design: &Design, answer: &Answer) -> Vec<(&'static str, Figure)> {
    let mut figures =
        vec![("yield.svg", bands(design, answer)), ("deviation.svg", deviations(design, answer))];
    figures.extend(deciding(design, answer).map(|figure| ("deciding.svg", figure)));
    figures
}

/// Where the responses of the units lie at the first listener, one panel a side.
pub fn bands(design: &Design, answer: &Answer) -> Figure {
    let grid = &answer.line.batch.grid;
    let good = &answer.fresh.good;
    let subtitle = format!(
        "{}, {} units drawn, {} good",
        design.name,
        answer.fresh.tally.units,
        percent(good.mean)
    );
    let mut figure = Figure::new("Where the units of a run lie", subtitle, hertz_axis(grid));
    figure.description = "Departure of the response from the middle of the window: the median unit, the band that holds nine of ten, the worst unit, and the window.".into();
    figure.panels = (0..design.sides.len()).map(|side| band_panel(design, answer, side)).collect();
    figure.height = 260 + 200 * design.sides.len() as u32;
    figure
}

fn band_panel(design: &Design, answer: &Answer, side: usize) -> Panel {
    let hz = answer.line.batch.grid.frequency_hz();
    let points = hz.len();
    let row = side * design.listeners.len();
    let tally = &answer.fresh.tally;
    let at = |p: f64| -> Vec<f64> {
        (row * points..(row + 1) * points).map(|r| tally.row_quantile_db(r, p)).collect()
    };
    let worst = &answer.worst_db[row];
    let window = window(design, hz);
    let inside = answer.line.judge.band();
    let all = answer.worst_db.iter().flat_map(|w| &w[inside.clone()]);
    let largest = all.fold(1.0f64, |m, w| m.max(w.abs()));
    let limit = window.iter().fold(largest, |m, (_, up, down)| m.max(up.max(-down)));
    let top = (1.15 * limit).ceil();
    let mut panel = Panel::new(Axis::linear("Departure (dB)", -top, top));
    panel.title = Some(design.sides[side].name.clone());
    let (low, high) = (at(0.05), at(0.95));
    panel.bands.push(Band::new("nine of ten", Ink::Sum, hz.to_vec(), low, high));
    let corner = |pick: fn(&(f64, f64, f64)) -> f64| window.iter().map(pick).collect::<Vec<_>>();
    let edge = |name: &str, y| Trace::new(name, Ink::Limit, corner(|w| w.0), y);
    panel.traces.push(edge("window", corner(|w| w.1)));
    panel.traces.push(edge("", corner(|w| w.2)));
    panel.traces.push(Trace::new("worst unit", Ink::Inverted, hz.to_vec(), worst.clone()));
    panel.traces.push(Trace::new("median", Ink::Sum, hz.to_vec(), at(0.5)));
    panel
}

/// The window over the grid: frequency, upper and lower edge.
fn window(design: &Design, hz: &[f64]) -> Vec<(f64, f64, f64)> {
    let Some(acceptance) = design.acceptance() else { return Vec::new() };
    let (low, high) = acceptance.band_hz();
    let inside = hz.iter().filter(|f| **f > low && **f < high).copied();
    let all = std::iter::once(low).chain(inside).chain(std::iter::once(high));
    let edges = |f: f64| (f, acceptance.limits_at(f));
    all.map(edges).map(|(f, (plus, minus))| (f, plus, -minus)).collect()
}

/// How many units depart how far, as made and after years.
pub fn deviations(design: &Design, answer: &Answer) -> Figure {
    let (fresh, aged) = (&answer.fresh.tally, &answer.aged.tally);
    let bins = fresh.deviations(5);
    let old = aged.deviations(5);
    let share = |bins: &[(f64, u64)], units: u64| -> (Vec<f64>, Vec<f64>) {
        let width = bins.first().map_or(0.1, |b| 2.0 * b.0);
        let mut x = vec![0.0];
        let mut y = vec![0.0];
        for (middle, count) in bins {
            let height = 100.0 * *count as f64 / units.max(1) as f64;
            x.extend([middle - 0.5 * width, middle + 0.5 * width]);
            y.extend([height, height]);
        }
        x.push(x[x.len() - 1]);
        y.push(0.0);
        (x, y)
    };
    let (x, y) = share(&bins, fresh.units);
    let (old_x, old_y) = share(&old, aged.units);
    let top = y.iter().chain(&old_y).fold(1.0f64, |m, v| m.max(*v));
    let last = x.iter().chain(&old_x).fold(1.0f64, |m, v| m.max(*v));
    let mut figure = Figure::new(
        "How far units depart",
        format!("{}, largest departure of each unit in the window", design.name),
        Axis::linear("Largest departure (dB)", 0.0, last),
    );
    figure.description =
        "Histogram of the largest departure of a unit, as made and after years.".into();
    let mut panel = Panel::new(Axis::linear("Units (%)", 0.0, 1.15 * top));
    let zero = vec![0.0; x.len()];
    panel.bands.push(Band::new("as made", Ink::Sum, x, zero, y));
    panel.traces.push(Trace::new("after years", Ink::Tweeter, old_x, old_y));
    figure.panels = vec![panel];
    figure
}

/// What decides, ranked; `None` where it was not asked.
pub fn deciding(design: &Design, answer: &Answer) -> Option<Figure> {
    let deciding = answer.deciding.as_ref()?;
    let shown: Vec<_> = deciding.sources.iter().take(SOURCES).collect();
    let share = |s: f64| 100.0 * s.clamp(0.0, 1.5);
    let most = shown.iter().map(|s| share(s.share.total)).fold(1.0, f64::max);
    let mut figure = Figure::new(
        "Which spread decides",
        format!("{}, by the variance of how much of its limits a unit uses", design.name),
        Axis::linear("Rank", 0.4, shown.len() as f64 + 0.6),
    );
    figure.description =
        "Ranked bars: what each source does together with the others, and by itself.".into();
    let mut panel = Panel::new(Axis::linear("Share of the variance (%)", 0.0, 1.25 * most));
    for (k, source) in shown.iter().enumerate() {
        let rank = k as f64 + 1.0;
        let bar = |name: &str, ink, to: f64, half: f64| {
            let name = if k == 0 { name } else { "" };
            Band::new(name, ink, vec![rank - half, rank + half], vec![0.0; 2], vec![to; 2])
        };
        panel.bands.push(bar("with others", Ink::Tweeter, share(source.share.total), 0.38));
        panel.bands.push(bar("by itself", Ink::Woofer, share(source.share.first), 0.2));
        panel.marks.push(Mark {
            text: source.name.clone(),
            x: rank,
            y: share(source.share.total),
            ink: Ink::Tweeter,
            solid: true,
        });
    }
    figure.panels = vec![panel];
    Some(figure)
}
