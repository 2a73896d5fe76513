//! The usual cautions, where they apply.

use crate::design::Design;

/// Cautions for whoever builds `design`, one sentence each.
pub fn for_building(design: &Design) -> Vec<&'static str> {
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
    cautions
}

fn is_metal(design: &Design) -> bool {
    use crate::design::Material::{Aluminium, Steel};
    matches!(design.panel.back.material, Aluminium | Steel)
}
