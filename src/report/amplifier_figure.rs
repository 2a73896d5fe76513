//! The figure of what the amplifier has to deal with: power into the real load, and what its output
//! filter does above the audio band.

use crate::analysis::amplifier::SideLoad;
use crate::analysis::amplifier::ringing::{Behind, MOST_PEAK_DB, Ringing};
use crate::analysis::amplifier::unplugged::Missing;
use crate::analysis::study::{SideStudy, Study};
use crate::picture::{Axis, Figure, Ink, Mark, Panel, Rule, Trace, Upright};
use crate::units::{self, significant};

/// Power at clipping over frequency against the rating, the current that it asks for, and the output
/// filter with and without its load up to 1 MHz; `None` without a closer look.
pub fn figure(study: &Study, side: &SideStudy, names: &str) -> Option<Figure> {
    let load = study.amplifier.as_ref()?.side(&side.name)?;
    let to_hz = if load.ringing.is_some() { 1e6 } else { 20_000.0 };
    let subtitle = format!(
        "{}, {names}: a sine of {:.1} V rms, where the amplifier clips",
        study.design.name, load.faced.clipping_v
    );
    let title = "What the amplifier has to deal with";
    let mut figure = Figure::new(title, subtitle, Axis::frequency(20.0, to_hz));
    figure.description = "Power into the load at clipping, peak current, and the response of the output filter with everything connected and with drivers unplugged, against frequency.".into();
    figure.panels = vec![power(study, load), current(study, load)];
    figure.panels.extend(load.ringing.as_ref().map(filter));
    figure.height = if load.ringing.is_some() { 760 } else { 560 };
    Some(figure)
}

fn power(study: &Study, load: &SideLoad) -> Panel {
    let (faced, amplifier) = (&load.faced, &study.design.amplifier);
    let most = faced.hungriest();
    let least = faced.power_w.iter().copied().fold(f64::INFINITY, f64::min);
    let top = 2.5 * faced.power_w[most].max(amplifier.power_w);
    let low = (0.7 * least).max(top / 300.0);
    let mut panel = Panel::new(Axis::log("Power into the load (W)", low, top));
    panel.rules.push(Rule {
        name: format!("rated {} W", units::plain(amplifier.power_w)),
        y: amplifier.power_w,
        ink: Ink::Limit,
    });
    let name = "Power of the largest sine";
    panel.traces.push(Trace::new(
        name,
        Ink::Sum,
        faced.frequency_hz.clone(),
        faced.power_w.clone(),
    ));
    panel.marks.push(Mark {
        text: format!("{} W", significant(faced.power_w[most], 2)),
        x: faced.frequency_hz[most],
        y: faced.power_w[most],
        ink: Ink::Sum,
        solid: true,
    });
    panel
}

fn current(study: &Study, load: &SideLoad) -> Panel {
    let faced = &load.faced;
    let limit_a = study.design.amplifier.hardware.current_limit_a;
    let corners = &load.corners;
    let worst_a = std::f64::consts::SQRT_2 * faced.clipping_v
        / (corners.lowest.value + study.design.amplifier.output_ohm);
    let most = faced.most_current_a().max(worst_a).max(limit_a.unwrap_or(0.0));
    let mut panel = Panel::new(Axis::linear("Peak current (A)", 0.0, 1.35 * most));
    panel.height = 0.6;
    let (hz, a) = (faced.frequency_hz.clone(), faced.current_a.clone());
    panel.traces.push(Trace::new("", Ink::Sum, hz, a));
    panel.rules.extend(limit_a.map(|a| Rule {
        name: format!("limit {} A", significant(a, 2)),
        y: a,
        ink: Ink::Limit,
    }));
    panel.marks.push(Mark {
        text: format!(
            "worst corner of all tolerances: {} A into {}",
            significant(worst_a, 2),
            units::ohms(corners.lowest.value)
        ),
        x: corners.lowest.at_hz,
        y: worst_a,
        ink: Ink::Inverted,
        solid: true,
    });
    panel
}

fn filter(ringing: &Ringing) -> Panel {
    let highest = ringing.worst().map_or(0.0, |w| w.peak_db);
    let top = 10.0 * ((highest.max(MOST_PEAK_DB) + 8.0) / 10.0).ceil();
    let mut panel = Panel::new(Axis::level_db("Output filter (dB)", -30.0, top));
    panel.height = 0.8;
    for (behind, name, ink) in [
        (Behind::Everything, "Everything connected", Ink::Sum),
        (Behind::Without(Missing::Tweeter), "Tweeter unplugged", Ink::Tweeter),
        (Behind::Without(Missing::Woofer), "Woofer unplugged", Ink::Woofer),
        (Behind::Nothing, "Nothing connected", Ink::Inverted),
    ] {
        let Some(case) = ringing.cases.iter().find(|c| c.behind == behind) else { continue };
        let hz = ringing.frequency_hz.clone();
        panel.traces.push(Trace::new(name, ink, hz, case.level_db.clone()));
    }
    panel.rules.push(Rule {
        name: format!("damp beyond {MOST_PEAK_DB:+.0} dB"),
        y: MOST_PEAK_DB,
        ink: Ink::Limit,
    });
    panel.uprights.push(Upright { name: "20 kHz".into(), x: 20_000.0 });
    panel
}
