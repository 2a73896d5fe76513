//! `compare`: slopes, frequencies, drivers and whole files over each other.

use crate::documents::{arrays_have_length, numbers_are_finite};
use crate::support::{BED, BENCH, Bench, DESK, table};
use crate::svg;
use serde_json::Value;

const SLOPES: [&str; 6] = ["bw1", "bw2", "bw3", "bw4", "lr2", "lr4"];

/// Keys of every variant.
const KEYS: [&str; 16] = [
    "label",
    "fit",
    "tweeter_polarity",
    "crossover_hz",
    "deviation_rms_db",
    "deviation_peak_db",
    "cancel_db",
    "lowest_impedance_ohm",
    "lowest_impedance_hz",
    "tweeter_travel_re_bw1_db",
    "tweeter_heat_re_bw1_db",
    "delay_bump_s",
    "seat_spread_db",
    "part_count",
    "sum_db",
    "impedance_ohm",
];

fn document(bench: &Bench, arguments: &[&str]) -> Value {
    let all = [&["compare"], arguments, &["--json"]].concat();
    let run = bench.run(&all).ends(0);
    assert_eq!(run.err, "");
    run.json()
}

fn labels(document: &Value) -> Vec<&str> {
    let variants = document["variants"].as_array().expect("variants");
    variants.iter().map(|v| v["label"].as_str().expect("a label")).collect()
}

/// The first word of every row of the printed table, polarity mark aside.
fn told(out: &str) -> Vec<&str> {
    let rows = out.lines().skip(1).take_while(|line| !line.trim().is_empty());
    rows.filter_map(|line| line.split_whitespace().next())
        .map(|w| w.trim_end_matches('*'))
        .collect()
}

#[test]
fn the_six_slopes_are_compared_in_their_order_unless_others_are_asked_for() {
    let bench = Bench::new();
    let run = bench.run(&["compare", BENCH, "--points", "60"]).ends(0);
    assert_eq!(run.err, "");
    assert_eq!(told(&run.out), SLOPES, "{}", run.out);
    assert_eq!(labels(&document(&bench, &[BENCH, "--points", "60"])), SLOPES);
    let some = ["--slopes", "LR4,bw3", "--points", "60"];
    assert_eq!(labels(&document(&bench, &[&[BENCH][..], &some].concat())), ["lr4", "bw3"]);
}

#[test]
fn the_document_has_its_keys_finite_numbers_and_arrays_as_long_as_the_axis() {
    let bench = Bench::of_project();
    for file in [BENCH, BED, DESK] {
        let document = document(&bench, &[file, "--points", "37"]);
        assert_eq!(document["schema_version"], 1);
        let hz = document["frequency_hz"].as_array().unwrap();
        assert_eq!((hz[0].as_f64(), hz[36].as_f64()), (Some(20.0), Some(20_000.0)));
        numbers_are_finite(&document, "");
        arrays_have_length(&document, "", 37);
        for variant in document["variants"].as_array().unwrap() {
            for key in KEYS {
                assert!(variant.get(key).is_some(), "no {key} in {file}: {variant}");
            }
            assert_eq!(variant["sum_db"].as_array().unwrap().len(), 37);
            assert_eq!(variant["impedance_ohm"].as_array().unwrap().len(), 37);
        }
    }
}

#[test]
fn first_order_is_what_travel_and_heat_are_told_against() {
    for file in [BENCH, BED, DESK] {
        let document = document(&Bench::of_project(), &[file]);
        for variant in document["variants"].as_array().unwrap() {
            let of = |key: &str| variant[key].as_f64().unwrap();
            let both = [of("tweeter_travel_re_bw1_db"), of("tweeter_heat_re_bw1_db")];
            if variant["label"] == "bw1" {
                assert_eq!(both, [0.0, 0.0], "{file}");
            } else {
                assert!(both.iter().all(|db| *db < -3.0), "{file}: {variant}");
            }
        }
    }
}

#[test]
fn a_variant_tells_what_design_tells_of_the_same_file() {
    let bench = Bench::new();
    let compared = document(&bench, &[BENCH, "--slopes", "lr4", "--points", "50"]);
    let variant = &compared["variants"][0];
    let design = bench.run(&["design", BENCH, "--json", "--points", "50"]).ends(0).json();
    let side = &design["sides"][0];
    assert_eq!(compared["frequency_hz"], design["frequency_hz"]);
    assert_eq!(variant["sum_db"], side["listeners"][0]["sum_db"]);
    assert_eq!(variant["impedance_ohm"], side["impedance"]["magnitude_ohm"]);
    assert_eq!(variant["lowest_impedance_ohm"], side["limits"]["lowest_impedance_ohm"]);
    assert_eq!(variant["tweeter_polarity"], side["tweeter_polarity"]);
    assert_eq!(variant["cancel_db"], side["seats"][0]["cancel_db"]);
    assert_eq!(variant["delay_bump_s"], side["seats"][0]["delay_bump_s"]);
    assert_eq!(variant["part_count"], side["parts"].as_array().unwrap().len());
}

#[test]
fn the_table_as_csv_says_the_same_as_the_document() {
    let bench = Bench::priced();
    let rows = table(&bench.run(&["compare", BENCH, "--csv"]).ends(0).out);
    let document = document(&bench, &[BENCH]);
    let variants = document["variants"].as_array().unwrap();
    assert_eq!((rows.len(), variants.len()), (6, 6));
    for (row, variant) in rows.iter().zip(variants) {
        assert_eq!(row["schema_version"], "1");
        assert_eq!(variant["label"], row["variant"].as_str());
        assert_eq!(row["fit"], variant["fit"].to_string());
        assert_eq!(variant["tweeter_polarity"], row["tweeter_polarity"].as_str());
        assert_eq!(row["currency"], "EUR");
        for (column, key, scale) in [
            ("crossover_hz", "crossover_hz", 1.0),
            ("deviation_rms_db", "deviation_rms_db", 1.0),
            ("deviation_peak_db", "deviation_peak_db", 1.0),
            ("cancel_db", "cancel_db", 1.0),
            ("lowest_impedance_ohm", "lowest_impedance_ohm", 1.0),
            ("lowest_impedance_hz", "lowest_impedance_hz", 1.0),
            ("tweeter_travel_re_bw1_db", "tweeter_travel_re_bw1_db", 1.0),
            ("tweeter_heat_re_bw1_db", "tweeter_heat_re_bw1_db", 1.0),
            ("delay_bump_ms", "delay_bump_s", 1e3),
            ("seat_spread_db", "seat_spread_db", 1.0),
            ("part_count", "part_count", 1.0),
            ("cost_per_panel", "cost_per_panel", 1.0),
        ] {
            let (cell, value) = (&row[column], variant[key].as_f64().unwrap() * scale);
            let read: f64 = cell.parse().unwrap_or_else(|_| panic!("{column}: {cell}"));
            assert!((read - value).abs() <= 0.00501, "{column}: {cell} and {value}");
        }
    }
}

#[test]
fn a_cost_needs_every_price_of_the_crossovers_parts() {
    let bench = Bench::priced();
    let cost = |bench: &Bench, slope: &str| {
        let document = document(bench, &[BENCH, "--slopes", slope, "--points", "20"]);
        document["variants"][0].get("cost_per_panel").and_then(Value::as_f64)
    };
    // Two sides of one coil and one capacitor, and a pad of two resistors.
    let expected = 2.0 * (1.45 + 0.85 + 2.0 * 0.18);
    assert!(cost(&bench, "bw1").is_some_and(|c| (c - expected).abs() < 1e-9));
    bench.change(BENCH, "capacitor_price = 0.85\n", "");
    assert_eq!(cost(&bench, "bw1"), None);
    let rows = table(&bench.run(&["compare", BENCH, "--csv", "--points", "20"]).ends(0).out);
    assert_eq!(rows.len(), 6);
    assert!(rows.iter().all(|row| row["cost_per_panel"].is_empty() && row["currency"].is_empty()));
    let run = bench.run(&["compare", BENCH, "--points", "20"]).ends(0);
    assert!(!run.out.contains("cost"), "{}", run.out);
}

#[test]
fn crossover_frequencies_are_compared_with_at() {
    let document = document(&Bench::new(), &[BENCH, "--at", "1800,2600,3500.5", "--points", "40"]);
    assert_eq!(labels(&document), ["1800 Hz", "2600 Hz", "3500.5 Hz"]);
    let at = |k: usize| document["variants"][k]["crossover_hz"].as_f64().unwrap();
    assert_eq!([at(0), at(1), at(2)], [1800.0, 2600.0, 3500.5]);
    let travel = |k: usize| document["variants"][k]["tweeter_travel_re_bw1_db"].as_f64().unwrap();
    assert!(travel(0) > travel(1) && travel(1) > travel(2), "higher is easier on the tweeter");
}

#[test]
fn drivers_are_compared_with_woofer_and_tweeter() {
    let bench = Bench::new();
    let tweeters = "drivers/fennel.toml,drivers/tansy.toml,drivers/yarrow.toml";
    let of = |arguments: &[&str]| {
        let document = document(&bench, &[&[BENCH, "--points", "40"], arguments].concat());
        labels(&document).into_iter().map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(of(&["--tweeter", tweeters]), ["Fennel 25", "Tansy 28", "Yarrow 19"]);
    let woofers = "drivers/clover.toml,drivers/bramble.toml";
    assert_eq!(of(&["--woofer", woofers]), ["Clover 65", "Bramble 90"]);
}

#[test]
fn the_design_with_its_own_driver_is_the_design() {
    let bench = Bench::new();
    let own = document(&bench, &[BENCH, "--woofer", "drivers/bramble.toml", "--points", "40"]);
    let slope = document(&bench, &[BENCH, "--slopes", "lr4", "--points", "40"]);
    let without_label = |mut document: Value| {
        document["variants"][0].as_object_mut().unwrap().remove("label");
        document
    };
    assert_eq!(without_label(own), without_label(slope));
}

#[test]
fn whole_files_are_compared_at_the_same_seats() {
    let bench = Bench::new();
    let other = bench.text(BENCH).replace("at_hz = 2600", "at_hz = 3100");
    bench.write("examples/higher.toml", other);
    let run = document(&bench, &[BENCH, "examples/higher.toml", "--points", "40"]);
    assert_eq!(labels(&run), ["reading-bench", "higher"]);
    let at = |k: usize| run["variants"][k]["crossover_hz"].as_f64();
    assert_eq!([at(0), at(1)], [Some(2600.0), Some(3100.0)]);
    // Files of one name keep their folders in it.
    bench.write("drivers/reading-bench.toml", bench.text(BENCH));
    let same = document(&bench, &[BENCH, "drivers/reading-bench.toml", "--points", "40"]);
    assert_eq!(labels(&same), [BENCH, "drivers/reading-bench.toml"]);
}

#[test]
fn the_picture_says_nothing_of_polarities_that_the_files_fix() {
    let bench = Bench::new();
    let polarity = |document: &Value, k: usize| {
        document["variants"][k]["tweeter_polarity"].as_str().unwrap().to_owned()
    };
    let best = polarity(&document(&bench, &[BENCH, "--slopes", "lr4"]), 0);
    let other = if best == "normal" { "inverted" } else { "normal" };
    let fixed = bench.text(BENCH).replace("\"best\"", &format!("\"{other}\""));
    bench.write("examples/fixed.toml", fixed);
    let both = document(&bench, &[BENCH, "examples/fixed.toml", "--out", "out"]);
    let kept = polarity(&both, 1) == other;
    let says = bench.text("out/compare.svg").contains("each in the polarity that adds up better");
    assert!(!(kept && says), "the second file is drawn {other}, {best} adds up better");
}

#[test]
fn two_drivers_of_one_name_have_labels_of_their_own() {
    let bench = Bench::new();
    bench.write("drivers/other.toml", bench.text("drivers/bramble.toml"));
    let woofers = "drivers/bramble.toml,drivers/other.toml";
    let document = document(&bench, &[BENCH, "--woofer", woofers, "--points", "20"]);
    let labels = labels(&document);
    assert_ne!(labels[0], labels[1]);
}

#[test]
fn a_printed_cost_has_its_currency() {
    let bench = Bench::priced();
    let run = bench.run(&["compare", BENCH, "--points", "20"]).ends(0);
    assert!(run.out.contains("cost") && run.out.contains("EUR"), "{}", run.out);
}

#[test]
fn out_writes_the_picture_and_the_table() {
    let bench = Bench::new();
    let run = bench.run(&["compare", BENCH, "--out", "new/out"]).ends(0);
    assert_eq!(told(&run.out), SLOPES);
    let csv = bench.run(&["compare", BENCH, "--csv"]).ends(0).out;
    assert_eq!(bench.text("new/out/compare.csv"), csv);
    let picture = bench.text("new/out/compare.svg");
    let elements = svg::read(&picture).unwrap_or_else(|e| panic!("{e}"));
    assert!(elements[0].name == "svg" && elements[0].attribute("viewBox").is_some());
    for slope in SLOPES {
        assert!(elements.iter().any(|e| e.text == slope), "{slope} is not in the legend");
    }
    let curves = elements.iter().filter(|e| e.name == "polyline").count();
    assert!(curves >= 12, "six levels and six impedances, found {curves}");
    assert_eq!(bench.listing("new/out").len(), 2);
}

#[test]
fn a_table_that_is_named_after_a_file_with_signs_of_csv_stays_a_table() {
    let bench = Bench::new();
    let strange = "examples/a \"quoted\", one.toml";
    bench.write(strange, bench.text(BENCH));
    let run = bench.run(&["compare", BENCH, strange, "--csv", "--out", "out"]).ends(0);
    let rows = table(&run.out);
    assert_eq!(rows[1]["variant"], "a \"quoted\", one");
    assert_eq!(rows.len(), 2);
    svg::read(&bench.text("out/compare.svg")).unwrap_or_else(|e| panic!("{e}"));
}

#[test]
fn an_unfit_variant_is_marked_and_the_comparison_still_done() {
    let bench = Bench::new();
    bench.change(BENCH, "lowest_load_ohm = 3.2", "lowest_load_ohm = 8");
    let run = bench.run(&["compare", BENCH, "--points", "40"]).ends(0);
    assert_eq!(run.out.matches("(unfit)").count(), 6, "{}", run.out);
    let rows = table(&bench.run(&["compare", BENCH, "--csv"]).ends(0).out);
    assert_eq!(rows.len(), 6);
    assert!(rows.iter().all(|row| row["fit"] == "false"));
}
