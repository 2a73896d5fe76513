//! The `[panel]`, `[surface]` and `[models]` tables of a design file.

use super::reader::{Bounds, Section};
use super::side_section::LENGTH_MM;
use crate::design::{Material, Models, Panel, Rear, Sheet, Surface};

pub(super) fn read(section: &mut Section<'_>) -> Panel {
    let width_m = section.number("width_mm", LENGTH_MM) * 1e-3;
    let height_m = section.number("height_mm", LENGTH_MM) * 1e-3;
    let face = sheet(&mut section.section("face"));
    let back = sheet(&mut section.section("back"));
    let tilt_deg = section.number_or("tilt_deg", Bounds::new(-90.0, 90.0, "degrees"), 0.0);
    let rear = rear(section);
    Panel { width_m, height_m, face, back, tilt_rad: tilt_deg.to_radians(), rear }
}

fn sheet(section: &mut Section<'_>) -> Sheet {
    Sheet {
        material: section.choice("material", &Material::ALL),
        thickness_m: section.number("thickness_mm", Bounds::new(0.1, 100.0, "mm")) * 1e-3,
        loss_factor: section.optional_number("loss_factor", Bounds::new(0.0, 1.0, "")),
    }
}

/// What the back looks at: `rear = "room"` (the usual) or `"closed"` with `rear_gap_mm`.
fn rear(section: &mut Section<'_>) -> Rear {
    let closed = section.choice_or("rear", &[("room", false), ("closed", true)], false);
    let gap = Bounds::new(0.5, 1000.0, "mm");
    if closed {
        return Rear::Closed { gap_m: section.number("rear_gap_mm", gap) * 1e-3 };
    }
    if section.optional_number("rear_gap_mm", gap).is_some() {
        let help = "it is asked for rear = \"closed\" alone";
        section.refuse("rear_gap_mm", "the rear is not closed", help);
    }
    Rear::Room
}

/// One large surface near the panel.
pub(super) fn surface(section: &mut Section<'_>) -> Surface {
    let far = Bounds::new(1.0, 20_000.0, "mm");
    Surface {
        place: section.choice("place", &Surface::PLACES),
        distance_m: section.number("distance_mm", far) * 1e-3,
        absorption: section.number_or("absorption", Bounds::new(0.0, 1.0, ""), 0.1),
    }
}

/// Which effects are computed; all are unless told.
pub(super) fn models(section: &mut Section<'_>) -> Models {
    Models {
        cavity_waves: section.choice_or("cavity", &[("waves", true), ("lump", false)], true),
        sheets_move: section.choice_or("sheets", &[("move", true), ("rigid", false)], true),
        panel_ends: section.choice_or("panel", &[("finite", true), ("endless", false)], true),
    }
}
