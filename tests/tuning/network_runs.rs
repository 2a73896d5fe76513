//! Networks that no slope gives, as design files: against ngspice (`../published/netlists-explicit`,
//! where a README says how its results were made), and through every command that takes them.

#[path = "../published/spice.rs"]
#[allow(dead_code, reason = "shared with the published checks, which use all of it")]
mod spice;

use crate::bench;
use crate::support::{BENCH, Bench};
use num_complex::Complex64;
use slabtone::circuit::load::Load;
use slabtone::circuit::network::Network;
use slabtone::circuit::solve::solve;
use slabtone::design::{Design, Topology};
use slabtone::grid::{Grid, Impedance, Spectrum};
use spice::{Deck, Element};
use std::fmt::Write;
use std::sync::Arc;

struct Case {
    name: &'static str,
    netlist: &'static str,
    results: &'static str,
    /// Terminals of woofer and tweeter.
    ports: [[&'static str; 2]; 2],
}

macro_rules! case {
    ($name:literal, $woofer:expr, $tweeter:expr) => {
        Case {
            name: $name,
            netlist: include_str!(concat!("../published/netlists-explicit/", $name, ".cir")),
            results: include_str!(concat!("../published/netlists-explicit/", $name, ".csv")),
            ports: [$woofer, $tweeter],
        }
    };
}

const CASES: [Case; 3] = [
    case!("series_two_way", ["in", "mid"], ["mid", "0"]),
    case!("parallel_trap", ["w", "0"], ["t", "0"]),
    case!("shelf_and_attenuator", ["w", "0"], ["t", "0"]),
];

fn of_driver(element: &Element) -> bool {
    ["rw_", "lw_", "cw_", "rt_", "lt_", "ct_"].iter().any(|start| element.name.starts_with(start))
}

fn node(name: &str) -> &str {
    match name {
        "in" => "amp+",
        "0" => "amp-",
        other => other,
    }
}

/// The `[crossover]` of a netlist: the drivers' lines become ports, a coil or capacitor and its loss
/// one part.
fn crossover(case: &Case) -> String {
    let deck = Deck::read(case.netlist);
    let mut text = String::from("[crossover]\nat_hz = 2600\ntweeter_polarity = \"normal\"\n");
    for part in deck.elements.iter().filter(|e| !of_driver(e) && !e.name.starts_with("r_")) {
        let loss = deck.elements.iter().find(|e| e.name == format!("r_{}", part.name));
        let far = loss.map_or(&part.nodes[1], |l| &l.nodes[1]);
        let (key, factor, loss_key) = match &part.name[..1] {
            "r" => ("resistance_ohm", 1.0, ""),
            "l" => ("inductance_mh", 1e3, "dcr_ohm"),
            _ => ("capacitance_uf", 1e6, "esr_ohm"),
        };
        let value = part.value * factor;
        let _ = write!(text, "\n[[crossover.part]]\nref = \"{}\"\n{key} = {value:.9}\n", part.name);
        if let Some(loss) = loss {
            let _ = writeln!(text, "{loss_key} = {}", loss.value);
        }
        let _ = writeln!(text, "between = [\"{}\", \"{}\"]", node(&part.nodes[0]), node(far));
    }
    text.push_str("\n[crossover.ports]\n");
    for (name, ends) in ["woofer", "tweeter"].iter().zip(case.ports) {
        let _ = writeln!(text, "{name} = [\"{}\", \"{}\"]", node(ends[0]), node(ends[1]));
    }
    text
}

/// The reading bench with this `[crossover]`.
fn with(crossover: &str) -> Bench {
    let bench = Bench::new();
    let text = bench.text(BENCH);
    let (before, rest) = text.split_once("[crossover]").unwrap();
    let (_, after) = rest.split_once("[amplifier]").unwrap();
    bench.write(BENCH, format!("{before}{crossover}\n[amplifier]{after}"));
    bench
}

fn network(design: &Design) -> Network {
    match &design.crossover.topology {
        Topology::Listed(network) => network.clone(),
        Topology::Textbook { .. } => panic!("a listed network"),
    }
}

/// A driver's equivalent circuit: Re, Le, and Res, Lces and Cmes in parallel.
fn driver(deck: &Deck, letter: char, grid: &Arc<Grid>) -> Impedance {
    let v = |form: &str| deck.value(&form.replace('?', &letter.to_string()));
    let (re, le) = (v("r?_re"), v("l?_le"));
    let (res, ces, les) = (v("r?_es"), v("c?_es"), v("l?_es"));
    Spectrum::from_fn(grid, |w| {
        let j = Complex64::new(0.0, w);
        re + j * le + 1.0 / (1.0 / res + j * ces + 1.0 / (j * les))
    })
}

#[test]
fn as_design_files_they_give_what_ngspice_gives() {
    for case in &CASES {
        let design = bench::design(&with(&crossover(case)), BENCH);
        let rows: Vec<Vec<f64>> = case
            .results
            .lines()
            .skip(1)
            .map(|line| line.split(',').map(|v| v.parse().unwrap()).collect())
            .collect();
        assert_eq!(rows.len(), 61, "{}", case.name);
        let grid = Grid::from_points(rows.iter().map(|r| r[0]).collect()).unwrap();
        let deck = Deck::read(case.netlist);
        let z = ['w', 't'].map(|letter| driver(&deck, letter, &grid));
        let network = network(&design);
        let load = Load::diagonal(&grid, &[Some(&z[0]), Some(&z[1])]);
        let solved = solve(&network, &grid, &load).unwrap();
        let volts = [0, 1].map(|port| solved.between(network.ports[port].nodes));
        let input = solved.input_impedance();
        for (k, row) in rows.iter().enumerate() {
            let got = [volts[0].values()[k], volts[1].values()[k], 1.0 / input.values()[k]]
                .map(|v| v * 2.83);
            for (at, got) in got.into_iter().enumerate() {
                let ratio = got / Complex64::new(row[1 + 2 * at], row[2 + 2 * at]);
                let (db, deg) = (20.0 * ratio.norm().log10(), ratio.arg().to_degrees());
                let place = format!("{} at {} Hz, value {at}", case.name, row[0]);
                assert!(db.abs() < 0.001 && deg.abs() < 0.01, "{place}: {db} dB, {deg} degrees");
            }
        }
    }
}

#[test]
fn every_command_takes_them() {
    for case in &CASES {
        let bench = with(&crossover(case));
        let studied = bench.run(&["design", BENCH, "--points", "60", "--json", "--out", "out"]);
        assert!(studied.code <= 1, "{}: {}{}", case.name, studied.out, studied.err);
        assert!(bench.at("out/report.html").is_file());
        let listed = bench.run(&["parts", BENCH, "--csv"]).ends(0).out;
        for part in &network(&bench::design(&bench, BENCH)).parts {
            assert!(
                listed.contains(&part.reference),
                "{}: {} in {listed}",
                case.name,
                part.reference
            );
        }
        let tuned =
            bench.run(&["tune", BENCH, "--starts", "1", "--json", "--out", "tuned"]).ends(0);
        let cost = |key: &str| tuned.json()[key].as_f64().unwrap();
        assert!(cost("cost_best") <= cost("cost_before"), "{}", case.name);
        bench.run(&["check", "tuned/tuned.toml"]).ends(0);
    }
}

const SOUND: &str = "[crossover]\nat_hz = 2600\n
[[crossover.part]]\nref = \"L1\"\ninductance_mh = 0.5\nbetween = [\"amp+\", \"w\"]\n
[[crossover.part]]\nref = \"C1\"\ncapacitance_uf = 8.2\nbetween = [\"amp+\", \"t\"]\n
[crossover.ports]\nwoofer = [\"w\", \"amp-\"]\ntweeter = [\"t\", \"amp-\"]\n";

#[test]
fn floating_nodes_and_unconnected_parts_are_named() {
    with(SOUND).run(&["check", BENCH]).ends(0);
    let part = |reference: &str, ends: [&str; 2]| {
        format!(
            "[[crossover.part]]\nref = \"{reference}\"\nresistance_ohm = 5\nbetween = [\"{}\", \"{}\"]\n\n",
            ends[0], ends[1]
        )
    };
    for (more, sentence) in [
        (part("R9", ["w", "nowhere"]), "node `nowhere` has one connection only: R9 ends there"),
        (
            part("R8", ["isle", "reef"]) + &part("R9", ["reef", "isle"]),
            "node `isle` floats: no path of parts leads from it to `amp+` or `amp-`",
        ),
        (part("R9", ["w", "w"]), "R9 has both ends on node `w`"),
    ] {
        let text = SOUND.replace("[crossover.ports]", &format!("{more}[crossover.ports]"));
        for command in ["check", "design", "parts", "tune", "explore"] {
            with(&text).run(&[command, BENCH]).refused(&[sentence, "examples/reading-bench.toml:"]);
        }
    }
    // A driver both of whose ends lead to the return only: it is silent.
    let silent = SOUND.replace("between = [\"amp+\", \"w\"]", "between = [\"amp-\", \"w\"]");
    let told = "no current can flow through the woofer: no path of parts leads from `amp+`";
    for command in ["check", "design", "tune", "explore"] {
        with(&silent).run(&[command, BENCH]).refused(&[told, "examples/reading-bench.toml:"]);
    }
    let none = "[crossover]\nat_hz = 2600\n\n[crossover.ports]\nwoofer = [\"w\", \"amp-\"]\ntweeter = [\"t\", \"amp-\"]\n";
    let run = with(none).run(&["check", BENCH]).refused(&["the crossover has no parts"]);
    assert!(!run.err.contains("slope ="), "{}", run.err);
    // A value out of range does not make its neighbour an unknown key.
    let zero = SOUND.replace("inductance_mh = 0.5", "inductance_mh = 0\ndcr_ohm = 0.3");
    let run = with(&zero).run(&["check", BENCH]).refused(&["inductance_mh`: found 0"]);
    assert!(!run.err.contains("unknown key"), "{}", run.err);
    // A driver that nothing feeds.
    let loose = SOUND.replace("tweeter = [\"t\", \"amp-\"]", "tweeter = [\"t\", \"loose\"]");
    with(&loose).run(&["check", BENCH]).refused(&["node `loose` has one connection only: tweeter"]);
}

/// Two ideal coils side by side from the amplifier's hot end to its return are sound; a capacitor
/// and a coil that resonate without any loss inside the grid still give finite numbers.
#[test]
fn a_trap_without_loss_gives_finite_numbers() {
    let trap = "[[crossover.part]]\nref = \"L9\"\ninductance_mh = 0.3\nbetween = [\"w\", \"x\"]\n
[[crossover.part]]\nref = \"C9\"\ncapacitance_uf = 10\nbetween = [\"x\", \"amp-\"]\n\n[crossover.ports]";
    let bench = with(&SOUND.replace("[crossover.ports]", trap));
    let run = bench.run(&["design", BENCH, "--json"]);
    assert!(run.code <= 1 && !run.out.contains("NaN") && !run.out.contains("null"), "{}", run.err);
    let run = bench.run(&["tune", BENCH, "--starts", "1", "--json"]);
    assert!(run.code <= 1 && !run.out.contains("NaN"), "{}", run.err);
}
