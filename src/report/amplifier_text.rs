//! What the amplifier's check comes to, a name and a sentence each.

use crate::analysis::amplifier::overdrive::Overdriven;
use crate::analysis::amplifier::ringing::Ringing;
use crate::analysis::amplifier::supply::{Draw, Supply};
use crate::analysis::amplifier::{AmplifierStudy, SideLoad};
use crate::analysis::study::Study;
use crate::analysis::warmth::Warmth;
use crate::model::slab_heat::Place;
use crate::units::{self, significant};

/// The rows for the amplifier and its sides, those of equal text told once; empty without a closer
/// look.
pub fn facts(study: &Study) -> Vec<[String; 2]> {
    let Some(amplifier) = &study.amplifier else { return Vec::new() };
    let distinct = study.distinct_sides();
    // What, for which sides, and the text.
    let mut rows: Vec<(&str, Vec<&str>, String)> = Vec::new();
    for (names, side) in &distinct {
        let Some(load) = amplifier.side(&side.name) else { continue };
        let warmth = amplifier.warmth.iter().find(|w| w.name == side.name);
        let more = [
            load.ringing.as_ref().map(|r| ("Filter", filter(r))),
            warmth.map(|w| ("Warmth", warm(w))),
        ];
        for (what, text) in of_side(load).into_iter().chain(more.into_iter().flatten()) {
            match rows.iter_mut().find(|row| row.0 == what && row.2 == text) {
                Some(row) => row.1.push(names),
                None => rows.push((what, vec![names], text)),
            }
        }
    }
    rows.sort_by_key(|row| ORDER.iter().position(|what| *what == row.0));
    let named = rows.into_iter().map(|(what, names, text)| match names.len() == distinct.len() {
        true => [what.to_owned(), text],
        false => [format!("{what}, {}", names.join(", ")), text],
    });
    let mut facts: Vec<[String; 2]> = named.collect();
    facts.push(["Supply".to_owned(), supply(&amplifier.supply)]);
    facts
}

/// The order of the rows.
const ORDER: [&str; 7] = ["Clipping", "Clipped", "Corners", "Direct", "Wiring", "Filter", "Warmth"];

fn of_side(load: &SideLoad) -> [(&'static str, String); 5] {
    [
        ("Clipping", clipping(load)),
        ("Clipped", overdriven(&load.overdriven)),
        ("Corners", corners(load)),
        ("Direct", direct(load)),
        ("Wiring", wiring(load)),
    ]
}

fn clipping(load: &SideLoad) -> String {
    let faced = &load.faced;
    let most = faced.hungriest();
    let seat = faced.sine_db.first().zip(faced.programme_db.first());
    let level = seat.map_or(String::new(), |((seat, sine), (_, noise))| {
        format!("; {sine:.0} dB at {seat} with 1 kHz, {noise:.0} dB with programme")
    });
    format!(
        "a sine clips at {:.1} V ({:.0} W into the rated load, {:.0} W into this one at {}), {:.1} A peak at most{level}",
        faced.clipping_v,
        faced.rated_load_w,
        faced.power_w[most],
        units::hertz(faced.frequency_hz[most]),
        faced.most_current_a()
    )
}

fn overdriven(levels: &[Overdriven]) -> String {
    let level = |l: &Overdriven| match l.over_db > 0.0 {
        true => format!("{:.1} W {:.0} dB into clipping", l.power_w.tweeter, l.over_db),
        false => format!("{:.1} W of programme just at clipping", l.power_w.tweeter),
    };
    let levels: Vec<String> = levels.iter().map(level).collect();
    format!("the tweeter takes {}", levels.join(", "))
}

fn corners(load: &SideLoad) -> String {
    let corners = &load.corners;
    let state = match (corners.state.aged, corners.state.hot) {
        (true, true) => ", aged and hot",
        (true, false) => ", aged",
        (false, true) => ", hot",
        (false, false) => "",
    };
    format!(
        "lowest impedance {} at {} with every part at its worst end{state} (nominal {}; {} corners solved)",
        units::ohms(corners.lowest.value),
        units::hertz(corners.lowest.at_hz),
        units::ohms(corners.nominal.value),
        corners.tried
    )
}

fn direct(load: &SideLoad) -> String {
    let standing = &load.standing;
    let tweeter = match standing.tweeter_share > 0.0 {
        true => "it reaches the tweeter",
        false => "capacitors keep it from the tweeter",
    };
    let coupling = standing.coupling.map_or(String::new(), |c| {
        let (value, word) = match c.stated_f {
            Some(f) => (f, "coupled over"),
            None => (c.advised_f, "to be coupled over"),
        };
        let corner = units::hertz(c.corner_hz);
        format!("; {word} {} µF, corner {corner}", significant(1e6 * value, 3))
    });
    format!("{} at the input; {tweeter}{coupling}", units::ohms(standing.input_ohm))
}

fn wiring(load: &SideLoad) -> String {
    let wiring = &load.wiring;
    let cable = wiring.cable_m2.map_or(String::new(), |area| {
        format!(", cable of {} mm² or more", significant(1e6 * area, 2))
    });
    let damping = wiring.woofer_damping_factor.map_or(String::new(), |factor| {
        format!("; damping factor {factor:.0} at the woofer's terminals, crossover included")
    });
    format!(
        "{:.1} A rms: outer trace {:.1} mm (inner {:.1} mm){cable}{damping}",
        wiring.current_a,
        1e3 * wiring.trace_m,
        1e3 * wiring.inner_trace_m
    )
}

fn filter(ringing: &Ringing) -> String {
    let worst = ringing.worst().map_or(String::new(), |w| {
        format!(
            "highest {:+.1} dB at {} with {}",
            w.peak_db,
            units::hertz(w.peak_hz),
            w.behind.words()
        )
    });
    let loaded = ringing.cases.first().map_or(String::new(), |all| {
        format!("; {:+.1} dB at 20 kHz with {}", all.at_20_khz_db, all.behind.words())
    });
    format!("resonance {}; {worst}{loaded}", units::hertz(ringing.resonance_hz))
}

fn warm(warmth: &Warmth) -> String {
    let at = |places_c: &[f64], place: Place| places_c[place.node()];
    let (loud, normal) = (&warmth.programme, &warmth.normal);
    let resistor =
        loud.resistor.as_ref().map_or(String::new(), |(name, c)| format!(", {name} at {c:.0} °C"));
    format!(
        "in a room of {:.0} °C the cavity's air settles at {:.0} °C in normal listening ({:.1} W of heat) and at {:.0} °C with programme on the verge of clipping ({:.1} W; face {:.0} °C, back {:.0} °C{resistor})",
        warmth.room_c,
        at(&normal.places_c, Place::Air),
        normal.heat_w,
        at(&loud.places_c, Place::Air),
        loud.heat_w,
        at(&loud.places_c, Place::FaceOutside),
        at(&loud.places_c, Place::BackOutside)
    )
}

fn supply(supply: &Supply) -> String {
    let draw = |draw: &Draw| match draw.supply_a {
        Some(a) => format!("{:.0} W ({a:.1} A)", draw.in_w),
        None => format!("{:.0} W", draw.in_w),
    };
    let adaptor = match supply.adaptor_w {
        Some(w) => format!("an adaptor of {w:.0} W"),
        None => "more than one adaptor".to_owned(),
    };
    let fuse = supply
        .fuse_a
        .map_or(String::new(), |a| format!(", fuse T {} A (IEC 60127)", units::plain(a)));
    format!(
        "all sides take {} in normal listening, {} with programme on the verge of clipping, {} with a sine: {adaptor}{fuse}; {:.1} W of heat in the amplifier then, {:.1} W normally",
        draw(&supply.normal),
        draw(&supply.programme),
        draw(&supply.sine),
        supply.programme.heat_w(),
        supply.normal.heat_w()
    )
}

/// Verdicts on the lowest impedance of the worst corner and on warmth: what, found, limit, and
/// whether it is within; `None` asks for care.
pub fn verdicts(
    names: &str,
    side: &str,
    amplifier: &AmplifierStudy,
    allowed_ohm: f64,
) -> Vec<(String, String, String, Option<bool>)> {
    let Some(load) = amplifier.side(side) else { return Vec::new() };
    let lowest = &load.corners.lowest;
    let mut rows = vec![(
        format!("{names}: lowest impedance, worst corner"),
        format!("{} at {}", units::ohms(lowest.value), units::hertz(lowest.at_hz)),
        format!("{} or more", units::ohms(allowed_ohm)),
        Some(lowest.value >= allowed_ohm),
    )];
    let warmth = amplifier.warmth.iter().find(|w| w.name == side);
    for held in warmth.iter().flat_map(|w| &w.held) {
        let within = match (held.normal_c <= held.limit_c, held.programme_c <= held.limit_c) {
            (true, true) => Some(true),
            (true, false) => None,
            (false, _) => Some(false),
        };
        rows.push((
            format!("{names}: {}", held.what.words()),
            format!("{:.0} °C normally, {:.0} °C at most", held.normal_c, held.programme_c),
            format!("{:.0} °C", held.limit_c),
            within,
        ));
    }
    rows
}
