//! The `[[side]]` tables of a design file: cavity, drivers and their places.

use super::cavity_section;
use super::companions::Companions;
use super::driver_file;
use super::reader::{Bounds, Section};
use crate::design::{Along, Cavity, KeepOut, Mounted, Mounting, Rib, Side, Ways};
use crate::model::driver::{Driver, Role};
use crate::model::mount::Grille;

/// Places on the panel, mm.
pub(super) const PLACE_MM: Bounds = Bounds::symmetric(5000.0, "mm");
/// Side lengths of panel and cavity, mm.
pub(super) const LENGTH_MM: Bounds = Bounds::new(20.0, 5000.0, "mm");
/// Thickness of a flange that is not stated, mm. Common practice, no source.
const USUAL_FLANGE_MM: f64 = 3.0;

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
pub(super) fn read(
    root: &mut Section<'_>,
    companions: &mut Companions<'_>,
    face_m: f64,
) -> Option<Vec<Side>> {
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
            None => one(section, name.clone(), companions, face_m),
        };
        names.push(name);
        sides.extend(side);
    }
    (all > 0 && sides.len() == all).then_some(sides)
}

fn one(
    section: &mut Section<'_>,
    name: String,
    companions: &mut Companions<'_>,
    face_m: f64,
) -> Option<Side> {
    let cavity = cavity_section::read(&mut section.section("cavity"));
    let woofer = mounted(&mut section.section("woofer"), Role::Woofer, companions, face_m);
    let mut third = section.section("tweeter");
    let tweeter = mounted(&mut third, Role::Tweeter, companions, face_m);
    let side = Side { name, cavity, drivers: Ways { woofer: woofer?, tweeter: tweeter? } };
    if side.drivers.tweeter.driver.open_back && !side.shares_air() {
        let message = "its back is open (open_back) but does not look into the woofer's air";
        let help = "move it into the cavity, on the woofer's side of any dividing rib, or take a tweeter that is closed at its back";
        third.refuse("at_mm", message, help);
    }
    Some(side)
}

/// A side that is another one seen in a mirror: x changes sign. `None` if that one has faults of
/// its own.
fn mirrored(sides: &[Side], other: &str, name: &str) -> Option<Side> {
    let original = sides.iter().find(|s| s.name == other)?;
    let flip = |m: &Mounted| Mounted { x_m: -m.x_m, ..m.clone() };
    let cavity = mirrored_cavity(&original.cavity);
    Some(Side { name: name.to_owned(), cavity, drivers: original.drivers.map(flip) })
}

fn mirrored_cavity(cavity: &Cavity) -> Cavity {
    let flip = |rib: &Rib| match rib.along {
        Along::Height => Rib { at_m: -rib.at_m, ..*rib },
        Along::Width => *rib,
    };
    let turn = |k: &KeepOut| KeepOut {
        low_m: [-k.high_m[0], k.low_m[1]],
        high_m: [-k.low_m[0], k.high_m[1]],
    };
    Cavity {
        x_m: -cavity.x_m,
        ribs: cavity.ribs.iter().map(flip).collect(),
        keep_out: cavity.keep_out.iter().map(turn).collect(),
        ..cavity.clone()
    }
}

fn mounted(
    section: &mut Section<'_>,
    role: Role,
    companions: &mut Companions<'_>,
    face_m: f64,
) -> Option<Mounted> {
    let [x_mm, y_mm] = section.point("at_mm", PLACE_MM);
    let mounting = section.choice_or("mounting", &Mounting::ALL, Mounting::Flush);
    let flange = Bounds::new(0.0, 50.0, "mm");
    let flange_mm = section.optional_number("flange_thickness_mm", flange);
    if flange_mm.is_some() && mounting != Mounting::Proud {
        let help = "it is asked for mounting = \"proud\" alone";
        section.refuse("flange_thickness_mm", "the flange does not stand proud", help);
    }
    let set_back_m = match mounting {
        Mounting::Flush => 0.0,
        Mounting::Proud => -flange_mm.unwrap_or(USUAL_FLANGE_MM) * 1e-3,
        Mounting::Behind => face_m,
    };
    let grille = section.optional_section("grille").map(|mut s| grille(&mut s));
    let (driver, file) = driver(section, role, companions)?;
    let (x_m, y_m) = (x_mm * 1e-3, y_mm * 1e-3);
    Some(Mounted { driver, file, x_m, y_m, mounting, set_back_m, grille })
}

fn grille(section: &mut Section<'_>) -> Grille {
    let cloth = Bounds::new(0.0, 10_000.0, "Pa s/m");
    if section.has("resistance_pa_s_per_m") {
        let resistance_pa_s_per_m = section.number("resistance_pa_s_per_m", cloth);
        return Grille::Cloth { resistance_pa_s_per_m };
    }
    Grille::Perforated {
        thickness_m: section.number("thickness_mm", Bounds::new(0.1, 20.0, "mm")) * 1e-3,
        hole_m: section.number("hole_mm", Bounds::new(0.2, 20.0, "mm")) * 1e-3,
        open_share: section.number("open_percent", Bounds::new(5.0, 90.0, "%")) / 100.0,
    }
}
