//! `slabtone limits` and `slabtone inspect`: a folder of sweeps with good, bad and broken ones.

use crate::support::{BENCH, Bench, table};
use num_complex::Complex64;
use slabtone::analysis::chance::Chance;
use slabtone::analysis::side::SideModel;
use slabtone::analysis::spread::Spread;
use slabtone::circuit::load::Load;
use slabtone::circuit::network::Network;
use slabtone::circuit::solve::solve;
use slabtone::design::PolarityRule;
use slabtone::grid::Grid;
use slabtone::input::design_file;
use slabtone::input::files::Disk;
use std::fmt::Write;

const SWEEPS: usize = 8;

/// Columns of an impedance with half a percent of noise.
fn columns(grid: &Grid, values: &[Complex64], seed: u64) -> String {
    let chance = Chance::of(seed);
    let mut out = String::from("frequency_hz,magnitude_ohm,phase_deg\n");
    for (k, (hz, z)) in grid.frequency_hz().iter().zip(values).enumerate() {
        let noise = 1.0 + 0.005 * chance.normal(k as u64);
        let _ = writeln!(out, "{hz:.4},{:.5},{:.4}", z.norm() * noise, z.arg().to_degrees());
    }
    out
}

/// A folder `sweeps` with four good units of each side.
fn good() -> (Bench, SideModel, Network) {
    let bench = Bench::of_project();
    let design = design_file::load(&Disk, &bench.at(BENCH)).unwrap();
    let spread = Spread::of(&design).unwrap();
    let grid = Grid::audible(150).unwrap();
    let model = SideModel::new(&design, &design.sides[0], &grid).unwrap();
    let network = spread.networks[0].clone();
    for k in 0..SWEEPS {
        let mut own = network.clone();
        for (n, part) in own.parts.iter_mut().enumerate() {
            let factor = 1.0 + 0.02 * (2.0 * Chance::of(k as u64).uniform(n as u64) - 1.0);
            part.component = part.component.with_value(part.component.value() * factor);
        }
        let z = model.through(&own, PolarityRule::Fixed(spread.polarity[0])).unwrap().impedance;
        let side = if k % 2 == 0 { "left" } else { "right" };
        let file = format!("sweeps/unit-{:03}-{side}.csv", 1 + k / 2);
        bench.write(&file, columns(&grid, z.values(), 100 + k as u64));
    }
    (bench, model, network)
}

const INSPECT: [&str; 7] = ["inspect", BENCH, "sweeps", "--draws", "200", "--out", "out"];

fn open_tweeter(bench: &Bench, model: &SideModel, network: &Network) {
    let grid = model.impedance.woofer.grid();
    let load = Load::diagonal(grid, &[Some(&model.impedance.woofer), None]);
    let z = solve(network, grid, &load).unwrap().input_impedance();
    bench.write("sweeps/unit-002-right.csv", columns(grid, z.values(), 7));
}

#[test]
fn good_units_pass_and_are_paired() {
    let (bench, _, _) = good();
    let run = bench.run(&INSPECT).ends(0);
    assert!(run.out.contains("8 units examined, 8 passed, 0 failed"), "{}", run.out);
    let units = table(&bench.text("out/units.csv"));
    assert_eq!(units.len(), SWEEPS);
    assert_eq!(units[0]["name"], "unit-001-left");
    assert!(units.iter().all(|u| u["passes"] == "yes" && u["verdict"] == "no_fault_seen"));
    assert_eq!(table(&bench.text("out/pairs.csv")).len(), SWEEPS / 2);
    for name in ["inspect.json", "inspect.txt", "inspect-left.svg", "inspect-right.svg"] {
        assert!(bench.at(&format!("out/{name}")).is_file(), "{name}");
    }
}

#[test]
fn a_bad_unit_is_named_with_its_cause() {
    let (bench, model, network) = good();
    open_tweeter(&bench, &model, &network);
    let run = bench.run(&INSPECT).unfit(&["tweeter open", "unit-002-right"]);
    assert!(run.out.contains("8 units examined, 7 passed, 1 failed"), "{}", run.out);
    let json = bench.run(&[&INSPECT[..5], &["--json"]].concat()).ends(1).json();
    assert_eq!(json["failed"], 1);
    let bad = json["units"].as_array().unwrap().iter().find(|u| u["passes"] == false).unwrap();
    assert_eq!(bad["causes"][0]["kind"], "tweeter_open");
    assert_eq!(bad["side"], "right");
}

#[test]
fn broken_files_are_named_by_line_and_take_nothing_with_them() {
    let (bench, model, network) = good();
    open_tweeter(&bench, &model, &network);
    bench.write("sweeps/unit-009-left.csv", "20, 6, 1\n40, 8, x\n80, 9, 3\n");
    bench.write("sweeps/unit-010-left.csv", [0xff, 0xfe, 0x00]);
    bench.write("sweeps/unit-011-left.csv", "20, 6, 1\n40, 8, 2\n80, 9, 3\n");
    let run = bench.run(&INSPECT).ends(2);
    assert!(run.out.contains("8 units examined, 7 passed, 1 failed; 3 files"), "{}", run.out);
    for told in ["unit-009-left.csv:2", "unit-010-left.csv", "unit-011-left"] {
        assert!(run.err.contains(told), "{told}\n{}", run.err);
    }
    assert_eq!(table(&bench.text("out/units.csv")).len(), SWEEPS);
}

#[test]
fn the_number_of_threads_changes_nothing() {
    let (bench, model, network) = good();
    open_tweeter(&bench, &model, &network);
    let with = |threads| {
        let run = bench.run_with(&INSPECT, &[("RAYON_NUM_THREADS", threads)]).ends(1);
        (run.out, bench.text("out/units.csv"), bench.text("out/inspect.json"))
    };
    assert_eq!(with("1"), with("3"));
}

#[test]
fn limits_are_written_and_used_again() {
    let (bench, model, network) = good();
    let limits = ["limits", BENCH, "--draws", "400", "--out", "limits"];
    let run = bench.run(&limits).ends(0);
    for told in ["Before every shift", "Temperature", "outside the tolerance but accepted"] {
        assert!(run.out.contains(told), "{told}\n{}", run.out);
    }
    let rows = table(&bench.text("limits/limits.csv"));
    assert_eq!(rows.len(), 120);
    let number = |k: &str| -> Vec<f64> { rows.iter().map(|r| r[k].parse().unwrap()).collect() };
    let (low, outer) = (number("impedance_low_ohm"), number("impedance_tolerance_low_ohm"));
    assert!(low.iter().zip(&outer).all(|(guarded, tolerance)| guarded > tolerance));
    assert!(bench.text("limits/limits.html").contains("Reference unit"));
    open_tweeter(&bench, &model, &network);
    let again = [&INSPECT[..5], &["--limits", "limits/limits.csv"]].concat();
    bench.run(&again).unfit(&["7 passed"]);
    let json = bench.run(&[&limits[..4], &["--json"]].concat()).ends(0).json();
    let risk = &json["risk"];
    let sum: f64 = ["false_accept", "false_reject", "right_accept", "right_reject"]
        .iter()
        .map(|k| risk[*k].as_f64().unwrap())
        .sum();
    assert!((sum - 1.0).abs() < 1e-12);
}

#[test]
fn what_cannot_be_used_is_refused() {
    let (bench, _, _) = good();
    bench.write("l.csv", "frequency_hz,impedance_low_ohm\n20,3\n");
    bench.run(&[&INSPECT[..5], &["--limits", "l.csv"]].concat()).refused(&["impedance_high_ohm"]);
    bench.run(&["limits", BENCH, "--side", "middle"]).refused(&["no side `middle`"]);
    bench.run(&["limits", BENCH, "--noise-percent", "90"]).refused(&["--noise-percent"]);
    bench.run(&["inspect", BENCH, "nowhere.csv"]).refused(&["nowhere.csv"]);
    bench.write("p/other.csv", "20, 80\n40, 80\n80, 80\n");
    let lonely = [&INSPECT[..5], &["--response", "p/other.csv"]].concat();
    bench.run(&lonely).refused(&["no impedance sweep is named `other`"]);
}

#[test]
fn an_empty_folder_is_named_with_what_belongs_into_it() {
    let bench = Bench::new();
    std::fs::create_dir(bench.at("none")).unwrap();
    bench.run(&["inspect", BENCH, "none"]).refused(&[
        "none: the folder holds no file, expected a sweep of each unit",
        "frequency in Hz, magnitude in ohm",
    ]);
}
