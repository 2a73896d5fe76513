//! Complete two-way networks against the results of ngspice-39 (see `netlists/README.md`).
//!
//! Each netlist is solved twice at every frequency of its results: once with the drivers'
//! equivalent circuits as ordinary parts, and once with those lines taken out and each driver
//! entering as a port of the load, computed from its electro-mechanics. Compared are the complex
//! voltage at both drivers and the complex current out of the source.
//!
//! Tolerance: frequencies and values are stored with 10 (first set) or 11 significant digits. Half
//! a unit of the tenth digit is up to 5e-10 of the frequency, which the steepest slope here (fourth
//! order) multiplies by four, and 5e-10 of the value: the complex error may be 3e-9 of the value.
//! That is 3e-8 dB and 2e-7 degrees, far inside the 0.001 dB and 0.01 degrees that are asked for.
//! Small values are held to it as well, since they are stored with the same number of digits; the
//! smallest, 1.2e-8 V at a tweeter at 20 Hz, leaves no room for an absolute bound above 1e-17 V,
//! which is what stands beside the relative one.

use crate::drivers;
use crate::spice::Deck;
use num_complex::Complex64;
use slabtone::circuit::load::Load;
use slabtone::circuit::network::{Network, Node};
use slabtone::circuit::solve::{Solution, solve};
use slabtone::grid::Grid;
use slabtone::model::coil::VoiceCoil;
use slabtone::model::driver::{Driver, Motor};
use std::sync::Arc;

/// Allowed complex error as a share of the stored value.
const RELATIVE: f64 = 3e-9;
/// Allowed complex error beside it, V or A.
const ABSOLUTE: f64 = 1e-17;
/// What was asked for, and must hold whatever the finer bound.
const LEVEL_DB: f64 = 0.001;
const PHASE_DEG: f64 = 0.01;

/// Lines of the drivers' equivalent circuits in the first set: Re, Le, Res, Lces, Cmes.
const WOOFER_N: &[&str] = &["Rwe", "Lwe", "Rwes", "Lwces", "Cwmes"];
const TWEETER_N: &[&str] = &["Rte", "Lte", "Rtes", "Ltces", "Ctmes"];
/// The same in the second set; a lossy coil has two lines more.
const WOOFER: &[&str] = &["Rw_re", "Lw_le", "Rw_es", "Lw_es", "Cw_es"];
const WOOFER_LOSSY: &[&str] = &["Rw_re", "Lw_le", "Rw_es", "Lw_es", "Cw_es", "Lw_le2", "Rw_le2"];
const TWEETER: &[&str] = &["Rt_re", "Lt_le", "Rt_es", "Lt_es", "Ct_es"];

/// A netlist and what was made of it.
pub struct Case {
    pub name: &'static str,
    pub netlist: &'static str,
    results: &'static str,
    /// Positive and negative terminal.
    pub woofer: [&'static str; 2],
    pub tweeter: [&'static str; 2],
    woofer_lines: &'static [&'static str],
    tweeter_lines: &'static [&'static str],
}

/// A case from the name of its two files.
macro_rules! case {
    ($name:literal, $woofer:expr, $tweeter:expr, $woofer_lines:expr, $tweeter_lines:expr) => {
        Case {
            name: $name,
            netlist: include_str!(concat!("netlists/", $name, ".cir")),
            results: include_str!(concat!("netlists/", $name, ".csv")),
            woofer: $woofer,
            tweeter: $tweeter,
            woofer_lines: $woofer_lines,
            tweeter_lines: $tweeter_lines,
        }
    };
}

/// All netlists. In the first four the drivers are `woofer_A` and `tweeter_A` of
/// `data/driver_impedance.toml`.
pub const CASES: [Case; 7] = [
    case!("n1_lr2_zobel_lpad", ["w", "0"], ["t", "0"], WOOFER_N, TWEETER_N),
    case!("n2_lr4_notch", ["w", "0"], ["t", "0"], WOOFER_N, TWEETER_N),
    case!("n3_bw3", ["w", "0"], ["t", "0"], WOOFER_N, TWEETER_N),
    case!("n4_bw3_coupled_coils", ["w", "0"], ["t", "0"], WOOFER_N, TWEETER_N),
    case!("lr2_zobel_lpad", ["wp", "0"], ["0", "tn"], WOOFER, TWEETER),
    case!("lr4_notch", ["wp", "0"], ["tp", "0"], WOOFER, TWEETER),
    case!("bw3_lossy", ["wp", "0"], ["tp", "0"], WOOFER_LOSSY, TWEETER),
];

/// Results at one frequency: voltage at the woofer and the tweeter, V, and current out of the
/// source, A.
pub struct Point {
    pub frequency_hz: f64,
    pub values: [Complex64; 3],
}

impl Point {
    /// From the numbers of a line: frequency, then three pairs.
    pub fn from_numbers(q: &[f64]) -> Self {
        assert_eq!(q.len(), 7, "a frequency and three complex values");
        let pair = |k: usize| Complex64::new(q[k], q[k + 1]);
        Self { frequency_hz: q[0], values: [pair(1), pair(3), pair(5)] }
    }
}

fn stored_points(case: &Case) -> Vec<Point> {
    let number = |word: &str| word.parse::<f64>().expect("a number");
    let point = |line: &str| Point::from_numbers(&line.split(',').map(number).collect::<Vec<_>>());
    let points: Vec<Point> = case.results.lines().skip(1).map(point).collect();
    assert_eq!(points.len(), 60, "{}: frequencies", case.name);
    points
}

#[test]
fn equivalent_circuits_as_parts_give_the_stored_results() {
    for case in &CASES {
        compare_as_parts(case, &stored_points(case), RELATIVE);
    }
}

#[test]
fn drivers_as_ports_give_the_stored_results() {
    for case in &CASES {
        compare_as_ports(case, &stored_points(case));
    }
}

/// Solves the netlist as it stands and compares with `points`, to a share `relative` of each value.
pub fn compare_as_parts(case: &Case, points: &[Point], relative: f64) {
    let deck = Deck::read(case.netlist);
    let mut network = deck.network();
    let grid = grid_of(points);
    let ends = [nodes(&mut network, case.woofer), nodes(&mut network, case.tweeter)];
    let solved = solve(&network, &grid, &Load::diagonal(&grid, &[])).expect("a solution");
    let got = results(&solved, ends, deck.source_v);
    compare(case, points, &got, relative);
}

fn compare_as_ports(case: &Case, points: &[Point]) {
    let mut deck = Deck::read(case.netlist);
    let first_set = case.name.starts_with('n');
    let [woofer, tweeter] = if first_set {
        ["woofer_A", "tweeter_A"].map(drivers::named)
    } else {
        [case.woofer_lines, case.tweeter_lines].map(|lines| driver_from(&deck, lines))
    };
    deck.remove(case.woofer_lines);
    deck.remove(case.tweeter_lines);
    let mut network = deck.network();
    let ends = [nodes(&mut network, case.woofer), nodes(&mut network, case.tweeter)];
    network.add_port("woofer", ends[0]);
    network.add_port("tweeter", ends[1]);
    let grid = grid_of(points);
    let impedance = [woofer, tweeter].map(|d| d.respond(&grid, None).impedance);
    let load = Load::diagonal(&grid, &[Some(&impedance[0]), Some(&impedance[1])]);
    let solved = solve(&network, &grid, &load).expect("a solution");
    compare(case, points, &results(&solved, ends, deck.source_v), RELATIVE);
}

/// Electro-mechanics behind an equivalent circuit, with 1 T·m chosen: Rms = Bl²/Res,
/// Mms = Cmes Bl², Cms = Lces/Bl².
fn driver_from(deck: &Deck, lines: &[&str]) -> Driver {
    let value: Vec<f64> = lines.iter().map(|name| deck.value(name)).collect();
    let motor = Motor {
        re_ohm: value[0],
        bl_t_m: 1.0,
        mms_kg: value[4],
        cms_m_per_n: value[3],
        rms_kg_per_s: 1.0 / value[2],
        sd_m2: 0.01,
    };
    let coil = match value[5..] {
        [l2_h, r2_ohm] => VoiceCoil::Shunted { le_h: value[1], l2_h, r2_ohm },
        _ => VoiceCoil::Plain { le_h: value[1] },
    };
    drivers::driver("from a netlist", motor, coil)
}

fn grid_of(points: &[Point]) -> Arc<Grid> {
    let frequencies = points.iter().map(|p| p.frequency_hz).collect();
    Grid::from_points(frequencies).expect("rising frequencies")
}

fn nodes(network: &mut Network, names: [&str; 2]) -> [Node; 2] {
    names.map(|name| network.node(name))
}

/// The solver's voltages at both drivers, V, and source current, A, at each frequency.
fn results(solved: &Solution, ends: [[Node; 2]; 2], source_v: f64) -> Vec<[Complex64; 3]> {
    let [woofer, tweeter] = ends.map(|pair| solved.between(pair));
    let impedance = solved.input_impedance();
    let voltages = woofer.values().iter().zip(tweeter.values());
    let at = |((w, t), z): ((&Complex64, &Complex64), &Complex64)| {
        [w * source_v, t * source_v, source_v / z]
    };
    voltages.zip(impedance.values()).map(at).collect()
}

fn compare(case: &Case, points: &[Point], got: &[[Complex64; 3]], relative: f64) {
    const WHAT: [&str; 3] = ["voltage at the woofer", "voltage at the tweeter", "source current"];
    for (point, got) in points.iter().zip(got) {
        for ((&got, want), what) in got.iter().zip(point.values).zip(WHAT) {
            let place = format!("{}, {what} at {} Hz", case.name, point.frequency_hz);
            let error = (got - want).norm();
            let allowed = relative * want.norm() + ABSOLUTE;
            assert!(error <= allowed, "{place}: {got}, expected {want}, off by {error:e}");
            let (level_db, phase_deg) = apart(got, want);
            assert!(level_db <= LEVEL_DB && phase_deg <= PHASE_DEG, "{place}: {got}, {want}");
        }
    }
}

/// How far two complex values are from each other in level, dB, and phase, degrees.
fn apart(a: Complex64, b: Complex64) -> (f64, f64) {
    let ratio = a / b;
    ((20.0 * ratio.norm().log10()).abs(), ratio.arg().to_degrees().abs())
}
