//! `slabtone explore`: designs that none beats, cost-down, and Ctrl-C.

use crate::bench;
use crate::support::{BENCH, Bench, DESK, Run};
use serde_json::Value;
use slabtone::analysis::explore::merit::Merit;
use slabtone::design::Topology;
use std::collections::BTreeSet;

fn written(bench: &Bench, folder: &str) -> Vec<String> {
    let listing = bench.listing(folder);
    let names = listing.iter().map(|(path, _)| path.file_name().unwrap().to_string_lossy());
    names.filter(|n| n.ends_with(".toml")).map(|n| format!("{folder}/{n}")).collect()
}

fn list<'v>(document: &'v Value, key: &str) -> &'v Vec<Value> {
    document[key].as_array().unwrap()
}

#[test]
fn what_is_saved_loads_and_none_beats_another() {
    let bench = Bench::new();
    let run = bench.run(&["explore", BENCH, "--starts", "1", "--json", "--out", "found/here"]);
    let document = run.ends(0).json();
    assert_eq!(document["interrupted"], false);
    assert_designs(&bench, &document, "found/here");
    assert!(bench.text("found/here/explore.csv").lines().count() > 1);
    assert!(bench.text("found/here/explore.svg").contains("<svg"));
}

fn assert_designs(bench: &Bench, document: &Value, folder: &str) {
    let variants = list(document, "variants");
    let files = written(bench, folder);
    assert!(!files.is_empty() && files.len() == variants.len());
    let mut merits = Vec::new();
    for (k, (file, variant)) in files.iter().zip(variants).enumerate() {
        bench.run(&["check", file]).ends(0);
        let design = bench::design(bench, file);
        assert!(matches!(design.crossover.topology, Topology::Listed(_)));
        let outcome = bench::outcome(&design);
        assert!(!outcome.study.is_unfit(), "{file} is unfit");
        let told = variant["deviation_rms_db"].as_f64().unwrap();
        assert!((outcome.rms_db - told).abs() < 1e-4, "{file}: {} {told}", outcome.rms_db);
        assert_eq!(variant["crossover_hz"].as_f64().unwrap(), design.crossover.at_hz);
        let told = |key: &str| list(document, key)[k].as_f64().unwrap();
        merits.push(Merit {
            rms_db: told("band_rms_db"),
            minus_lowest_ohm: -outcome.lowest_ohm,
            // The bench of these tests has no prices.
            price: outcome.parts as f64,
            heat_db: told("tweeter_heat_db"),
            spread_db: told("band_spread_db"),
        });
    }
    for (i, a) in merits.iter().enumerate() {
        for (j, b) in merits.iter().enumerate() {
            assert!(i == j || !a.beats(b), "{} beats {}", files[i], files[j]);
        }
    }
    let prices: Vec<f64> = merits.iter().map(|m| m.price).collect();
    assert!(prices.is_sorted(), "{prices:?}");
}

#[test]
fn cost_down_takes_parts_out_once_each_and_keeps_both_drivers_fed() {
    let bench = Bench::new();
    let arguments = ["explore", DESK, "--cost-down", "--starts", "1", "--json", "--out", "less"];
    let document = bench.run(&arguments).ends(0).json();
    let savings = list(&document, "savings");
    let Topology::Listed(network) = bench::design(&bench, DESK).crossover.topology else {
        panic!("a listed network")
    };
    let word = |s: &Value, key: &str| s[key].as_str().unwrap().to_owned();
    assert_eq!(word(&savings[0], "ref"), "", "the design as it is comes first");
    let told: BTreeSet<String> =
        savings.iter().map(|s| format!("{} {}", word(s, "ref"), word(s, "how"))).collect();
    assert_eq!(told.len(), savings.len(), "{told:?}");
    // The Zobel goes as a whole; a capacitor in the way is never bridged.
    assert!(told.contains("R1 C2 left out"), "{told:?}");
    assert!(!told.contains("C3 bridged by a wire"), "{told:?}");
    let files = written(&bench, "less");
    assert_eq!(files.len(), savings.len(), "{files:?}");
    for saving in savings {
        for key in ["deviation_rms_db", "lowest_impedance_ohm", "tweeter_heat_re_bw1_db"] {
            assert!(saving[key].as_f64().is_some_and(f64::is_finite), "{key} in {saving}");
        }
        assert!(saving["tweeter_heat_re_bw1_db"].as_f64().unwrap() > -150.0, "{saving}");
        let gone = word(saving, "ref").split_whitespace().count();
        let count = saving["part_count"].as_u64().unwrap() as usize;
        assert_eq!(count, network.parts.len() - gone, "{saving}");
    }
    for file in &files {
        bench.run(&["check", file]).ends(0);
    }
}

#[test]
fn cost_down_leaves_fixed_parts_as_they_are() {
    let bench = Bench::new();
    bench.write(DESK, format!("{}\n[target]\nfixed = [\"L1\", \"R2\"]\n", bench.text(DESK)));
    let arguments = ["explore", DESK, "--cost-down", "--starts", "1", "--json", "--out", "less"];
    let document = bench.run(&arguments).ends(0).json();
    let held = |file: &str| -> Vec<f64> {
        let Topology::Listed(network) = bench::design(&bench, file).crossover.topology else {
            panic!("a listed network")
        };
        let of = |name: &str| network.parts.iter().find(|p| p.reference == name).unwrap().component;
        vec![of("L1").value(), of("R2").value()]
    };
    let files = written(&bench, "less");
    assert!(files.len() > 3 && list(&document, "savings").len() == files.len());
    for file in &files {
        assert_eq!(held(file), held(DESK), "{file}");
    }
}

#[test]
fn a_part_named_like_a_path_is_saved_inside_the_folder() {
    let bench = Bench::new();
    bench.change(DESK, "ref = \"L1\"", "ref = \"../L/1\"");
    let arguments = ["explore", DESK, "--cost-down", "--starts", "1", "--json", "--out", "a/less"];
    let document = bench.run(&arguments).ends(0).json();
    assert_eq!(written(&bench, "a/less").len(), list(&document, "savings").len());
    // The folder itself, and nothing beside it.
    assert_eq!(bench.listing("a").len(), bench.listing("a/less").len() + 1);
}

#[test]
fn a_bound_on_the_cost_needs_every_price() {
    let bench = Bench::new();
    bench.write(DESK, format!("{}\n[target]\ncost = 20\n", bench.text(DESK)));
    let told = ["`target.cost`", "not every part has a price", "resistor_price"];
    bench.run(&["explore", DESK]).refused(&told);
}

#[test]
fn a_folder_that_takes_no_file_is_told_before_the_search() {
    let bench = Bench::new();
    bench.write("taken", "a file");
    for command in ["tune", "explore"] {
        // So many starts would take hours.
        let starts = if command == "tune" { "10000" } else { "1000" };
        let run = bench.run(&[command, BENCH, "--starts", starts, "--out", "taken/here"]).ends(3);
        assert!(run.err.contains("cannot write `taken`: not a directory"), "{}", run.err);
    }
    assert_eq!(bench.text("taken"), "a file");
}

#[test]
fn designs_of_an_earlier_run_are_kept_and_told() {
    let bench = Bench::new();
    bench.write("less/without-X9.toml", "kept");
    let arguments = ["explore", DESK, "--cost-down", "--starts", "1", "--out", "less"];
    let run = bench.run(&arguments).ends(0);
    assert!(run.err.contains("1 designs in `less` are older than this run"), "{}", run.err);
    assert_eq!(bench.text("less/without-X9.toml"), "kept");
}

/// Ctrl-C half way: what is found so far is printed and saved, exit 130.
#[cfg(unix)]
#[test]
fn an_interrupt_keeps_what_is_found() {
    let bench = Bench::new();
    let arguments = ["explore", BENCH, "--starts", "1", "--json", "--out", "some"];
    let run = interrupted(&bench, &arguments, 4);
    let run = run.ends(130);
    assert_eq!(run.json()["interrupted"], true);
    assert_designs(&bench, &run.json(), "some");
}

#[cfg(unix)]
#[test]
fn an_interrupted_tune_prints_its_best_so_far() {
    let bench = Bench::new();
    let arguments = ["tune", BENCH, "--starts", "10000", "--json", "--out", "some"];
    let run = interrupted(&bench, &arguments, 2).ends(130);
    let document = run.json();
    let cost = |key: &str| document[key].as_f64().unwrap();
    assert!(cost("cost_best") <= cost("cost_before"));
    assert_eq!(document["interrupted"], true);
    bench.run(&["check", "some/tuned.toml"]).ends(0);
}

/// Runs the program and interrupts it after some seconds.
#[cfg(unix)]
fn interrupted(bench: &Bench, arguments: &[&str], seconds: u64) -> Run {
    use std::process::{Command, Stdio};
    let child = Command::new(env!("CARGO_BIN_EXE_slabtone"))
        .args(arguments)
        .current_dir(bench.at(""))
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    std::thread::sleep(std::time::Duration::from_secs(seconds));
    let id = child.id().to_string();
    let sent = Command::new("kill").args(["-INT", &id]).status().unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(sent.success(), "it ended before it was interrupted: {:?}", output.status);
    let text = |bytes| String::from_utf8(bytes).unwrap();
    Run {
        code: output.status.code().expect("no signal ends it"),
        out: text(output.stdout),
        err: text(output.stderr),
    }
}
