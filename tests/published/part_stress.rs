//! Stress of parts and derating of resistors against circuit analysis in numpy.

use crate::rows::{Row, rows};
use slabtone::circuit::flows::{Flow, Flows};
use slabtone::circuit::load::Load;
use slabtone::circuit::network::{Component, Network, Node};
use slabtone::circuit::rules::{self, Derating};
use slabtone::design::Amplifier;
use slabtone::grid::{Grid, Impedance};
use slabtone::input::design_file;
use slabtone::input::files::{DEMO, Embedded};
use std::path::Path;
use std::sync::Arc;

const DATA: &str = include_str!("data/part_stress.toml");
/// Points from 20 Hz to 20 kHz, as the rows were made.
const POINTS: usize = 6001;
/// The coil and the capacitor among the parts.
const COIL: usize = 0;
const CAPACITOR: usize = 1;

fn network(row: &Row) -> Network {
    let mut network = Network::new("in", "0");
    let out = network.node("out");
    let coil = Component::Inductor { henry: row.number("l_h"), dcr_ohm: row.number("l_dcr_ohm") };
    let capacitor = Component::Capacitor { farad: row.number("c_f"), esr_ohm: 0.0 };
    let (series, shunt) = ([Node::INPUT, out], [out, Node::RETURN]);
    let low = row.text("section") == "lowpass";
    network.add("L", coil, if low { series } else { shunt });
    network.add("C", capacitor, if low { shunt } else { series });
    network.add_port("load", shunt);
    network
}

/// The largest of `values` times `scale`, and where it lies.
fn most(grid: &Grid, values: impl Iterator<Item = f64>, scale: f64) -> (f64, f64) {
    let pairs = grid.frequency_hz().iter().zip(values);
    let best = pairs.max_by(|a, b| a.1.total_cmp(&b.1)).unwrap();
    (best.1 * scale, *best.0)
}

#[test]
fn sections_loaded_and_with_the_driver_unplugged() {
    let grid = Grid::audible(POINTS).unwrap();
    for row in rows(DATA, "part_stress", 6) {
        let ohm = row.number("load_ohm");
        let load: Impedance = Impedance::from_fn(&grid, |_| ohm.into());
        let load = Load::diagonal(&grid, &[ohm.is_finite().then_some(&load)]);
        let flows = Flows::of(&network(&row), &grid, &load).unwrap();
        check(&row, &grid, &flows);
        row.done();
    }
}

fn check(row: &Row, grid: &Arc<Grid>, flows: &Flows) {
    let volts = row.number("v_source_rms");
    let amps = |flow: &Flow| most(grid, flow.current.iter().map(|i| i.norm()), volts);
    let near = |key: &str, got: f64| {
        let want = row.expected(key).as_float().unwrap();
        let off = (got / want - 1.0).abs();
        assert!(off <= row.number("tolerance_rel_f"), "{} {key}: {got}, {want}", row.id);
    };
    let across = flows.parts[CAPACITOR].voltage.iter().map(|v| v.norm());
    let (most_v, at_hz) = most(grid, across, volts);
    row.check("max_v_cap_rms", most_v);
    near("f_max_v_cap_hz", at_hz);
    let (most_a, at_hz) = amps(&flows.parts[COIL]);
    row.check("max_i_coil_rms_a", most_a);
    near("f_max_i_coil_hz", at_hz);
    let (most_a, at_hz) = amps(&flows.parts[CAPACITOR]);
    row.check("max_i_cap_rms_a", most_a);
    near("f_max_i_cap_hz", at_hz);
    let (least, at_hz) = most(grid, flows.source.iter().map(|i| i.norm()), 1.0);
    row.check("min_input_z_ohm", 1.0 / least);
    near("f_min_z_hz", at_hz);
}

#[test]
fn resistors_derated() {
    for row in rows(DATA, "resistor_derating", 10) {
        let derating = Derating::of_family(row.text("kind"));
        assert_eq!(
            (derating.full_c, derating.zero_c),
            (row.number("t_full_c"), row.number("t_zero_c"))
        );
        let (rated_w, ambient_c) = (row.number("rated_w"), row.number("ambient_c"));
        let allowed_w = derating.allowed_w(rated_w, ambient_c);
        row.check("allowed_w", allowed_w);
        row.check("allowed_half_rule_w", rules::RESISTOR_SHARE * allowed_w);
        if allowed_w > 0.0 {
            let back = derating.needed_w(rules::RESISTOR_SHARE * allowed_w, ambient_c);
            assert!((back / rated_w - 1.0).abs() < 1e-12);
        }
        row.done();
    }
}

#[test]
fn habits_without_a_source() {
    let of = |id: &str| {
        let row = rows(DATA, "practice", 4).into_iter().find(|r| r.id == id).unwrap();
        row.number("typical_value")
    };
    assert_eq!(of("resistor-power-factor"), rules::RESISTOR_SHARE);
    // The margin asked for here, next standard value above 1.5, comes to at most 1/1.5.
    assert!(of("capacitor-voltage-factor") <= 1.0 / rules::CAPACITOR_MARGIN);
}

#[test]
fn rated_power_to_volts() {
    let demo = design_file::load(&Embedded, Path::new(DEMO)).unwrap();
    for row in rows(DATA, "power_to_voltage", 4) {
        let (power_w, into_ohm) = (row.number("power_w"), row.number("load_ohm"));
        let amplifier = Amplifier { power_w, into_ohm, ..demo.amplifier };
        let volts = amplifier.rated_v();
        row.check("v_rms", volts);
        row.check("v_peak", volts * std::f64::consts::SQRT_2);
        row.check("i_rms_a", volts / into_ohm);
        row.check("i_peak_a", volts / into_ohm * std::f64::consts::SQRT_2);
        row.done();
    }
}

#[test]
fn rated_voltages_and_packages_are_the_next_standard_ones_above() {
    for (peak_v, rated) in [
        (4.0, Some(6.3)),
        (4.2, Some(10.0)),
        (41.9, Some(63.0)),
        (42.0, Some(100.0)),
        (2000.0, None),
    ] {
        assert_eq!(rules::capacitor_volts(peak_v), rated, "{peak_v}");
    }
    assert_eq!(rules::resistor_watts(5.0), Some(5.0));
    assert_eq!(rules::resistor_watts(5.01), Some(7.0));
    assert_eq!(rules::resistor_watts(f64::INFINITY), None);
}
