//! Copper wire, windings and their coupling against handbook values, mpmath and scipy.

use crate::rows::{Row, rows};
use slabtone::circuit::mutual::{self, Placement};
use slabtone::circuit::winding::{self, Winding};
use slabtone::circuit::wire;

const DATA: &str = include_str!("data/coils.toml");
/// Feet in 1000 ft, m.
const THOUSAND_FEET_M: f64 = 304.8;

#[test]
fn american_wire_gauges() {
    for row in rows(DATA, "wire_awg", 11) {
        let diameter_m = wire::awg_diameter_m(row.number("awg") as i32);
        let area_m2 = wire::area_m2(diameter_m);
        let ohm_per_m = wire::ohm_per_m(area_m2);
        row.check("diameter_mm", diameter_m * 1e3);
        row.check("area_mm2", area_m2 * 1e6);
        row.check("r20_ohm_per_m", ohm_per_m);
        row.check("r20_ohm_per_1000ft", ohm_per_m * THOUSAND_FEET_M);
        if row.has("handbook_ohm_per_1000ft") {
            let handbook = row.number("handbook_ohm_per_1000ft");
            let off = ohm_per_m * THOUSAND_FEET_M / handbook - 1.0;
            assert!(off.abs() <= row.number("tolerance_rel_handbook"), "{}: {off}", row.id);
        }
        assert_eq!(wire::nearest_awg(diameter_m), row.number("awg") as i32);
        row.done();
    }
}

#[test]
fn copper_when_warm_and_at_high_frequency() {
    for row in rows(DATA, "copper_temperature", 4) {
        row.check("r_ratio_to_20c", wire::resistance_ratio(row.number("temperature_c")));
        row.done();
    }
    for row in rows(DATA, "skin_depth", 3) {
        row.check("depth_mm", 1e3 * wire::skin_depth_m(row.number("f_hz")));
        row.done();
    }
}

/// What a reference value may be off by that stands beside the formula's own.
#[track_caller]
fn near(row: &Row, got: f64, key: &str, relative: f64) {
    let want = row.number(key);
    let off = got / want - 1.0;
    assert!(off.abs() <= relative, "{} {key}: {got}, expected {want}, off by {off:e}", row.id);
}

#[test]
fn single_layers() {
    for row in rows(DATA, "coil_single_layer", 4) {
        let row = row.expecting(&["wheeler_error_percent"]);
        let [n, a, b] = ["turns", "mean_radius_m", "length_m"].map(|k| row.number(k));
        let (formula, sheet) =
            (winding::wheeler_single_layer_h(n, a, b), winding::current_sheet_h(n, a, b));
        row.check("wheeler_h", formula);
        row.check("current_sheet_h", sheet);
        row.check("wheeler_error_percent", 100.0 * (formula / sheet - 1.0));
        row.done();
    }
}

#[test]
fn multilayer_coils() {
    for row in rows(DATA, "coil_multilayer", 5) {
        let [n, a, b, c] = ["turns", "mean_radius_m", "length_m", "depth_m"].map(|k| row.number(k));
        row.check("wheeler_h", winding::wheeler_multilayer_h(n, a, b, c));
        let section_h = winding::section_h(n, a, b, c);
        let want = row.expected("uniform_section_h").as_float().unwrap();
        let off = section_h / want - 1.0;
        assert!(off.abs() <= row.number("tolerance_rel_uniform"), "{}: {off:e}", row.id);
        row.done();
    }
}

#[test]
fn brookss_coil_and_flat_spirals() {
    for row in rows(DATA, "coil_brooks", 1) {
        let [n, a, b, c] = ["turns", "mean_radius_m", "length_m", "depth_m"].map(|k| row.number(k));
        row.check("l_h", winding::brooks_h(n, a));
        row.check("l_h", winding::section_h(n, a, b, c));
        row.done();
    }
    for row in rows(DATA, "coil_flat_spiral", 3) {
        let [n, a, c] = ["turns", "mean_radius_m", "depth_m"].map(|k| row.number(k));
        row.check("wheeler_h", winding::wheeler_spiral_h(n, a, c));
        let disc = winding::section_h(n, a, row.number("disc_thickness_m"), c);
        near(&row, disc, "thin_section_reference_h", row.number("tolerance_rel_reference"));
        row.done();
    }
}

#[test]
fn resistance_and_copper() {
    for row in rows(DATA, "coil_resistance", 2) {
        let length_m =
            winding::wire_length_m(row.number("turns") as u32, row.number("mean_radius_m"));
        let diameter_m = row.number("wire_diameter_m");
        let ohm = winding::wire_ohm(length_m, diameter_m);
        row.check("wire_length_m", length_m);
        row.check("dcr_20c_ohm", ohm);
        row.check("dcr_60c_ohm", ohm * wire::resistance_ratio(60.0));
        row.check("copper_mass_kg", winding::copper_kg(length_m, diameter_m));
        row.done();
    }
}

#[test]
fn coaxial_filaments() {
    let loops = |row: &Row| {
        let [a, b, h] = ["radius_1_m", "radius_2_m", "axial_distance_m"].map(|k| row.number(k));
        mutual::loops_h(a, b, h)
    };
    for row in rows(DATA, "mutual_loops", 7) {
        row.check("m_h", loops(&row));
        row.done();
    }
    for row in rows(DATA, "mutual_loops_limit", 1) {
        row.check("m_h", loops(&row));
        let [a, b, h] = ["radius_1_m", "radius_2_m", "axial_distance_m"].map(|k| row.number(k));
        let dipoles = wire::MU_0 * std::f64::consts::PI * (a * b).powi(2) / (2.0 * h.powi(3));
        row.check("dipole_m_h", dipoles);
        row.done();
    }
}

#[test]
fn two_windings() {
    for row in rows(DATA, "coil_coupling", 9) {
        let coil = Winding {
            turns: row.number("turns") as u32,
            mean_radius_m: row.number("mean_radius_m"),
            length_m: row.number("length_m"),
            depth_m: row.number("depth_m"),
        };
        let apart_m = row.number("centre_distance_m");
        let place = match row.text("arrangement") {
            "coaxial" => Placement::coaxial(apart_m),
            "parallel axes, same plane" => Placement::beside(apart_m),
            _ => Placement::crossed(apart_m),
        };
        let mutual_h = mutual::windings_h(&coil, &coil, &place);
        let own_h = coil.section_h();
        near(&row, own_h, "self_inductance_h", 5e-4);
        row.check("m_h", mutual_h);
        row.check("k", mutual::coupling_factor(mutual_h, [own_h; 2]));
        assert!(!mutual::overlap(&coil, &coil, &place), "{}", row.id);
        row.done();
    }
}

#[test]
fn coupled_coils_in_series() {
    for row in rows(DATA, "coupled_series", 1) {
        let coils = [row.number("l1_h"), row.number("l2_h")];
        row.check("aiding_h", mutual::in_series_h(coils, row.number("k"), true));
        row.check("opposing_h", mutual::in_series_h(coils, row.number("k"), false));
        row.done();
    }
}
