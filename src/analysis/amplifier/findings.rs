//! What the amplifier's study asks care for.

use super::ringing::MOST_PEAK_DB;
use super::{AmplifierStudy, SideLoad};
use crate::analysis::finding::Finding;
use crate::design::{Design, Guard, Stage};
use crate::units::{self, significant};

pub(super) fn all(study: &AmplifierStudy, design: &Design) -> Vec<Finding> {
    let mut found = Vec::new();
    for side in &study.sides {
        found.extend(corners(side, design));
        found.extend(direct(side));
        found.extend(unplugged(side, design));
        found.extend(ringing(side));
        found.extend(overdriven(side, design));
        found.extend(limited(side, design));
    }
    found.extend(supply(study, design));
    let switching = matches!(design.amplifier.hardware.stage, Stage::Switching { .. });
    if switching && design.amplifier.hardware.filter.is_none() {
        found.push(Finding::note(
            "amplifier",
            "no [amplifier.filter] is stated: whether its output filter rings with a driver unplugged is unknown",
        ));
    }
    found
}

fn corners(side: &SideLoad, design: &Design) -> Vec<Finding> {
    let mut found = Vec::new();
    let (corners, allowed) = (&side.corners, design.amplifier.lowest_load_ohm);
    if corners.lowest.value < allowed && corners.nominal.value >= allowed {
        found.push(Finding::unfit(
            format!("{} impedance", side.name),
            format!(
                "falls to {} at {} in the worst corner of the parts' tolerances; the amplifier allows {}. Take closer tolerances, or raise the impedance by a tenth",
                units::ohms(corners.lowest.value),
                units::hertz(corners.lowest.at_hz),
                units::ohms(allowed)
            ),
        ));
    }
    for borne in &corners.borne {
        let Some(rating) = borne.rating.filter(|r| borne.worst > *r) else { continue };
        let (signal, unit) = match borne.reference.chars().next() {
            Some('C') => ("a sine at clipping", "V peak"),
            Some('L') => ("a sine at clipping", "A rms"),
            _ => ("programme noise at clipping", "W"),
        };
        found.push(Finding::unfit(
            format!("{} {}", side.name, borne.reference),
            format!(
                "bears {} {unit} in the worst corner under {signal} and is rated for {}: take a stronger one",
                significant(borne.worst, 3),
                significant(rating, 3)
            ),
        ));
    }
    found
}

fn direct(side: &SideLoad) -> Vec<Finding> {
    let (mut found, standing) = (Vec::new(), &side.standing);
    if let Some(path) = standing.tweeter_path.as_ref().filter(|_| standing.tweeter_share > 0.0) {
        let by = if path.is_empty() {
            "directly".to_owned()
        } else {
            format!("by way of {}", path.join(", "))
        };
        found.push(Finding::unfit(
            format!("{} tweeter", side.name),
            format!(
                "gets {} % of any direct voltage at the input, {by}: it must never see any; put a capacitor in series with it",
                significant(100.0 * standing.tweeter_share, 2)
            ),
        ));
    }
    if let Some(coupling) = &standing.coupling {
        let rest = standing.rests_v.map_or("half its supply".to_owned(), |v| format!("{v:.1} V"));
        let advised = significant(1e6 * coupling.advised_f, 3);
        // Without a stated supply it is not known to be a single one.
        let grave: fn(&'static str, String) -> Finding = match standing.rests_v {
            Some(_) => Finding::unfit,
            None => Finding::note,
        };
        match coupling.stated_f {
            None => found.push(grave(
                "amplifier output",
                format!(
                    "a single-ended output on a single supply rests at {rest}, which would stand across the woofer for ever: put {advised} µF in series with each side (coupling_uf) or say supply = \"split\""
                ),
            )),
            Some(stated_f) if stated_f < 0.5 * coupling.advised_f => found.push(Finding::caution(
                "amplifier output",
                format!(
                    "the coupling capacitor cuts the bass from {} on; {advised} µF keep it",
                    units::hertz(coupling.corner_hz)
                ),
            )),
            Some(_) => {}
        }
    }
    found
}

fn unplugged(side: &SideLoad, design: &Design) -> Option<Finding> {
    let cases = side.unplugged.iter();
    let worst = cases.min_by(|a, b| a.lowest.value.total_cmp(&b.lowest.value))?;
    if worst.lowest.value >= design.amplifier.lowest_load_ohm {
        return None;
    }
    let volts = worst
        .capacitor
        .as_ref()
        .map_or(String::new(), |(name, v)| format!(" and {name} would see up to {:.0} V", v.value));
    Some(Finding::caution(
        format!("{} crossover", side.name),
        format!(
            "with {} the impedance falls to {} at {}{volts}: never drive it so; switch off before a driver is unplugged",
            worst.missing.words(),
            units::ohms(worst.lowest.value),
            units::hertz(worst.lowest.at_hz)
        ),
    ))
}

fn ringing(side: &SideLoad) -> Option<Finding> {
    let ringing = side.ringing.as_ref()?;
    let worst = ringing.worst().filter(|w| w.peak_db > MOST_PEAK_DB)?;
    let cure = ringing.cure.map_or(String::new(), |(damping, peak_db)| {
        format!(
            ": {} Ω in series with {} µF from each output to ground bring it to {peak_db:+.1} dB",
            significant(damping.ohm, 2),
            significant(1e6 * damping.farad, 2)
        )
    });
    Some(Finding::caution(
        "amplifier filter",
        format!(
            "rings by {:+.1} dB at {} with {}{cure}",
            worst.peak_db,
            units::hertz(worst.peak_hz),
            worst.behind.words()
        ),
    ))
}

fn overdriven(side: &SideLoad, design: &Design) -> Vec<Finding> {
    let mut found = Vec::new();
    let subject = format!("{} tweeter", side.name);
    let designed = design.sides.iter().find(|s| s.name == side.name);
    let rated_w = designed.map_or(f64::INFINITY, |s| s.drivers.tweeter.driver.limits.noise_power_w);
    let beyond = side.overdriven.iter().find(|l| l.power_w.tweeter > rated_w);
    let guard = &design.crossover.guard;
    if let Some(level) = beyond.filter(|_| !side.fused.is_some_and(|f| f.saves)) {
        let clipping = if level.over_db > 0.0 {
            format!("driven {:.0} dB into clipping", level.over_db)
        } else {
            "just at clipping".to_owned()
        };
        found.push(Finding::caution(
            subject.clone(),
            format!(
                "takes {:.1} W of programme noise with the amplifier {clipping} and is rated for {rated_w:.0} W: limit the signal before the amplifier, or protect it ([crossover.tweeter_guard])",
                level.power_w.tweeter
            ),
        ));
    }
    if let (Some(fused), Some(Guard::ResettableFuse { hold_a, trip_a, .. })) = (side.fused, guard) {
        if !fused.holds {
            let text = format!(
                "its fuse holds {hold_a} A, less than programme at clipping asks for: it will trip in use"
            );
            found.push(Finding::caution(subject.clone(), text));
        }
        if !fused.saves {
            let text = format!(
                "its fuse certainly trips at {trip_a} A only, but the tweeter stands {:.2} A",
                fused.allowed_a
            );
            found.push(Finding::caution(subject, text));
        }
    }
    found
}

fn limited(side: &SideLoad, design: &Design) -> Option<Finding> {
    let (from_hz, to_hz) = side.faced.current_limited_hz?;
    let limit_a = design.amplifier.hardware.current_limit_a?;
    Some(Finding::caution(
        format!("{} current", side.name),
        format!(
            "a sine at clipping asks for {:.1} A peak, the amplifier stops at {limit_a:.1} A (between {} and {})",
            side.faced.most_current_a(),
            units::hertz(from_hz),
            units::hertz(to_hz)
        ),
    ))
}

fn supply(study: &AmplifierStudy, design: &Design) -> Vec<Finding> {
    let mut found = Vec::new();
    let supply = &study.supply;
    let Some(adaptor_w) = design.amplifier.hardware.adaptor_w else { return found };
    let text = |what: &str, needs_w: f64| {
        format!("gives {adaptor_w:.0} W, but {what} takes {needs_w:.0} W from it")
    };
    if adaptor_w < supply.normal.in_w {
        found.push(Finding::unfit("adaptor", text("normal listening", supply.normal.in_w)));
    } else if adaptor_w < supply.programme.in_w {
        let what = "programme on the verge of clipping";
        found.push(Finding::caution("adaptor", text(what, supply.programme.in_w)));
    }
    found
}
