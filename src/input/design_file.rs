//! Design files: `kind = "design"`.

use super::companions::Companions;
use super::fault::{InputError, Refused};
use super::files::Files;
use super::purchase_section::Bought;
use super::reader::{Bounds, Document, Section};
use super::side_section;
use super::{
    amplifier_section, coil_section, crossover_section, panel_section, production_section,
    purchase_section, target_section,
};
use crate::design::{Crossover, Design, Listener, Models, Target, from_room};
use crate::model::air::{Air, STANDARD_PRESSURE_PA};
use crate::model::driver::REFERENCE_DRIVE_V;
use crate::model::place::Point;
use std::path::Path;

/// A file that a design was read from.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    /// Its name, as the user or the design wrote it.
    pub name: String,
    /// Its text.
    pub text: String,
}

/// Reads a design file and the files it names.
///
/// # Errors
/// Everything wrong with any of them.
pub fn load(files: &dyn Files, path: &Path) -> Result<Design, Refused> {
    load_with_sources(files, path).map(|(design, _)| design)
}

/// Like [`load`], with the texts: the design's first, then each driver's and the stock's once.
///
/// # Errors
/// Everything wrong with any of them.
pub fn load_with_sources(files: &dyn Files, path: &Path) -> Result<(Design, Vec<Source>), Refused> {
    let text = files.read(path)?;
    let name = path.display().to_string();
    let document = Document::parse(&name, &text, &["design"])?;
    let mut companions = Companions::new(files, path);
    let design = read(&mut document.root(), &mut companions);
    let mut refused: Vec<InputError> = document.finish().err().into_iter().collect();
    refused.append(&mut companions.refused);
    match design {
        Some(design) if refused.is_empty() => {
            let own = Source { name: name.clone(), text };
            Ok((design, std::iter::once(own).chain(companions.read).collect()))
        }
        _ if refused.is_empty() => Err(InputError::new(&name, &text, Vec::new()).into()),
        _ => Err(Refused { files: refused }),
    }
}

fn read(root: &mut Section<'_>, companions: &mut Companions<'_>) -> Option<Design> {
    let name = root.text("name");
    let drive_v = root.number_or("drive_v", Bounds::new(0.01, 200.0, "V"), REFERENCE_DRIVE_V);
    let air = root.optional_section("air").map_or_else(Air::default, |mut s| air(&mut s));
    let panel = panel_section::read(&mut root.section("panel"));
    let sides = side_section::read(root, companions, panel.face.thickness_m);
    let listeners = listeners(root, panel.tilt_rad);
    let surface = root.optional_section("surface");
    let surface = surface.map(|mut s| panel_section::surface(&mut s, &panel, &listeners));
    let models = root.optional_section("models");
    let models = models.map_or(Models::FULL, |mut s| panel_section::models(&mut s));
    let crossover = crossover_section::read(&mut root.section("crossover"));
    let coils = coil_section::read(root, crossover.as_ref());
    let amplifier = amplifier_section::read(&mut root.section("amplifier"));
    let bought = purchase_section::read(root, sides.as_deref(), companions);
    let (run, production) =
        production_section::run(root.optional_section("run"), amplifier.lowest_load_ohm);
    let target = target(root, crossover.as_ref(), 1.1 * amplifier.lowest_load_ohm, &bought);
    let (sides, crossover) = (sides?, crossover?);
    Some(Design {
        name,
        panel,
        sides,
        listeners,
        crossover,
        amplifier,
        parts: bought.rules,
        coils,
        purchase: bought.purchase,
        stock: bought.stock,
        target,
        run,
        production,
        air,
        drive_v,
        surface,
        models,
    })
}

fn air(section: &mut Section<'_>) -> Air {
    let kpa = Bounds::new(50.0, 110.0, "kPa");
    let temperature_c = section.number_or("temperature_c", Bounds::new(-20.0, 60.0, "C"), 20.0);
    let pressure_kpa = section.number_or("pressure_kpa", kpa, STANDARD_PRESSURE_PA / 1e3);
    let humidity = section.number_or("humidity_percent", Bounds::new(0.0, 100.0, "%"), 0.0);
    Air::humid(temperature_c, pressure_kpa * 1e3, humidity / 100.0)
}

fn listeners(root: &mut Section<'_>, tilt_rad: f64) -> Vec<Listener> {
    let mut sections = root.sections("listener");
    if sections.is_empty() {
        let help = "add a table [[listener]] with name and at_mm = [x, y, z] for each seat";
        root.refuse("listener", "the design has no listener", help);
    }
    let mut listeners: Vec<Listener> = Vec::new();
    for section in &mut sections {
        let name = section.text("name");
        if listeners.iter().any(|l| l.name == name) {
            section.refuse("name", "used by another listener", "give each seat its own name");
        }
        let place = ear(section, tilt_rad);
        let weight = section.number_or("weight", Bounds::positive(1000.0, ""), 1.0);
        let spread_m = section.number_or("spread_mm", Bounds::new(0.0, 500.0, "mm"), 0.0) * 1e-3;
        listeners.push(Listener { name, place, weight, spread_m });
    }
    listeners
}

/// Where an ear is, in panel coordinates: `at_mm`, or `room_mm` for a panel that leans back.
fn ear(section: &mut Section<'_>, tilt_rad: f64) -> Point {
    let bounds = Bounds::symmetric(20_000.0, "mm");
    let in_room = section.has("room_mm");
    let key = if in_room { "room_mm" } else { "at_mm" };
    let [x, y, z] = section.point(key, bounds);
    let stated = Point::new(x * 1e-3, y * 1e-3, z * 1e-3);
    let place = if in_room { from_room(&stated, tilt_rad) } else { stated };
    if place.z_m < 0.1 {
        let message =
            format!("{:.0} mm in front of the face, expected 100 mm or more", 1e3 * place.z_m);
        section.refuse(key, &message, "z points out of the face towards the listener");
    }
    place
}

/// The target, which hangs on the crossover: without one its table is left unread.
fn target(
    root: &mut Section<'_>,
    crossover: Option<&Crossover>,
    lowest_ohm: f64,
    bought: &Bought,
) -> Option<Target> {
    let mut section = root.optional_section("target")?;
    match crossover {
        Some(crossover) => {
            let target = target_section::read(&mut section, crossover, lowest_ohm);
            if target.cost.is_some() && !bought.all_priced() {
                let help = "state resistor_price, inductor_price and capacitor_price in [parts], or a \
                            price for every part of the stock";
                section.refuse("cost", "a bound on the cost, but not every part has a price", help);
            }
            Some(target)
        }
        None => {
            section.leave();
            None
        }
    }
}
