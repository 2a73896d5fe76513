//! Curves that cannot be used: each message with its place, exit 2.

use crate::curves::{add, response};
use crate::support::{BENCH, Bench, WOOFER};

const SOUND: &str = "condition = \"in_this_panel\"\nmagnitude = \"db_spl\"\ndrive_v = 2.83\ndistance_mm = 700\nangle_deg = 0\ntime_zero = \"source\"\nfile = \"curve.txt\"";
const CURVE: &str = "# Hz dB deg\n20 70 10\n200 80 5\n2000 81 -20\n20000 70 -60\n";

/// Line of the first key that [`response`] adds to the driver file.
fn line_of(bench: &Bench, word: &str) -> usize {
    let text = bench.text(WOOFER);
    let at = text.rfind(word).unwrap_or_else(|| panic!("no {word}"));
    text[..at].matches('\n').count() + 1
}

fn with(keys: &str) -> Bench {
    let bench = Bench::new();
    add(&bench, WOOFER, &response(keys), "curve.txt", CURVE);
    bench
}

/// The sound table with `from` changed to `to` is refused with these sentences, by `check` and by
/// `design`.
#[track_caller]
fn refused(from: &str, to: &str, sentences: &[&str]) -> Bench {
    assert!(SOUND.contains(from), "{from}");
    let bench = with(&SOUND.replace(from, to));
    bench.run(&["check", WOOFER]).refused(sentences);
    bench.run(&["design", BENCH]).refused(sentences);
    bench
}

#[test]
fn the_sound_table_is_sound() {
    let bench = with(SOUND);
    bench.run(&["check", WOOFER]).ends(0);
    bench.run(&["design", BENCH]).ends(0);
}

#[test]
fn a_missing_condition_is_an_error() {
    refused(
        "condition = \"in_this_panel\"\n",
        "",
        &["`condition` is missing in `response[1]`", "half_space", "near_field", "in_this_panel"],
    );
}

#[test]
fn a_response_has_no_free_air_and_an_impedance_no_half_space() {
    refused("\"in_this_panel\"", "\"free_air\"", &["`response[1].condition`", "free_air"]);
    let bench = Bench::new();
    let table = "\n[[impedance]]\ncondition = \"half_space\"\nfile = \"curve.txt\"\n";
    add(&bench, WOOFER, table, "curve.txt", "20 6 10\n20000 20 50\n");
    bench.run(&["check", WOOFER]).refused(&["`impedance[1].condition`", "free_air"]);
    bench.change(WOOFER, "condition = \"half_space\"\n", "");
    bench.run(&["check", WOOFER]).refused(&["`condition` is missing in `impedance[1]`"]);
}

#[test]
fn missing_volts_distance_unit_and_time_zero_are_errors() {
    refused("drive_v = 2.83\n", "", &["`drive_v` is missing in `response[1]`"]);
    refused("distance_mm = 700\n", "", &["`distance_mm` is missing in `response[1]`"]);
    refused("magnitude = \"db_spl\"\n", "", &["`magnitude` is missing in `response[1]`"]);
    refused("time_zero = \"source\"\n", "", &["`time_zero` is missing in `response[1]`"]);
    refused("file = \"curve.txt\"", "", &["`file` is missing in `response[1]`"]);
}

#[test]
fn a_foreign_unit_is_told_with_the_known_ones() {
    refused("\"db_spl\"", "\"db\"", &["`response[1].magnitude`", "db_spl", "pascal"]);
    refused("drive_v = 2.83", "drive_v = \"2.83 V\"", &["`response[1].drive_v`: found text"]);
    refused("drive_v = 2.83", "drive_mv = 2830", &["drive_mv"]);
}

#[test]
fn angles_behind_the_panel_are_refused() {
    for angle in ["91", "-1", "180"] {
        refused(
            "angle_deg = 0",
            &format!("angle_deg = {angle}"),
            &["`response[1].angle_deg`", &format!("found {angle}"), "90"],
        );
    }
}

#[test]
fn far_curves_of_two_conditions_do_not_mix() {
    let bench = with(SOUND);
    let other = SOUND.replace("in_this_panel", "half_space").replace("_deg = 0", "_deg = 30");
    add(&bench, WOOFER, &response(&other), "curve.txt", CURVE);
    bench.run(&["check", WOOFER]).refused(&[
        "`response[2].condition`: not that of the other responses",
        "give all far curves of a driver one condition",
    ]);
}

#[test]
fn two_far_curves_at_one_angle_are_refused() {
    let bench = with(SOUND);
    add(&bench, WOOFER, &response(SOUND), "curve.txt", CURVE);
    bench.run(&["check", WOOFER]).refused(&["`response[2].angle_deg`"]);
}

#[test]
fn a_second_impedance_is_refused() {
    let bench = Bench::new();
    let table = "\n[[impedance]]\ncondition = \"free_air\"\nfile = \"curve.txt\"\n";
    add(&bench, WOOFER, &table.repeat(2), "curve.txt", "20 6 10\n20000 20 50\n");
    bench.run(&["check", WOOFER]).refused(&["`impedance[2].file`: a second impedance"]);
}

#[test]
fn a_missing_curve_points_at_the_line_that_names_it() {
    let bench = refused(
        "curve.txt",
        "curves.txt",
        &[
            "`response[1].file`: there is no file `",
            "curves.txt",
            "the path is relative to this driver file",
        ],
    );
    let place = format!("{WOOFER}:{}:8", line_of(&bench, "file = "));
    bench.run(&["check", WOOFER]).refused(&[&place]);
}

#[test]
fn a_missing_microphone_points_at_its_own_line() {
    let bench = with(&format!("{SOUND}\nmicrophone = \"mic.txt\""));
    let place = format!("{WOOFER}:{}:", line_of(&bench, "microphone"));
    bench.run(&["check", WOOFER]).refused(&["mic.txt", &place, "`response[1].microphone`"]);
}

#[test]
fn faults_inside_a_curve_are_told_by_file_and_line() {
    for (curve, place, word) in [
        ("# Hz dB\n20 70 1\n-30 80 1\n40 80 1\n", "curve.txt:3", "-30"),
        ("20 70 1\n30 80 1\n30 81 1\n40 80 1\n", "curve.txt:3", "30"),
        ("20 70 1\n30 80 1\n25 81 1\n40 80 1\n", "curve.txt:3", "25"),
        ("20 70 1\n30 loud 1\n40 80 1\n", "curve.txt:2", "loud"),
        ("20 70 1\n30 80\n40 80 1\n", "curve.txt:2", ""),
        ("20 70 1\n30 900 1\n40 80 1\n", "curve.txt:2", "900"),
        ("20 70 1\n30 NaN 1\n40 80 1\n", "curve.txt:2", "NaN"),
    ] {
        let bench = with(SOUND);
        bench.write("drivers/curve.txt", curve);
        bench.run(&["check", WOOFER]).refused(&[place, word]);
        bench.run(&["design", BENCH]).refused(&[place, word]);
        bench.run(&["tune", BENCH]).refused(&[place, word]);
    }
}

#[test]
fn a_curve_without_rows_or_with_one_is_refused() {
    for curve in ["", "# nothing\n", "Hz dB\n", "20 70 1\n"] {
        let bench = with(SOUND);
        bench.write("drivers/curve.txt", curve);
        bench.run(&["check", WOOFER]).refused(&["curve.txt"]);
    }
}

#[test]
fn a_gate_that_leaves_no_points_is_told() {
    let bench = with(&format!("{SOUND}\ngate_ms = 0.1"));
    bench.run(&["check", WOOFER]).refused(&["`response[1].file`: no points left between 10000"]);
}

#[test]
fn a_phase_that_is_made_is_told() {
    let bench = with(&SOUND.replace("\"source\"", "\"unknown\""));
    let out = bench.run(&["check", WOOFER]).ends(0).out;
    assert!(out.contains("phase made as minimum phase"), "{out}");
    let bench = with(SOUND);
    bench.write("drivers/curve.txt", "20 70\n200 80\n2000 81\n20000 70\n");
    let out = bench.run(&["check", WOOFER]).ends(0).out;
    assert!(out.contains("phase made as minimum phase"), "{out}");
}
