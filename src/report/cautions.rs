//! The usual cautions, where they apply.

use crate::analysis::study::Study;
use crate::design::{Design, Way};

/// A day at this level is where employers must protect their people's hearing, dB(A) (Directive
/// 2003/10/EC, upper action value, from memory).
const LOUD_DB: f64 = 85.0;
/// A coil hotter than this burns who touches magnet or coil, °C (common practice, no source).
const HOT_C: f64 = 70.0;

/// Cautions for whoever builds the design of `study`, one sentence each.
pub fn for_building(study: &Study) -> Vec<&'static str> {
    let design = &study.design;
    let mut cautions = vec![
        "Figures are predictions: check them by measurement before a run is ordered.",
        "Feed the amplifier from an approved, enclosed adaptor with a fuse; leave anything on the mains side to a licensed person and the local code.",
    ];
    if design.amplifier.bridged {
        cautions.push("Bridged outputs: the crossover's return goes to the negative output (amp-), never to ground.");
    }
    if is_metal(design) {
        cautions.push("Bond the metal back to protective earth where the supply calls for it, as the local code says.");
    }
    cautions.push("Resistors and coils get hot: keep them clear of foam and wood.");
    if is_hot(study) {
        cautions.push(
            "Drivers that were driven hard stay hot for a long time: let them cool before you touch magnet or coil.",
        );
    }
    if loudest_db(study) > LOUD_DB {
        cautions.push(
            "It can play louder than 85 dB at a seat, which harms hearing in hours: protect your ears while you test, and set a limit for those who will sit there.",
        );
    }
    cautions
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
