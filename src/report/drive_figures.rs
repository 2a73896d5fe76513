//! The figures of full drive: how far the cones move, and how loud it can be.

use super::drive_text::NARROW;
use super::figures::hertz_axis;
use crate::analysis::guard::Remedy;
use crate::analysis::loudest::{Holder, Loudest, Stretch};
use crate::analysis::noise::NoiseLoad;
use crate::analysis::study::{SideStudy, Study};
use crate::design::Way;
use crate::grid::level_db;
use crate::picture::{Axis, Band, Figure, Ink, Mark, Panel, Rule, Trace};
use crate::units;

/// Excursion of both cones with the amplifier's rated sine, against Xmax; below, with programme
/// noise by third octave.
pub fn excursion(study: &Study, side: &SideStudy, names: &str) -> Figure {
    let amplifier = &study.design.amplifier;
    let subtitle = format!(
        "{}, {names}, {:.1} V rms: the amplifier's {} W into {}",
        study.design.name,
        amplifier.rated_v(),
        units::significant(amplifier.power_w, 3),
        units::ohms(amplifier.into_ohm)
    );
    let mut figure = Figure::new("How far the cones move", subtitle, hertz_axis(&study.grid));
    figure.description = "Peak excursion of woofer and tweeter against frequency with the amplifier's rated sine, and the limits of both; below, rms excursion with programme noise in third octaves.".into();
    figure.panels = vec![sine(study, side), noise(side)];
    figure.height = 640;
    figure
}

fn title(way: Way) -> (&'static str, Ink) {
    match way {
        Way::Woofer => ("Woofer", Ink::Woofer),
        Way::Tweeter => ("Tweeter", Ink::Tweeter),
    }
}

fn sine(study: &Study, side: &SideStudy) -> Panel {
    let hz = study.grid.frequency_hz();
    let travel = &side.limits.travel;
    let largest = Way::BOTH.map(|way| travel.of(way).peak_m.max(travel.of(way).xmax_m));
    let top = 2e3 * largest[0].max(largest[1]);
    let low = 200.0 * Way::BOTH.map(|way| travel.of(way).peak_m).into_iter().fold(1.0, f64::min);
    let low = low.clamp(top / 1e4, top / 300.0);
    let mut panel = Panel::new(Axis::log("Sine, one-way peak (mm)", low, top));
    for way in Way::BOTH {
        let ((name, ink), moves_m, limit) = (title(way), side.excursion_m.of(way), travel.of(way));
        let xmax_mm = 1e3 * limit.xmax_m;
        panel.rules.push(Rule {
            name: format!("{}'s Xmax {} mm", way.word(), units::significant(xmax_mm, 2)),
            y: xmax_mm,
            ink: Ink::Limit,
        });
        let named = panel.bands.is_empty();
        panel.bands.extend(beyond(hz, moves_m, limit.xmax_m, named));
        panel.traces.push(Trace::new(name, ink, hz.to_vec(), mm(moves_m)));
        if limit.beyond_up_to_hz.is_some() {
            let size = units::significant(1e3 * limit.peak_m, 2);
            panel.marks.push(Mark {
                text: format!("{size} mm at {}", units::hertz(limit.at_hz)),
                x: limit.at_hz,
                y: 1e3 * limit.peak_m,
                ink,
                solid: true,
            });
        }
    }
    if let Remedy::Capacitor(guard) = &side.drive.remedy {
        let name = format!("Woofer behind {} µF", units::significant(1e6 * guard.farad, 2));
        let fine = side.drive.loudest.frequency_hz.clone();
        panel.traces.push(Trace::new(name, Ink::Inverted, fine, mm(&guard.excursion_m)));
    }
    panel
}

fn mm(metres: &[f64]) -> Vec<f64> {
    metres.iter().map(|x| 1e3 * x).collect()
}

/// Between Xmax and the curve, wherever it is above; the first one carries the name.
fn beyond(hz: &[f64], moves_m: &[f64], xmax_m: f64, named: bool) -> Vec<Band> {
    let points: Vec<(f64, f64)> = hz.iter().copied().zip(mm(moves_m)).collect();
    let xmax_mm = 1e3 * xmax_m;
    let runs = points.chunk_by(|a, b| (a.1 > xmax_mm) == (b.1 > xmax_mm));
    let above = runs.filter(|run| run[0].1 > xmax_mm && run.len() > 1);
    let band = |(k, run): (usize, &[(f64, f64)])| {
        let (x, high): (Vec<f64>, Vec<f64>) = run.iter().copied().unzip();
        let name = if named && k == 0 { "Beyond Xmax" } else { "" };
        Band::new(name, Ink::Limit, x, vec![xmax_mm; high.len()], high)
    };
    above.enumerate().map(band).collect()
}

fn noise(side: &SideStudy) -> Panel {
    let drivers = &side.drive.noise.drivers;
    let bands = |load: &NoiseLoad| -> (Vec<f64>, Vec<f64>) {
        let shown = |x: f64| if x > 0.0 { 1e3 * x } else { f64::NAN };
        load.bands.iter().map(|(hz, x)| (*hz, shown(*x))).unzip()
    };
    let all = [&drivers.woofer, &drivers.tweeter];
    let top = all.iter().flat_map(|load| &load.bands).map(|b| 1e3 * b.1).fold(1e-6, f64::max);
    let least = all.map(|load| load.bands.iter().map(|b| 1e3 * b.1).fold(1e-9, f64::max));
    let low = 0.3 * least[0].min(least[1]).max(top / 1e3);
    let mut panel =
        Panel::new(Axis::log("Programme noise, rms by third octave (mm)", low, 4.0 * top));
    panel.height = 0.6;
    for way in Way::BOTH {
        let ((_, ink), load) = (title(way), drivers.of(way));
        let (x, y) = bands(load);
        let highest = (0..y.len()).max_by(|&a, &b| y[a].max(0.0).total_cmp(&y[b].max(0.0)));
        if let Some(highest) = highest {
            panel.marks.push(Mark {
                text: format!(
                    "in all {} mm rms, {} mm at the peaks",
                    units::significant(1e3 * load.rms_m, 2),
                    units::significant(1e3 * load.peak_m, 2)
                ),
                x: x[highest],
                y: y[highest],
                ink,
                solid: true,
            });
        }
        panel.traces.push(Trace::new("", ink, x, y));
    }
    panel
}

/// Level of the largest sine at the first seat, what holds it where, and its voltage.
pub fn loudest(study: &Study, side: &SideStudy, names: &str) -> Figure {
    let loudest = &side.loudest;
    let (seat, level) = loudest.seats_db.first().map_or(("", &[][..]), |(n, db)| (n, db));
    let hz = &loudest.frequency_hz;
    let from_hz = study.design.amplifier.cut_below_hz.unwrap_or(0.0);
    let driven = |values: &[f64]| -> Vec<f64> {
        let each = hz.iter().zip(values);
        each.map(|(f, v)| if *f >= from_hz { *v } else { f64::NAN }).collect()
    };
    let top = 5.0 * (level.iter().copied().fold(0.0, f64::max) / 5.0).ceil() + 15.0;
    let axis = Axis::level_db("Level of the largest sine (dB re 20 µPa)", top - 60.0, top);
    let mut main = Panel::new(axis);
    main.bands.extend(held_by_drivers(loudest, level, from_hz));
    for (holder, volts) in &loudest.allowed_v {
        let alone = loudest.per_volt_db.iter().zip(volts).map(|(db, v)| db + level_db(*v, 1.0));
        let alone = driven(&alone.collect::<Vec<_>>());
        // A limit far above all others would only be a name in the legend.
        if alone.iter().any(|db| *db < top) {
            let (name, ink) = look(*holder);
            main.traces.push(Trace::new(name, ink, hz.clone(), alone));
        }
    }
    main.traces.push(Trace::new("All together", Ink::Sum, hz.clone(), driven(level)));
    main.marks.extend(stretches(side));
    let volts = driven(&loudest.volts);
    let most = volts.iter().copied().fold(1.0, f64::max);
    let mut strip = Panel::new(Axis::linear("Largest sine at the source (V)", 0.0, 1.15 * most));
    strip.height = 0.3;
    strip.traces.push(Trace::new("", Ink::Sum, hz.clone(), volts));
    let subtitle = format!("{}, {names} (each alone), at {seat}", study.design.name);
    let mut figure = Figure::new("How loud it can be", subtitle, hertz_axis(&study.grid));
    figure.description = "Level of the largest sine against frequency, with the level that amplifier, travel and heat of each driver would allow alone; below, the voltage of that sine.".into();
    figure.panels = vec![main, strip];
    figure.height = 660;
    figure
}

fn look(holder: Holder) -> (&'static str, Ink) {
    match holder {
        Holder::Amplifier => ("Amplifier", Ink::Limit),
        Holder::Travel(Way::Woofer) => ("Woofer's travel", Ink::Woofer),
        Holder::Heat(Way::Woofer) => ("Woofer's heat", Ink::Reference),
        Holder::Travel(Way::Tweeter) => ("Tweeter's travel", Ink::Tweeter),
        Holder::Heat(Way::Tweeter) => ("Tweeter's heat", Ink::Inverted),
    }
}

/// The area under the curve where a driver binds and not the amplifier.
fn held_by_drivers(loudest: &Loudest, level: &[f64], from_hz: f64) -> Vec<Band> {
    let points: Vec<(f64, f64, bool)> = (0..level.len())
        .map(|i| (loudest.frequency_hz[i], level[i], loudest.held_by[i] != Holder::Amplifier))
        .filter(|p| p.0 >= from_hz)
        .collect();
    let runs = points.chunk_by(|a, b| a.2 == b.2).filter(|run| run[0].2 && run.len() > 1);
    let band = |(k, run): (usize, &[(f64, f64, bool)])| {
        let name = if k == 0 { "A driver binds" } else { "" };
        let (x, high) = run.iter().map(|p| (p.0, p.1)).unzip();
        Band::new(name, Ink::Limit, x, vec![f64::NEG_INFINITY; run.len()], high)
    };
    runs.enumerate().map(band).collect()
}

/// A name in the middle of every stretch wide enough.
fn stretches(side: &SideStudy) -> Vec<Mark> {
    let loudest = &side.drive.loudest;
    let wide = loudest.stretches.iter().filter(|s| s.to_hz > NARROW * s.from_hz);
    let mark = |s: &Stretch| {
        let x = (s.from_hz * s.to_hz).sqrt();
        let y = loudest.level_near_db(0, x)?;
        let text = format!("held by {}", s.holder.words());
        Some(Mark { text, x, y, ink: Ink::Sum, solid: false })
    };
    wide.filter_map(mark).collect()
}
