//! A bound on the impedance is kept at every frequency that is shown, or told as missed, also where
//! the dip is narrower than the search's steps.

use crate::support::{BENCH, Bench};

#[test]
fn a_narrow_dip_of_the_impedance_is_kept_or_told() {
    for lowest in [3.4, 5.0] {
        let bench = Bench::new();
        bench.write(BENCH, format!("{}\n[target]\nlowest_ohm = {lowest}\n", bench.text(BENCH)));
        let run = bench.run(&["tune", BENCH, "--json"]);
        let document = run.json();
        let found = document["variants"][2]["lowest_impedance_ohm"].as_f64().unwrap();
        let kept = found >= 0.998 * lowest;
        let told = document["missed"].to_string().contains("lowest impedance");
        assert!(kept || (told && run.code == 1), "{found} for {lowest}, exit {}", run.code);
    }
}
