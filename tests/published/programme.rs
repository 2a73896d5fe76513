//! Programme noise: the standard's table and the network that makes it, how a crossover splits its
//! power, and what volts and watts have to do with one another.
//!
//! Sources (named in full in each row of `data/programme.toml`): IEC 60268-1:1985 and
//! IEC 60268-7:2010, read in a transcription; integrals of the table; Ohm's law.

use crate::rows::{Row, rows};
use slabtone::circuit::load::Load;
use slabtone::circuit::network::{Component, Network, Node};
use slabtone::circuit::prototype;
use slabtone::circuit::slope::Slope;
use slabtone::circuit::solve;
use slabtone::design::Amplifier;
use slabtone::grid::{Grid, Impedance, Spectrum, level_db};
use slabtone::signal::programme::{CREST_FACTOR, IEC_LEVELS_DB, Programme};
use std::f64::consts::SQRT_2;

const ROWS: &str = include_str!("data/programme.toml");

fn both() -> [(&'static str, Programme); 2] {
    [("pink20k", Programme::pink()), ("iec60268_1", Programme::iec_60268_1())]
}

#[test]
fn the_table_is_the_standards() {
    let edges = Programme::iec_60268_1().edges_hz().to_vec();
    let bands = rows(ROWS, "band", IEC_LEVELS_DB.len());
    for (k, row) in bands.iter().enumerate() {
        row.check("level_db", IEC_LEVELS_DB[k]);
        let middle_hz = (edges[k] * edges[k + 1]).sqrt();
        assert!((middle_hz / row.number("f_exact_hz") - 1.0).abs() < 1e-9, "{}", row.id);
        row.done();
    }
    let sum: f64 = IEC_LEVELS_DB.iter().map(|db| 10f64.powf(0.1 * db)).sum();
    for row in rows(ROWS, "total", 1) {
        row.check("total_above_one_band_db", 10.0 * sum.log10());
        row.done();
    }
}

#[test]
fn the_share_above_a_frequency_is_as_published() {
    for row in rows(ROWS, "fraction_above", 14) {
        for (name, programme) in both() {
            let share = programme.above(row.number("f_hz")).expect("a frequency");
            row.check(name, share);
            row.check(&format!("{name}_db"), 10.0 * share.log10());
        }
        row.done();
    }
    for row in rows(ROWS, "error_case", 1) {
        assert_eq!(row.text("expect"), "error");
        assert_eq!(Programme::iec_60268_1().above(row.number("f_hz")), None);
        assert_eq!(Programme::pink().above(f64::NAN), None);
    }
}

/// What reaches woofer and tweeter of the whole mean square.
fn split(row: &Row, programme: &Programme) -> [f64; 2] {
    let grid = Grid::log(17.0, 23_000.0, 40_000).expect("an axis");
    let slope: Slope = row.text("alignment").parse().expect("a slope");
    let fc_hz = row.number("fc_hz");
    let mut sums = [0.0; 2];
    for (share, f) in programme.shares(&grid, 0.0).iter().zip(grid.frequency_hz()) {
        let (low, high) = prototype::responses(slope, f / fc_hz);
        sums[0] += share * low.norm_sqr();
        sums[1] += share * high.norm_sqr();
    }
    sums
}

#[test]
fn crossovers_split_the_power_as_published() {
    for row in rows(ROWS, "split", 12) {
        for (name, programme) in both() {
            let [woofer, tweeter] = split(&row, &programme);
            row.check(&format!("woofer_fraction_{name}"), woofer);
            row.check(&format!("tweeter_fraction_{name}"), tweeter);
            row.check(&format!("sum_{name}"), woofer + tweeter);
        }
        row.done();
    }
    for row in rows(ROWS, "watts_example", 1) {
        assert_eq!(row.text("spectrum"), "iec60268_1");
        let [woofer, tweeter] = split(&row, &Programme::iec_60268_1());
        let square = row.number("v_rms_source").powi(2);
        row.check("woofer_w", woofer * square / row.number("woofer_ohm"));
        row.check("tweeter_w", tweeter * square / row.number("tweeter_ohm"));
        row.done();
    }
}

/// The standard's Figure 2; its load is the port.
fn noise_network(row: &Row, grid: &std::sync::Arc<Grid>) -> Vec<f64> {
    let mut network = Network::new("emf", "ground");
    let ohm = |key: &str| Component::Resistor { ohm: row.number(key) };
    let farad = |key: &str| Component::Capacitor { farad: row.number(key), esr_ohm: 0.0 };
    let [m1, a, m2, b, c] = ["m1", "a", "m2", "b", "c"].map(|name| network.node(name));
    for (name, part, nodes) in [
        ("R0", ohm("r_source_ohm"), [Node::INPUT, m1]),
        ("C1", farad("c_series_1_f"), [m1, a]),
        ("R1", ohm("r_shunt_1_ohm"), [a, Node::RETURN]),
        ("C2", farad("c_shunt_1_f"), [a, Node::RETURN]),
        ("R2", ohm("r_series_2_ohm"), [a, m2]),
        ("C3", farad("c_series_2_f"), [m2, b]),
        ("R3", ohm("r_shunt_2_ohm"), [b, Node::RETURN]),
        ("C4", farad("c_shunt_2_f"), [b, Node::RETURN]),
        ("C5", farad("c_series_3_f"), [b, c]),
    ] {
        network.add(name, part, nodes);
    }
    network.add_port("output", [c, Node::RETURN]);
    let load: Impedance = Spectrum::from_fn(grid, |_| row.number("r_load_ohm").into());
    let solution = solve::solve(&network, grid, &Load::diagonal(grid, &[Some(&load)]));
    solution.expect("a solution").between([c, Node::RETURN]).level_db(1.0)
}

#[test]
fn the_standards_network_makes_the_standards_noise() {
    let network = &rows(ROWS, "network", 1)[0];
    let asked = Grid::from_points(network.numbers("f_hz")).expect("rising frequencies");
    network.check_all("gain_db", &noise_network(network, &asked));
    network.done();

    // Pink noise has equal power in each band: a band's level is the mean of the gain over it.
    // 600 points a band, each in the middle of its part.
    let points = (0..31 * 600).map(|k| 10f64.powf(1.25 + 0.1 * (f64::from(k) + 0.5) / 600.0));
    let grid = Grid::from_points(points.collect()).expect("rising frequencies");
    let programme = Programme::iec_60268_1();
    let gain = noise_network(network, &grid);
    let power: Vec<f64> = gain.iter().map(|db| 10f64.powf(0.1 * db)).collect();
    let levels: Vec<f64> = programme
        .by_band(&grid, &power)
        .iter()
        .zip(programme.by_band(&grid, &vec![1.0; grid.len()]))
        .map(|((_, sum), (_, count))| 10.0 * (sum / count).log10())
        .collect();
    let bands = rows(ROWS, "band", IEC_LEVELS_DB.len());
    for row in rows(ROWS, "network_check", 1) {
        let relative: Vec<f64> = levels.iter().map(|db| db - levels[15]).collect();
        row.check_all("band_level_re_630hz_db", &relative);
        let off: Vec<f64> = relative.iter().zip(IEC_LEVELS_DB).map(|(a, b)| a - b).collect();
        row.check_all("deviation_from_table_db", &off);
        let worst = (0..off.len()).max_by(|&a, &b| off[a].abs().total_cmp(&off[b].abs()));
        let worst = worst.expect("31 bands");
        row.check("worst_deviation_db", off[worst]);
        row.check("worst_band_hz", bands[worst].number("f_nominal_hz"));
        let tolerance = |k: usize| bands[k].number("standard_tolerance_db");
        let slack = |shift: f64| {
            let margins = off.iter().enumerate().map(|(k, d)| tolerance(k) - (d + shift).abs());
            margins.fold(f64::INFINITY, f64::min)
        };
        let best = crate::search::lowest(0.01, 1.5, |shift| -slack(shift));
        row.check("smallest_margin_when_centred_db", slack(best));
        row.done();
    }
}

#[test]
fn the_crest_factor_is_the_one_of_the_standard() {
    let [noise, sine] = &rows(ROWS, "crest", 2)[..] else { panic!("two rows") };
    let number = |key: &str| noise.expected(key).as_float().expect("a number");
    let allowed = number("peak_to_rms_min")..=number("peak_to_rms_max");
    assert!(allowed.contains(&CREST_FACTOR));
    noise.check("crest_db_at_2", level_db(CREST_FACTOR, 1.0));
    noise.done();
    sine.check("peak_to_rms_min", SQRT_2);
    sine.check("peak_to_rms_max", SQRT_2);
    sine.done();
}

fn amplifier(power_w: f64, into_ohm: f64, supply_v: Option<f64>) -> Amplifier {
    Amplifier {
        power_w,
        into_ohm,
        lowest_load_ohm: into_ohm,
        output_ohm: 0.0,
        supply_v,
        bridged: true,
        cut_below_hz: None,
        hardware: slabtone::design::Hardware::default(),
        built_for: slabtone::design::BuiltFor::Programme,
    }
}

#[test]
fn volts_and_watts_go_together_as_published() {
    for row in rows(ROWS, "power_to_voltage", 4) {
        let (power_w, ohm) = (row.number("power_w"), row.number("load_ohm"));
        let volts = amplifier(power_w, ohm, None).rated_v();
        row.check("v_rms", volts);
        row.check("v_peak", SQRT_2 * volts);
        row.check("i_rms_a", volts / ohm);
        row.check("i_peak_a", SQRT_2 * volts / ohm);
        row.done();
    }
    for row in rows(ROWS, "supply_to_power", 1) {
        let ohm = row.number("load_ohm");
        let limited = amplifier(1.0, ohm, Some(row.number("v_supply_peak")));
        let volts = limited.supply_limit_v().expect("a supply");
        row.check("v_rms", volts);
        row.check("power_w", volts.powi(2) / ohm);
        row.done();
    }
}
