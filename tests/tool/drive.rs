//! Full drive: what the document tells, and the keys that bear on it.

use crate::support::{BENCH, Bench, DESK, WOOFER};
use serde_json::Value;

fn limits(bench: &Bench, file: &str) -> Value {
    bench.run(&["design", file, "--json"]).json()["sides"][0]["limits"].clone()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("no number: {value}"))
}

#[test]
fn every_driver_of_the_document_has_its_noise_and_every_frequency_its_limit() {
    let limits = limits(&Bench::new(), BENCH);
    for way in ["woofer", "tweeter"] {
        let load = &limits["programme"][way];
        let (rms, peak) = (number(&load["excursion_rms_m"]), number(&load["excursion_peak_m"]));
        assert!((peak / rms - number(&limits["programme"]["crest_factor"])).abs() < 1e-9);
        assert!(number(&load["power_w"]) > 0.0 && number(&load["rated_power_w"]) > 0.0);
        assert!(number(&limits[&format!("{way}_travel")]["xmax_v"]) > 0.0);
    }
    let loudest = &limits["loudest"];
    let held: Vec<&str> =
        loudest["held_by"].as_array().unwrap().iter().filter_map(Value::as_str).collect();
    for (i, holder) in held.iter().enumerate() {
        assert_eq!(loudest["allowed_v"][holder][i], loudest["source_v"][i]);
    }
    let stretches = loudest["stretches"].as_array().unwrap();
    assert_eq!(stretches[0]["held_by"], held[0]);
    assert_eq!(stretches.last().unwrap()["held_by"], *held.last().unwrap());
    assert!(loudest["displacement_limited_acoustic_w"].as_f64() > Some(0.0));
}

#[test]
fn heat_is_told_only_of_drivers_that_state_their_thermal_resistance() {
    let bench = Bench::new();
    let desk = limits(&bench, DESK);
    assert!(desk["heat"].get("tweeter").is_none());
    let woofer = &desk["heat"]["woofer"];
    assert_eq!(woofer["is_habit"], true);
    let settled = &woofer["programme"]["settled"];
    let (rise, power) = (number(&settled["rise_k"]), number(&settled["power_w"]));
    assert!((rise / power - 4.2).abs() < 1e-6, "{rise} K from {power} W over 4.2 K/W");
    assert!(number(&woofer["programme"]["minute"]["rise_k"]) < rise);
    assert!(number(&woofer["sine"]["settled"]["rise_k"]) > rise, "a sine heats more");
    assert!(number(&settled["level_db"]) < 0.0);
    let stated = "thermal_resistance_k_per_w = 4.2";
    let whole = "coil_to_magnet_k_per_w = 1.5\ncoil_time_s = 4\nmagnet_time_min = 15";
    bench.change("drivers/sorrel.toml", stated, &format!("{stated}\n{whole}"));
    let woofer = &limits(&bench, DESK)["heat"]["woofer"];
    assert_eq!((&woofer["is_habit"], &woofer["magnet_time_s"]), (&false.into(), &900.0.into()));
}

#[test]
fn what_says_nothing_about_heat_alone_is_refused() {
    let with = |lines: &str| {
        let bench = Bench::new();
        bench.change(WOOFER, "noise_power_w = 20", &format!("noise_power_w = 20\n{lines}"));
        bench.run(&["check", WOOFER])
    };
    with("coil_time_s = 5").refused(&["`limits.coil_time_s`", "thermal_resistance_k_per_w"]);
    with("magnet_time_min = 20").refused(&["`limits.magnet_time_min`"]);
    with("thermal_resistance_k_per_w = 4\ncoil_to_magnet_k_per_w = 5")
        .refused(&["`limits.coil_to_magnet_k_per_w`: larger than the whole"]);
    with("thermal_resistance_k_per_w = 4\ncoil_to_magnet_k_per_w = 1").ends(0);
}

#[test]
fn a_high_pass_before_the_amplifier_spares_the_cone() {
    let bench = Bench::new();
    let bare = limits(&bench, BENCH);
    assert_eq!(bare["series_capacitor"]["helps"], true);
    bench.change(BENCH, "bridged = true", "bridged = true\ncut_below_hz = 120");
    let cut = limits(&bench, BENCH);
    assert!(number(&cut["woofer_travel"]["at_hz"]) >= 119.9);
    assert!(number(&cut["woofer_travel"]["peak_m"]) < number(&cut["woofer_travel"]["xmax_m"]));
    assert!(cut.get("series_capacitor").is_none(), "nothing is needed");
    let rms = |l: &Value| number(&l["programme"]["woofer"]["excursion_rms_m"]);
    assert!(rms(&cut) < 0.7 * rms(&bare));
    let power = |l: &Value| number(&l["loudest"]["displacement_limited_acoustic_w"]);
    assert!(power(&cut) > power(&bare));
    bench.change(BENCH, "cut_below_hz = 120", "cut_below_hz = 3");
    bench.run(&["check", BENCH]).refused(&["`amplifier.cut_below_hz`"]);
}
