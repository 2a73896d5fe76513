//! Impedance compensation, attenuation and shaping: the parts, and what the nodal solver makes of
//! them in front of resistors and of whole drivers.
//!
//! Sources (named in full in each row of `data/compensation.toml`): Zobel (1923) for the principle,
//! Leach (2004), introduction, for loudspeakers; the duals, dividers, traps and shelves are derived
//! there; two worked examples from public pages. Poles and zeros are read off the solved response
//! instead of being computed from the parts once more.

use crate::bench::{Solved, across, capacitor, coil, constant, resistor, with_dual};
use crate::drivers;
use crate::rows::{Row, rows};
use num_complex::Complex64;
use proptest::prelude::*;
use slabtone::circuit::attenuator::{LPad, LPadError};
use slabtone::circuit::compensation::{
    BassCut, Dual, Motional, Notch, SeriesCoil, ShapeError, Trap, TrebleCut, Zobel,
    series_resistor_ohm,
};
use slabtone::circuit::network::{Component, Network, Node};
use slabtone::grid::{Grid, Impedance};
use slabtone::model::air::Air;
use slabtone::model::coil::VoiceCoil;
use slabtone::model::driver::{Driver, Motor};
use slabtone::model::given::GivenParameters;
use std::sync::Arc;

const ROWS: &str = include_str!("data/compensation.toml");

#[test]
fn a_zobel_branch_makes_the_blocked_coil_a_resistor() {
    for row in rows(ROWS, "zobel", 3) {
        let zobel = zobel_of(&row);
        row.check("r_ohm", zobel.r_ohm);
        row.check("c_f", zobel.c_f);
        check_zobel_impedance(&row, zobel);
        row.done();
    }
}

/// The other rule in circulation: its parts are given, its impedance is not flat.
#[test]
fn the_rule_of_thumb_is_not_flat() {
    for row in rows(ROWS, "zobel_rule_of_thumb", 1) {
        let given = |key: &str| row.expected(key).as_float().expect("a number");
        check_zobel_impedance(&row, Zobel { r_ohm: given("r_ohm"), c_f: given("c_f") });
        row.done();
    }
}

/// The driver held still: Re and Le alone.
fn check_zobel_impedance(row: &Row, zobel: Zobel) {
    let (grid, le_h) = (grid_of(row), row.number("le_h"));
    let motor = Motor { bl_t_m: 0.0, ..motor_of_q(row.number("re_ohm"), 50.0, 1.0, 1.0) };
    let load = drivers::driver("held", motor, VoiceCoil::Plain { le_h }).respond(&grid, None);
    if row.expects("z_uncompensated_ohm") {
        row.check_all("z_uncompensated_ohm", &load.impedance.magnitude());
    }
    let solved = across(&[zobel_branch(zobel)], &load.impedance);
    row.check_all("z_compensated_ohm", &solved.magnitude());
}

#[test]
fn a_notch_branch_takes_the_resonance_away() {
    for row in rows(ROWS, "resonance_notch", 2) {
        let driver = driver_of_q(&row, 0.0);
        let notch = Notch::new(driver.motor.re_ohm, &motional(&driver.motor));
        row.check("r_ohm", notch.r_ohm);
        row.check("l_h", notch.l_h);
        row.check("c_f", notch.c_f);
        let load = driver.respond(&grid_of(&row), None).impedance;
        row.check_all("z_driver_le0_ohm", &load.magnitude());
        let solved = across(&[notch_branch(notch)], &load);
        row.check_all("z_compensated_le0_ohm", &solved.magnitude());
        row.done();
    }
}

/// On the 3001 points of the row, so that the extrema fall on the same ones.
#[test]
fn two_branches_leave_a_residue_and_the_exact_dual_none() {
    for row in rows(ROWS, "two_branches", 2) {
        let driver = driver_of_q(&row, row.number("le_h"));
        let (re_ohm, motional) = (driver.motor.re_ohm, motional(&driver.motor));
        let coil = plain(row.number("le_h"));
        let band_hz = row.numbers("band_hz");
        let grid = Grid::log(band_hz[0], band_hz[1], 3001).expect("a band");
        let load = driver.respond(&grid, None).impedance;
        row.check("max_driver_z_ohm", extrema(&load)[1].1);
        let notch = Notch::new(re_ohm, &motional);
        let branches = [zobel_branch(Zobel::new(re_ohm, coil)), notch_branch(notch)];
        let [least, most] = extrema(&across(&branches, &load));
        row.check("f_min_hz", least.0);
        row.check("min_z_ohm", least.1);
        row.check("f_max_hz", most.0);
        row.check("max_z_ohm", most.1);
        let dual = Dual::new(re_ohm, coil, &motional);
        let flat = with_dual(&dual, [dual.notch.r_ohm, 0.0], &load);
        flat.magnitude().iter().for_each(|&z| row.check("exact_dual_z_ohm", z));
        let off = worst_off(&flat, re_ohm);
        assert!(off < 1e-9, "{}: the dual is {off:e} off", row.id);
        row.done();
    }
}

#[test]
fn an_l_pad_lowers_the_level_and_keeps_the_load() {
    for row in rows(ROWS, "l_pad", 11) {
        let (db, load_ohm) = (row.number("attenuation_db"), row.number("load_ohm"));
        let pad = LPad::new(db, load_ohm).expect("a pad");
        row.check("series_ohm", pad.series_ohm);
        if pad.shunt_ohm == f64::INFINITY {
            assert_eq!(row.expected("shunt_ohm").as_float(), Some(pad.shunt_ohm), "{}", row.id);
        } else {
            row.check("shunt_ohm", pad.shunt_ohm);
        }
        let solved = Solved::behind_pad(pad, &resistor_load(load_ohm));
        row.check("input_z_ohm", solved.input_ohm());
        row.check("gain_db", solved.gain_db()[0]);
        let [load, series, shunt] = solved.power_fractions(pad, load_ohm);
        row.check("power_in_load_fraction", load);
        row.check("power_in_series_fraction", series);
        row.check("power_in_shunt_fraction", shunt);
        assert!((load + series + shunt - 1.0).abs() < 1e-12, "{}", row.id);
        row.done();
    }
}

#[test]
fn examples_of_others_come_out_to_their_three_digits() {
    let digits = |v: f64| -> f64 { format!("{v:.2e}").parse().expect("a number") };
    for row in rows(ROWS, "web_l_pad", 1) {
        let load_ohm = row.number("load_ohm");
        let pad = LPad::new(row.number("attenuation_db"), load_ohm).expect("a pad");
        row.check("series_ohm", digits(pad.series_ohm));
        row.check("shunt_ohm", digits(pad.shunt_ohm));
        let solved = Solved::behind_pad(pad, &resistor_load(load_ohm));
        let [load, series, shunt] = solved.power_fractions(pad, load_ohm).map(digits);
        row.check("power_in_load_fraction", load);
        row.check("power_in_series_fraction", series);
        row.check("power_in_shunt_fraction", shunt);
        row.done();
    }
    for row in rows(ROWS, "web_zobel", 1) {
        let zobel = zobel_of(&row);
        row.check("r_ohm", digits(zobel.r_ohm));
        row.check("c_f", digits(zobel.c_f));
        row.done();
    }
}

#[test]
fn a_series_resistor_lowers_the_level_and_adds_to_the_load() {
    for row in rows(ROWS, "series_resistor", 6) {
        let (db, load_ohm) = (row.number("attenuation_db"), row.number("load_ohm"));
        let series_ohm = series_resistor_ohm(db, load_ohm).expect("a resistor");
        row.check("series_ohm", series_ohm);
        let pad = LPad { series_ohm, shunt_ohm: f64::INFINITY };
        let solved = Solved::behind_pad(pad, &resistor_load(load_ohm));
        row.check("input_z_ohm", solved.input_ohm());
        row.check("gain_db", solved.gain_db()[0]);
        row.check("power_in_resistor_fraction", solved.power_fractions(pad, load_ohm)[1]);
        row.done();
    }
}

#[test]
fn pads_of_bought_resistors_do_what_they_do() {
    for row in rows(ROWS, "l_pad_analysis", 2) {
        let solved = Solved::behind_pad(pad_of(&row), &resistor_load(row.number("load_ohm")));
        row.check("gain_db", solved.gain_db()[0]);
        row.check("input_z_ohm", solved.input_ohm());
        row.done();
    }
}

#[test]
fn an_attenuator_bends_the_response_of_a_driver() {
    for row in rows(ROWS, "attenuator_into_driver", 2) {
        let motor = Motor {
            re_ohm: row.number("re_ohm"),
            bl_t_m: row.number("bl_tm"),
            mms_kg: row.number("mms_kg"),
            cms_m_per_n: row.number("cms_m_per_n"),
            rms_kg_per_s: row.number("rms_ns_per_m"),
            sd_m2: 1e-3,
        };
        let coil = VoiceCoil::Plain { le_h: row.number("le_h") };
        let driver = drivers::driver(row.text("driver"), motor, coil);
        let solved =
            Solved::behind_pad(pad_of(&row), &driver.respond(&grid_of(&row), None).impedance);
        row.check_all("gain_db", &solved.gain_db());
        row.done();
    }
}

/// With x = f/f0, u = 1 − x², n = 1/Qn, d = 1/Qd: H (u + jxd) = u + jxn, solved for d and n.
#[test]
fn a_trap_makes_the_dip_that_was_asked_for() {
    for row in rows(ROWS, "parallel_trap", 3) {
        let row = row.expecting(&["q_denominator"]);
        let (load_ohm, f0_hz) = (row.number("load_ohm"), row.number("f0_hz"));
        let pole_q = row.expected("q_denominator").as_float().expect("a number");
        let trap = Trap::new(row.number("attenuation_db"), f0_hz, pole_q, load_ohm);
        let trap = trap.expect("a trap");
        row.check("r_ohm", trap.r_ohm);
        row.check("c_f", trap.c_f);
        row.check("l_h", trap.l_h);
        let parts = [resistor(trap.r_ohm), coil(trap.l_h, 0.0), capacitor(trap.c_f)];
        let (h, x) = check_shape(&row, &parts, 1, f0_hz);
        let u = 1.0 - x * x;
        let d = u * (h.re - 1.0) / (x * h.im);
        row.check("q_denominator", 1.0 / d);
        row.check("q_numerator", x / (u * h.im + x * d * h.re));
        row.done();
    }
}

/// H (1 + jf/fp) = 1 + jf/fz, solved for fp and fz.
#[test]
fn a_treble_cut_has_its_pole_and_zero() {
    for row in rows(ROWS, "shelf", 3) {
        let middle_hz = row.number("f_mid_hz");
        let cut = TrebleCut::new(row.number("shelf_db"), middle_hz, row.number("load_ohm"));
        let cut = cut.expect("a shelf");
        row.check("r_ohm", cut.r_ohm);
        row.check("l_h", cut.l_h);
        let (h, x) = check_shape(&row, &[resistor(cut.r_ohm), coil(cut.l_h, 0.0)], 2, middle_hz);
        let over_pole = (h.re - 1.0) / h.im;
        row.check("f_pole_hz", x * middle_hz / over_pole);
        row.check("f_zero_hz", x * middle_hz / (h.im + over_pole * h.re));
        row.done();
    }
}

/// H (fp + jf) = fz + jf, solved for fp and fz.
#[test]
fn a_bass_cut_has_its_pole_and_zero() {
    for row in rows(ROWS, "shelf_rc", 2) {
        let middle_hz = row.number("f_mid_hz");
        let cut = BassCut::new(row.number("shelf_db"), middle_hz, row.number("load_ohm"));
        let cut = cut.expect("a shelf");
        row.check("r_ohm", cut.r_ohm);
        row.check("c_f", cut.c_f);
        let (h, x) = check_shape(&row, &[resistor(cut.r_ohm), capacitor(cut.c_f)], 2, middle_hz);
        let pole = x * (1.0 - h.re) / h.im;
        row.check("f_pole_hz", pole * middle_hz);
        row.check("f_zero_hz", (h.re * pole - h.im * x) * middle_hz);
        row.done();
    }
}

/// Checks the level behind parts side by side, and gives the response at frequency number `at` of
/// the row with that frequency over `reference_hz`.
fn check_shape(row: &Row, parts: &[Component], at: usize, reference_hz: f64) -> (Complex64, f64) {
    let grid = grid_of(row);
    let mut network = Network::new("in", "return");
    let out = [network.node("out"), Node::RETURN];
    for part in parts {
        network.add(part.kind(), *part, [Node::INPUT, out[0]]);
    }
    let solved = Solved::of(network, out, &constant(&grid, row.number("load_ohm")));
    row.check_all("gain_db", &solved.gain_db());
    (solved.gain(at), grid.frequency_hz()[at] / reference_hz)
}

#[test]
fn what_no_passive_part_can_do_is_refused() {
    for row in rows(ROWS, "error_case", 3) {
        let (attenuation_db, load_ohm) = (row.number("attenuation_db"), row.number("load_ohm"));
        assert_eq!(row.text("expect"), "error");
        let pad = LPad::new(attenuation_db, load_ohm);
        assert_eq!(pad, Err(LPadError { attenuation_db, load_ohm }), "{}", row.id);
        let refused = ShapeError::Level { attenuation_db, load_ohm };
        let of = |error: Option<ShapeError>| assert_eq!(error, Some(refused), "{}", row.id);
        of(series_resistor_ohm(attenuation_db, load_ohm).err());
        of(TrebleCut::new(attenuation_db, 1e3, load_ohm).err());
        of(BassCut::new(attenuation_db, 1e3, load_ohm).err());
        of(Trap::new(attenuation_db, 1e3, 1.0, load_ohm).err());
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// The coil's own resistance is taken from the resistor beside it; a coil with more than the
    /// branch may have is told.
    #[test]
    fn the_exact_dual_flattens_any_driver_with_a_plain_coil(
        re_ohm in 2.0..16.0f64,
        le_mh in 0.005..3.0f64,
        fs_hz in 20.0..2000.0f64,
        qes in 0.15..3.0f64,
        qms in 0.5..15.0f64,
        dcr_share in 0.0..0.999f64,
    ) {
        let motor = motor_of_q(re_ohm, fs_hz, qes, qms);
        let coil = plain(le_mh * 1e-3);
        let dual = Dual::new(re_ohm, coil, &motional(&motor));
        let whole_ohm = dual.notch.r_ohm;
        let dcr_ohm = dcr_share * whole_ohm;
        let fitted = dual.notch.resistor_ohm(dcr_ohm);
        prop_assert_eq!(fitted, Some(whole_ohm - dcr_ohm));
        prop_assert_eq!(dual.notch.resistor_ohm(whole_ohm), Some(0.0));
        prop_assert_eq!(dual.notch.resistor_ohm(whole_ohm * (1.0 + 1e-12)), None);
        prop_assert_eq!(dual.notch.resistor_ohm(whole_ohm * (1.001 + dcr_share)), None);
        let driver = drivers::driver("any", motor, VoiceCoil::Plain { le_h: coil.l_h });
        let load = driver.respond(&Grid::audible(61).expect("a band"), None).impedance;
        let flat = with_dual(&dual, [whole_ohm - dcr_ohm, dcr_ohm], &load);
        let off = worst_off(&flat, re_ohm);
        prop_assert!(off < 1e-9, "{:e}", off);
    }
}

fn grid_of(row: &Row) -> Arc<Grid> {
    Grid::from_points(row.numbers("f_hz")).expect("rising frequencies")
}

/// A resistance at one frequency, where none is stated.
fn resistor_load(ohm: f64) -> Impedance {
    constant(&Grid::from_points(vec![1000.0]).expect("one point"), ohm)
}

fn plain(le_h: f64) -> SeriesCoil {
    SeriesCoil { r_ohm: 0.0, l_h: le_h }
}

/// Elements from Re, fs and the two Q; the mass and the area do not show at the terminals.
fn motor_of_q(re_ohm: f64, fs_hz: f64, qes: f64, qms: f64) -> Motor {
    let given = GivenParameters {
        re_ohm,
        sd_m2: 1e-3,
        fs_hz: Some(fs_hz),
        qes: Some(qes),
        qms: Some(qms),
        mms_kg: Some(1e-3),
        ..GivenParameters::default()
    };
    given.motor(&Air::default()).expect("a sufficient set")
}

fn driver_of_q(row: &Row, le_h: f64) -> Driver {
    let (fs_hz, qes, qms) = (row.number("fs_hz"), row.number("qes"), row.number("qms"));
    let motor = motor_of_q(row.number("re_ohm"), fs_hz, qes, qms);
    drivers::driver(&row.id, motor, VoiceCoil::Plain { le_h })
}

fn motional(motor: &Motor) -> Motional {
    let bl2 = motor.bl_t_m.powi(2);
    Motional {
        res_ohm: bl2 / motor.rms_kg_per_s,
        lces_h: bl2 * motor.cms_m_per_n,
        cmes_f: motor.mms_kg / bl2,
    }
}

fn zobel_of(row: &Row) -> Zobel {
    Zobel::new(row.number("re_ohm"), plain(row.number("le_h")))
}

fn zobel_branch(zobel: Zobel) -> Vec<Component> {
    vec![resistor(zobel.r_ohm), capacitor(zobel.c_f)]
}

fn notch_branch(notch: Notch) -> Vec<Component> {
    vec![resistor(notch.r_ohm), coil(notch.l_h, 0.0), capacitor(notch.c_f)]
}

fn pad_of(row: &Row) -> LPad {
    LPad { series_ohm: row.number("series_ohm"), shunt_ohm: row.number("shunt_ohm") }
}

/// Frequency and size of the least and the greatest impedance.
fn extrema(impedance: &Impedance) -> [(f64, f64); 2] {
    let frequencies = impedance.grid().frequency_hz().iter().copied();
    let points: Vec<(f64, f64)> = frequencies.zip(impedance.magnitude()).collect();
    let by_size = |a: &&(f64, f64), b: &&(f64, f64)| a.1.total_cmp(&b.1);
    let (least, most) = (points.iter().min_by(by_size), points.iter().max_by(by_size));
    [*least.expect("points"), *most.expect("points")]
}

/// Largest distance from the resistance, as a share of it.
fn worst_off(impedance: &Impedance, ohm: f64) -> f64 {
    let off = |z: &Complex64| (z / ohm - 1.0).norm();
    impedance.values().iter().map(off).fold(0.0, f64::max)
}
