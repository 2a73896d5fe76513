//! The amplifier's check, heat and the assembly sheet: what is told, what makes a design unfit, and
//! bad input.

use crate::support::{BED, BENCH, Bench, DESK, Run};
use serde_json::Value;

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("no number: {value}"))
}

/// The reading bench with more keys in its `[amplifier]`.
fn amplified(keys: &str) -> Run {
    let bench = Bench::new();
    bench.change(BENCH, "bridged = true", &format!("bridged = true\n{keys}"));
    bench.run(&["design", BENCH])
}

/// Everything printed, line breaks aside.
fn told(run: &Run) -> String {
    run.out.split_whitespace().collect::<Vec<_>>().join(" ")
}

const FILTER: &str =
    "[amplifier.filter]\ninductance_uh = 10\ndcr_ohm = 0.02\ncapacitance_uf = 1\nesr_ohm = 0.01";

#[test]
fn the_examples_are_good_designs_and_their_documents_balance() {
    let bench = Bench::of_project();
    for file in [BENCH, DESK, BED] {
        let document = bench.run(&["design", file, "--json"]).ends(0).json();
        let amplifier = &document["amplifier"];
        let supply = &amplifier["supply"];
        for level in ["sine", "programme", "normal", "idle"] {
            let draw = &supply[level];
            let out_and_heat = number(&draw["out_w"]) + number(&draw["heat_w"]);
            assert!((out_and_heat - number(&draw["in_w"])).abs() < 1e-9, "{file}: {draw}");
        }
        assert!(number(&supply["normal"]["in_w"]) < number(&supply["programme"]["in_w"]));
        for side in amplifier["sides"].as_array().unwrap() {
            let faced = &side["faced"];
            let length = |value: &Value| value.as_array().map_or(0, Vec::len);
            for curve in ["limit_v", "power_w", "current_peak_a"] {
                assert_eq!(length(&faced[curve]), length(&faced["frequency_hz"]), "{curve}");
            }
            for case in side["filter"]["cases"].as_array().into_iter().flatten() {
                assert_eq!(length(&case["level_db"]), length(&side["filter"]["frequency_hz"]));
            }
            let corners = &side["corners"];
            assert!(number(&corners["lowest_ohm"]) <= number(&corners["nominal_ohm"]));
            assert_eq!(side["direct"]["tweeter_share"], 0.0);
            let levels = side["overdriven"].as_array().unwrap();
            let watts: Vec<f64> = levels.iter().map(|l| number(&l["tweeter_w"])).collect();
            assert!(watts.len() == 3 && watts.is_sorted(), "{watts:?}");
        }
        for warmth in amplifier["warmth"].as_array().unwrap() {
            let (normal, loud) = (&warmth["normal"], &warmth["programme"]);
            assert!(number(&normal["air_c"]) < number(&loud["air_c"]));
            assert!(number(&loud["through_face_w"]) < number(&loud["heat_w"]));
        }
    }
}

#[test]
fn an_undamped_filter_is_told_with_a_cure_that_cures() {
    let run = amplified(FILTER).ends(0);
    let text = told(&run);
    assert!(text.contains("amplifier filter: rings by +"), "{text}");
    let cure = text.split("rings by").nth(1).and_then(|t| t.split(" Ω in series with ").next());
    let ohm = cure.and_then(|t| t.rsplit(' ').next()).expect("a resistor");
    let uf = text.split(" Ω in series with ").nth(1).and_then(|t| t.split(' ').next()).unwrap();
    let damped = format!("{FILTER}\ndamping_uf = {uf}\ndamping_ohm = {ohm}");
    let text = told(&amplified(&damped).ends(0));
    assert!(!text.contains("rings by"), "{text}");
    let text = told(&amplified("idle_w = 2").ends(0));
    assert!(text.contains("no [amplifier.filter] is stated"), "{text}");
}

#[test]
fn a_single_supply_needs_a_coupling_capacitor() {
    let bench = Bench::new();
    bench.change(BENCH, "bridged = true", "output = \"single_ended\"");
    let run = bench.run(&["design", BENCH]);
    let text = told(&run.unfit(&["rests at 9.0 V", "in series with each side (coupling_uf)"]));
    assert!(!text.contains("Bridged outputs"), "{text}");
    bench.change(BENCH, "\"single_ended\"", "\"single_ended\"\ncoupling_uf = 1500");
    let text = told(&bench.run(&["design", BENCH]).ends(0));
    assert!(text.contains("coupled over 1500 µF"), "{text}");
    bench.change(BENCH, "coupling_uf = 1500", "supply = \"split\"");
    bench.run(&["design", BENCH]).ends(0);
}

#[test]
fn a_tweeter_that_direct_current_reaches_is_unfit() {
    let bench = Bench::new();
    let text = bench.text(DESK);
    let part = "\n[[crossover.part]]\nref = \"R9\"\nresistance_ohm = 47\nbetween = [\"amp+\", ";
    let tweeter = text.split("tweeter = [").nth(1).and_then(|t| t.split(',').next()).unwrap();
    bench.write(
        DESK,
        text.replacen(
            "\n[[crossover.part]]",
            &format!("{part}{tweeter}]\n\n[[crossover.part]]"),
            1,
        ),
    );
    bench.run(&["design", DESK]).unfit(&["of any direct voltage at the input, by way of R9"]);
}

#[test]
fn a_weak_amplifier_is_told_and_a_weak_adaptor_is_unfit() {
    let text = told(&amplified("current_limit_a = 1.5").ends(0));
    assert!(text.contains("the amplifier stops at 1.5 A"), "{text}");
    amplified("adaptor_w = 1").unfit(&["gives 1 W, but normal listening takes"]);
    let text = told(&amplified("adaptor_w = 10").ends(0));
    assert!(text.contains("programme on the verge of clipping takes"), "{text}");
}

#[test]
fn a_resettable_fuse_is_a_part_and_is_judged_by_its_data() {
    let bench = Bench::new();
    let guard =
        "[crossover.tweeter_guard]\ncold_ohm = 0.3\nhold_a = 0.02\ntrip_a = 4\n\n[amplifier]";
    bench.change(BENCH, "[amplifier]", guard);
    let text = told(&bench.run(&["design", BENCH]).ends(0));
    assert!(text.contains("it will trip in use"), "{text}");
    assert!(text.contains("certainly trips at 4 A only"), "{text}");
    let parts = bench.run(&["design", BENCH, "--json"]).json()["sides"][0]["parts"].clone();
    let fuse = parts.as_array().unwrap().iter().find(|p| p["ref"] == "F1").expect("a part F1");
    assert_eq!((&fuse["value"], &fuse["chosen"][0]), (&Value::from(0.3), &Value::from(0.3)));
}

#[test]
fn the_assembly_sheet_can_be_followed() {
    let bench = Bench::of_project();
    bench.run(&["design", BENCH, "--out", "out"]).ends(0);
    let sheet = bench.text("out/assembly.txt");
    let parts = bench.run(&["design", BENCH, "--json"]).json()["sides"][0]["parts"].clone();
    for part in parts.as_array().unwrap() {
        let reference = part["ref"].as_str().unwrap();
        assert_eq!(sheet.matches(&format!(". {reference} ")).count(), 1, "{reference} in\n{sheet}");
    }
    let place = |what: &str| sheet.find(what).unwrap_or_else(|| panic!("{what} in\n{sheet}"));
    assert!(place("Measure before") < place("First power-on"));
    assert!(place("R1 ") < place("L1 "), "low parts come first");
    for line in sheet.lines().filter(|l| l.contains("(nominal")) {
        let numbers: Vec<f64> = line.split_whitespace().filter_map(|w| w.parse().ok()).collect();
        let [.., low, high, nominal] = numbers[..] else { panic!("{line}") };
        assert!(low < nominal && nominal < high, "{line}");
    }
    assert!(bench.text("out/report.html").contains("Assembly sheet"));
    assert!(bench.text("out/amplifier.svg").contains("What the amplifier has to deal with"));
}

#[test]
fn contradictions_in_the_amplifier_are_refused() {
    for (keys, sentences) in [
        ("output = \"single_ended\"", vec!["contradicts `bridged`"]),
        ("output = \"both\"", vec!["bridged"]),
        ("coupling_uf = 1000", vec!["needs no coupling capacitor"]),
        ("stage = \"linear\"\nefficiency_percent = 80", vec!["does not go with stage"]),
        ("efficiency_percent = 140", vec!["efficiency_percent"]),
        ("[amplifier.filter]\ninductance_uh = 10", vec!["dcr_ohm", "capacitance_uf"]),
        ("[amplifier.cable]\nlength_m = 1", vec!["area_mm2"]),
        (&format!("{FILTER}\ndamping_uf = 2"), vec!["damping_ohm"]),
    ] {
        amplified(keys).refused(&sentences);
    }
    let bench = Bench::new();
    bench.change(BENCH, "supply_v = 18", "supply_v = 4");
    bench.run(&["design", BENCH]).refused(&["allows 2.8 V rms"]);
    let bench = Bench::new();
    let guard = "[crossover.tweeter_guard]\ncold_ohm = 0.3\nhold_a = 2\ntrip_a = 1\n\n[amplifier]";
    bench.change(BENCH, "[amplifier]", guard);
    bench.run(&["design", BENCH]).refused(&["not above hold_a"]);
    bench.change(BENCH, "cold_ohm = 0.3", "cold_ohm = 0.3\nresistance_ohm = 1");
    bench.run(&["design", BENCH]).refused(&["does not go with resistance_ohm"]);
}
