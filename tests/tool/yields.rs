//! `slabtone yield`: the run, what decides, tolerances for money, and what is refused.

use crate::support::Bench;
use serde_json::Value;

const RUN: &str = "examples/bench-run.toml";

fn share(document: &Value, key: &str) -> f64 {
    document["fresh"][key].as_f64().unwrap()
}

#[test]
fn a_run_is_told_the_same_on_any_number_of_threads() {
    let bench = Bench::of_project();
    let arguments = [
        "yield",
        RUN,
        "--draws",
        "700",
        "--points",
        "60",
        "--samples",
        "8",
        "--seed",
        "5",
        "--json",
    ];
    let one = bench.run_with(&arguments, &[("RAYON_NUM_THREADS", "1")]).ends(0);
    let two = bench.run_with(&arguments, &[("RAYON_NUM_THREADS", "2")]).ends(0);
    assert_eq!(one.out, two.out);
    let document = one.json();
    assert_eq!(document["seed"], 5);
    assert_eq!(document["fresh"]["draws"], 700);
    let (good, interval) = (share(&document, "good_share"), &document["fresh"]["interval_95"]);
    let end = |k: usize| interval[k].as_f64().unwrap();
    assert!(end(0) < good && good < end(1) && end(1) <= 1.0);
    let other = bench.run(&[&arguments[..8], &["--seed", "6", "--json"]].concat()).ends(0);
    assert_ne!(other.json()["fresh"], document["fresh"]);
}

#[test]
fn a_wider_window_and_tighter_parts_have_more_good_units() {
    let bench = Bench::of_project();
    let good = || {
        let run = bench.run(&[
            "yield",
            RUN,
            "--draws",
            "900",
            "--points",
            "60",
            "--samples",
            "0",
            "--json",
        ]);
        share(&run.ends(0).json(), "good_share")
    };
    let as_it_is = good();
    bench.change(RUN, "plus_db = [1.0, 0.8, 0.8, 1.2]", "plus_db = [3.0, 3.0, 3.0, 3.0]");
    bench.change(RUN, "minus_db = [1.0, 0.8, 0.8, 1.2]", "minus_db = [3.0, 3.0, 3.0, 3.0]");
    let wide = good();
    assert!(wide > as_it_is && wide > 0.97, "{as_it_is} {wide}");
}

#[test]
fn pictures_and_tolerances_for_money_are_made() {
    let bench = Bench::of_project();
    let run = bench.run(&[
        "yield",
        RUN,
        "--draws",
        "600",
        "--points",
        "60",
        "--samples",
        "16",
        "--reach",
        "80",
        "--out",
        "run",
    ]);
    let run = run.ends(0);
    for words in
        ["of units are good", "tighter C1 from 10.0 % to 5.00 % costs", "with others", "seed 1"]
    {
        assert!(run.out.contains(words), "{words}: {}", run.out);
    }
    for picture in ["yield.svg", "deviation.svg", "deciding.svg"] {
        assert!(bench.text(&format!("run/{picture}")).contains("<svg"));
    }
    let document: Value = serde_json::from_str(&bench.text("run/yield.json")).unwrap();
    let choice = &document["choice"];
    assert_eq!(choice["reached"], true, "{choice}");
    assert!(choice["good_share"].as_f64().unwrap() >= 0.8);
    // A budget of nothing buys the cheapest parts and says so.
    let poor =
        ["yield", RUN, "--draws", "200", "--points", "40", "--samples", "0", "--budget", "0"];
    let poor = bench.run(&poor).ends(0);
    assert!(poor.out.contains("even the cheapest parts cost more"), "{}", poor.out);
}

#[test]
fn what_makes_no_run_is_refused_at_its_place() {
    let bench = Bench::of_project();
    bench.run(&["yield", RUN, "--draws", "0"]).refused(&["--draws", "1..=100000000"]);
    bench.run(&["yield", RUN, "--reach", "120"]).refused(&["percentage from 0 to 100"]);
    let text = bench.text("examples/reading-bench.toml");
    let open = text.split("[run.window]").next().unwrap();
    bench.write("examples/open.toml", open);
    let line = 1 + text[..text.find("[run]").unwrap()].matches('\n').count();
    let place = format!("open.toml:{line}:1");
    bench.run(&["yield", "examples/open.toml"]).refused(&[
        "states no window that a unit must keep",
        &place,
        "[run.acceptance]",
    ]);
    let spoiled = |from: &str, to: &str, sentences: &[&str]| {
        let bench = Bench::of_project();
        bench.change(RUN, from, to);
        bench.run(&["yield", RUN]).refused(sentences);
    };
    spoiled(
        "resistor_percent = 5",
        "resistor_percent = -5",
        &["bench-run.toml:", "resistor_percent", "-5"],
    );
    spoiled("matched_percent = 4", "matched_percnt = 4", &["matched_percent"]);
    spoiled("[150, 600, 6000, 12000]", "[150, 60, 6000, 12000]", &["frequencies have to rise"]);
    spoiled("minus_db = [1.0, 0.8, 0.8, 1.2]", "minus_db = [1.0]", &["1 values for 4 frequencies"]);
    let driver = Bench::of_project();
    let text = driver.text("drivers/bramble.toml");
    let stated = "\n[spread]\nfs_percent = 6\nqts_percent = 3\nsensitivity_db = 0.4\nre_percent = 2\nle_percent = 5\n";
    driver.write("drivers/bramble.toml", text + stated);
    driver
        .run(&["check", "drivers/bramble.toml"])
        .refused(&["Qts cannot spread less than", "qts_percent"]);
}
