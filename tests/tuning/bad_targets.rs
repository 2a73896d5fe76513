//! `[target]` tables that cannot be meant, and arguments of the searches: message and exit code.

use crate::support::{BENCH, Bench, DESK};

#[track_caller]
fn refused(file: &str, target: &str, sentences: &[&str]) {
    let bench = Bench::new();
    bench.write(file, format!("{}\n[target]\n{target}\n", bench.text(file)));
    for command in ["check", "tune", "explore"] {
        bench.run(&[command, file]).refused(sentences);
    }
}

#[test]
fn a_band_upside_down_or_too_narrow_is_told() {
    let told = ["`target.to_hz`: less than an octave above from_hz"];
    refused(BENCH, "from_hz = 6000\nto_hz = 1000", &told);
    refused(BENCH, "from_hz = 2000\nto_hz = 3000", &told);
}

#[test]
fn a_meeting_point_outside_the_band_is_told() {
    refused(
        BENCH,
        "at_hz = 9000\nfrom_hz = 500\nto_hz = 4000",
        &[
            "`target.at_hz`: 9.00 kHz is outside from_hz to to_hz, 500 Hz to 4.00 kHz",
            "the ways meet inside the band",
        ],
    );
}

#[test]
fn a_stranger_among_the_fixed_parts_is_told() {
    let told = ["`target.fixed`: no part is called `R99`", "[[crossover.part]]"];
    refused(DESK, "fixed = [\"L1\", \"R99\"]", &told);
}

#[test]
fn a_stranger_among_the_fixed_parts_of_a_slope_is_told() {
    // What a slope's network holds is known only once it is computed.
    let told = ["`target.fixed`: no part is called `R99`", "reading-bench.toml:", "has L1, C1,"];
    refused(BENCH, "fixed = [\"R99\"]", &told);
}

#[test]
fn bounds_upside_down_are_told() {
    for key in ["resistor_ohm", "inductor_mh", "capacitor_uf"] {
        let told = [format!("`target.{key}`: the smallest value is not below the largest")];
        let told: Vec<&str> = told.iter().map(String::as_str).collect();
        refused(BENCH, &format!("{key} = [2, 1]"), &told);
        refused(BENCH, &format!("{key} = [1, 1]"), &told);
    }
    refused(BENCH, "inductor_mh = [0.1]", &["`target.inductor_mh`"]);
    refused(BENCH, "inductor_mh = 0.1", &["`target.inductor_mh`"]);
}

#[test]
fn slopes_that_are_none_are_told() {
    refused(BENCH, "slope = \"lr3\"", &["`target.slope`", "there is no lr3"]);
    refused(BENCH, "slope = \"steep\"", &["`target.slope`", "`steep` is not a slope"]);
}

#[test]
fn numbers_out_of_range_and_unknown_keys_are_told() {
    for (target, word) in [
        ("ways_weight = -1", "`target.ways_weight`: found -1"),
        ("power_weight = 101", "`target.power_weight`: found 101"),
        ("lowest_ohm = 0", "`target.lowest_ohm`: found 0"),
        ("loss_percent = 0", "`target.loss_percent`: found 0"),
        ("cost = -3", "`target.cost`: found -3"),
        ("tilt_db_per_octave = 7", "`target.tilt_db_per_octave`: found 7"),
        ("lowest_ohms = 4", "lowest_ohms"),
    ] {
        refused(BENCH, target, &[word]);
    }
}

/// The whole message of the commonest slip.
#[test]
fn the_message_shows_the_line() {
    refused(
        BENCH,
        "from_hz = 6000\nto_hz = 1000",
        &["--> examples/reading-bench.toml:", "to_hz = 1000", "the sum is judged over a band"],
    );
}

#[test]
fn searches_need_a_start() {
    let bench = Bench::new();
    for command in ["tune", "explore"] {
        for starts in ["0", "-1", "many", "100000"] {
            let argument = format!("--starts={starts}");
            let run = bench.run(&[command, BENCH, &argument]).ends(2);
            assert!(run.out.is_empty() && run.err.contains("--starts"), "{}", run.err);
        }
        bench.run(&[command]).refused(&["<FILE>"]);
        bench.run(&[command, "examples/none.toml"]).refused(&["there is no file"]);
    }
}
