//! Command lines that cannot be used: exit 2, one sentence, the way out.

use crate::support::{BENCH, Bench, Run};

fn crossover(changed: &str, to: &str) -> Run {
    let good = ["--slope", "lr4", "--at", "2500", "--woofer", "6.2", "--tweeter", "5.4"];
    let mut arguments = vec!["crossover"];
    for pair in good.chunks(2) {
        arguments.extend([pair[0], if pair[0] == changed { to } else { pair[1] }]);
    }
    Bench::empty().run(&arguments)
}

#[test]
fn a_slope_of_odd_linkwitz_riley_order_says_why_and_what_is_near() {
    for (slope, nearest) in [("lr1", "bw1 and lr2"), ("lr3", "lr2, lr4 and bw3")] {
        let reason = format!(
            "there is no {slope}: a Linkwitz-Riley response is a Butterworth response squared, so its order is even; the nearest are {nearest}"
        );
        crossover("--slope", slope).refused(&[&reason]);
    }
}

#[test]
fn a_slope_that_is_none_names_those_that_are() {
    let orders = "Butterworth goes from bw1 to bw4, Linkwitz-Riley is lr2 or lr4";
    for slope in ["bw5", "bw0", "lr6", "bw99999"] {
        crossover("--slope", slope).refused(&["is not offered", orders]);
    }
    for slope in ["foo", "", "lr", "lr-4", "lr4.0", "24dB", "bw99999999999", "é"] {
        crossover("--slope", slope)
            .refused(&["is not a slope; write one of bw1 bw2 bw3 bw4 lr2 lr4"]);
    }
}

#[test]
fn numbers_of_a_crossover_must_be_possible() {
    for bad in ["0", "-2500", "nan", "inf", "1e9", "19.9", "20000.1", "1e999"] {
        crossover("--at", bad).refused(&["--at", "a number from 20 to 20000 Hz"]);
    }
    for load in ["--woofer", "--tweeter"] {
        for bad in ["0", "-8", "NaN", "inf", "1e-9", "1e9"] {
            crossover(load, bad).refused(&[load, "a number from 0.1 to 10000 ohm"]);
        }
    }
}

#[test]
fn text_in_the_place_of_a_number_is_told_with_its_argument() {
    for (argument, bad) in [
        ("--at", "2.5kHz"),
        ("--at", ""),
        ("--at", "2,500"),
        ("--woofer", "6R2"),
        ("--tweeter", "x"),
    ] {
        crossover(argument, bad).refused(&[argument, &format!("'{bad}'")]);
    }
}

#[test]
fn what_is_missing_or_unknown_is_told_with_a_usage() {
    let bench = Bench::new();
    let all: [(&[&str], &str); 7] = [
        (&["crossover", "--slope", "lr4"], "--woofer <OHM>"),
        (&["design"], "<FILE>"),
        (&["check"], "<FILE>"),
        (&["desing", BENCH], "'desing'"),
        (&["design", BENCH, "--jsno"], "--jsno"),
        (&["design", BENCH, BENCH], "unexpected argument"),
        (&["demo", "file.toml"], "unexpected argument"),
    ];
    for (arguments, told) in all {
        bench.run(arguments).refused(&[told, "Usage:"]);
    }
}

#[test]
fn a_number_of_points_must_be_from_2_to_100000() {
    let bench = Bench::new();
    for points in ["0", "1", "-5", "100001", "99999999999", "480.5", "many", "nan"] {
        bench.run(&["demo", "--points", points]).refused(&["--points"]);
        bench.run(&["demo", &format!("--points={points}")]).refused(&["--points"]);
    }
}

#[test]
fn arguments_that_are_not_utf8_are_files_that_are_not_there() {
    #[cfg(unix)]
    {
        use std::os::unix::ffi::OsStrExt;
        let strange = std::ffi::OsStr::from_bytes(b"b\xffd.toml");
        for command in ["design", "check"] {
            let program = assert_cmd::cargo::cargo_bin("slabtone");
            let mut run = std::process::Command::new(program);
            let output = run.arg(command).arg(strange).output().unwrap();
            let err = String::from_utf8_lossy(&output.stderr).into_owned();
            assert_eq!(output.status.code(), Some(2), "{err}");
            assert!(err.contains("there is no file"), "{err}");
        }
    }
}

#[test]
fn an_empty_out_folder_is_refused_or_means_a_folder() {
    let bench = Bench::new();
    let before = bench.listing("");
    let run = bench.run(&["demo", "--out", ""]);
    assert!(run.code == 2 || run.code == 3, "an empty name is no folder: {run:?}");
    assert_eq!(bench.listing(""), before);
}
