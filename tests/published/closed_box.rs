//! Air, and the closed box as one lump: alignments, worked drivers, leak and fill.
//!
//! Sources (named in full in each row of `data/closed_box.toml`): ideal gas; Small (1972) for the
//! second-order high-pass and the loss model; Champoux and Allard (1991) for the thermal fill; the
//! CIPM saturation pressure (Davis 1992) inside the humid air. The drivers are invented. Left out:
//! the speed of sound by Cramer's polynomial, which the crate does not use.

use crate::drivers;
use crate::rows::{Row, rows};
use crate::search::lowest;
use num_complex::Complex64;
use slabtone::grid::{Grid, Spectrum, Transfer, level_db};
use slabtone::model::air::{Air, STANDARD_PRESSURE_PA, water_mole_fraction};
use slabtone::model::closed_box::{Alignment, ClosedBox};
use slabtone::model::coil::VoiceCoil;
use slabtone::model::driver::{Driver, Motor, REFERENCE_DRIVE_V};
use slabtone::model::fill::Fill;
use slabtone::model::given::GivenParameters;
use std::f64::consts::{SQRT_2, TAU};

const ROWS: &str = include_str!("data/closed_box.toml");

#[test]
fn dry_air_is_an_ideal_gas() {
    for row in rows(ROWS, "air", 5) {
        let air = Air::dry(row.number("temperature_c"), row.number("pressure_pa"));
        row.check("c_m_per_s", air.c_m_per_s);
        row.check("rho_kg_per_m3", air.rho_kg_per_m3);
        row.check("rho_c_pa_s_per_m", air.impedance_pa_s_per_m());
        row.check("rho_c2_pa", air.bulk_modulus_pa());
        row.done();
    }
}

#[test]
fn humid_air_is_faster_and_lighter() {
    for row in rows(ROWS, "air_humid", 4) {
        let (t, p) = (row.number("temperature_c"), row.number("pressure_pa"));
        let humidity = row.number("relative_humidity");
        let air = Air::humid(t, p, humidity);
        row.check("water_mole_fraction", water_mole_fraction(t, p, humidity));
        row.check("c_simple_m_per_s", air.c_m_per_s);
        row.check("rho_simple_kg_per_m3", air.rho_kg_per_m3);
        row.done();
    }
}

#[test]
fn alignments_have_the_published_frequencies_and_peaks() {
    for row in rows(ROWS, "qtc_alignment", 5) {
        let alignment = Alignment { fc_hz: 1.0, qtc: row.number("qtc") };
        let size = |f: f64| alignment.response(f).norm();
        row.check("f3_over_fc", alignment.f3_hz());
        row.check("f6_over_fc", alignment.level_frequency_hz(10f64.powf(-0.6)));
        row.check("f10_over_fc", alignment.level_frequency_hz(0.1));
        row.check("level_at_fc_db", level_db(size(1.0), 1.0));
        row.check("peak_db", alignment.peak_db());
        row.check("xmax_function_peak", alignment.displacement_peak());
        // The parabola through three points of the phase, one part in 10⁵ apart.
        let grid = Grid::from_points(vec![1.0 - 1e-5, 1.0, 1.0 + 1e-5]).expect("three points");
        let response: Transfer = Spectrum::from_fn(&grid, |w| alignment.response(w / TAU));
        row.check("group_delay_at_fc_times_fc", response.group_delay_s()[1]);
        if row.expects("fpeak_over_fc") {
            let peak = lowest(0.7, 3.0, |f| -size(f));
            let displaced = lowest(0.05, 1.2, |f| -size(f) / (f * f));
            row.check("fpeak_over_fc", peak);
            row.check("peak_db", level_db(size(peak), 1.0));
            row.check("f_xpeak_over_fc", displaced);
            row.check("xmax_function_peak", size(displaced) / displaced.powi(2));
        }
        row.done();
    }
}

/// A driver in its box, as a worked row states it.
pub struct Worked {
    /// The air.
    pub air: Air,
    /// The driver.
    pub motor: Motor,
    volume_m3: f64,
    /// Its peak excursion, m.
    pub xmax_m: f64,
}

impl Worked {
    fn of(row: &Row) -> Self {
        let air = Air::dry(row.number("temperature_c"), STANDARD_PRESSURE_PA);
        let given = GivenParameters {
            re_ohm: row.number("re_ohm"),
            sd_m2: row.number("sd_cm2") * 1e-4,
            fs_hz: Some(row.number("fs_hz")),
            qms: Some(row.number("qms")),
            qes: Some(row.number("qes")),
            vas_m3: Some(row.number("vas_l") * 1e-3),
            ..GivenParameters::default()
        };
        let motor = given.motor(&air).expect("a sufficient set");
        let (volume_m3, xmax_m) = (row.number("vb_l") * 1e-3, row.number("xmax_mm") * 1e-3);
        Self { air, motor, volume_m3, xmax_m }
    }

    /// The worked driver that other rows call by its letter.
    pub fn named(letter: &str) -> Self {
        let id = format!("cb-driver-{letter}");
        let all = drivers::box_rows();
        Self::of(all.iter().find(|r| r.id == id).expect("a worked driver of that letter"))
    }

    pub fn closed_box(&self, fill: Fill) -> ClosedBox {
        ClosedBox {
            volume_m3: self.volume_m3,
            fill,
            leak_pa_s_per_m3: None,
            rear_mass_kg_per_m4: 0.0,
        }
    }

    pub fn driver(&self) -> Driver {
        drivers::driver("worked", self.motor, VoiceCoil::Plain { le_h: 0.0 })
    }

    fn alignment(&self, motor: &Motor, cavity: &ClosedBox) -> Alignment {
        Alignment::of(motor, |w| cavity.load(w, &self.air), 0.0)
    }
}

#[test]
fn worked_boxes_come_out_as_published() {
    for row in drivers::box_rows() {
        let worked = Worked::of(&row);
        let motor = worked.motor;
        let cavity = worked.closed_box(Fill::Empty);
        row.check("mms_g", motor.mms_kg * 1e3);
        row.check("cms_mm_per_n", motor.cms_m_per_n * 1e3);
        row.check("rms_kg_per_s", motor.rms_kg_per_s);
        row.check("bl_t_m", motor.bl_t_m);
        row.check("qts", motor.qts());
        let compliance = cavity.compliance(1.0, &worked.air).re;
        row.check("alpha", motor.cms_m_per_n * motor.sd_m2.powi(2) / compliance);
        row.check("alpha", motor.vas_m3(&worked.air) / worked.volume_m3);
        let alignment = worked.alignment(&motor, &cavity);
        row.check("fc_hz", alignment.fc_hz);
        row.check("qtc", alignment.qtc);
        // With one kind of loss only, the total Q is the Q of that loss.
        let only_motor = Motor { rms_kg_per_s: 0.0, ..motor };
        let only_suspension = Motor { bl_t_m: 0.0, ..motor };
        row.check("qec", worked.alignment(&only_motor, &cavity).qtc);
        row.check("qmc", worked.alignment(&only_suspension, &cavity).qtc);
        row.check("f3_hz", alignment.f3_hz());
        row.check("peak_db", alignment.peak_db());
        check_output(&row, &worked, &alignment);
        row.done();
    }
}

/// Efficiency, levels and excursion of a worked row.
fn check_output(row: &Row, worked: &Worked, alignment: &Alignment) {
    let motor = worked.motor;
    let eta0 = motor.eta0(&worked.air);
    let power_w = REFERENCE_DRIVE_V.powi(2) / motor.re_ohm;
    let sensitivity_db = motor.sensitivity_db(&worked.air);
    row.check("eta0_percent", 100.0 * eta0);
    row.check("spl_2v83_1m_half_space_db", sensitivity_db);
    row.check("spl_1w_1m_half_space_db", sensitivity_db - 10.0 * power_w.log10());
    row.check("spl_max_thermal_db", sensitivity_db + 10.0 * (row.number("pe_w") / power_w).log10());
    let (driver, cavity) = (worked.driver(), worked.closed_box(Fill::Empty));
    let at = |f: f64| driver.respond_at(TAU * f, cavity.load(TAU * f, &worked.air));
    let peak_m = |f: f64| SQRT_2 * REFERENCE_DRIVE_V * at(f).1.norm() / (TAU * f);
    let fc_hz = alignment.fc_hz;
    row.check("zmax_at_fc_ohm", at(fc_hz).0.norm());
    row.check("x_peak_mm_at_2v83_40hz", 1e3 * peak_m(40.0));
    row.check("x_peak_mm_at_2v83_fc", 1e3 * peak_m(fc_hz));
    // At fc the cone moves Qtc times as far as at low frequency; the largest excursion of all is
    // what limits the drive.
    let largest_m = peak_m(fc_hz) / alignment.qtc * alignment.displacement_peak();
    let gain = row.number("xmax_mm") * 1e-3 / largest_m;
    row.check("spl_max_displacement_db", sensitivity_db + 20.0 * gain.log10());
    row.check("displacement_limited_electrical_power_w", power_w * gain.powi(2));
    row.check("displacement_limited_acoustic_power_w", eta0 * power_w * gain.powi(2));
    let vd_m3 = motor.sd_m2 * row.number("xmax_mm") * 1e-3;
    let acoustic_w = alignment.displacement_limited_w(vd_m3, 0.0, &worked.air);
    row.check("displacement_limited_acoustic_power_w", acoustic_w);
    row.check("displacement_limited_electrical_power_w", acoustic_w / eta0);
    row.check("vd_cm3", vd_m3 * 1e6);
}

/// Levels are relative to the passband: cone acceleration over Bl E/(Re Mms).
#[test]
fn a_leak_changes_cone_and_total_as_published() {
    for row in rows(ROWS, "closed_box_leak", 4) {
        let worked = Worked::named(row.text("driver"));
        let (air, motor) = (worked.air, worked.motor);
        let tight = worked.closed_box(Fill::Empty);
        let leaky = tight.with_leak_ql(row.number("ql"), &motor, &air);
        row.check("leak_resistance_pa_s_per_m3", leaky.leak_pa_s_per_m3.expect("a leak"));
        let grid = Grid::from_points(row.numbers("frequency_hz")).expect("rising frequencies");
        let flow = worked.driver().respond(&grid, Some(&leaky.load_on(&grid, &air))).flow;
        let passband = motor.sd_m2 * motor.bl_t_m / (motor.re_ohm * motor.mms_kg);
        let accelerating = flow.map(|w, u| Complex64::new(0.0, w) * u);
        let total = accelerating.map(|w, a| a * leaky.net_flow(w, &air));
        row.check_all("cone_level_db", &accelerating.level_db(passband));
        row.check_all("total_level_db", &total.level_db(passband));
        row.done();
    }
}

#[test]
fn a_fill_lowers_the_resonance_as_published() {
    for row in rows(ROWS, "closed_box_fill", 4) {
        let worked = Worked::named(row.text("driver"));
        let cavity = worked.closed_box(Fill::Factor(row.number("compliance_factor")));
        let alignment = worked.alignment(&worked.motor, &cavity);
        row.check("fc_hz", alignment.fc_hz);
        row.check("qtc", alignment.qtc);
        row.check("alpha", (alignment.fc_hz / worked.motor.fs_hz()).powi(2) - 1.0);
        row.done();
    }
}

#[test]
fn foam_makes_the_air_softer_and_lossy_as_published() {
    for row in rows(ROWS, "fill_thermal", 4) {
        let fill = Fill::Foam {
            fraction: row.number("foam_volume_fraction"),
            porosity: row.number("porosity"),
            thermal_length_m: row.number("thermal_length_m"),
            flow_resistivity_pa_s_per_m2: 10_000.0,
        };
        let frequencies = row.numbers("frequency_hz");
        let factors = frequencies.iter().map(|f| fill.compliance_factor(TAU * f));
        let (re, im): (Vec<f64>, Vec<f64>) = factors.map(|f| (f.re, f.im)).unzip();
        row.check_all("factor_re", &re);
        row.check_all("factor_im", &im);
        // Isothermal pores at very low frequency, adiabatic ones at very high frequency.
        row.check("ceiling", fill.compliance_factor(1e-6).re);
        row.check("floor", fill.compliance_factor(1e16).re);
        row.done();
    }
}
