//! `parts`: what is bought, how many, and what it costs.

use crate::documents::numbers_are_finite;
use crate::support::{BENCH, Bench, DESK, table};
use serde_json::Value;
use slabtone::circuit::preferred::{Rule, Series};

pub fn document(bench: &Bench, arguments: &[&str]) -> Value {
    let run = bench.run(&[&["parts"], arguments, &["--json"]].concat()).ends(0);
    assert_eq!(run.err, "");
    run.json()
}

pub fn lines(document: &Value) -> &[Value] {
    document["lines"].as_array().expect("lines")
}

pub fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap_or_else(|| panic!("no {key} in {value}"))
}

pub fn text<'v>(value: &'v Value, key: &str) -> &'v str {
    value[key].as_str().unwrap_or_else(|| panic!("no {key} in {value}"))
}

/// The printed rows as cells; empty ones are not there.
fn rows(out: &str) -> Vec<Vec<String>> {
    let body = out.lines().skip(1).take_while(|line| !line.trim().is_empty());
    let cells = |line: &str| {
        let parts = line.split("  ").map(str::trim).filter(|cell| !cell.is_empty());
        parts.map(str::to_owned).collect()
    };
    body.map(cells).collect()
}

#[test]
fn text_table_and_document_say_the_same() {
    all_say_the_same(&["1", "7", "300", "33333"]);
}

#[test]
fn text_table_and_document_say_the_same_of_the_largest_runs() {
    all_say_the_same(&["999983", "1000000"]);
}

fn all_say_the_same(runs: &[&str]) {
    for &units in runs {
        let bench = Bench::priced();
        let printed = rows(&bench.run(&["parts", BENCH, "--units", units]).ends(0).out);
        let csv = table(&bench.run(&["parts", BENCH, "--units", units, "--csv"]).ends(0).out);
        let document = document(&bench, &[BENCH, "--units", units]);
        numbers_are_finite(&document, "");
        assert_eq!(document["units"].to_string(), units);
        assert_eq!((csv.len(), printed.len()), (lines(&document).len(), csv.len()));
        for ((line, row), cells) in lines(&document).iter().zip(&csv).zip(printed) {
            row_is_line(row, line);
            cells_are_row(&cells, row);
        }
    }
}

fn row_is_line(row: &std::collections::BTreeMap<String, String>, line: &Value) {
    assert_eq!((row["schema_version"].as_str(), row["currency"].as_str()), ("1", "EUR"));
    assert_eq!(row["ref"], text(line, "ref"));
    assert_eq!(row["item"], text(line, "kind"));
    assert_eq!(row["counted_in"], text(line, "counted_in"));
    for (column, key) in
        [("per_panel", "per_panel"), ("for_run", "for_run"), ("price_each", "price_each")]
    {
        assert_eq!(row[column].parse::<f64>().unwrap(), number(line, key), "{column}");
    }
    let price = number(line, "price_each") * number(line, "per_panel");
    assert_eq!(row["price_per_panel"], format!("{price:.2}"));
    if row["ref"].is_empty() {
        assert!(row["exact"].is_empty() && row["chosen"].is_empty() && row["chosen_si"].is_empty());
        return;
    }
    assert_eq!(row["chosen_si"].parse::<f64>().unwrap(), number(line, "chosen"));
    for (column, key) in [("chosen", "chosen"), ("exact", "exact")] {
        let (value, unit) = row[column].split_once(' ').expect("a value and its unit");
        let scale = match unit {
            "mH" => 1e-3,
            "µH" | "µF" => 1e-6,
            "nF" => 1e-9,
            "Ω" => 1.0,
            other => panic!("{other}"),
        };
        let read = value.parse::<f64>().unwrap() * scale;
        assert!((read / number(line, key) - 1.0).abs() < 5e-4, "{column}: {row:?}");
    }
    let error: f64 = row["error_percent"].parse().unwrap();
    assert!((error - number(line, "error_percent")).abs() < 0.0051);
    let expected = 100.0 * (number(line, "chosen") / number(line, "exact") - 1.0);
    assert!((number(line, "error_percent") - expected).abs() < 1e-9, "{line}");
}

/// Amounts are printed as the table has them, with their unit where they are no pieces.
fn cells_are_row(cells: &[String], row: &std::collections::BTreeMap<String, String>) {
    let counted = |column: &str| match row["counted_in"].as_str() {
        "piece" => row[column].clone(),
        unit => format!("{} {unit}", row[column]),
    };
    let price: f64 = row["price_each"].parse().unwrap();
    let mut expected = vec![counted("per_panel"), counted("for_run"), format!("{price:.2}")];
    expected.push(row["item"].clone());
    let (own, rest) = cells.split_at(cells.len() - 4);
    assert_eq!(rest, expected);
    if !row["ref"].is_empty() {
        assert_eq!(own[..3], [&*row["ref"], &*row["exact"], &*row["chosen"]]);
        let shown: f64 = own[3].trim_end_matches(" %").parse().unwrap();
        assert!((shown - row["error_percent"].parse::<f64>().unwrap()).abs() < 0.0551, "{cells:?}");
    }
}

#[test]
fn quantities_are_units_times_pieces_with_spares_rounded_up() {
    let bench = Bench::priced();
    let good = bench.text(BENCH);
    for (spares, thousandths) in [("0", 0u64), ("3", 30), ("7", 70), ("12.5", 125), ("100", 1000)] {
        let own = format!("spares_percent = {spares}");
        bench.write(BENCH, good.replace("spares_percent = 3", &own));
        for units in [1u64, 2, 29, 100, 300, 999, 1_000_000] {
            let document = document(&bench, &[BENCH, "--units", &units.to_string()]);
            assert_eq!(number(&document, "spares_percent"), spares.parse::<f64>().unwrap());
            for line in lines(&document) {
                let per_panel = number(line, "per_panel");
                if text(line, "counted_in") == "piece" {
                    let all = per_panel as u64 * units * (1000 + thousandths);
                    assert_eq!(number(line, "for_run"), all.div_ceil(1000) as f64, "{line}");
                } else {
                    let all = per_panel * units as f64 * (1.0 + thousandths as f64 / 1000.0);
                    assert!((number(line, "for_run") / all - 1.0).abs() < 1e-12, "{line}");
                }
            }
        }
    }
}

#[test]
fn the_number_of_units_is_the_designs_unless_another_is_asked_for() {
    let bench = Bench::new();
    assert_eq!(document(&bench, &[BENCH])["units"], 300);
    assert_eq!(document(&bench, &[DESK])["units"], 25);
    assert_eq!(document(&bench, &[BENCH, "--units", "12"])["units"], 12);
    let run = bench.run(&["parts", BENCH]).ends(0);
    assert!(run.out.contains("for 300") && run.out.contains("for 300 panels with 3 % spares"));
}

#[test]
fn both_sides_are_counted_together_where_their_networks_are_the_same() {
    let document = document(&Bench::new(), &[BENCH]);
    for line in lines(&document) {
        assert_eq!(number(line, "per_panel"), 2.0, "{line}");
        assert!(!text(line, "ref").contains(' '));
    }
}

#[test]
fn sides_that_differ_say_whose_part_it_is() {
    let bench = Bench::new();
    let text_of = bench.text(BENCH);
    let from = text_of.find("[side.cavity]").unwrap();
    let own = &text_of[from..text_of.find("[[side]]\nname = \"right\"").unwrap()];
    let own = own.replace("-380", "380").replace("fennel", "tansy").replace("60]", "70]");
    bench.change(BENCH, "mirror_of = \"left\"", &own);
    let document = document(&bench, &[BENCH]);
    let references: Vec<&str> =
        lines(&document).iter().map(|l| text(l, "ref")).filter(|r| !r.is_empty()).collect();
    let of = |side: &str| references.iter().filter(|r| r.starts_with(side)).count();
    assert!(of("left ") >= 8 && of("right ") >= 8, "{references:?}");
    assert_eq!(of("left ") + of("right "), references.len());
    let drivers = |name: &str| {
        let line = lines(&document).iter().find(|l| text(l, "kind").contains(name));
        number(line.expect("the driver is there"), "per_panel")
    };
    assert_eq!([drivers("Bramble"), drivers("Fennel"), drivers("Tansy")], [2.0, 1.0, 1.0]);
}

#[test]
fn every_chosen_value_is_of_its_series_and_the_nearest_by_ratio() {
    for (all, inductor) in [("E6", "E12"), ("E12", "E96"), ("E24", "E6"), ("E96", "E24")] {
        let bench = Bench::new();
        let own = format!("series = \"{all}\"\ninductor_series = \"{inductor}\"");
        bench.change(BENCH, "series = \"E24\"", &own);
        let series = |name: &str| Series::ALL.iter().find(|(n, _)| *n == name).unwrap().1;
        let document = document(&bench, &[BENCH]);
        let parts = lines(&document).iter().filter(|l| !text(l, "ref").is_empty());
        let mut seen = 0;
        for line in parts {
            let own = series(if text(line, "kind") == "inductor" { inductor } else { all });
            let (chosen, exact) = (number(line, "chosen"), number(line, "exact"));
            assert_eq!(chosen, own.nearest(exact, Rule::Ratio).unwrap());
            let digits = format!("{chosen:.2e}");
            let mantissa: f64 = digits.split('e').next().unwrap().parse().unwrap();
            let hundredths = (mantissa * 100.0).round() as u16;
            assert!(own.hundredths().contains(&hundredths), "{chosen} is not of {own:?}");
            seen += 1;
        }
        assert!(seen >= 10);
    }
}

/// The value of two parts of a kind.
fn combined(kind: &str, connection: &str, a: f64, b: f64) -> f64 {
    if (kind == "capacitor") == (connection == "parallel") { a + b } else { a * b / (a + b) }
}

#[test]
fn two_parts_stand_for_one_where_they_are_allowed_and_nearer() {
    let bench = Bench::new();
    bench.change(BENCH, "series = \"E24\"", "series = \"E6\"");
    let single = document(&bench, &[BENCH]);
    bench.change(BENCH, "series = \"E6\"", "series = \"E6\"\npairs_above_percent = 4");
    let paired = document(&bench, &[BENCH]);
    let (mut alone, mut two) = (0, 0);
    for before in lines(&single).iter().filter(|l| !text(l, "ref").is_empty()) {
        let name = text(before, "ref");
        let find = |name: String| lines(&paired).iter().find(|l| text(l, "ref") == name);
        if number(before, "error_percent").abs() <= 4.0 {
            assert_eq!(find(name.to_owned()), Some(before), "a near one stays alone");
            alone += 1;
            continue;
        }
        let halves = ["a", "b"].map(|letter| find(format!("{name}{letter}")));
        let [Some(a), Some(b)] = halves else { panic!("{name} stands for two: {paired}") };
        assert_eq!((&a["kind"], &a["paired"]), (&b["kind"], &b["paired"]));
        let exact = number(before, "exact");
        let (first, second) = (number(a, "chosen"), number(b, "chosen"));
        let value = combined(text(a, "kind"), text(a, "paired"), first, second);
        let nearer = (value / exact).ln().abs() < (number(before, "chosen") / exact).ln().abs();
        assert!(nearer, "{name}: {value} for {exact}");
        for half in [a, b] {
            let error = 100.0 * (value / exact - 1.0);
            assert!((number(half, "error_percent") - error).abs() < 1e-9, "{half}");
            assert_eq!(half["per_panel"], before["per_panel"]);
        }
        two += 1;
    }
    assert!(alone >= 1 && two >= 4, "{alone} alone, {two} in pairs");
    let run = bench.run(&["parts", BENCH]).ends(0);
    assert!(run.out.contains("(pair in "), "{}", run.out);
}

#[test]
fn orders_hold_every_part_once_with_equal_values_together() {
    let bench = Bench::new();
    bench.change(BENCH, "series = \"E24\"", "series = \"E6\"");
    let document = document(&bench, &[BENCH, "--units", "33"]);
    let orders = document["orders"].as_array().unwrap();
    let mut refs = Vec::new();
    for order in orders {
        let own: Vec<&str> =
            order["refs"].as_array().unwrap().iter().map(|r| r.as_str().unwrap()).collect();
        let of_order =
            lines(&document).iter().filter(|l| own.contains(&text(l, "ref"))).collect::<Vec<_>>();
        assert!(
            of_order.iter().all(|l| l["kind"] == order["kind"] && l["chosen"] == order["value"])
        );
        let per_panel: f64 = of_order.iter().map(|l| number(l, "per_panel")).sum();
        assert_eq!(number(order, "per_panel"), per_panel);
        let expected = (per_panel as u64 * 33 * 103).div_ceil(100) as f64;
        assert_eq!(number(order, "for_run"), expected);
        refs.extend(own);
    }
    let parts: Vec<&str> =
        lines(&document).iter().map(|l| text(l, "ref")).filter(|r| !r.is_empty()).collect();
    assert_eq!(refs.len(), parts.len());
    assert!(parts.iter().all(|part| refs.contains(part)));
    let mut kinds: Vec<String> =
        orders.iter().map(|o| format!("{} {}", o["kind"], o["value"])).collect();
    let all = kinds.len();
    kinds.sort();
    kinds.dedup();
    assert_eq!(kinds.len(), all, "one order a value");
    assert!(all < parts.len(), "some values are used twice");
}

#[test]
fn out_writes_the_same_table_as_csv_prints_and_so_does_design() {
    let bench = Bench::priced();
    let printed = bench.run(&["parts", BENCH, "--csv"]).ends(0).out;
    bench.run(&["parts", BENCH, "--out", "new/parts"]).ends(0);
    assert_eq!(bench.text("new/parts/parts.csv"), printed);
    assert!(bench.listing("new/parts").len() >= 4);
    bench.run(&["design", BENCH, "--out", "out"]).ends(0);
    assert_eq!(bench.text("out/parts.csv"), printed);
}
