//! The usual cautions, where they apply.

use crate::analysis::study::Study;
use crate::design::{Design, Way};

/// A day at this level is where employers must protect their people's hearing, dB(A) (Directive
/// 2003/10/EC, upper action value, from memory).
const LOUD_DB: f64 = 85.0;
/// A coil hotter than this burns who touches magnet or coil, °C (common practice, no source).
const HOT_C: f64 = 70.0;

/// A resistor's surface hotter than this scorches what touches it, °C (common practice, no source).
const SCORCHES_C: f64 = 90.0;

/// Cautions for whoever builds the design of `study`, one sentence each, where they apply.
pub fn for_building(study: &Study) -> Vec<String> {
    let design = &study.design;
    let mut cautions = vec![
        "Figures are predictions: check them by measurement before a run is ordered.".to_owned(),
        format!(
            "Feed the amplifier from an approved, enclosed adaptor with a fuse{}; leave anything on the mains side to a licensed person and the local code.",
            fuse(study)
        ),
    ];
    let mut add = |applies: bool, caution: &str| {
        if applies {
            cautions.push(caution.to_owned());
        }
    };
    add(
        design.amplifier.bridged,
        "Bridged outputs: the crossover's return goes to the negative output (amp-), never to ground.",
    );
    add(
        is_metal(design),
        "Bond the metal back to protective earth where the supply calls for it, as the local code says.",
    );
    cautions.push(hot_parts(study));
    let mut add = |applies: bool, caution: &str| {
        if applies {
            cautions.push(caution.to_owned());
        }
    };
    add(
        is_hot(study),
        "Drivers that were driven hard stay hot for a long time: let them cool before you touch magnet or coil.",
    );
    add(
        holds_charge(design),
        "Capacitors of the supply and at the output stay charged: power off, wait a minute and measure before you touch them.",
    );
    add(
        loudest_db(study) > LOUD_DB,
        "It can play louder than 85 dB at a seat, which harms hearing in hours: protect your ears while you test, and set a limit for those who will sit there.",
    );
    add(
        is_wood(design),
        "Cut and glue with a dust mask and open windows; let the glue cure before the cavity is closed.",
    );
    cautions
}

fn fuse(study: &Study) -> String {
    let fuse_a = study.amplifier.as_ref().and_then(|a| a.supply.fuse_a);
    fuse_a.map_or(String::new(), |a| format!(" (T {} A)", crate::units::plain(a)))
}

/// Hot resistors near foam and wood, with the hottest where it is known to scorch.
fn hot_parts(study: &Study) -> String {
    let warmth = study.amplifier.iter().flat_map(|a| &a.warmth);
    let hottest = warmth
        .filter_map(|w| w.programme.resistor.as_ref())
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .filter(|(_, c)| *c > SCORCHES_C);
    let told = hottest.map_or(String::new(), |(name, c)| format!(" ({name} may reach {c:.0} °C)"));
    format!("Resistors and coils get hot{told}: keep them clear of foam and wood.")
}

/// A supply above what is harmless, or a capacitor at the output.
fn holds_charge(design: &Design) -> bool {
    // Extra-low voltage that may be touched when dry, V (IEC 61140, from memory).
    const TOUCHED_V: f64 = 60.0;
    let amplifier = &design.amplifier;
    amplifier.hardware.coupling_f.is_some() || amplifier.supply_v.is_some_and(|v| v > TOUCHED_V)
}

fn is_wood(design: &Design) -> bool {
    use crate::design::Material::{Mdf, Plywood};
    [design.panel.face, design.panel.back]
        .iter()
        .any(|sheet| matches!(sheet.material, Plywood | Mdf))
}

fn is_hot(study: &Study) -> bool {
    let coils = study.sides.iter().flat_map(|s| Way::BOTH.map(|way| s.drive.heating.of(way)));
    coils.flatten().any(|heat| heat.noise.settled.coil_c > HOT_C)
}

/// Programme noise from all sides at the seat where it is loudest, dB re 20 µPa.
fn loudest_db(study: &Study) -> f64 {
    let seats = study.design.listeners.len();
    let power = |seat: usize| -> f64 {
        let each = study.sides.iter().filter_map(|s| s.drive.noise.seats_db.get(seat));
        each.map(|(_, db)| 10f64.powf(0.1 * db)).sum()
    };
    10.0 * (0..seats).map(power).fold(1e-20, f64::max).log10()
}

fn is_metal(design: &Design) -> bool {
    use crate::design::Material::{Aluminium, Steel};
    matches!(design.panel.back.material, Aluminium | Steel)
}
