//! The JSON documents: the keys that scripts rely on, and what never appears in them.

use crate::support::{BENCH, Bench, DESK, files_in};
use serde_json::{Map, Value};

fn crossover(slope: &str) -> Value {
    let arguments = [
        "crossover",
        "--slope",
        slope,
        "--at",
        "2000",
        "--woofer",
        "8",
        "--tweeter",
        "4",
        "--json",
    ];
    let run = Bench::empty().run(&arguments).ends(0);
    assert_eq!(run.err, "");
    run.json()
}

fn keys(value: &Value) -> Vec<&str> {
    value.as_object().expect("an object").keys().map(String::as_str).collect()
}

#[test]
fn crossover_lists_both_halves_from_the_amplifier_towards_the_driver() {
    let document = crossover("lr4");
    assert_eq!(document["schema_version"], 1);
    for (half, first) in [("low_pass", "inductor"), ("high_pass", "capacitor")] {
        let parts = document[half].as_array().expect("a list");
        assert_eq!((parts.len(), &parts[0]["kind"]), (4, &Value::from(first)));
        for (k, part) in parts.iter().enumerate() {
            assert_eq!(keys(part), ["kind", "place", "ref", "value"]);
            assert_eq!(part["place"], if k % 2 == 0 { "series" } else { "shunt" });
            assert!(part["value"].as_f64().is_some_and(|v| v > 0.0 && v < 1.0));
        }
    }
}

#[test]
fn crossover_names_every_part_once() {
    let document = crossover("bw4");
    let parts = ["low_pass", "high_pass"].map(|half| document[half].as_array().unwrap().clone());
    let mut names: Vec<Value> = parts.concat().iter().map(|part| part["ref"].clone()).collect();
    let all = names.len();
    names.sort_by_key(Value::to_string);
    names.dedup();
    assert_eq!((all, names.len()), (8, 8));
}

#[test]
fn crossover_tells_the_textbook_polarity_and_sum() {
    let told = [
        ("bw1", "normal", 0.0),
        ("bw2", "inverted", 3.0103),
        ("bw3", "normal", 0.0),
        ("bw4", "normal", 3.0103),
        ("lr2", "inverted", 0.0),
        ("lr4", "normal", 0.0),
    ];
    for (slope, polarity, sum_db) in told {
        let document = crossover(slope);
        assert_eq!(document["tweeter_polarity"], polarity, "{slope}");
        let found = document["sum_at_crossover_db"].as_f64().unwrap();
        assert!((found - sum_db).abs() < 1e-4, "{slope}: {found}");
    }
}

#[test]
fn crossover_of_second_order_has_the_well_known_values() {
    let document = crossover("lr2");
    let value = |half: &str, k: usize| document[half][k]["value"].as_f64().unwrap();
    let omega = 2000.0 * std::f64::consts::TAU;
    let near = |found: f64, expected: f64| (found / expected - 1.0).abs() < 1e-12;
    assert!(near(value("low_pass", 0), 2.0 * 8.0 / omega), "L = 2R/w");
    assert!(near(value("low_pass", 1), 1.0 / (2.0 * omega * 8.0)), "C = 1/(2wR)");
    assert!(near(value("high_pass", 0), 1.0 / (2.0 * omega * 4.0)), "C = 1/(2wR)");
    assert!(near(value("high_pass", 1), 2.0 * 4.0 / omega), "L = 2R/w");
}

#[test]
fn check_is_a_document_too() {
    let bench = Bench::new();
    let document = bench.run(&["check", "--json", "drivers/sorrel.toml", BENCH]).ends(0).json();
    assert_eq!(document["schema_version"], 1);
    let files = document["files"].as_array().unwrap();
    assert_eq!((&files[0]["kind"], &files[1]["kind"]), (&"driver".into(), &"design".into()));
    assert_eq!(files[0]["driver"]["role"], "woofer");
    assert_eq!(files[1]["fit"], true);
    assert!(files[1]["findings"].is_array());
    numbers_are_finite(&document, "");
}

#[test]
fn design_has_the_keys_that_scripts_rely_on() {
    let bench = Bench::of_project();
    for file in files_in("examples") {
        let document = bench.run(&["design", &file, "--json", "--points", "50"]).ends(0).json();
        assert_eq!(document["schema_version"], 1);
        assert!(document["warnings"].is_array() && document["frequency_hz"].is_array());
        for side in document["sides"].as_array().expect("sides") {
            side_has_its_keys(side);
        }
    }
}

fn side_has_its_keys(side: &Value) {
    let has = |value: &Value, wanted: &[&str]| {
        let found = keys(value);
        wanted.iter().for_each(|key| assert!(found.contains(key), "no {key} in {found:?}"));
    };
    has(side, &["name", "listeners", "impedance", "voltage", "cavity", "limits", "parts"]);
    has(&side["impedance"], &["magnitude_ohm", "phase_deg"]);
    has(&side["voltage"]["woofer"], &["re", "im"]);
    has(&side["voltage"]["tweeter"], &["re", "im"]);
    has(&side["cavity"], &["fc_hz", "qtc", "f3_hz", "volume_m3", "modes_hz", "load"]);
    has(&side["cavity"]["load"], &["re", "im"]);
    has(&side["excursion_m"], &["woofer", "tweeter"]);
    let levels = ["name", "sum_db", "sum_phase_deg", "woofer_db", "tweeter_db", "inverted_db"];
    let listeners = side["listeners"].as_array().expect("listeners");
    assert!(!listeners.is_empty());
    listeners.iter().for_each(|listener| has(listener, &levels));
}

#[test]
fn design_holds_no_null_and_arrays_of_one_length_from_20_hz_to_20_khz() {
    let bench = Bench::of_project();
    let all = files_in("examples").into_iter().map(|file| (file, 480, None));
    let few = [(2, Some("2")), (3, Some("3")), (731, Some("731"))];
    let few = few.into_iter().map(|(points, told)| (DESK.to_owned(), points, told));
    for (file, points, told) in all.chain(few) {
        let mut arguments = vec!["design", &file, "--json"];
        arguments.extend(told.iter().flat_map(|n| ["--points", *n]));
        let document = bench.run(&arguments).ends(0).json();
        let hz = document["frequency_hz"].as_array().unwrap();
        assert_eq!(hz.len(), points);
        assert_eq!(hz[0].as_f64(), Some(20.0));
        assert_eq!(hz[points - 1].as_f64(), Some(20_000.0));
        numbers_are_finite(&document, "");
        arrays_have_length(&document, "", points);
    }
}

#[test]
fn levels_stay_at_or_above_the_floor_and_phases_within_half_a_turn() {
    let document = Bench::empty().run(&["demo", "--json"]).ends(0).json();
    for (key, low, high) in [("_db", -200.0, 200.0), ("_phase_deg", -180.0, 180.0)] {
        let mut seen = 0;
        for side in document["sides"].as_array().unwrap() {
            for (name, values) in side["listeners"][0].as_object().unwrap() {
                if name.ends_with(key) {
                    seen += 1;
                    let range = low..=high;
                    let values = values.as_array().unwrap();
                    assert!(values.iter().all(|v| range.contains(&v.as_f64().unwrap())), "{name}");
                }
            }
        }
        assert!(seen > 0, "{key}");
    }
}

#[test]
fn the_document_stays_whole_and_alone_beside_written_files() {
    let bench = Bench::new();
    let run = bench.run(&["design", DESK, "--json", "--out", "out", "--points", "30"]).ends(0);
    numbers_are_finite(&run.json(), "");
    assert_eq!(run.err, "");
    assert!(!bench.listing("out").is_empty());
}

#[test]
fn an_unfit_design_still_gives_its_document() {
    let bench = Bench::new();
    bench.change(BENCH, "lowest_load_ohm = 3.2", "lowest_load_ohm = 8");
    let document = bench.run(&["design", BENCH, "--json", "--points", "60"]).ends(1).json();
    assert_eq!(document["fit"], false);
    let warnings = document["warnings"].as_array().unwrap();
    assert!(warnings.iter().any(|w| w.as_str().unwrap().starts_with("unfit: ")), "{warnings:?}");
}

/// No null, no number that is not finite, no word for one.
pub fn numbers_are_finite(value: &Value, place: &str) {
    match value {
        Value::Null => panic!("null at {place}"),
        Value::Number(n) => assert!(n.as_f64().is_some_and(f64::is_finite), "{n} at {place}"),
        Value::String(text) => {
            let words = text.split(|c: char| !c.is_alphanumeric());
            let bad = |w: &str| ["nan", "inf", "infinity"].contains(&w.to_lowercase().as_str());
            assert!(!words.into_iter().any(bad), "`{text}` at {place}");
        }
        Value::Array(items) => {
            items
                .iter()
                .enumerate()
                .for_each(|(k, v)| numbers_are_finite(v, &format!("{place}[{k}]")));
        }
        Value::Object(map) => each(map, place, numbers_are_finite),
        Value::Bool(_) => {}
    }
}

/// Curves are as long as the frequency axis; standing waves, bands and chosen values are lists of
/// their own.
pub fn arrays_have_length(value: &Value, place: &str, points: usize) {
    match value {
        Value::Array(items) if items.iter().all(Value::is_number) && !items.is_empty() => {
            let own = ["modes_hz", "band_hz", "chosen"].iter().any(|key| place.ends_with(key));
            // The amplifier's check has axes of its own, see `amplifier.rs`.
            let own = own || place.starts_with(".amplifier");
            assert!(own || items.len() == points, "{} values at {place}", items.len());
        }
        Value::Array(items) => items.iter().for_each(|v| arrays_have_length(v, place, points)),
        Value::Object(map) => each(map, place, |v, p| arrays_have_length(v, p, points)),
        _ => {}
    }
}

fn each(map: &Map<String, Value>, place: &str, look: impl Fn(&Value, &str)) {
    map.iter().for_each(|(key, value)| look(value, &format!("{place}.{key}")));
}
