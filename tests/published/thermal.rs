//! Heat in the voice coil, and excursion against level.
//!
//! Sources (named in full in each row of `data/thermal_excursion.toml`): temperature coefficient of
//! copper; lumped thermal circuit, its quadratic solved; second-order displacement of the closed
//! box. The drivers and thermal resistances are invented.

use crate::closed_box::Worked;
use crate::rows::rows;
use slabtone::grid::{Grid, level_db};
use slabtone::model::coil::VoiceCoil;
use slabtone::model::driver::{Limits, REFERENCE_PRESSURE_PA};
use slabtone::model::fill::Fill;
use slabtone::model::heat::{self, HeatPath};
use std::f64::consts::{SQRT_2, TAU};

const ROWS: &str = include_str!("data/thermal_excursion.toml");

#[test]
fn copper_gains_resistance_as_published() {
    for row in rows(ROWS, "copper_temperature", 4) {
        row.check("r_ratio_to_20c", heat::copper_ratio(row.number("temperature_c")));
        row.done();
    }
}

/// In a driver of Re alone (no inductance, hardly any motion) level and current go together.
#[test]
fn a_hot_coil_is_quieter_and_less_damped() {
    for row in rows(ROWS, "voice_coil_heat", 5) {
        let rise_k = row.number("coil_temperature_c") - heat::STATED_AT_C;
        let mut driver = Worked::named("A").driver();
        driver.motor.re_ohm = row.number("re_20c_ohm");
        driver.coil = VoiceCoil::Plain { le_h: 0.0 };
        let hot = heat::hot(&driver.motor, rise_k);
        row.check("re_ohm", hot.re_ohm);
        row.check("qes_factor", hot.qes() / driver.motor.qes());
        row.check("compression_db", level_db(driver.motor.re_ohm, hot.re_ohm));
        // The same from the cone: far above resonance the motion leaves Z at Re.
        let cold = driver.respond_at(TAU * 1e6, Default::default()).1.norm();
        driver.motor = hot;
        let after = driver.respond_at(TAU * 1e6, Default::default()).1.norm();
        row.check("compression_db", level_db(after, cold));
        row.done();
    }
}

#[test]
fn a_coil_settles_where_heat_and_loss_agree() {
    for row in rows(ROWS, "voice_coil_steady", 2) {
        let (volts, re_ohm) = (row.number("voltage_v"), row.number("re_20c_ohm"));
        let coil = row.number("rth_coil_magnet_k_per_w");
        let total = coil + row.number("rth_magnet_air_k_per_w");
        assert_eq!(row.number("alpha_per_k"), heat::COPPER_PER_K);
        let limits = Limits {
            thermal_resistance_k_per_w: Some(total),
            coil_to_magnet_k_per_w: Some(coil),
            ..Limits::new(1e-3, 1.0)
        };
        let path = HeatPath::of(&limits).expect("a thermal resistance");
        let k_per_w = path.total_k_per_w();
        let hot_ohm = |rise_k: f64| re_ohm * heat::copper_ratio(heat::STATED_AT_C + rise_k);
        let searched_k = heat::settled_rise_k(k_per_w, |rise_k| volts.powi(2) / hot_ohm(rise_k));
        for rise_k in [heat::steady_rise_k(k_per_w, volts, re_ohm), searched_k] {
            row.check("rise_k", rise_k);
            row.check("re_hot_ohm", hot_ohm(rise_k));
            row.check("power_w", volts.powi(2) / hot_ohm(rise_k));
            row.check("compression_db", level_db(re_ohm, hot_ohm(rise_k)));
        }
        row.done();
    }
}

#[test]
fn excursion_and_the_level_it_allows_come_out_as_published() {
    for row in rows(ROWS, "excursion", 3) {
        let worked = Worked::named(row.text("driver"));
        let grid = Grid::from_points(row.numbers("frequency_hz")).expect("rising frequencies");
        let load = worked.closed_box(Fill::Empty).load_on(&grid, &worked.air);
        let flow = worked.driver().respond(&grid, Some(&load)).flow;
        let volts = row.number("voltage_v");
        let (mut peak_mm, mut spl_db) = (Vec::new(), Vec::new());
        let (mut volts_at_xmax, mut spl_at_xmax_db) = (Vec::new(), Vec::new());
        for (u, w) in flow.values().iter().zip(grid.omega()) {
            // p = ρωU/(2πr) in half space at 1 m.
            let pressure = |v: f64| worked.air.rho_kg_per_m3 * w * u.norm() * v / TAU;
            let peak_m = SQRT_2 * volts * u.norm() / (w * worked.motor.sd_m2);
            let most = volts * worked.xmax_m / peak_m;
            peak_mm.push(1e3 * peak_m);
            spl_db.push(level_db(pressure(volts), REFERENCE_PRESSURE_PA));
            volts_at_xmax.push(most);
            spl_at_xmax_db.push(level_db(pressure(most), REFERENCE_PRESSURE_PA));
        }
        row.check_all("x_peak_mm", &peak_mm);
        row.check_all("spl_db", &spl_db);
        row.check_all("voltage_for_xmax_v", &volts_at_xmax);
        row.check_all("spl_at_xmax_db", &spl_at_xmax_db);
        row.done();
    }
}
