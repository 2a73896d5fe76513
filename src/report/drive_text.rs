//! What full drive comes to, a name and a sentence each.

use crate::analysis::guard::Remedy;
use crate::analysis::heating::Heating;
use crate::analysis::limits::Travel;
use crate::analysis::loudest::{Loudest, Stretch};
use crate::analysis::noise::{Noise, NoiseLoad};
use crate::analysis::study::SideStudy;
use crate::design::Way;
use crate::units;

/// Stretches narrower than this ratio are left out of sentences and pictures.
pub(super) const NARROW: f64 = 1.15;
/// Frequencies at which the loudest sine is told, Hz.
const TOLD_HZ: [f64; 3] = [50.0, 100.0, 1000.0];

/// The rows for a side.
pub fn facts(side: &SideStudy) -> Vec<[String; 2]> {
    let drive = &side.drive;
    let travel = &side.limits.travel;
    let mut facts = vec![
        [
            "Travel".to_owned(),
            format!(
                "with the amplifier's rated sine {}; {}{}",
                moves(Way::Woofer, &travel.woofer),
                moves(Way::Tweeter, &travel.tweeter),
                guarded(&drive.remedy)
            ),
        ],
        ["Programme".to_owned(), programme(&drive.noise)],
        ["Loudest".to_owned(), loudest(&drive.loudest)],
    ];
    for way in Way::BOTH {
        if let Some(heating) = drive.heating.of(way) {
            facts.push([format!("Heat, {}", way.word()), heat(heating)]);
        }
    }
    facts
}

fn moves(way: Way, travel: &Travel) -> String {
    format!(
        "{} {} at {} (Xmax {}, reached with {:.1} V)",
        way.word(),
        mm(travel.peak_m),
        units::hertz(travel.at_hz),
        mm(travel.xmax_m),
        travel.xmax_v
    )
}

fn mm(metres: f64) -> String {
    format!("{} mm", units::significant(1e3 * metres, 2))
}

fn guarded(remedy: &Remedy) -> String {
    match remedy {
        Remedy::Capacitor(guard) if guard.is_bargain() => format!(
            "; {} µF in front keep it to {}",
            units::significant(1e6 * guard.farad, 2),
            mm(guard.peak_m)
        ),
        _ => String::new(),
    }
}

fn programme(noise: &Noise) -> String {
    let load = |way: Way, load: &NoiseLoad| {
        format!(
            "{} {} of its {} W, {} rms, {} at the peaks",
            way.word(),
            units::significant(load.power_w, 2),
            units::significant(load.rated_w, 3),
            mm(load.rms_m),
            mm(load.peak_m)
        )
    };
    let most = noise.seats_db.first().map_or(String::new(), |(seat, db)| {
        let (volts, holder) = (noise.most_v, noise.held_by.words());
        format!(". Up to {volts:.1} V, {db:.0} dB at {seat}, held by {holder}")
    });
    format!(
        "noise (IEC 60268-1, peaks {} times its rms) of {:.1} V rms: {}; {}{most}",
        units::significant(noise.crest_factor, 2),
        noise.source_v,
        load(Way::Woofer, &noise.drivers.woofer),
        load(Way::Tweeter, &noise.drivers.tweeter)
    )
}

fn loudest(loudest: &Loudest) -> String {
    let Some((seat, _)) = loudest.seats_db.first() else { return String::new() };
    let level = |hz: &f64| {
        let db = loudest.level_near_db(0, *hz)?;
        Some(format!("{db:.0} dB at {}", units::hertz(*hz)))
    };
    let levels: Vec<String> = TOLD_HZ.iter().filter_map(level).collect();
    let wide = loudest.stretches.iter().filter(|s| s.to_hz > NARROW * s.from_hz);
    let held = |s: &Stretch| {
        format!("{} to {} by {}", units::hertz(s.from_hz), units::hertz(s.to_hz), s.holder.words())
    };
    let held: Vec<String> = wide.map(held).collect();
    let near = loudest.at_1m_db[loudest.near(1000.0)];
    format!(
        "sines of {} at {seat} ({near:.0} dB at 1 m); held {}",
        levels.join(", "),
        held.join(", ")
    )
}

fn heat(heating: &Heating) -> String {
    let (minute, settled) = (heating.noise.minute, heating.noise.settled);
    let bass = heating
        .alignment
        .map_or(String::new(), |a| format!(", fc {}, Qtc {:.2}", units::hertz(a.fc_hz), a.qtc));
    let habit = if heating.path.is_habit { " (usual time constants)" } else { "" };
    format!(
        "programme noise at the rated power brings the coil to {:.0} °C in a minute{habit} and {:.0} °C in the end: Re {}, Qes {:.2}{bass}, {:+.1} dB; a sine at {} to {:.0} °C",
        minute.coil_c,
        settled.coil_c,
        units::ohms(settled.re_ohm),
        heating.qes,
        settled.level_db,
        units::hertz(heating.sine_hz),
        heating.sine.settled.coil_c
    )
}
