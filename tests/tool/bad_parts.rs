//! Parts, prices and quantities that cannot be.

use crate::support::{BENCH, Bench, Run, TWEETER, WOOFER};

/// `parts` on the priced bench with a replacement made.
fn spoiled(from: &str, to: &str) -> Run {
    let bench = Bench::priced();
    bench.change(BENCH, from, to);
    let before = bench.listing("");
    let run = bench.run(&["parts", BENCH, "--out", "out"]);
    if run.code != 0 {
        assert_eq!(bench.listing(""), before, "nothing is written");
    }
    run
}

/// Line number of the first line that holds `what` in the priced bench with a replacement made.
fn line(from: &str, to: &str, what: &str) -> usize {
    let text = Bench::priced().text(BENCH).replace(from, to);
    1 + text.lines().position(|line| line.contains(what)).expect("the line is there")
}

#[test]
fn a_number_of_units_must_be_from_1_to_a_million() {
    let bench = Bench::priced();
    for units in ["0", "1000001", "1e9", "99999999999", "300.5", "many", "", "nan"] {
        bench.run(&["parts", BENCH, &format!("--units={units}")]).refused(&["--units"]);
        bench.run(&["parts", BENCH, "--units", units]).refused(&["--units"]);
    }
    bench.run(&["parts", BENCH, "--units=-3"]).refused(&["--units"]);
    bench.run(&["parts", BENCH, "--units", "-3"]).refused(&["'-3'"]);
    bench.run(&["parts", BENCH, "--units"]).refused(&["--units"]);
    bench.run(&["parts"]).refused(&["<FILE>", "Usage:"]);
    bench.run(&["parts", BENCH, "--json", "--csv"]).refused(&["cannot be used with"]);
}

#[test]
fn a_negative_number_of_units_is_told_with_its_argument() {
    Bench::priced().run(&["parts", BENCH, "--units", "-3"]).refused(&["--units", "1..=1000000"]);
}

#[test]
fn a_run_of_no_or_absurd_size_is_told_with_its_line() {
    for units in ["0", "-3", "1000000000", "1e9", "300.5", "\"many\""] {
        let own = format!("units = {units}");
        let place = format!("--> {BENCH}:{}:", line("units = 300", &own, &own));
        spoiled("units = 300", &own).refused(&["`run.units`: found ", &place]);
    }
    for spares in ["-1", "1e6", "nan"] {
        let own = format!("spares_percent = {spares}");
        spoiled("spares_percent = 3", &own).refused(&["`run.spares_percent`: found "]);
    }
}

#[test]
fn a_price_without_a_currency_is_told_with_its_line() {
    let currency = "currency = \"EUR\"\n";
    let mut sentences: Vec<String> = Vec::new();
    for key in ["resistor_price", "inductor_price", "capacitor_price"] {
        sentences.push(format!("`parts.{key}`: a price without a currency"));
        sentences.push(format!("--> {BENCH}:{}:", line(currency, "", key)));
    }
    for (k, price) in [(1, "price = 11.5"), (2, "price = 0.22"), (3, "price = 0.55")] {
        sentences.push(format!("`extra[{k}].price`: a price without a currency"));
        sentences.push(format!("--> {BENCH}:{}:", line(currency, "", price)));
    }
    sentences.push("write it once for all prices, in [parts]: currency = \"EUR\"".into());
    let sentences: Vec<&str> = sentences.iter().map(String::as_str).collect();
    spoiled(currency, "").refused(&sentences);
}

#[test]
fn one_price_without_a_currency_points_at_itself() {
    let bench = Bench::new();
    let text = bench.text(BENCH).replace("[parts]", "[parts]\nresistor_price = 0.2");
    let line = 1 + text.lines().position(|l| l.contains("resistor_price")).unwrap();
    bench.write(BENCH, text);
    let place = format!("--> {BENCH}:{line}:");
    for command in ["parts", "check", "design"] {
        bench.run(&[command, BENCH]).refused(&["a price without a currency", &place]);
    }
    let bench = Bench::new();
    bench.change(WOOFER, "[size]", "[price]\neach = 3\n\n[size]");
    bench.run(&["parts", BENCH]).refused(&["`currency` is missing in `price`", WOOFER]);
}

#[test]
fn two_currencies_are_told() {
    let bench = Bench::priced();
    bench.change(TWEETER, "currency = \"EUR\"", "currency = \"SEK\"");
    let text = bench.text(BENCH);
    let line = 1 + text.lines().position(|l| l.starts_with("currency")).unwrap();
    bench.run(&["parts", BENCH]).refused(&[
        "found \"EUR\", but a driver is priced in SEK",
        "bring all prices to one currency",
        &format!("--> {BENCH}:{line}:"),
    ]);
    bench.write(BENCH, Bench::new().text(BENCH));
    bench.run(&["parts", BENCH]).refused(&[
        "drivers are priced in different currencies",
        "bring the prices in the driver files to one currency",
        &format!("--> {BENCH}:"),
    ]);
}

#[test]
fn an_empty_currency_is_none() {
    for empty in ["\"\"", "\"  \"", "3", "true"] {
        spoiled("currency = \"EUR\"", &format!("currency = {empty}"))
            .refused(&["`parts.currency`"]);
    }
}

#[test]
fn an_unknown_series_is_told_with_the_nearest() {
    for key in ["series", "resistor_series", "inductor_series", "capacitor_series"] {
        for (series, nearest) in [("E25", "E24"), ("e12", "E12"), ("E98", "E96"), ("E7", "E6")] {
            let own = format!("{key} = \"{series}\"");
            let place = format!("--> {BENCH}:{}:", line("series = \"E24\"", &own, &own));
            spoiled("series = \"E24\"", &own).refused(&[
                &format!("`parts.{key}`: found text \"{series}\""),
                &format!("did you mean \"{nearest}\"?"),
                &place,
            ]);
        }
    }
    spoiled("series = \"E24\"", "series = 24").refused(&["`parts.series`: found 24"]);
}

#[test]
fn an_absurd_or_negative_price_is_told() {
    for bad in ["-0.01", "1e7", "nan", "inf", "\"0.18\"", "true"] {
        for key in ["resistor_price = 0.18", "inductor_price = 1.45", "price = 11.5"] {
            let own = format!("{} = {bad}", key.split(" = ").next().unwrap());
            let name = own.split(" = ").next().unwrap();
            let place = format!("--> {BENCH}:{}:", line(key, &own, &own));
            spoiled(key, &own).refused(&[&format!("{name}`: found "), &place]);
        }
        let bench = Bench::priced();
        bench.change(WOOFER, "each = 8.4", &format!("each = {bad}"));
        bench.run(&["parts", BENCH]).refused(&["`price.each`: found ", WOOFER]);
    }
}

#[test]
fn an_extra_needs_a_name_and_some_quantity() {
    for bad in ["0", "-6", "1e9", "nan", "\"six\""] {
        let own = format!("per_panel = {bad}");
        let place = format!("--> {BENCH}:{}:", line("per_panel = 6", &own, &own));
        spoiled("per_panel = 6", &own).refused(&["`extra[2].per_panel`: found ", &place]);
    }
    spoiled("name = \"twin wire\"\n", "").refused(&["`name` is missing in `extra[3]`"]);
    spoiled("name = \"twin wire\"", "name = \"\"").refused(&["`extra[3].name`"]);
    spoiled("price = 0.55", "prise = 0.55")
        .refused(&["unknown key `prise` in `extra[3]`", "`price`"]);
    spoiled("[[extra]]", "[[extras]]").refused(&["unknown key `extras`", "did you mean `extra`?"]);
}

#[test]
fn pairs_are_asked_for_in_percent() {
    for bad in ["-1", "101", "nan", "\"all\""] {
        let own = format!("series = \"E24\"\npairs_above_percent = {bad}");
        spoiled("series = \"E24\"", &own).refused(&["`parts.pairs_above_percent`: found "]);
    }
    spoiled("series = \"E24\"", "series = \"E24\"\nvalues = \"nearest\"")
        .refused(&["`parts.values`: found text \"nearest\""]);
}

#[test]
fn a_file_that_does_not_load_has_no_list() {
    let bench = Bench::new();
    bench.run(&["parts", "none.toml"]).refused(&["there is no file `none.toml`"]);
    bench.run(&["parts", WOOFER]).refused(&["kind", WOOFER]);
    bench.change(BENCH, "depth_mm = 34", "depth_mm = 0");
    bench.run(&["parts", BENCH]).refused(&["depth_mm`: found 0"]);
}
