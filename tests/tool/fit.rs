//! `slabtone fit`: sweeps in, parameters, a figure and a driver file out; and what it refuses.

use crate::support::{Bench, Run};
use crate::svg;
use num_complex::Complex64;
use slabtone::grid::Grid;
use slabtone::input::driver_file;
use slabtone::input::files::Embedded;
use slabtone::model::air::Air;
use slabtone::model::closed_box::ClosedBox;
use slabtone::model::driver::{Driver, MassCondition, Size};
use slabtone::model::fill::Fill;
use std::f64::consts::TAU;
use std::fs;
use std::path::Path;

fn bramble() -> Driver {
    driver_file::load(&Embedded, Path::new("drivers/bramble.toml")).unwrap().driver
}

/// Columns of frequency, magnitude and phase of an impedance with a little ripple on it.
fn columns(impedance: impl Fn(f64) -> Complex64) -> String {
    let grid = Grid::log(15.0, 20_000.0, 220).unwrap();
    let mut out = String::from("# measured\nfrequency_hz,impedance_ohm,phase_deg\n");
    for (k, hz) in grid.frequency_hz().iter().enumerate() {
        let z = impedance(TAU * hz) * (1.0 + 0.003 * (k as f64 * 2.4).sin());
        out.push_str(&format!("{hz:.4},{:.6},{:.5}\n", z.norm(), z.arg().to_degrees()));
    }
    out
}

/// A bench with a free-air sweep of the Bramble, one with 3 g on it, one in 2 l.
fn bench() -> Bench {
    let bench = Bench::empty();
    let (driver, air) = (bramble(), Air::default());
    let mut loaded = driver.clone();
    loaded.motor.mms_kg += 3e-3;
    let tight =
        ClosedBox::tight(2e-3, Fill::Empty).behind(&driver.motor, MassCondition::FreeAir, &air);
    let free = columns(|w| driver.respond_at(w, Complex64::default()).0);
    fs::write(bench.at("free.csv"), free).unwrap();
    let text = columns(|w| loaded.respond_at(w, Complex64::default()).0);
    fs::write(bench.at("loaded.csv"), text).unwrap();
    let text = columns(|w| driver.respond_at(w, tight.load(w, &air)).0);
    fs::write(bench.at("boxed.csv"), text).unwrap();
    bench
}

const FREE: [&str; 4] = ["fit", "free.csv", "--sd-cm2", "38"];
const MASS: [&str; 4] = ["--added-mass", "loaded.csv", "--mass-g", "3"];
const BOX: [&str; 4] = ["--box", "boxed.csv", "--volume-l", "2"];
const STATED: [&str; 18] = [
    "--name",
    "Bramble 90",
    "--role",
    "woofer",
    "--xmax-mm",
    "3.2",
    "--power-w",
    "20",
    "--depth-mm",
    "36",
    "--cutout-mm",
    "80",
    "--flange-mm",
    "93",
    "--displaced-cm3",
    "55",
    "--centre-mm",
    "14",
];

fn fit(bench: &Bench, parts: &[&[&str]]) -> Run {
    bench.run(&parts.concat())
}

fn value(document: &serde_json::Value, key: &str) -> f64 {
    let all = document["parameters"].as_array().unwrap();
    let one = all.iter().find(|p| p["key"] == key).unwrap_or_else(|| panic!("no {key}"));
    one["value"].as_f64().unwrap()
}

#[test]
fn a_free_air_sweep_gives_the_resonance_and_says_what_it_cannot_give() {
    let run = fit(&bench(), &[&FREE]).ends(0);
    assert_eq!(run.err, "");
    for word in ["fs", "Qms", "Qes", "Qts", "Le", "±", "residual", "three-frequency", "biases"] {
        assert!(run.out.contains(word), "{word}\n{}", run.out);
    }
    assert!(!run.out.contains("Mms  "), "{}", run.out);
    assert!(run.out.contains("does not weigh the cone"), "{}", run.out);
}

#[test]
fn a_mass_or_a_box_or_both_weigh_the_cone() {
    let bench = bench();
    let truth = bramble().motor;
    for second in [&[&FREE[..], &MASS][..], &[&FREE, &BOX], &[&FREE, &MASS, &BOX]] {
        let run = fit(&bench, &[second, &[&["--json"]]].concat()).ends(0);
        let document = run.json();
        assert_eq!(document["schema_version"], 1);
        assert_eq!(document["coil"], "plain");
        for (key, right) in
            [("mms_kg", truth.mms_kg), ("bl_t_m", truth.bl_t_m), ("fs_hz", truth.fs_hz())]
        {
            let found = value(&document, key);
            assert!((found / right - 1.0).abs() < 0.01, "{key}: {found} for {right}");
        }
        assert_eq!(document["scores"].as_array().unwrap().len(), 3);
    }
}

#[test]
fn the_driver_file_is_ready() {
    let bench = bench();
    let run = fit(&bench, &[&FREE, &MASS, &STATED, &["--out", "out"]]).ends(0);
    assert!(run.out.contains("Written to out: fit.svg, bramble-90.toml"), "{}", run.out);
    let check = bench.run(&["check", "out/bramble-90.toml"]).ends(0);
    assert!(check.out.contains("a sound driver file"), "{}", check.out);
    assert!(!check.out.contains("is stated"), "{}", check.out);
    let text = fs::read_to_string(bench.at("out/bramble-90.toml")).unwrap();
    assert!(text.starts_with("# Identified by slabtone fit from free.csv, loaded.csv"), "{text}");
    let found = driver_file::parse(&Embedded, Path::new("x"), &text).unwrap().driver;
    let truth = bramble();
    assert!((found.motor.mms_kg / truth.motor.mms_kg - 1.0).abs() < 0.01, "{text}");
    // Nobody told where its screws are.
    let size = Size { screws: None, ..truth.size };
    assert_eq!((found.limits, found.size), (truth.limits, size));
    let picture = fs::read_to_string(bench.at("out/fit.svg")).unwrap();
    assert!(!svg::read(&picture).unwrap().is_empty());
    assert!(picture.contains("Model") && picture.contains("Measured in free air"));
}

#[test]
fn every_coil_model_makes_a_sound_file() {
    let bench = bench();
    for coil in ["plain", "power_law", "shunted"] {
        let more = ["--coil", coil, "--out", coil];
        fit(&bench, &[&FREE, &MASS, &STATED, &more]).ends(0);
        bench.run(&["check", &format!("{coil}/bramble-90.toml")]).ends(0);
    }
}

#[test]
fn without_its_data_there_is_no_driver_file_and_a_reason() {
    let bench = bench();
    let run = fit(&bench, &[&FREE, &MASS, &STATED[..4], &["--out", "out"]]).ends(0);
    assert!(run.out.contains("No driver file: state --xmax-mm, --power-w"), "{}", run.out);
    assert_eq!(bench.listing("out").len(), 1, "{:?}", bench.listing("out"));
    let run = fit(&bench, &[&FREE, &STATED, &["--out", "other"]]).ends(0);
    assert!(run.out.contains("does not weigh the cone; give --added-mass"), "{}", run.out);
    let mut wrong = STATED;
    wrong[13] = "70";
    let run = fit(&bench, &[&FREE, &MASS, &wrong, &["--out", "third"]]);
    run.refused(&["smaller than the cut-out"]);
    assert!(!bench.at("third").exists());
}

#[test]
fn the_same_sweeps_give_the_same_bytes() {
    let bench = bench();
    let run = || fit(&bench, &[&FREE, &MASS, &["--json"]]).ends(0).out;
    assert_eq!(run(), run());
}

#[test]
fn a_magnitude_alone_will_do() {
    let bench = bench();
    let text = fs::read_to_string(bench.at("free.csv")).unwrap();
    let cut = |line: &str| line.rsplit_once(',').map_or(line.to_owned(), |(a, _)| a.to_owned());
    let lines: Vec<String> = text.lines().map(cut).collect();
    fs::write(bench.at("free.csv"), lines.join("\n")).unwrap();
    let run = fit(&bench, &[&FREE, &["--json"]]).ends(0);
    assert!((value(&run.json(), "fs_hz") / bramble().motor.fs_hz() - 1.0).abs() < 0.005);
    assert!(run.out.contains("holds no phase"), "{}", run.out);
}

#[test]
fn stated_values_out_of_range_are_refused() {
    let bench = bench();
    for (change, told) in [
        (["--mass-g", "0"], "--mass-g: found 0, expected a number from 0.01 to 500 g"),
        (["--mass-g", "-3"], "--mass-g: found -3, expected"),
        (["--sd-cm2", "0"], "--sd-cm2: found 0, expected"),
        (["--sd-cm2", "1e9"], "expected a number from 0.5 to 2000 cm2"),
        (["--sd-cm2", "NaN"], "--sd-cm2: found NaN, expected"),
    ] {
        let mut arguments = [FREE, MASS].concat();
        let at = arguments.iter().position(|a| *a == change[0]).unwrap() + 1;
        arguments[at] = change[1];
        bench.run(&arguments).refused(&[told]);
    }
    let boxed = ["--box", "boxed.csv", "--volume-l", "0"];
    fit(&bench, &[&FREE, &boxed]).refused(&["--volume-l: found 0, expected"]);
    fit(&bench, &[&FREE, &["--re-ohm", "-1"]]).refused(&["--re-ohm: found -1, expected"]);
    // Also where no driver file is asked for.
    fit(&bench, &[&FREE, &["--xmax-mm", "nan"]]).refused(&["--xmax-mm: found NaN, expected"]);
    fit(&bench, &[&FREE, &["--power-w", "0"]]).refused(&["--power-w: found 0, expected"]);
    fit(&bench, &[&FREE, &MASS[..2]]).refused(&["--mass-g"]);
    fit(&bench, &[&FREE[..2]]).refused(&["--sd-cm2"]);
}

#[test]
fn sweeps_that_are_none_are_refused() {
    let bench = bench();
    let good = fs::read_to_string(bench.at("free.csv")).unwrap();
    let spoilt = |text: String, told: &str| {
        fs::write(bench.at("free.csv"), text).unwrap();
        fit(&bench, &[&FREE]).refused(&[told]);
    };
    let lines: Vec<&str> = good.lines().collect();
    spoilt(lines[..2].join("\n"), "free.csv");
    spoilt(lines[..3].join("\n"), "found 1 row of numbers, expected at least 2");
    spoilt(lines[..9].join("\n"), "the free-air sweep has 7 points; at least 16 are needed");
    spoilt(lines[..40].join("\n"), "shows no resonance");
    spoilt(good.replacen("\n15.0000,", "\n15.0000,-", 1), "an impedance above 0 ohm");
    let flat = (0..40).map(|k| format!("{} 8 0\n", 20 * (k + 1))).collect();
    spoilt(flat, "shows no resonance");
    fs::write(bench.at("free.csv"), &good).unwrap();
    let high: Vec<&str> = lines[150..].to_vec();
    fs::write(bench.at("loaded.csv"), high.join("\n")).unwrap();
    fs::write(bench.at("free.csv"), lines[..140].join("\n")).unwrap();
    fit(&bench, &[&FREE, &MASS]).refused(&["have no frequency in common"]);
}

#[test]
fn exchanged_sweeps_and_light_masses_are_refused() {
    let bench = bench();
    let exchanged = ["fit", "loaded.csv", "--sd-cm2", "38", "--added-mass", "free.csv"];
    fit(&bench, &[&exchanged, &["--mass-g", "3"]]).refused(&["are the two sweeps exchanged?"]);
    let same = ["--added-mass", "free.csv", "--mass-g", "3"];
    fit(&bench, &[&FREE, &same]).refused(&["does not lower the resonance"]);
    let boxed = ["--box", "loaded.csv", "--volume-l", "2"];
    fit(&bench, &[&FREE, &boxed]).refused(&["does not raise the resonance"]);
}
