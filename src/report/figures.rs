//! The figures of a study: what each one asks is its title.

use super::{amplifier_figure, drive_figures, in_panel_figures};
use crate::analysis::side::SeatResponse;
use crate::analysis::study::{SideStudy, Study};
use crate::design::Window;
use crate::grid::{FLOOR_DB, Grid};
use crate::picture::{Axis, Band, Figure, Ink, Mark, Panel, Rule, Trace, Upright};
use crate::units;

/// File name and picture of every figure of a side; `names` tells which sides it stands for ("left
/// and right").
pub fn all(study: &Study, side: &SideStudy, names: &str) -> Vec<(&'static str, Figure)> {
    let mut all = vec![
        ("response.svg", response(study, side, names)),
        ("impedance.svg", impedance(study, side, names)),
        ("phase.svg", phase(study, side, names)),
        ("values.svg", values(study, side, names)),
        ("excursion.svg", drive_figures::excursion(study, side, names)),
        ("loudest.svg", drive_figures::loudest(study, side, names)),
    ];
    all.extend(amplifier_figure::figure(study, side, names).map(|f| ("amplifier.svg", f)));
    let designed = study.design.sides.iter().find(|s| s.name == side.name);
    if let (Some(look), Some(designed)) = (&side.in_panel, designed) {
        all.extend(in_panel_figures::all(study, designed, look, names));
    }
    all
}

/// Levels of a way are drawn where it is within this of the sum's reference, dB.
const HANDOVER_DB: f64 = 40.0;

/// Summed response at the seats over the acceptance window; the ways where they hand over; below,
/// how deep they cancel with the tweeter the other way.
pub fn response(study: &Study, side: &SideStudy, names: &str) -> Figure {
    let title = "How loud it is at the seat";
    let mut figure = Figure::new(title, conditions(study, names), hertz_axis(&study.grid));
    let first = &side.response().seats[0];
    let level = SeatResponse::level_db(&first.sum);
    let reference_db = band_mean_db(study, &level);
    let top = ((reference_db + 10.0) / 5.0).ceil() * 5.0;
    let mut main = Panel::new(Axis::level_db("Level (dB re 20 µPa)", top - 45.0, top));
    if let Some(window) = &study.design.run.window {
        main.bands.push(acceptance(window, reference_db, &first.name));
    }
    main.uprights.push(crossover_line(study, true));
    main.traces.extend(seat_sums(study, side));
    let hz = study.grid.frequency_hz();
    for (name, ink, pressure) in
        [("Woofer", Ink::Woofer, &first.woofer), ("Tweeter", Ink::Tweeter, &first.tweeter)]
    {
        let shown = handover(study, &SeatResponse::level_db(pressure), reference_db);
        main.traces.push(Trace::new(name, ink, hz.to_vec(), shown));
    }
    let agreement = around(study, &first.agreement_db());
    let top = agreement.iter().copied().filter(|v| v.is_finite()).fold(0.0, f64::max);
    let top = 5.0 + 5.0 * (top / 5.0).ceil();
    let label = "How deep the ways cancel, one turned round (dB)";
    let mut strip = Panel::new(Axis::stepped(label, -40.0, top, 10.0, 5.0));
    strip.height = 0.3;
    strip.uprights.push(crossover_line(study, false));
    strip.traces.push(Trace::new("", Ink::Inverted, hz.to_vec(), agreement));
    figure.description = format!(
        "Level against frequency at {} with the woofer and tweeter separately around the crossover.",
        first.name
    );
    figure.panels = vec![main, strip];
    figure.height = 620;
    figure
}

/// Impedance magnitude with the amplifier's lowest load, and its phase.
pub fn impedance(study: &Study, side: &SideStudy, names: &str) -> Figure {
    let impedance = &side.response().impedance;
    let hz = study.grid.frequency_hz();
    let magnitude = impedance.magnitude();
    let highest = magnitude.iter().copied().fold(1.0, f64::max);
    let top = [10.0, 20.0, 50.0, 100.0, 200.0].into_iter().find(|t| *t > highest).unwrap_or(500.0);
    let mut main = Panel::new(Axis::ohm_log(2.0_f64.min(side.limits.lowest_ohm * 0.8), top));
    main.traces.push(Trace::new("Both ways together", Ink::Sum, hz.to_vec(), magnitude));
    main.rules.push(Rule {
        name: format!("amplifier allows {} or more", units::ohms(side.limits.allowed_ohm)),
        y: side.limits.allowed_ohm,
        ink: Ink::Limit,
    });
    main.uprights.push(crossover_line(study, true));
    main.marks.push(Mark {
        text: format!(
            "lowest {} at {}",
            units::ohms(side.limits.lowest_ohm),
            units::hertz(side.limits.lowest_at_hz)
        ),
        x: side.limits.lowest_at_hz,
        y: side.limits.lowest_ohm,
        ink: Ink::Sum,
        solid: true,
    });
    let mut strip = Panel::new(Axis::stepped("Phase (degrees)", -90.0, 90.0, 45.0, 15.0));
    strip.height = 0.45;
    strip.traces.push(Trace::new("", Ink::Sum, hz.to_vec(), impedance.phase_deg()));
    strip.uprights.push(crossover_line(study, false));
    let title = "What the amplifier sees".to_owned();
    let subtitle = format!("{}, {names}, at the amplifier's terminals", study.design.name);
    let mut figure = Figure::new(title, subtitle, hertz_axis(&study.grid));
    figure.description = "Impedance magnitude and phase against frequency.".into();
    figure.panels = vec![main, strip];
    figure
}

/// Phase of the sum and of the ways beyond the travel time; below, the sum's group delay.
pub fn phase(study: &Study, side: &SideStudy, names: &str) -> Figure {
    let seat = &side.response().seats[0];
    let hz = study.grid.frequency_hz();
    let mut main = Panel::new(Axis::phase_deg());
    let (travel_m, c_m_per_s) = (seat.distance_m.tweeter, study.design.air.c_m_per_s);
    let excess = seat.sum.without_travel(travel_m, c_m_per_s);
    let reference_db = band_mean_db(study, &SeatResponse::level_db(&seat.sum));
    for (name, ink, pressure) in
        [("Woofer", Ink::Woofer, &seat.woofer), ("Tweeter", Ink::Tweeter, &seat.tweeter)]
    {
        let phase = pressure.without_travel(travel_m, c_m_per_s).phase_deg();
        let shown = where_heard(&phase, &SeatResponse::level_db(pressure), reference_db);
        main.traces.push(Trace::wrapped(name, ink, hz.to_vec(), shown));
    }
    main.traces.push(Trace::wrapped("Both together", Ink::Sum, hz.to_vec(), excess.phase_deg()));
    main.uprights.push(crossover_line(study, true));
    let delay_ms: Vec<f64> = excess.group_delay_s().iter().map(|s| s * 1e3).collect();
    let mut strip = Panel::new(delay_axis(&delay_ms));
    strip.height = 0.45;
    strip.traces.push(Trace::new("", Ink::Sum, hz.to_vec(), delay_ms));
    strip.uprights.push(crossover_line(study, false));
    let title = "How the ways line up in time".to_owned();
    let subtitle = format!(
        "{}, {names} at {}, the tweeter's travel over {} m taken out",
        study.design.name,
        seat.name,
        units::significant(travel_m, 3)
    );
    let mut figure = Figure::new(title, subtitle, hertz_axis(&study.grid));
    figure.description = "Phase beyond the travel time, and group delay, against frequency.".into();
    figure.panels = vec![main, strip];
    figure
}

/// The response with exact and with bought values, and their difference.
pub fn values(study: &Study, side: &SideStudy, names: &str) -> Figure {
    let hz = study.grid.frequency_hz();
    let (exact, bought) = (&side.exact.seats[0], &side.bought.seats[0]);
    let level = SeatResponse::level_db(&exact.sum);
    let with_bought = SeatResponse::level_db(&bought.sum);
    let difference: Vec<f64> = with_bought.iter().zip(&level).map(|(b, e)| b - e).collect();
    let largest = difference.iter().fold(0.0_f64, |m, d| m.max(d.abs()));
    let reference_db = band_mean_db(study, &level);
    let top = ((reference_db + 8.0) / 5.0).ceil() * 5.0;
    let mut main = Panel::new(Axis::level_db("Level (dB re 20 µPa)", top - 35.0, top));
    main.traces.push(Trace::new("Exact values", Ink::Sum, hz.to_vec(), level));
    main.traces.push(Trace::new("Preferred values", Ink::Inverted, hz.to_vec(), with_bought));
    main.uprights.push(crossover_line(study, true));
    let span = [0.5, 1.0, 2.0, 3.0, 6.0].into_iter().find(|s| *s >= largest).unwrap_or(12.0);
    let mut strip = Panel::new(Axis::level_db("Preferred less exact (dB)", -span, span));
    strip.height = 0.4;
    strip.traces.push(Trace::new("", Ink::Inverted, hz.to_vec(), difference));
    strip.uprights.push(crossover_line(study, false));
    let title = "What preferred values change";
    let subtitle = format!("{} at {}", conditions(study, names), exact.name);
    let mut figure = Figure::new(title, subtitle, hertz_axis(&study.grid));
    figure.description = "Level with exact and with preferred values, and the difference.".into();
    figure.panels = vec![main, strip];
    figure
}

pub(super) fn hertz_axis(grid: &Grid) -> Axis {
    Axis::frequency(grid.start_hz(), grid.stop_hz())
}

fn conditions(study: &Study, names: &str) -> String {
    let volts = units::significant(study.design.drive_v, 3);
    format!("{}, {names} (each alone), {volts} V", study.design.name)
}

fn crossover_line(study: &Study, named: bool) -> Upright {
    let at_hz = study.design.crossover.at_hz;
    let name = if named { format!("crossover {}", units::hertz(at_hz)) } else { String::new() };
    Upright { name, x: at_hz }
}

/// Mean level where the response should be level: the acceptance window's band, else the four
/// octaves around the crossover.
fn band_mean_db(study: &Study, level_db: &[f64]) -> f64 {
    use crate::analysis::deviation::Deviation;
    let at_hz = study.design.crossover.at_hz;
    let window = study.design.run.window;
    let (low, high) = window.map_or((at_hz / 4.0, at_hz * 4.0), |w| (w.from_hz, w.to_hz));
    Deviation::of(&study.grid, level_db, low, high).map_or(80.0, |d| d.mean_db)
}

fn acceptance(window: &Window, reference_db: f64, seat: &str) -> Band {
    let ends = vec![window.from_hz, window.to_hz];
    let (low, high) = (reference_db - window.minus_db, reference_db + window.plus_db);
    Band::new(
        format!("Acceptance window at {seat}"),
        Ink::Reference,
        ends,
        vec![low; 2],
        vec![high; 2],
    )
}

/// The first seat as the main line, further seats as a family.
fn seat_sums(study: &Study, side: &SideStudy) -> Vec<Trace> {
    let hz = study.grid.frequency_hz();
    let trace = |(k, seat): (usize, &SeatResponse)| {
        let ink = if k == 0 { Ink::Sum } else { Ink::Order((k % 7 + 1) as u8) };
        let name = format!("Both at {}", seat.name);
        Trace::new(name, ink, hz.to_vec(), SeatResponse::level_db(&seat.sum))
    };
    side.response().seats.iter().enumerate().map(trace).collect()
}

/// A way's level within three octaves of the crossover.
fn handover(study: &Study, level_db: &[f64], reference_db: f64) -> Vec<f64> {
    masked(study, level_db, 3.0, |db| db > reference_db - HANDOVER_DB)
}

/// Values within two octaves of the crossover.
fn around(study: &Study, values: &[f64]) -> Vec<f64> {
    masked(study, values, 2.0, |db| db > FLOOR_DB)
}

/// A way's phase where its level is within reach of the sum's.
fn where_heard(phase: &[f64], level_db: &[f64], reference_db: f64) -> Vec<f64> {
    let heard = |(p, l): (&f64, &f64)| if *l > reference_db - HANDOVER_DB { *p } else { f64::NAN };
    phase.iter().zip(level_db).map(heard).collect()
}

/// Values outside `octaves` of the crossover, or that `keep` refuses, are left out of the picture.
fn masked(study: &Study, values: &[f64], octaves: f64, keep: impl Fn(f64) -> bool) -> Vec<f64> {
    let at_hz = study.design.crossover.at_hz;
    let near = |hz: f64| (hz / at_hz).log2().abs() <= octaves;
    let pairs = study.grid.frequency_hz().iter().zip(values);
    pairs.map(|(hz, v)| if near(*hz) && keep(*v) { *v } else { f64::NAN }).collect()
}

fn delay_axis(delay_ms: &[f64]) -> Axis {
    let mut sorted = delay_ms.to_vec();
    sorted.sort_by(f64::total_cmp);
    let high = sorted[sorted.len() * 98 / 100];
    let top = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0].into_iter().find(|t| *t > high).unwrap_or(100.0);
    Axis::linear("Group delay (ms)", -0.2 * top, top)
}
