//! Driver parameters from impedance: the methods of paper and pencil, and the fit on the tabulated
//! drivers.
//!
//! Sources stand in each row: Small (1972) as restated by Pierce (2003), the added-mass method
//! (derived), Leach (2002), abstract and start of section 1. The readings are computed from the
//! rows' own driver.

use crate::drivers;
use crate::rows::rows;
use num_complex::Complex64;
use slabtone::analysis::identify::{
    CoilChoice, CoilKind, IdentifyError, Request, ThreeFrequency, added_mass_kg,
    added_mass_sensitivity, identify, power_law_through, sealed_volume_m3,
};
use slabtone::grid::Grid;
use slabtone::model::air::Air;
use slabtone::model::coil::VoiceCoil;
use slabtone::model::driver::Driver;
use slabtone::model::given::GivenParameters;
use slabtone::signal::curve::Curve;
use std::f64::consts::TAU;

const ROWS: &str = include_str!("data/identify.toml");

#[test]
fn three_frequencies_give_the_resonance_and_its_qualities() {
    for row in rows(ROWS, "ts_extraction", 3) {
        let (re_ohm, zmax_ohm) = (row.number("re_ohm"), row.number("zmax_ohm"));
        let (f1_hz, f2_hz) = (row.number("f1_hz"), row.number("f2_hz"));
        let found = ThreeFrequency::from_readings(re_ohm, zmax_ohm, f1_hz, f2_hz);
        row.check("r0", found.r0);
        row.check("z_at_f1_f2_ohm", ThreeFrequency::level_ohm(re_ohm, zmax_ohm));
        row.check("fs_hz", found.fs_hz);
        row.check("qms", found.qms);
        row.check("qes", found.qes);
        row.check("qts", found.qts);
        row.done();
    }
}

#[test]
fn the_coil_biases_the_three_frequency_method_as_published() {
    let truths = ["true_fs_hz", "true_qms", "true_qes"];
    let errors = ["error_fs_percent", "error_qms_percent", "error_qes_percent"];
    for row in rows(ROWS, "ts_extraction_with_le", 2) {
        let row = row.expecting(&["f1_hz", "f2_hz"]).expecting(&truths).expecting(&errors);
        let driver = drivers::named(row.text("driver"));
        let motor = &driver.motor;
        let magnitude = |hz: f64| driver.respond_at(TAU * hz, Complex64::default()).0.norm();
        let found = ThreeFrequency::of_model(magnitude, motor.re_ohm, motor.fs_hz()).unwrap();
        row.check("f1_hz", found.f1_hz);
        row.check("f2_hz", found.f2_hz);
        row.check("fs_from_f1f2_hz", found.fs_hz);
        row.check("qms", found.qms);
        row.check("qes", found.qes);
        for (key, value) in truths.iter().zip([motor.fs_hz(), motor.qms(), motor.qes()]) {
            row.check(key, value);
        }
        // What `fit` tells of the bias, from the sweep alone.
        let free = sweep(&driver);
        let choice = CoilChoice::Fixed(CoilKind::Plain);
        let told = identify(&Request::free_air(free, motor.sd_m2, choice)).unwrap();
        let bias = told.cross_check.coil_bias_percent.unwrap();
        for (key, bias) in errors.iter().zip(bias) {
            row.check(key, bias);
        }
        row.done();
    }
}

/// The impedance of a driver over the audible band and below.
fn sweep(driver: &Driver) -> Curve {
    let grid = Grid::log(10.0, 20_000.0, 300).unwrap();
    let z = driver.respond(&grid, None).impedance;
    Curve {
        frequency_hz: grid.frequency_hz().to_vec(),
        magnitude: z.magnitude(),
        phase_deg: Some(z.phase_deg()),
    }
}

#[test]
fn an_added_mass_weighs_the_cone() {
    for row in rows(ROWS, "added_mass", 3) {
        let (fs_hz, mass_kg) = (row.number("fs_hz"), row.number("added_mass_kg"));
        let mms_kg = added_mass_kg(fs_hz, row.number("fs_loaded_hz"), mass_kg).unwrap();
        let rho_kg_per_m3 = row.number("rho_kg_per_m3");
        let air = Air { c_m_per_s: row.number("c_m_per_s"), rho_kg_per_m3 };
        let given = GivenParameters {
            re_ohm: row.number("re_ohm"),
            sd_m2: row.number("sd_m2"),
            fs_hz: Some(fs_hz),
            qes: Some(row.number("qes")),
            qms: Some(row.number("qms")),
            mms_kg: Some(mms_kg),
            ..GivenParameters::default()
        };
        let motor = given.motor(&air).unwrap();
        row.check("mms_kg", motor.mms_kg);
        row.check("cms_m_per_n", motor.cms_m_per_n);
        row.check("bl_tm", motor.bl_t_m);
        row.check("rms_ns_per_m", motor.rms_kg_per_s);
        row.check("vas_m3", motor.vas_m3(&air));
        row.done();
    }
}

/// The same rows from whole sweeps: the fit must find the row's driver, its coil included.
#[test]
fn the_fit_finds_the_tabulated_drivers_from_two_sweeps() {
    for row in rows(ROWS, "added_mass", 3) {
        let name = row.id.trim_start_matches("am-").split('-').next().unwrap();
        let driver = drivers::named(name);
        let mass_kg = row.number("added_mass_kg");
        let mut loaded = driver.clone();
        loaded.motor.mms_kg += mass_kg;
        let free = Request::free_air(sweep(&driver), driver.motor.sd_m2, CoilChoice::Auto);
        let request = Request { added_mass: Some((sweep(&loaded), mass_kg)), ..free };
        let found = identify(&request).unwrap();
        assert_eq!(found.coil_kind, CoilKind::Plain);
        row.check("mms_kg", found.value("mms_kg").unwrap());
        row.check("cms_m_per_n", found.value("cms_m_per_n").unwrap());
        row.check("bl_tm", found.value("bl_t_m").unwrap());
        row.check("rms_ns_per_m", found.value("rms_kg_per_s").unwrap());
        let resonance = found.sweeps[1].resonance_hz / row.number("fs_loaded_hz");
        assert!((resonance - 1.0).abs() < 1e-6, "{resonance}");
    }
}

#[test]
fn a_mass_that_does_not_lower_the_resonance_is_refused() {
    for row in rows(ROWS, "added_mass_error", 1) {
        let row = row.expecting(&["expect"]);
        assert_eq!(row.expected("expect").as_str(), Some("error"));
        let fs_hz = row.number("fs_hz");
        let result = added_mass_kg(fs_hz, row.number("fs_loaded_hz"), row.number("added_mass_kg"));
        assert!(matches!(result, Err(IdentifyError::NotLowered { .. })));
        row.done();
    }
}

#[test]
fn an_error_of_the_resonance_is_magnified_in_the_mass() {
    for row in rows(ROWS, "added_mass_sensitivity", 1) {
        let (fs_hz, loaded_hz) = (row.number("fs_hz"), row.number("fs_loaded_hz"));
        let slope = added_mass_sensitivity(fs_hz, loaded_hz);
        row.check("dlnmms_dlnfs", slope);
        row.check("dlnmms_dlnfs_loaded", -slope);
        row.done();
    }
}

#[test]
fn a_box_gives_the_equivalent_volume() {
    for row in rows(ROWS, "sealed_volume_method", 1) {
        let n = |key: &str| row.number(key);
        let volume_m3 = n("volume_m3");
        let vas_m3 = sealed_volume_m3(n("fs_hz"), n("qes"), n("fc_hz"), n("qec"), volume_m3);
        row.check("vas_m3", vas_m3);
        row.done();
    }
}

#[test]
fn two_points_of_a_lossy_coil_give_its_exponent() {
    for row in rows(ROWS, "lossy_inductance_fit", 1) {
        let (hz, re) = (row.numbers("f_hz"), row.number("re_ohm"));
        let (real, imaginary) = (row.numbers("z_total_re_ohm"), row.numbers("z_total_im_ohm"));
        let point = |k: usize| (TAU * hz[k], Complex64::new(real[k] - re, imaginary[k]));
        let VoiceCoil::PowerLaw { k_si, n } = power_law_through(point(0), point(1)) else {
            unreachable!("a power law")
        };
        row.check("n", n);
        row.check("k_si", k_si);
        row.done();
    }
}
