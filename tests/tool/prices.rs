//! `parts`: what comes along, prices, and sums that never hide what they lack.

use crate::parts::{document, lines, number, text};
use crate::support::{BED, BENCH, Bench, DESK, WOOFER, table};

#[test]
fn drivers_and_extras_come_along() {
    let bench = Bench::priced();
    let document = document(&bench, &[BENCH]);
    for (name, per_panel, for_run, unit, price) in [
        ("driver Bramble 90", 2.0, 618.0, "piece", 8.4),
        ("driver Fennel 25", 2.0, 618.0, "piece", 4.9),
        ("amplifier module, 2 x 15 W", 1.0, 309.0, "piece", 11.5),
        ("terminal, \"2 poles\"", 6.0, 1854.0, "piece", 0.22),
        ("twin wire", 2.4, 741.6, "m", 0.55),
    ] {
        let line = lines(&document).iter().find(|l| l["kind"] == name);
        let line = line.unwrap_or_else(|| panic!("no {name} in {document}"));
        assert_eq!(text(line, "ref"), "");
        assert_eq!((number(line, "per_panel"), text(line, "counted_in")), (per_panel, unit));
        assert!((number(line, "for_run") - for_run).abs() < 1e-9, "{line}");
        assert_eq!(number(line, "price_each"), price);
    }
}

#[test]
fn the_cost_is_the_sum_of_the_priced_lines() {
    let bench = Bench::priced();
    for units in ["1", "300", "5001"] {
        let document = document(&bench, &[BENCH, "--units", units]);
        let sum = |key: &str| -> f64 {
            lines(&document).iter().map(|l| number(l, "price_each") * number(l, key)).sum()
        };
        assert_eq!(text(&document, "currency"), "EUR");
        assert_eq!(number(&document, "lines_without_price"), 0.0);
        assert!((number(&document, "cost_per_panel") - sum("per_panel")).abs() < 1e-6);
        assert!((number(&document, "cost_of_run") - sum("for_run")).abs() < 1e-3);
        let run = bench.run(&["parts", BENCH, "--units", units]).ends(0);
        let told =
            format!("{:.2} EUR a panel, {:.2} EUR for the run.", sum("per_panel"), sum("for_run"));
        assert!(run.out.contains(&told), "{told}\n{}", run.out);
    }
}

#[test]
fn a_missing_price_is_told_wherever_there_is_a_sum() {
    let bench = Bench::priced();
    bench.change(BENCH, "capacitor_price = 0.85\n", "").change(BENCH, "price = 11.5\n", "");
    let document = document(&bench, &[BENCH]);
    let missing = lines(&document).iter().filter(|l| l.get("price_each").is_none()).count();
    let all = lines(&document).len();
    assert!(missing >= 5);
    assert_eq!(number(&document, "lines_without_price"), missing as f64);
    let run = bench.run(&["parts", BENCH]).ends(0);
    let told = format!("for the run, without the {missing} of {all} lines that have no price.");
    assert!(run.out.contains(&told), "{told}\n{}", run.out);
    let rows = table(&bench.run(&["parts", BENCH, "--csv"]).ends(0).out);
    let unpriced = rows.iter().filter(|row| {
        let empty = [&row["price_each"], &row["price_per_panel"], &row["currency"]];
        empty.iter().all(|cell| cell.is_empty())
    });
    assert_eq!(unpriced.count(), missing);
    bench.run(&["design", BENCH, "--out", "out"]).ends(0);
    assert!(bench.text("out/report.html").contains(&told), "the report tells it too");
}

#[test]
fn without_any_price_there_is_no_cost() {
    for file in [BENCH, BED, DESK] {
        let bench = Bench::new();
        let run = bench.run(&["parts", file]).ends(0);
        assert!(run.out.contains("No prices are stated, so there is no cost."), "{}", run.out);
        let document = document(&bench, &[file]);
        assert!(document.get("currency").is_none());
        assert_eq!(number(&document, "lines_without_price"), lines(&document).len() as f64);
    }
}

#[test]
fn drivers_alone_may_have_prices() {
    let bench = Bench::priced();
    bench.write(BENCH, Bench::new().text(BENCH));
    let document = document(&bench, &[BENCH]);
    assert_eq!(text(&document, "currency"), "EUR");
    assert!((number(&document, "cost_per_panel") - 2.0 * (8.4 + 4.9)).abs() < 1e-9);
    assert_eq!(number(&document, "lines_without_price"), (lines(&document).len() - 2) as f64);
}

#[test]
fn a_price_of_nothing_is_a_price() {
    let bench = Bench::priced();
    bench.change(BENCH, "price = 11.5", "price = 0");
    let document = document(&bench, &[BENCH]);
    assert_eq!(number(&document, "lines_without_price"), 0.0);
}

#[test]
fn two_drivers_of_one_name_from_two_files_are_not_taken_for_one_another() {
    let bench = Bench::priced();
    bench.write("drivers/other.toml", bench.text(WOOFER).replace("each = 8.4", "each = 12"));
    let good = bench.text(BENCH);
    let from = good.find("[side.cavity]").unwrap();
    let own = &good[from..good.find("[[side]]\nname = \"right\"").unwrap()];
    let own = own.replace("-380", "380").replace("bramble", "other");
    bench.change(BENCH, "mirror_of = \"left\"", &own);
    let document = document(&bench, &[BENCH]);
    let cost: f64 = lines(&document)
        .iter()
        .filter(|l| text(l, "kind").contains("Bramble"))
        .map(|l| number(l, "price_each") * number(l, "per_panel"))
        .sum();
    assert!((cost - 20.4).abs() < 1e-9, "8.40 and 12.00, but {cost}");
}
