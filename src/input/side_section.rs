//! The `[[side]]` tables of a design file: cavity, drivers and their places.

use super::companions::Companions;
use super::driver_file;
use super::reader::{Bounds, Section};
use crate::design::{Cavity, Mounted, Side, Ways};
use crate::model::driver::{Driver, Role};
use crate::model::fill::Fill;

/// Places on the panel, mm.
pub(super) const PLACE_MM: Bounds = Bounds::symmetric(5000.0, "mm");
/// Side lengths of panel and cavity, mm.
pub(super) const LENGTH_MM: Bounds = Bounds::new(20.0, 5000.0, "mm");

/// The driver that `section` names under `driver`: a file that cannot be read is a fault of that
/// key, a file that can but is wrong reports for itself.
fn driver(
    section: &mut Section<'_>,
    role: Role,
    companions: &mut Companions<'_>,
) -> Option<(Driver, String)> {
    let named = section.text("driver");
    if named.is_empty() {
        return None;
    }
    let (path, text) = companions.text(section, "driver", &named)?;
    match driver_file::parse(companions.files, &path, &text) {
        Ok(loaded) if loaded.driver.role != role => {
            let message = format!("`{named}` is a {}", loaded.driver.role.word());
            let help = format!("name a file with role = \"{}\"", role.word());
            section.refuse("driver", &message, &help);
            None
        }
        Ok(loaded) => {
            companions.keep(&named, text);
            Some((loaded.driver, named))
        }
        Err(error) => {
            companions.refuse(error.files);
            None
        }
    }
}

/// All sides, in the order of the file; `None` if any of them has a fault.
pub(super) fn read(root: &mut Section<'_>, companions: &mut Companions<'_>) -> Option<Vec<Side>> {
    let mut sides: Vec<Side> = Vec::new();
    let mut names: Vec<String> = Vec::new();
    let mut sections = root.sections("side");
    let all = sections.len();
    if all == 0 {
        root.refuse("side", "the design has no side", "add a table [[side]] for each channel");
    }
    for section in &mut sections {
        let name = section.text("name");
        if names.contains(&name) {
            section.refuse("name", "used by another side", "give each side its own name");
        }
        let side = match section.optional_text("mirror_of") {
            Some(other) if names.contains(&other) => mirrored(&sides, &other, &name),
            Some(other) => {
                let help = "mirror_of names a side that stands above this one";
                section.refuse("mirror_of", &format!("there is no side `{other}`"), help);
                None
            }
            None => one(section, name.clone(), companions),
        };
        names.push(name);
        sides.extend(side);
    }
    (all > 0 && sides.len() == all).then_some(sides)
}

fn one(section: &mut Section<'_>, name: String, companions: &mut Companions<'_>) -> Option<Side> {
    let cavity = cavity(&mut section.section("cavity"));
    let woofer = mounted(&mut section.section("woofer"), Role::Woofer, companions);
    let tweeter = mounted(&mut section.section("tweeter"), Role::Tweeter, companions);
    Some(Side { name, cavity, drivers: Ways { woofer: woofer?, tweeter: tweeter? } })
}

/// A side that is another one seen in a mirror: x changes sign. `None` if that one has faults of
/// its own.
fn mirrored(sides: &[Side], other: &str, name: &str) -> Option<Side> {
    let original = sides.iter().find(|s| s.name == other)?;
    let flip = |m: &Mounted| Mounted { x_m: -m.x_m, ..m.clone() };
    let cavity = Cavity { x_m: -original.cavity.x_m, ..original.cavity };
    Some(Side { name: name.to_owned(), cavity, drivers: original.drivers.map(flip) })
}

fn mounted(
    section: &mut Section<'_>,
    role: Role,
    companions: &mut Companions<'_>,
) -> Option<Mounted> {
    let [x_mm, y_mm] = section.point("at_mm", PLACE_MM);
    let (driver, file) = driver(section, role, companions)?;
    Some(Mounted { driver, file, x_m: x_mm * 1e-3, y_m: y_mm * 1e-3 })
}

fn cavity(section: &mut Section<'_>) -> Cavity {
    let [x_mm, y_mm] = section.point("centre_mm", PLACE_MM);
    let [width_mm, height_mm] = section.point("size_mm", LENGTH_MM);
    let depth_mm = section.number("depth_mm", Bounds::new(5.0, 500.0, "mm"));
    let leak_ql = section.optional_number("leak_ql", Bounds::new(1.0, 1e9, ""));
    let fill = section.optional_section("fill").map(|mut s| fill(&mut s, depth_mm));
    Cavity {
        x_m: x_mm * 1e-3,
        y_m: y_mm * 1e-3,
        width_m: width_mm * 1e-3,
        height_m: height_mm * 1e-3,
        depth_m: depth_mm * 1e-3,
        fill: fill.unwrap_or_default(),
        leak_ql,
    }
}

#[derive(Clone, Copy)]
enum FillKind {
    Foam,
    Factor,
}

fn fill(section: &mut Section<'_>, depth_mm: f64) -> Fill {
    let kinds = [("foam", FillKind::Foam), ("factor", FillKind::Factor)];
    match section.choice("kind", &kinds) {
        FillKind::Factor => {
            Fill::Factor(section.number("compliance_factor", Bounds::new(1.0, 1.4, "")))
        }
        FillKind::Foam => {
            let thickness_mm = section.number("thickness_mm", Bounds::positive(500.0, "mm"));
            let porosity = section.number_or("porosity", Bounds::new(0.5, 1.0, ""), 0.97);
            let length = Bounds::new(20.0, 2000.0, "um");
            let thermal_length_um = section.number_or("thermal_length_um", length, 150.0);
            if thickness_mm > depth_mm && section.is_sound() {
                let help = "the foam lies on the back of the cavity: at most depth_mm";
                section.refuse("thickness_mm", "thicker than the cavity is deep", help);
            }
            Fill::Foam {
                fraction: (thickness_mm / depth_mm).min(1.0),
                porosity,
                thermal_length_m: thermal_length_um * 1e-6,
            }
        }
    }
}
