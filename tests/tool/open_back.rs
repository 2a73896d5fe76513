//! A tweeter whose back is open to the woofer's cavity: what is told, and what is refused.

use crate::support::{BENCH, Bench};
use serde_json::Value;

const TWEETER: &str = "drivers/fennel.toml";
const ROLE: &str = "role = \"tweeter\"";
const OPEN: &str = "role = \"tweeter\"\nopen_back = true";

fn opened() -> Bench {
    let bench = Bench::new();
    bench.change(TWEETER, ROLE, OPEN);
    bench
}

fn most(list: &Value) -> f64 {
    let values = list.as_array().expect("a list").iter().map(|x| x.as_f64().expect("a number"));
    values.fold(0.0, f64::max)
}

#[test]
fn the_woofers_pressure_moves_the_tweeter_and_the_rest_is_told_as_ever() {
    let design = |bench: &Bench| bench.run(&["design", BENCH, "--json", "--points", "60"]).ends(0);
    let (closed, open) = (design(&Bench::new()).json(), design(&opened()).json());
    let side = |doc: &Value| doc["sides"][0].clone();
    let (closed_side, open_side) = (side(&closed), side(&open));
    let travel = |side: &Value| most(&side["excursion_m"]["tweeter"]);
    // Most of it is pressure, at the lowest notes.
    assert!(travel(&open_side) > 2.0 * travel(&closed_side));
    let cavity = &open_side["cavity"];
    for key in ["load", "tweeter_load", "transfer_load"] {
        assert_eq!(cavity[key].as_object().map(|o| o.len()), Some(2), "{key}: {}", cavity[key]);
    }
    assert!(closed_side["cavity"].get("transfer_load").is_none());
    let told = |doc: &Value| doc["notes"].to_string() + &doc["warnings"].to_string();
    assert!(told(&open).contains("its back is open to the woofer's cavity"), "{}", told(&open));
    assert!(!told(&closed).contains("its back is open"));
    // The response at the seat hardly changes: the tweeter is small for the cavity.
    let level =
        |side: &Value, f: usize| side["listeners"][0]["sum_db"][f].as_f64().expect("a level");
    for f in 0..60 {
        assert!((level(&open_side, f) - level(&closed_side, f)).abs() < 3.0, "{f}");
    }
}

#[test]
fn a_closed_back_stated_is_the_same_as_none_stated() {
    let bench = Bench::new();
    let plain = bench.run(&["design", BENCH, "--json", "--points", "40"]).ends(0);
    bench.change(TWEETER, ROLE, "role = \"tweeter\"\nopen_back = false");
    assert_eq!(bench.run(&["design", BENCH, "--json", "--points", "40"]).ends(0).out, plain.out);
}

#[test]
fn all_that_works_on_a_design_works_with_an_open_back() {
    let bench = opened();
    let run = bench.run(&["design", BENCH, "--out", "out", "--points", "60"]).ends(0);
    assert!(run.out.contains("Open back"), "{}", run.out);
    let circuit = bench.text("out/circuit.cir");
    assert!(circuit.contains("the air between the drivers (open_back) is left out"), "{circuit}");
    bench.run(&["tune", BENCH, "--json"]).ends(0);
    bench.run(&["compare", BENCH, "--json"]).ends(0);
    bench.run(&["parts", BENCH, "--json"]).ends(0);
    let limits = ["limits", BENCH, "--draws", "400", "--out", "limits"];
    bench.run(&limits).ends(0);
}

#[test]
fn it_must_look_into_the_woofers_air() {
    let bench = opened();
    bench.change(BENCH, "at_mm = [-380, 60]", "at_mm = [-120, 60]");
    bench.run(&["check", BENCH]).refused(&["open_back", "woofer's air", "at_mm"]);
    let bench = opened();
    // A strip between the drivers goes from face to back.
    let rib =
        "[[side.cavity.rib]]\nalong = \"width\"\nat_mm = 22\nwidth_mm = 10\ndivides = true\n\n";
    bench.change(BENCH, "[side.cavity.fill]", &format!("{rib}[side.cavity.fill]"));
    bench.run(&["design", BENCH]).refused(&["open_back", "dividing rib"]);
}

#[test]
fn a_woofer_cannot_be_closed() {
    let bench = Bench::new();
    let woofer = "drivers/bramble.toml";
    bench.change(woofer, "role = \"woofer\"", "role = \"woofer\"\nopen_back = false");
    bench.run(&["check", woofer]).refused(&["open_back", "always works into its cavity"]);
    bench.change(woofer, "open_back = false", "open_back = 1");
    bench.run(&["check", woofer]).refused(&["open_back", "true or false"]);
}
