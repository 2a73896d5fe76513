//! The lumped moving-coil driver: derived parameters, impedance, its extrema, lossy voice coils,
//! and the way back from data-sheet parameters.
//!
//! Sources (named in full in each row of `data/driver_impedance.toml`): Small (1972) for the lumped
//! model, cited from memory; Leach (2002), abstract and start of section 1, for the power law. The
//! two drivers are invented numbers. Fitting and added-mass rows have no counterpart in the crate
//! yet and are left out.

use crate::drivers;
use crate::rows::{Row, rows};
use crate::search::lowest;
use num_complex::Complex64;
use slabtone::grid::Grid;
use slabtone::model::air::Air;
use slabtone::model::coil::VoiceCoil;
use slabtone::model::driver::{Driver, Motor};
use slabtone::model::given::{GivenError, GivenParameters};
use std::f64::consts::TAU;

const ROWS: &str = include_str!("data/driver_impedance.toml");
const UNLOADED: Complex64 = Complex64::new(0.0, 0.0);

#[test]
fn parameters_follow_from_the_elements() {
    for row in drivers::parameter_rows() {
        let motor = drivers::motor_of(&row);
        let bl2 = motor.bl_t_m.powi(2);
        row.check("fs_hz", motor.fs_hz());
        row.check("qms", motor.qms());
        row.check("qes", motor.qes());
        row.check("qts", motor.qts());
        row.check("vas_m3", motor.vas_m3(&drivers::air_of(&row)));
        row.check("lces_h", bl2 * motor.cms_m_per_n);
        row.check("cmes_f", motor.mms_kg / bl2);
        let without_coil = drivers::driver("no coil", motor, VoiceCoil::Plain { le_h: 0.0 });
        let at_fs = impedance(&without_coil, motor.fs_hz());
        row.check("z_at_fs_le0_ohm", at_fs.norm());
        row.check("res_ohm", at_fs.re - motor.re_ohm);
        row.done();
    }
}

#[test]
fn impedance_is_the_published_one_at_every_frequency() {
    for row in rows(ROWS, "impedance", 2) {
        let driver = drivers::named(row.text("driver"));
        // The row's frequencies do not rise: each is asked for on its own.
        let z: Vec<Complex64> =
            row.numbers("f_hz").iter().map(|&f| impedance(&driver, f)).collect();
        let list = |part: fn(&Complex64) -> f64| z.iter().map(part).collect::<Vec<f64>>();
        row.check_all("mag_ohm", &list(|z| z.norm()));
        row.check_all("phase_deg", &list(|z| z.arg().to_degrees()));
        row.check_all("re_ohm", &list(|z| z.re));
        row.check_all("im_ohm", &list(|z| z.im));
        row.done();
    }
}

#[test]
fn extrema_lie_where_published() {
    for row in rows(ROWS, "extrema", 2) {
        let driver = drivers::named(row.text("driver"));
        let magnitude = |f: f64| impedance(&driver, f).norm();
        let fs_hz = driver.motor.fs_hz();
        let highest_hz = lowest(0.7 * fs_hz, 1.4 * fs_hz, |f| -magnitude(f));
        let lowest_hz = lowest(1.4 * fs_hz, 20_000.0, magnitude);
        row.check("f_of_max_hz", highest_hz);
        row.check("max_mag_ohm", magnitude(highest_hz));
        row.check("f_of_min_above_fs_hz", lowest_hz);
        row.check("min_mag_above_fs_ohm", magnitude(lowest_hz));
        row.done();
    }
}

#[test]
fn a_lossy_voice_coil_is_a_power_law() {
    for row in rows(ROWS, "lossy_inductance", 25) {
        let omega = TAU * row.number("f_hz");
        let z = power_law(&row).impedance(omega);
        row.check("mag_ohm", z.norm());
        row.check("phase_deg", z.arg().to_degrees());
        row.check("series_r_ohm", z.re);
        row.check("series_l_h", z.im / omega);
        // An exponent of 0 or 1 is a pure resistance or inductance: no parallel form is stated.
        if row.expects("parallel_r_ohm") {
            row.check("parallel_r_ohm", 1.0 / z.inv().re);
            row.check("parallel_l_h", -1.0 / (z.inv().im * omega));
        }
        row.done();
    }
}

#[test]
fn a_driver_with_a_lossy_voice_coil_has_the_published_impedance() {
    for row in rows(ROWS, "lossy_driver_impedance", 4) {
        let name = row.text("driver").trim_end_matches(" without Le");
        let driver = Driver { coil: power_law(&row), ..drivers::named(name) };
        let grid = Grid::from_points(vec![row.number("f_hz")]).expect("one point");
        let z = driver.respond(&grid, None).impedance;
        row.check("mag_ohm", z.magnitude()[0]);
        row.check("phase_deg", z.phase_deg()[0]);
        row.done();
    }
}

/// The published parameters of a row as a data sheet would state them, and the elements that must
/// come back. Nothing here is the crate's own result.
fn stated(row: &Row) -> (GivenParameters, Motor, Air) {
    let value = |key: &str| row.expected(key).as_float();
    let given = GivenParameters {
        re_ohm: row.number("re_ohm"),
        sd_m2: row.number("sd_m2"),
        fs_hz: value("fs_hz"),
        qms: value("qms"),
        qes: value("qes"),
        qts: value("qts"),
        vas_m3: value("vas_m3"),
        ..GivenParameters::default()
    };
    (given, drivers::motor_of(row), drivers::air_of(row))
}

/// Each sufficient set, by what it leaves out of or adds to the full set of data-sheet parameters.
#[test]
fn elements_come_back_from_every_sufficient_set() {
    for row in drivers::parameter_rows() {
        let (full, motor, air) = stated(&row);
        let mms_kg = Some(motor.mms_kg);
        let cms_m_per_n = Some(motor.cms_m_per_n);
        let by_elements =
            GivenParameters { fs_hz: None, vas_m3: None, mms_kg, cms_m_per_n, ..full };
        let sets = [
            full,
            GivenParameters { qts: None, ..full },
            GivenParameters { qms: None, ..full },
            GivenParameters { qes: None, ..full },
            GivenParameters { vas_m3: None, mms_kg, ..full },
            GivenParameters { vas_m3: None, cms_m_per_n, ..full },
            GivenParameters { fs_hz: None, mms_kg, ..full },
            by_elements,
            GivenParameters {
                qms: None,
                qes: None,
                qts: None,
                rms_kg_per_s: Some(motor.rms_kg_per_s),
                bl_t_m: Some(motor.bl_t_m),
                ..by_elements
            },
        ];
        for set in sets {
            let got = set.motor(&air).expect("a sufficient set");
            // Ten digits are stated; Qts and one partner give the other Q as a difference, which
            // costs up to a factor of seven here.
            let tolerance = if set.qms.is_none() || set.qes.is_none() { 2e-9 } else { 1e-9 };
            for (got, want) in elements(&got).into_iter().zip(elements(&motor)) {
                assert!((got / want - 1.0).abs() < tolerance, "{}: {got}, {want}", row.id);
            }
            assert!(set.disagreements(&got, &air, 1e-8).is_empty(), "{}", row.id);
        }
    }
}

fn elements(m: &Motor) -> [f64; 6] {
    [m.re_ohm, m.bl_t_m, m.mms_kg, m.cms_m_per_n, m.rms_kg_per_s, m.sd_m2]
}

#[test]
fn a_contradicting_parameter_is_told_in_percent() {
    for row in drivers::parameter_rows() {
        let (full, motor, air) = stated(&row);
        // Qts is not used where both partners are stated; mass and compliance not beside fs and Vas.
        let cases = [
            ("Qts", GivenParameters { qts: full.qts.map(|q| 1.05 * q), ..full }, 5.0),
            ("Mms", GivenParameters { mms_kg: Some(0.9 * motor.mms_kg), ..full }, -10.0),
            ("Cms", GivenParameters { cms_m_per_n: Some(1.2 * motor.cms_m_per_n), ..full }, 20.0),
            (
                "Rms",
                GivenParameters { rms_kg_per_s: Some(0.98 * motor.rms_kg_per_s), ..full },
                -2.0,
            ),
            ("Bl", GivenParameters { bl_t_m: Some(1.01 * motor.bl_t_m), ..full }, 1.0),
        ];
        for (symbol, given, percent) in cases {
            let got = given.motor(&air).expect("a sufficient set");
            let found = given.disagreements(&got, &air, 1e-6);
            assert_eq!(found.len(), 1, "{}: {found:?}", row.id);
            assert_eq!(found[0].symbol, symbol, "{}", row.id);
            let off = (found[0].percent() - percent).abs();
            assert!(off < 1e-6, "{} {symbol}: {} %", row.id, found[0].percent());
        }
    }
}

#[test]
fn an_insufficient_or_impossible_set_is_refused() {
    let row = &drivers::parameter_rows()[0];
    let (full, _, air) = stated(row);
    let q = |qms, qes, qts| GivenParameters { qms, qes, qts, ..full };
    let refused = |given: GivenParameters| given.motor(&air).expect_err("a set that is refused");
    assert_eq!(refused(GivenParameters { vas_m3: None, ..full }), GivenError::Resonance);
    assert_eq!(refused(GivenParameters { fs_hz: None, ..full }), GivenError::Resonance);
    assert_eq!(refused(q(None, full.qes, None)), GivenError::Loss);
    assert_eq!(refused(q(full.qms, None, None)), GivenError::Force);
    let impossible = refused(q(None, Some(0.5), Some(0.5)));
    assert_eq!(impossible, GivenError::TotalQ { qts: 0.5, symbol: "Qes", other: 0.5 });
}

fn power_law(row: &Row) -> VoiceCoil {
    VoiceCoil::PowerLaw { k_si: row.number("k_si"), n: row.number("n") }
}

fn impedance(driver: &Driver, frequency_hz: f64) -> Complex64 {
    driver.respond_at(TAU * frequency_hz, UNLOADED).0
}
