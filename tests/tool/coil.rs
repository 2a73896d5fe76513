//! `coil`, coils in a design, ratings, the stock's limits: good runs and bad input.

use crate::support::{BENCH, Bench, DESK};
use serde_json::Value;

const COIL: [&str; 7] = ["coil", "--mh", "0.47", "--wire-mm", "0.8", "--height-mm", "12"];

fn number(value: &Value, path: &str) -> f64 {
    value.pointer(path).and_then(Value::as_f64).unwrap_or_else(|| panic!("no {path} in {value}"))
}

/// A stock file of this body and a design that takes it.
fn with_stock(body: &str, rules: &str) -> Bench {
    let bench = Bench::new();
    bench.write(
        "examples/own.toml",
        format!("slabtone = 1\nkind = \"stock\"\nname = \"Own\"\n{body}"),
    );
    bench.change(
        BENCH,
        "series = \"E24\"",
        &format!("series = \"E24\"\nstock = \"own.toml\"\n{rules}"),
    );
    bench
}

#[test]
fn a_coil_is_told_in_text_and_document_alike() {
    let bench = Bench::new();
    let document =
        bench.run(&[&COIL[..], &["--beside-mm", "60", "--json"]].concat()).ends(0).json();
    let (turns, dcr) = (number(&document, "/coil/turns"), number(&document, "/coil/dcr_ohm"));
    assert!((number(&document, "/coil/inductance_h") / 0.47e-3 - 1.0).abs() < 0.01);
    assert!(number(&document, "/coil/height_m") <= 12e-3);
    assert!(number(&document, "/near/0/factor") < 0.0);
    let out = bench.run(&[&COIL[..], &["--beside-mm", "60"]].concat()).ends(0).out;
    assert!(out.contains(&format!("{turns} turns of 0.800 mm wire")), "{out}");
    assert!(out.contains(&format!("DCR {dcr:.3}")), "{out}");
}

#[test]
fn a_coil_without_sense_is_refused_with_its_argument() {
    let bench = Bench::new();
    for (from, to, what) in [
        ("0.47", "0", "--mh"),
        ("0.47", "-1", "--mh"),
        ("0.47", "nan", "--mh"),
        ("0.8", "1e9", "--wire-mm"),
        ("12", "0.5", "no turn of"),
        ("12", "inf", "--height-mm"),
    ] {
        let arguments = COIL.map(|word| if word == from { to } else { word });
        let run = bench.run(&arguments);
        assert_eq!(run.code, 2, "{arguments:?}");
        assert!(run.err.contains(what), "{what}: {}", run.err);
    }
    bench.run(&[&COIL[..], &["--above-mm", "3"]].concat()).refused(&["--above-mm", "same room"]);
    bench.run(&["coil", "--mh", "1", "--height-mm", "9"]).refused(&["--wire-mm"]);
}

#[test]
fn a_coil_that_is_wound_brings_its_resistance_and_recipe() {
    let bench = Bench::new();
    let text = bench.text(BENCH)
        + "\n[[coil]]\nref = \"L1\"\nwire_mm = 0.8\nheight_mm = 12\nat_mm = [0, 0, 0]\n\n[[coil]]\nref = \"L3\"\nwire_awg = 22\nheight_mm = 12\nat_mm = [45, 0, 0]\n";
    bench.write(BENCH, text);
    let list = bench.run(&["parts", BENCH, "--json"]).ends(0).json();
    let line = list["lines"].as_array().unwrap().iter().find(|l| l["ref"] == "L1").unwrap();
    let dcr = number(line, "/to_wind/dcr_ohm");
    assert!(line.get("price_each").is_none(), "a bought coil's price is not a wound one's");
    let design = bench.run(&["design", BENCH, "--json"]).ends(0).json();
    let parts = design["sides"][0]["parts"].as_array().unwrap();
    let part = parts.iter().find(|p| p["ref"] == "L1").unwrap();
    assert_eq!(number(part, "/dcr_ohm"), dcr);
    let ratings = &design["sides"][0]["ratings"];
    let factor = number(ratings, "/coupled_coils/0/factor");
    assert!(factor < -0.005 && factor > -0.1, "{factor}");
    assert!(number(ratings, "/coupling_changes/0/most_db").abs() > 0.01);
    let taken: f64 = ["output_w", "parts_w", "drivers_w"]
        .iter()
        .map(|k| number(ratings, &format!("/power/{k}")))
        .sum();
    assert!((taken / number(ratings, "/power/source_w") - 1.0).abs() < 1e-9);
    let out = bench.run(&["parts", BENCH]).ends(0).out;
    assert!(out.contains("To wind for L1:"), "{out}");
}

#[test]
fn coil_tables_without_sense_are_told_with_their_line() {
    for (table, told) in [
        ("ref = \"L9\"\nwire_mm = 0.8\nheight_mm = 12", "no coil of the network is called `L9`"),
        ("ref = \"L1\"\nheight_mm = 12", "neither wound nor bought"),
        ("ref = \"L1\"\nwire_mm = 0.8\nwire_awg = 20\nheight_mm = 12", "told twice"),
        ("ref = \"L1\"\ninner_mm = 20\nouter_mm = 10\nheight_mm = 12", "not above inner_mm"),
        (
            "ref = \"L1\"\nwire_mm = 0.8\nheight_mm = 12\naxis = \"x\"",
            "a direction without a place",
        ),
        ("ref = \"L1\"\nwire_mm = 0.8\nheight_mm = 0", "`coil[1].height_mm`"),
    ] {
        let bench = Bench::new();
        bench.write(DESK, bench.text(DESK) + "\n[[coil]]\n" + table + "\n");
        bench.run(&["parts", DESK]).refused(&[told, &format!("--> {DESK}:")]);
    }
}

#[test]
fn a_coil_that_cannot_be_wound_makes_the_design_unfit() {
    let bench = Bench::new();
    let text = bench.text(BENCH)
        + "\n[[coil]]\nref = \"L1\"\nwire_mm = 2\nheight_mm = 1\n\n[[coil]]\nref = \"L77\"\nwire_mm = 1\nheight_mm = 9\n";
    bench.write(BENCH, text);
    let run = bench.run(&["design", BENCH]).ends(1);
    assert!(
        run.out.contains("no turn of 2.00 mm wire") && run.out.contains("names no coil"),
        "{}",
        run.out
    );
}

const L: &str = "[[inductor]]\ncode = \"A\"\nfamily = \"air\"\nvalue_mh = 0.5\ndcr_ohm = 0.2\n";

#[test]
fn a_stock_that_contradicts_itself_is_told_with_file_line_and_caret() {
    let priced = |price: &str| format!("currency = \"EUR\"\n{L}price = {price}\n");
    for (body, told) in [
        (format!("{L}{L}"), "used by another part"),
        (priced("[[100, 0.5], [1, 0.8]]"), "the steps do not rise"),
        (priced("[[1, 0.5], [1, 0.4]]"), "the steps do not rise"),
        (priced("[[1, 0.5], [100, 0.8]]"), "the price breaks cross: 100 cost 0.8 each, 1 only 0.5"),
        (format!("{}currency = \"USD\"\n", priced("0.5")), "priced in USD, the stock in EUR"),
        (L.replace("value_mh", "value"), "value_mh"),
        (L.replace("= 0.5", "= \"0.5 mH\""), "the unit is part of the key"),
        (format!("{L}price = 0.5\n"), "a price without a currency"),
    ] {
        let run = with_stock(&body, "").run(&["parts", BENCH]);
        run.refused(&[told, "own.toml:", "^"]);
    }
}

#[test]
fn a_height_that_nothing_meets_is_told_and_no_part_is_invented() {
    let run =
        with_stock(&format!("{L}height_mm = 14\n"), "max_height_mm = 6").run(&["parts", BENCH]);
    run.refused(&["no inductor that may be used is 6 mm high or less", "the lowest is 14", BENCH]);
    // Without capacitors on the shelf each is told, the list whole.
    let bench = with_stock(L, "");
    let run = bench.run(&["design", BENCH]).ends(0);
    assert!(run.out.contains("has no capacitor that may be used"), "{}", run.out);
    let list = bench.run(&["parts", BENCH, "--json"]).ends(0).json();
    let lines = list["lines"].as_array().unwrap();
    assert!(lines.iter().filter(|l| l["kind"] == "capacitor").all(|l| l.get("code").is_none()));
    assert!(lines.iter().any(|l| l["ref"] == "C1"));
}

#[test]
fn the_generic_table_needs_no_file_and_every_part_of_it_stands_what_it_bears() {
    let bench = Bench::new();
    bench.change(BENCH, "series = \"E24\"", "stock = \"generic\"\nmax_height_mm = 24");
    let list = bench.run(&["parts", BENCH, "--json"]).ends(0).json();
    for line in list["lines"].as_array().unwrap().iter().filter(|l| l["ref"] != "") {
        assert!(line["code"].is_string(), "{line}");
        assert!(number(line, "/height_m") <= 0.024 && number(line, "/tolerance_percent") > 0.0);
        match line["kind"].as_str().unwrap() {
            "capacitor" => assert!(
                number(line, "/stands/voltage_v") >= 1.5 * number(line, "/needs/voltage_peak_v")
            ),
            "resistor" => {
                assert!(number(line, "/stands/power_w") >= number(line, "/needs/rated_power_w"))
            }
            _ => assert!(number(line, "/stands/current_a") >= number(line, "/needs/current_rms_a")),
        }
    }
}

#[test]
fn built_for_a_sine_asks_for_more_and_a_weak_stock_is_told() {
    let bench = Bench::new();
    let peak = |bench: &Bench| {
        let design = bench.run(&["design", BENCH, "--json"]).ends(0).json();
        number(&design, "/sides/0/ratings/parts/0/needs/current_rms_a")
    };
    let noise = peak(&bench);
    bench.change(BENCH, "bridged = true", "bridged = true\nbuilt_for = \"sine\"");
    assert!(peak(&bench) > noise);
    bench.change(BENCH, "built_for = \"sine\"", "built_for = \"speech\"");
    bench.run(&["parts", BENCH]).refused(&["`amplifier.built_for`", "programme", "sine"]);
    let bench = with_stock(&format!("{L}current_a = 0.1\n"), "");
    let run = bench.run(&["design", BENCH]).ends(1);
    assert!(run.out.contains("A stands 0.100 A, it carries"), "{}", run.out);
}

#[test]
fn the_list_comes_as_csv_workbook_markdown_and_document() {
    let bench = Bench::priced();
    bench.run(&["parts", BENCH, "--out", "list"]).ends(0);
    let listed = bench.listing("list");
    let names: Vec<String> = listed.iter().map(|(path, _)| path.display().to_string()).collect();
    let names = names.join(" ");
    for name in ["parts.csv", "orders.csv", "parts.md", "parts.json"] {
        assert!(names.contains(name), "{names}");
    }
    assert_eq!(bench.text("list/parts.md"), bench.run(&["parts", BENCH, "--markdown"]).ends(0).out);
    assert_eq!(bench.text("list/parts.json"), bench.run(&["parts", BENCH, "--json"]).ends(0).out);
    assert!(bench.text("list/orders.csv").lines().all(|l| !l.is_empty()));
    #[cfg(feature = "xlsx")]
    assert!(names.contains("parts.xlsx"), "{names}");
}
