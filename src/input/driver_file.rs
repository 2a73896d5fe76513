//! Driver files: `kind = "driver"`.

use super::fault::{InputError, Refused};
use super::files::Files;
use super::measured_section::{self, Place, Remarks};
use super::reader::{Bounds, Document, Section};
use crate::model::air::Air;
use crate::model::coil::VoiceCoil;
use crate::model::driver::{
    Basket, Driver, Limits, MassCondition, Motor, Price, Role, Screws, Size,
};
use crate::model::given::{CheckedDriver, Disagreement, GivenError, GivenParameters};
use crate::model::spread::{DriverSpread, ElementSpread};
use std::path::Path;

/// Acoustic centre behind the face.
pub const CENTRE_MM: Bounds = Bounds::new(-50.0, 200.0, "mm");
/// Displaced volume.
pub const DISPLACED_CM3: Bounds = Bounds::new(0.0, 2e4, "cm3");
/// Flange.
pub const FLANGE_MM: Bounds = Bounds::new(5.0, 700.0, "mm");
/// Cut-out.
pub const CUTOUT_MM: Bounds = Bounds::new(5.0, 600.0, "mm");
/// Mounting depth.
pub const DEPTH_MM: Bounds = Bounds::new(1.0, 400.0, "mm");
/// Rated noise power.
pub const NOISE_POWER_W: Bounds = Bounds::new(0.1, 2000.0, "W");
/// Linear excursion.
pub const XMAX_MM: Bounds = Bounds::new(0.01, 50.0, "mm");
/// Moving mass, and masses to weigh it with.
pub const MMS_G: Bounds = Bounds::new(0.01, 500.0, "g");
/// Piston area.
pub const SD_CM2: Bounds = Bounds::new(0.5, 2000.0, "cm2");
/// Resistance of a voice coil at DC.
pub const RE_OHM: Bounds = Bounds::new(0.5, 100.0, "ohm");
/// Gap behind a vent whose driver file says `vented = true` and no more. Common practice, no source.
pub const USUAL_VENT_CLEARANCE_M: f64 = 5e-3;
/// Stated parameters that agree within this share with the others are not told.
pub const AGREEMENT: f64 = 0.005;
/// Beyond this share the stated parameters cannot belong to one driver.
const CONTRADICTION: f64 = 0.5;

/// Reads a driver file.
///
/// # Errors
/// Everything wrong with the file.
pub fn load(files: &dyn Files, path: &Path) -> Result<CheckedDriver, Refused> {
    parse(files, path, &files.read(path)?)
}

/// Reads a driver from `text`, which stands at `path`: curves that it names are read from `files`.
///
/// # Errors
/// Everything wrong with the text and the curves.
pub fn parse(files: &dyn Files, path: &Path, text: &str) -> Result<CheckedDriver, Refused> {
    let file = path.display().to_string();
    let document = Document::parse(&file, text, &["driver"])?;
    let mut remarks = Remarks::default();
    let loaded = read(&mut document.root(), &Place { files, from: path }, &mut remarks);
    let mut refused: Vec<InputError> = document.finish().err().into_iter().collect();
    refused.append(&mut remarks.refused);
    match loaded {
        Some(loaded) if refused.is_empty() => Ok(loaded),
        // A sound file has a motor: `read` records a fault wherever it returns none.
        _ if refused.is_empty() => Err(InputError::new(&file, text, Vec::new()).into()),
        _ => Err(Refused { files: refused }),
    }
}

fn read(root: &mut Section<'_>, place: &Place<'_>, remarks: &mut Remarks) -> Option<CheckedDriver> {
    let name = root.text("name");
    let role = root.choice("role", &Role::ALL);
    let open_back = open_back(root, role);
    let mut block = root.section("thiele_small");
    let given = given(&mut block);
    let conditions = [("free_air", MassCondition::FreeAir), ("baffle", MassCondition::Baffled)];
    let mass_condition = block.choice("mms_measured", &conditions);
    let motor = motor(&block, &given);
    let coil = coil(&mut root.section("voice_coil"));
    let limits = limits(&mut root.section("limits"));
    let size = size(&mut root.section("size"), given.sd_m2);
    let price = root.optional_section("price").map(|mut s| price(&mut s));
    let radius_m = (given.sd_m2 / std::f64::consts::PI).sqrt();
    let spread = root.optional_section("spread");
    let spread = spread.and_then(|mut s| spread_section(&mut s, motor.as_ref().map(|m| &m.0)));
    let measured = measured_section::read(root, place, radius_m, remarks);
    let (motor, disagreements) = motor?;
    let driver = Driver {
        name,
        role,
        open_back,
        motor,
        coil,
        mass_condition,
        limits,
        size,
        measured,
        spread,
        price,
    };
    let notes = std::mem::take(&mut remarks.notes);
    Some(CheckedDriver { driver, disagreements, notes })
}

/// Whether the cone works into the cavity; a woofer's file need not say it.
fn open_back(root: &mut Section<'_>, role: Role) -> bool {
    let open = root.flag_or("open_back", role == Role::Woofer);
    if role == Role::Woofer && !open {
        let help = "leave the key out: it is for tweeters that are not closed at their back";
        root.refuse("open_back", "a woofer always works into its cavity", help);
    }
    open
}

fn given(block: &mut Section<'_>) -> GivenParameters {
    let q = Bounds::new(0.05, 50.0, "");
    GivenParameters {
        re_ohm: block.number("re_ohm", RE_OHM),
        sd_m2: block.number("sd_cm2", SD_CM2) * 1e-4,
        fs_hz: block.optional_number("fs_hz", Bounds::new(10.0, 10_000.0, "Hz")),
        qms: block.optional_number("qms", q),
        qes: block.optional_number("qes", q),
        qts: block.optional_number("qts", q),
        vas_m3: scaled(block, "vas_l", Bounds::new(1e-4, 1000.0, "l"), 1e-3),
        mms_kg: scaled(block, "mms_g", MMS_G, 1e-3),
        cms_m_per_n: scaled(block, "cms_mm_per_n", Bounds::new(1e-3, 20.0, "mm/N"), 1e-3),
        rms_kg_per_s: block.optional_number("rms_kg_per_s", Bounds::new(1e-3, 50.0, "kg/s")),
        bl_t_m: block.optional_number("bl_t_m", Bounds::new(0.1, 50.0, "T m")),
    }
}

fn scaled(block: &mut Section<'_>, key: &str, bounds: Bounds, to_si: f64) -> Option<f64> {
    block.optional_number(key, bounds).map(|v| v * to_si)
}

/// The lumped elements, or `None` after telling why there are none.
fn motor(block: &Section<'_>, given: &GivenParameters) -> Option<(Motor, Vec<Disagreement>)> {
    if !block.is_sound() {
        return None;
    }
    let air = Air::default();
    let motor = match given.motor(&air) {
        Ok(motor) => motor,
        // A misspelt key is told as such; what it holds is not missing.
        Err(_) if block.has_unasked() => return None,
        Err(error) => {
            // A key that is left out puts the caret at the table's header.
            let key = match error {
                GivenError::TotalQ { .. } => "qts",
                GivenError::Resonance if given.vas_m3.is_none() => "vas_l",
                GivenError::Resonance => "fs_hz",
                GivenError::Loss => "qms",
                GivenError::Force => "qes",
            };
            refuse_block(block, key, &error);
            return None;
        }
    };
    let disagreements = given.disagreements(&motor, &air, AGREEMENT);
    let worst = |d: &&Disagreement| d.percent().abs() > 100.0 * CONTRADICTION;
    if let Some(d) = disagreements.iter().find(worst) {
        let message = format!("{:+.0} % from what the other parameters give", d.percent());
        block.refuse(key_of(d.symbol), &message, "check the units, or leave the value out");
        return None;
    }
    Some((motor, disagreements))
}

fn refuse_block(block: &Section<'_>, key: &str, error: &GivenError) {
    let help = "a usual set is fs_hz, qms, qes, vas_l, sd_cm2, re_ohm";
    block.refuse(key, &error.to_string(), help);
}

/// The key that holds a symbol.
fn key_of(symbol: &str) -> &'static str {
    match symbol {
        "fs" => "fs_hz",
        "Qms" => "qms",
        "Qes" => "qes",
        "Qts" => "qts",
        "Vas" => "vas_l",
        "Mms" => "mms_g",
        "Cms" => "cms_mm_per_n",
        "Rms" => "rms_kg_per_s",
        _ => "bl_t_m",
    }
}

fn coil(block: &mut Section<'_>) -> VoiceCoil {
    let henry = Bounds::new(0.0, 20.0, "mH");
    let k = block.optional_number("power_law_k", Bounds::positive(10.0, ""));
    let n = block.optional_number("power_law_n", Bounds::new(0.3, 1.0, ""));
    let shunted = scaled(block, "shunted_le_mh", henry, 1e-3);
    let shunt = block.optional_number("shunt_ohm", Bounds::positive(1000.0, "ohm"));
    if k.is_some() != n.is_some() {
        let there = if k.is_some() { "power_law_k" } else { "power_law_n" };
        block.refuse(there, "stands alone", "power_law_k and power_law_n go together");
    }
    if shunted.is_some() != shunt.is_some() {
        let there = if shunt.is_some() { "shunt_ohm" } else { "shunted_le_mh" };
        block.refuse(there, "stands alone", "shunted_le_mh and shunt_ohm go together");
    }
    match (k.zip(n), shunted.zip(shunt)) {
        (Some((k_si, n)), None) => {
            if block.has("le_mh") {
                let next = "give le_mh, or power_law_k and power_law_n, not both";
                block.refuse("power_law_k", "the coil has two models", next);
            }
            VoiceCoil::PowerLaw { k_si, n }
        }
        (None, Some((l2_h, r2_ohm))) => {
            VoiceCoil::Shunted { le_h: block.number("le_mh", henry) * 1e-3, l2_h, r2_ohm }
        }
        (None, None) => VoiceCoil::Plain { le_h: block.number("le_mh", henry) * 1e-3 },
        (Some(_), Some(_)) => {
            let next = "give le_mh, or a power law, or a shunted coil";
            block.refuse("power_law_k", "the coil has two models", next);
            VoiceCoil::Plain { le_h: 0.0 }
        }
    }
}

fn limits(block: &mut Section<'_>) -> Limits {
    let resistance = Bounds::new(0.1, 200.0, "K/W");
    let limits = Limits {
        xmax_m: block.number("xmax_mm", XMAX_MM) * 1e-3,
        noise_power_w: block.number("noise_power_w", NOISE_POWER_W),
        thermal_resistance_k_per_w: block.optional_number("thermal_resistance_k_per_w", resistance),
        coil_to_magnet_k_per_w: block.optional_number("coil_to_magnet_k_per_w", resistance),
        coil_time_s: block.optional_number("coil_time_s", Bounds::new(0.1, 120.0, "s")),
        magnet_time_s: scaled(block, "magnet_time_min", Bounds::new(0.1, 600.0, "min"), 60.0),
    };
    let total = limits.thermal_resistance_k_per_w;
    for key in ["coil_to_magnet_k_per_w", "coil_time_s", "magnet_time_min"] {
        if total.is_none() && block.has(key) {
            let next = "give thermal_resistance_k_per_w, coil to surroundings, as well";
            block.refuse(key, "says little without the whole thermal resistance", next);
        }
    }
    let part = limits.coil_to_magnet_k_per_w;
    if part.zip(total).is_some_and(|(part, total)| part > total) {
        let next = "it is the part of thermal_resistance_k_per_w from coil to magnet";
        block.refuse("coil_to_magnet_k_per_w", "larger than the whole", next);
    }
    limits
}

fn size(block: &mut Section<'_>, sd_m2: f64) -> Size {
    let vented = block.flag_or("vented", false);
    let stated = scaled(block, "vent_clearance_mm", Bounds::new(0.0, 100.0, "mm"), 1e-3);
    let size = Size {
        mounting_depth_m: block.number("mounting_depth_mm", DEPTH_MM) * 1e-3,
        cutout_m: block.number("cutout_mm", CUTOUT_MM) * 1e-3,
        flange_m: block.number("flange_mm", FLANGE_MM) * 1e-3,
        displaced_volume_m3: block.number("displaced_volume_cm3", DISPLACED_CM3) * 1e-6,
        acoustic_centre_m: block.number("acoustic_centre_mm", CENTRE_MM) * 1e-3,
        vent_clearance_m: stated.or(vented.then_some(USUAL_VENT_CLEARANCE_M)),
        screws: None,
        basket: block.optional_section("basket").map(|mut b| basket(&mut b)),
    };
    let screws = screws(block, &size);
    let size = Size { screws, ..size };
    if block.is_sound() && size.basket.is_some_and(|b| b.motor_height_m > size.mounting_depth_m) {
        let message = "less than the height of the motor";
        block.refuse("mounting_depth_mm", message, "check motor_height_mm of the basket");
    }
    if block.is_sound() && size.flange_m < size.cutout_m {
        block.refuse("flange_mm", "smaller than the cut-out", "the flange covers cutout_mm");
    }
    let piston_mm = 2e3 * (sd_m2 / std::f64::consts::PI).sqrt();
    if block.is_sound() && 1e3 * size.flange_m < piston_mm {
        let message = format!("smaller than the piston: sd_cm2 makes a disc of {piston_mm:.0} mm");
        block.refuse("flange_mm", &message, "check sd_cm2 and flange_mm");
    }
    size
}

/// The screws of the flange: all three keys or none.
fn screws(block: &mut Section<'_>, size: &Size) -> Option<Screws> {
    const KEYS: [&str; 3] = ["screw_circle_mm", "screws", "screw_hole_mm"];
    let circle_mm = block.optional_number(KEYS[0], FLANGE_MM);
    let count = block.optional_number(KEYS[1], Bounds::new(2.0, 24.0, ""));
    let hole_mm = block.optional_number(KEYS[2], Bounds::new(0.5, 20.0, "mm"));
    let stated = KEYS.iter().find(|k| block.has(k)).filter(|_| block.is_sound());
    if let Some(there) = stated.filter(|_| KEYS.iter().any(|k| !block.has(k))) {
        let help = "screw_circle_mm, screws and screw_hole_mm go together";
        block.refuse(there, "stands alone", help);
    }
    let (circle_mm, count, hole_mm) = (circle_mm?, count?, hole_mm?);
    if count.fract() != 0.0 {
        block.refuse("screws", "not a whole number", "how many screws the flange has");
    }
    let (inner, outer) = (circle_mm - hole_mm, circle_mm + hole_mm);
    if block.is_sound() && (inner <= 1e3 * size.cutout_m || outer >= 1e3 * size.flange_m) {
        let message = "the holes do not lie between cut-out and flange";
        block.refuse("screw_circle_mm", message, "check cutout_mm, flange_mm and screw_hole_mm");
    }
    let (circle_m, hole_m) = (1e-3 * circle_mm, 1e-3 * hole_mm);
    Some(Screws { circle_m, count: count as u32, hole_m })
}

fn basket(block: &mut Section<'_>) -> Basket {
    Basket {
        motor_diameter_m: block.number("motor_diameter_mm", CUTOUT_MM) * 1e-3,
        motor_height_m: block.number("motor_height_mm", DEPTH_MM) * 1e-3,
        window_area_m2: block.number("window_area_cm2", Bounds::positive(1e4, "cm2")) * 1e-4,
    }
}

/// How units of it differ, one standard deviation each.
fn spread_section(block: &mut Section<'_>, motor: Option<&Motor>) -> Option<ElementSpread> {
    let percent = Bounds::new(0.0, 50.0, "%");
    let stated = DriverSpread {
        fs_percent: block.number("fs_percent", percent),
        qts_percent: block.number("qts_percent", percent),
        sensitivity_db: block.number("sensitivity_db", Bounds::new(0.0, 6.0, "dB")),
        re_percent: block.number("re_percent", percent),
        le_percent: block.number("le_percent", percent),
    };
    let motor = motor.filter(|_| block.is_sound())?;
    match ElementSpread::of(motor, &stated) {
        Ok(spread) => Some(spread),
        Err(error) => {
            let help = "mass, compliance, losses and force factor vary independently of each other";
            block.refuse(error.key(), &error.to_string(), help);
            None
        }
    }
}

fn price(block: &mut Section<'_>) -> Price {
    Price {
        amount: block.number("each", Bounds::new(0.0, 1e6, "")),
        currency: block.text("currency"),
    }
}
