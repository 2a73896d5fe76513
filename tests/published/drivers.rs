//! Drivers of the reference tables as the crate's own `Driver`.

use crate::rows::{Row, rows};
use slabtone::model::air::Air;
use slabtone::model::coil::VoiceCoil;
use slabtone::model::driver::{Driver, Limits, MassCondition, Motor, Role, Size};

const IMPEDANCE_ROWS: &str = include_str!("data/driver_impedance.toml");
const BOX_ROWS: &str = include_str!("data/closed_box.toml");

/// A driver of which only the electro-mechanics matter; limits and size are fillers.
pub fn driver(name: &str, motor: Motor, coil: VoiceCoil) -> Driver {
    Driver {
        name: name.to_owned(),
        role: Role::Woofer,
        open_back: true,
        motor,
        coil,
        mass_condition: MassCondition::FreeAir,
        limits: Limits::new(1e-3, 1.0),
        size: Size {
            mounting_depth_m: 0.01,
            cutout_m: 0.05,
            flange_m: 0.06,
            displaced_volume_m3: 0.0,
            acoustic_centre_m: 0.0,
            vent_clearance_m: None,
            screws: None,
            basket: None,
        },
        measured: Default::default(),
        spread: None,
        price: None,
    }
}

/// The rows `[[parameters]]`: the two drivers of the impedance and netlist checks.
pub fn parameter_rows() -> Vec<Row> {
    rows(IMPEDANCE_ROWS, "parameters", 2)
}

/// The elements that a parameter row states.
pub fn motor_of(row: &Row) -> Motor {
    Motor {
        re_ohm: row.number("re_ohm"),
        bl_t_m: row.number("bl_tm"),
        mms_kg: row.number("mms_kg"),
        cms_m_per_n: row.number("cms_m_per_n"),
        rms_kg_per_s: row.number("rms_ns_per_m"),
        sd_m2: row.number("sd_m2"),
    }
}

/// The air that a parameter row states.
pub fn air_of(row: &Row) -> Air {
    Air { c_m_per_s: row.number("c_m_per_s"), rho_kg_per_m3: row.number("rho_kg_per_m3") }
}

/// `woofer_A` or `tweeter_A` with its plain voice-coil inductance.
pub fn named(name: &str) -> Driver {
    let all = parameter_rows();
    let row = all.iter().find(|r| r.text("driver") == name).expect("a driver of that name");
    driver(name, motor_of(row), VoiceCoil::Plain { le_h: row.number("le_h") })
}

/// The worked closed boxes, one driver each.
pub fn box_rows() -> Vec<Row> {
    rows(BOX_ROWS, "closed_box_worked", 3)
}
