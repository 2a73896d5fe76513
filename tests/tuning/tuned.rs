//! `slabtone tune`: its document, and the design file it writes.

use crate::bench;
use crate::support::{BENCH, Bench, DESK, table};
use serde_json::Value;
use slabtone::circuit::network::{Component, Network};
use slabtone::design::{Design, Topology};

const FEW: [&str; 2] = ["--starts", "1"];

fn tune(bench: &Bench, file: &str, more: &[&str]) -> Value {
    let arguments = [&["tune", file, "--json"], &FEW[..], more].concat();
    let run = bench.run(&arguments);
    // 1 where a bound or limit is missed, which these tests provoke.
    assert!(run.code <= 1, "{}", run.err);
    run.json()
}

/// Every number in a document; there is no `null`, which is what a number that is not finite
/// becomes.
fn numbers(value: &Value, at: &str, found: &mut Vec<(String, f64)>) {
    match value {
        Value::Null => panic!("{at} is null"),
        Value::Number(number) => found.push((at.to_owned(), number.as_f64().unwrap())),
        Value::Array(list) => {
            list.iter().enumerate().for_each(|(k, v)| numbers(v, &format!("{at}[{k}]"), found));
        }
        Value::Object(map) => {
            map.iter().for_each(|(k, v)| numbers(v, &format!("{at}.{k}"), found));
        }
        _ => {}
    }
}

fn network(design: &Design) -> Network {
    match &design.crossover.topology {
        Topology::Listed(network) => network.clone(),
        Topology::Textbook { .. } => panic!("a listed network"),
    }
}

fn with_target(file: &str, target: &str) -> Bench {
    let bench = Bench::new();
    bench.write(file, format!("{}\n[target]\n{target}\n", bench.text(file)));
    bench
}

#[test]
fn the_document_holds_what_was_found() {
    let document = tune(&Bench::new(), BENCH, &["--seed", "5"]);
    let mut found = Vec::new();
    numbers(&document, "", &mut found);
    assert!(found.len() > 1000 && found.iter().all(|(_, v)| v.is_finite()));
    let keys: Vec<&String> = document.as_object().unwrap().keys().collect();
    for key in ["schema_version", "variants", "frequency_hz", "parts", "binding", "seed"] {
        assert!(keys.iter().any(|k| *k == key), "{key} in {keys:?}");
    }
    assert_eq!(document["seed"], 5);
    let cost = |key: &str| document[key].as_f64().unwrap();
    assert!(cost("cost_best") <= cost("cost_before") && cost("cost_best") > 0.0);
    assert!(cost("cost_preferred") > 0.0);
    let labels: Vec<_> =
        document["variants"].as_array().unwrap().iter().map(|v| &v["label"]).collect();
    assert_eq!(labels, ["as it was", "continuous", "preferred"]);
    assert_eq!(document["parts"].as_array().unwrap().len(), 10);
    for part in document["parts"].as_array().unwrap() {
        let value = |key: &str| part[key].as_f64().unwrap();
        assert!(
            value("best") > 0.0
                && value("preferred") > 0.0
                && value("ten_percent_off_rms_db") >= 0.0
        );
        assert_eq!(part["nodes"].as_array().unwrap().len(), 2);
        let kind = part["kind"].as_str().unwrap();
        let reference = part["ref"].as_str().unwrap();
        assert_eq!(
            reference[..1].to_lowercase(),
            if kind == "inductor" { "l" } else { &kind[..1] }
        );
    }
}

/// Preferred values are found from the continuous optimum; where they come out better by more than
/// rounding, that was no optimum.
#[track_caller]
fn preferred_values_do_not_win(bench: &Bench) {
    let document = bench.run(&["tune", BENCH, "--json"]).ends(0).json();
    let cost = |key: &str| document[key].as_f64().unwrap();
    let (best, preferred) = (cost("cost_best"), cost("cost_preferred"));
    assert!(preferred >= best * 0.999, "{best} continuous, {preferred} preferred");
}

#[test]
fn preferred_values_do_not_beat_the_continuous_optimum() {
    preferred_values_do_not_win(&Bench::of_project());
}

#[test]
fn preferred_values_do_not_beat_the_continuous_optimum_on_the_older_bench() {
    preferred_values_do_not_win(&Bench::new());
}

#[test]
fn the_text_names_every_part_and_the_seed() {
    let bench = Bench::new();
    let out = bench.run(&["tune", DESK, "--starts", "1"]).ends(0).out;
    for part in &network(&bench::design(&bench, DESK)).parts {
        assert!(out.contains(&part.reference), "{} in\n{out}", part.reference);
    }
    for word in ["as it was", "continuous", "preferred", "10 % off", "seed 1"] {
        assert!(out.contains(word), "{word} in\n{out}");
    }
    assert!(out.lines().all(|line| line.chars().count() <= 100), "{out}");
}

#[test]
fn the_tuned_design_loads_from_another_folder_with_its_comments_and_names() {
    let bench = Bench::new();
    let document = tune(&bench, DESK, &["--out", "far/away"]);
    let written = bench.text("far/away/tuned.toml");
    let comments = |text: &str| -> Vec<String> {
        let (before, _) = text.split_once("[crossover]").unwrap();
        before.lines().filter(|l| l.trim_start().starts_with('#')).map(str::to_owned).collect()
    };
    assert_eq!(comments(&written), comments(&bench.text(DESK)));
    assert!(!comments(&written).is_empty());
    let (before, after) =
        (bench::design(&bench, DESK), bench::design(&bench, "far/away/tuned.toml"));
    assert_eq!(before.sides[0].drivers.woofer.driver, after.sides[0].drivers.woofer.driver);
    assert_eq!(before.listeners, after.listeners);
    assert_eq!(before.amplifier, after.amplifier);
    assert_eq!((before.parts, before.run), (after.parts, after.run));
    let names = |d: &Design| -> Vec<String> {
        network(d).parts.iter().map(|p| p.reference.clone()).collect()
    };
    assert_eq!(names(&before), names(&after));
    for (part, told) in network(&after).parts.iter().zip(document["parts"].as_array().unwrap()) {
        let value = told["preferred"].as_f64().unwrap();
        assert!((part.component.value() / value - 1.0).abs() < 1e-6, "{}", part.reference);
    }
    let again = bench.run(&["design", "far/away/tuned.toml", "--points", "480", "--json"]);
    assert!(again.code <= 1, "{}", again.err);
    bench.run(&["check", "far/away/tuned.toml"]).ends(0);
    let rows = table(&bench.text("far/away/tune.csv"));
    assert_eq!(rows.len(), 3);
    assert!(bench.text("far/away/tune.svg").contains("<svg"));
    // It says of itself what the search said of it.
    let rms = bench::outcome(&after).rms_db;
    let told = document["variants"][2]["deviation_rms_db"].as_f64().unwrap();
    assert!((rms - told).abs() < 1e-4, "{rms} {told}");
}

#[test]
fn comments_behind_the_crossover_are_kept() {
    let bench = Bench::new();
    bench.change(DESK, "[amplifier]", "# The old amplifier stays.\n[amplifier]");
    tune(&bench, DESK, &["--out", "out"]);
    let written = bench.text("out/tuned.toml");
    assert!(written.contains("# The old amplifier stays."), "{written}");
}

#[test]
fn fixed_parts_keep_their_values_and_the_others_move() {
    let bench = with_target(DESK, "fixed = [\"L1\", \"R2\"]");
    tune(&bench, DESK, &["--out", "out"]);
    let before = network(&bench::design(&bench, DESK));
    let after = network(&bench::design(&bench, "out/tuned.toml"));
    let mut moved = 0;
    for (a, b) in before.parts.iter().zip(&after.parts) {
        if ["L1", "R2"].contains(&a.reference.as_str()) {
            assert_eq!(a.component, b.component, "{}", a.reference);
        } else {
            moved += usize::from(a.component.value() != b.component.value());
        }
    }
    assert!(moved > 2);
}

#[test]
fn bounds_hold_and_are_told_where_they_bind() {
    let target = "resistor_ohm = [2, 9]\ninductor_mh = [0.3, 0.4]\ncapacitor_uf = [5, 11]";
    let bench = with_target(BENCH, target);
    let document = tune(&bench, BENCH, &["--out", "out"]);
    for part in &network(&bench::design(&bench, "out/tuned.toml")).parts {
        let (value, (low, high)) = match part.component {
            Component::Resistor { ohm } => (ohm, (2.0, 9.0)),
            Component::Inductor { henry, .. } => (henry, (0.3e-3, 0.4e-3)),
            Component::Capacitor { farad, .. } => (farad, (5e-6, 11e-6)),
        };
        let inside = value >= low * (1.0 - 1e-9) && value <= high * (1.0 + 1e-9);
        assert!(inside, "{} is {value:e}", part.reference);
    }
    let told = document["binding"].to_string();
    assert!(told.contains("is held at its"), "{told}");
}

/// The bound is the amplifier's: best values just below it would be unfit.
#[test]
fn a_lower_bound_on_the_impedance_is_kept_by_measured_drivers() {
    let document = tune(&bench::measured(), BENCH, &[]);
    let told = document["variants"][1]["lowest_impedance_ohm"].as_f64().unwrap();
    assert!(told >= 3.2, "{told}");
}

#[test]
fn a_lower_bound_on_the_impedance_is_kept() {
    for lowest in [3.4, 5.0] {
        let bench = with_target(BENCH, &format!("lowest_ohm = {lowest}"));
        let document = tune(&bench, BENCH, &[]);
        let told = document["variants"][1]["lowest_impedance_ohm"].as_f64().unwrap();
        assert!(told > 0.98 * lowest, "{told} for {lowest}");
    }
}

/// Real power in against real power in the drivers, over the target's band, from the document alone.
#[test]
fn a_bound_on_the_loss_is_kept_and_lowers_it() {
    let lost = |target: &str| {
        let bench = with_target(BENCH, target);
        let document = tune(&bench, BENCH, &["--out", "out"]);
        let missed = document["missed"].to_string();
        assert!(!missed.contains("lose"), "{missed}");
        let design = bench::design(&bench, "out/tuned.toml");
        let (low, high) = design.target().band_hz;
        bench::loss_percent(&design, low, high)
    };
    let free = lost("ways_weight = 0.3");
    let bound = 0.8 * free;
    let held = lost(&format!("ways_weight = 0.3\nloss_percent = {bound}"));
    // The search averages over fewer points of the same band.
    assert!(held < bound * 1.02, "{held:.2} % of {bound:.2} %, {free:.2} % without a bound");
}

#[test]
fn a_bound_on_the_cost_is_kept_or_told() {
    let bench = Bench::priced();
    bench.write(BENCH, format!("{}\n[target]\ncost = 0.01\n", bench.text(BENCH)));
    let document = tune(&bench, BENCH, &[]);
    let told = document["missed"].to_string();
    assert!(told.contains("cost"), "nothing is said of the bound on cost: {told}");
}

#[test]
fn a_tilt_is_met() {
    let level = |tilt: &str| {
        let bench = with_target(BENCH, tilt);
        let document = tune(&bench, BENCH, &[]);
        let hz = document["frequency_hz"].as_array().unwrap();
        let sum = document["variants"][1]["sum_db"].as_array().unwrap();
        let mean = |low: f64, high: f64| {
            let inside = hz.iter().zip(sum).filter(|(f, _)| {
                let f = f.as_f64().unwrap();
                f >= low && f < high
            });
            let levels: Vec<f64> = inside.map(|(_, l)| l.as_f64().unwrap()).collect();
            levels.iter().sum::<f64>() / levels.len() as f64
        };
        mean(5200.0, 7000.0) - mean(1000.0, 1300.0)
    };
    let (flat, falling) = (level("tilt_db_per_octave = 0"), level("tilt_db_per_octave = -1"));
    assert!((-4.0..-1.0).contains(&(falling - flat)), "{flat} {falling}");
}
