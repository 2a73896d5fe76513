//! The `[panel]`, `[surface]` and `[models]` tables of a design file.

use super::reader::{Bounds, Section};
use super::side_section::LENGTH_MM;
use crate::design::{Listener, Material, Models, Panel, Rear, Sheet, Surface};
use crate::model::place::Point;
use crate::model::plate::edge::Fixing;
use crate::model::plate::section::Coating;
use crate::model::sheet::Walls;

pub(super) fn read(section: &mut Section<'_>) -> Panel {
    let width_m = section.number("width_mm", LENGTH_MM) * 1e-3;
    let height_m = section.number("height_mm", LENGTH_MM) * 1e-3;
    let face = sheet(&mut section.section("face"));
    let back = sheet(&mut section.section("back"));
    let tilt_deg = section.number_or("tilt_deg", Bounds::new(-90.0, 90.0, "degrees"), 0.0);
    let rear = rear(section);
    Panel { width_m, height_m, face, back, tilt_rad: tilt_deg.to_radians(), rear }
}

/// A sheet is held so that it turns freely at its edges unless told: the softest, so the careful
/// choice.
fn sheet(section: &mut Section<'_>) -> Sheet {
    let held = [("supported", Fixing::Supported), ("clamped", Fixing::Clamped)];
    let edges = section.choice_or("edges", &held, Fixing::Supported);
    let spring = section.optional_number("edge_stiffness_n", Bounds::new(0.0, 1e7, "N"));
    let grain = [("width", false), ("height", true)];
    Sheet {
        material: section.choice("material", &Material::ALL),
        thickness_m: section.number("thickness_mm", Bounds::new(0.1, 100.0, "mm")) * 1e-3,
        loss_factor: section.optional_number("loss_factor", Bounds::new(0.0, 1.0, "")),
        edges: spring.map_or(edges, |stiffness_n| Fixing::Elastic { stiffness_n }),
        coating: section.optional_section("layer").map(|mut s| layer(&mut s)),
        grain_upright: section.choice_or("grain", &grain, false),
    }
}

/// A damping layer glued on; its data are the maker's to know.
fn layer(section: &mut Section<'_>) -> Coating {
    Coating {
        thickness_m: section.number("thickness_mm", Bounds::new(0.1, 50.0, "mm")) * 1e-3,
        youngs_modulus_pa: section.number("modulus_mpa", Bounds::new(0.1, 1e5, "MPa")) * 1e6,
        poisson: section.number_or("poisson", Bounds::new(0.0, 0.49, ""), 0.33),
        loss_factor: section.number("loss_factor", Bounds::new(0.0, 2.0, "")),
        density_kg_per_m3: section.number("density_kg_per_m3", Bounds::new(10.0, 2e4, "kg/m3")),
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

/// One large surface near the panel: it must not cut through the panel or hide a listener.
pub(super) fn surface(section: &mut Section<'_>, panel: &Panel, seats: &[Listener]) -> Surface {
    let far = Bounds::new(1.0, 20_000.0, "mm");
    let surface = Surface {
        place: section.choice("place", &Surface::PLACES),
        distance_m: section.number("distance_mm", far) * 1e-3,
        absorption: section.number_or("absorption", Bounds::new(0.0, 1.0, ""), 0.1),
    };
    let height_mm = |point: &Point| 1e3 * surface.height_m(point, panel.tilt_rad);
    let lowest = panel.corners().iter().map(height_mm).fold(f64::INFINITY, f64::min);
    if section.is_sound() && lowest < -1e-6 {
        let message = format!("the panel would reach {:.0} mm through the surface", -lowest);
        let help = "distance_mm runs from the middle of the face to the surface";
        section.refuse("distance_mm", &message, help);
    } else if let Some(seat) = seats.iter().find(|s| height_mm(&s.place) < 1.0)
        && section.is_sound()
    {
        let message = format!("the listener `{}` is behind the surface", seat.name);
        section.refuse("distance_mm", &message, "a surface stands behind panel and listeners");
    }
    surface
}

/// Which sheets move.
const MOVING: [(&str, Walls<bool>); 3] = [
    ("move", Walls { back: true, face: true }),
    ("back", Walls { back: true, face: false }),
    ("rigid", Walls { back: false, face: false }),
];

/// Which effects are computed; all are unless told.
pub(super) fn models(section: &mut Section<'_>) -> Models {
    Models {
        cavity_waves: section.choice_or("cavity", &[("waves", true), ("lump", false)], true),
        sheets_move: section.choice_or("sheets", &MOVING, MOVING[0].1),
        panel_ends: section.choice_or("panel", &[("finite", true), ("endless", false)], true),
    }
}
