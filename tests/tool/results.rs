//! Runs on good input: what is printed, where, and how the process ends.

use crate::support::{BENCH, Bench, DESK, files_in};
use assert_cmd::cargo::cargo_bin;
use std::process::{Command, Stdio};

const COMMANDS: [&str; 16] = [
    "demo",
    "design",
    "compare",
    "tune",
    "explore",
    "parts",
    "check",
    "crossover",
    "offset",
    "fit",
    "stimulus",
    "extract",
    "yield",
    "coil",
    "limits",
    "inspect",
];

const CROSSOVER: [&str; 9] =
    ["crossover", "--slope", "lr4", "--at", "2500", "--woofer", "6.2", "--tweeter", "5.4"];

#[test]
fn without_arguments_it_says_in_about_ten_lines_what_it_can_do() {
    let run = Bench::empty().run(&[]).ends(0);
    assert!((5..=20).contains(&run.out.lines().count()), "{}", run.out);
    for command in COMMANDS {
        assert!(run.out.contains(&format!("slabtone {command}")), "{command}");
    }
    assert_eq!(run.err, "");
}

#[test]
fn every_command_explains_itself_with_an_example_and_promises_json() {
    for command in COMMANDS {
        let run = Bench::empty().run(&[command, "--help"]).ends(0);
        assert!(run.out.contains("Example: slabtone"), "{command}");
        assert!(run.out.contains("--json"), "{command}");
        assert_eq!(run.err, "");
    }
}

#[test]
fn the_version_is_the_crates() {
    let run = Bench::empty().run(&["--version"]).ends(0);
    assert_eq!(run.out, format!("slabtone {}\n", env!("CARGO_PKG_VERSION")));
}

#[test]
fn crossover_prints_every_part_with_its_value_and_unit() {
    let run = Bench::empty().run(&CROSSOVER).ends(0);
    for part in ["L1", "C1", "L2", "C2", "C3", "L3", "C4", "L4", "0.7443 mH", "16.34 µF"] {
        assert!(run.out.contains(part), "{part}\n{}", run.out);
    }
    assert!(run.out.contains("Tweeter normal"), "{}", run.out);
    assert_eq!(run.err, "");
}

#[test]
fn crossover_takes_every_slope_also_in_capitals() {
    for slope in ["bw1", "bw2", "bw3", "bw4", "lr2", "lr4", "LR4"] {
        let mut arguments = CROSSOVER;
        arguments[2] = slope;
        Bench::empty().run(&arguments).ends(0);
    }
}

#[test]
fn check_finds_every_driver_and_every_example_sound() {
    let bench = Bench::of_project();
    for file in files_in("drivers").into_iter().chain(files_in("examples")) {
        let run = bench.run(&["check", &file]).ends(0);
        assert!(run.out.starts_with(&format!("{file}: a sound ")), "{}", run.out);
        assert_eq!(run.err, "");
    }
}

#[test]
fn check_takes_many_files_at_once_in_their_order() {
    let bench = Bench::of_project();
    let files: Vec<String> = files_in("examples").into_iter().chain(files_in("drivers")).collect();
    let arguments: Vec<&str> = ["check"].into_iter().chain(files.iter().map(|f| &**f)).collect();
    let run = bench.run(&arguments).ends(0);
    let told = run.out.lines().filter(|line| line.contains(": a sound "));
    let told: Vec<&str> = told.filter_map(|line| line.split(": a sound ").next()).collect();
    assert_eq!(told, files);
}

#[test]
fn check_tells_in_percent_which_stated_parameters_disagree() {
    let run = Bench::new().run(&["check", "drivers/bramble.toml"]).ends(0);
    assert!(run.out.contains("Mms is stated -4.0 % away"), "{}", run.out);
}

#[test]
fn design_does_the_whole_job_on_every_example() {
    let bench = Bench::of_project();
    for file in files_in("examples") {
        let run = bench.run(&["design", &file]).ends(0);
        for word in ["Bass", "Impedance", "Tweeter", "L1", "C1", "Care"] {
            assert!(run.out.contains(word), "{word} is not told of {file}\n{}", run.out);
        }
        assert_eq!(run.err, "");
    }
}

#[test]
fn a_design_is_found_from_any_folder_since_its_drivers_are_beside_it() {
    let bench = Bench::new();
    let whole = bench.at(BENCH);
    Bench::empty().run(&["design", whole.to_str().unwrap()]).ends(0);
}

#[test]
fn the_demo_needs_no_file_and_leaves_none() {
    let bench = Bench::empty();
    let run = bench.run(&["demo"]).ends(0);
    assert!(run.out.starts_with("Reading bench: "), "{}", run.out);
    assert_eq!(bench.listing(""), []);
}

#[test]
fn the_demo_equals_the_design_of_the_file_it_carries() {
    let bench = Bench::of_project();
    let demo = bench.run(&["demo", "--json", "--points", "40"]).ends(0);
    let design = bench.run(&["design", BENCH, "--json", "--points", "40"]).ends(0);
    assert_eq!(demo.out, design.out);
}

#[test]
fn the_same_run_twice_prints_the_same_bytes() {
    let bench = Bench::new();
    let run = || bench.run(&["design", DESK, "--json", "--points", "60"]).ends(0).out;
    assert_eq!(run(), run());
}

#[test]
fn a_pipe_and_no_color_get_no_escape_codes() {
    let bench = Bench::new();
    bench.change(DESK, "at_mm = [460, 0]", "at_mm = [350, 60]");
    for environment in [&[][..], &[("NO_COLOR", "1")]] {
        for arguments in [&["demo"][..], &["design", DESK], &["check", DESK], &["check", "none"]] {
            let run = bench.run_with(arguments, environment);
            assert!(!run.out.contains('\x1b') && !run.err.contains('\x1b'), "{arguments:?}");
        }
    }
}

#[test]
fn forced_colours_never_reach_a_json_document() {
    let bench = Bench::new();
    let forced = [("CLICOLOR_FORCE", "1")];
    assert!(bench.run_with(&["demo"], &forced).out.contains('\x1b'), "colours can be forced");
    let run = bench.run_with(&["demo", "--json", "--points", "8"], &forced).ends(0);
    assert!(!run.out.contains('\x1b'));
    run.json();
}

#[test]
fn a_closed_pipe_is_a_quiet_success() {
    let bench = Bench::new();
    let json = ["demo", "--json", "--points", "20000"];
    let all: [&[&str]; 10] = [
        &[],
        &["--help"],
        &["demo"],
        &json,
        &CROSSOVER,
        &["check", BENCH],
        &["design", DESK, "--out", "o"],
        &["compare", BENCH, "--points", "60"],
        &["compare", BENCH, "--points", "60", "--csv"],
        &["parts", BENCH],
    ];
    for arguments in all {
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let mut command = Command::new(cargo_bin("slabtone"));
        command.current_dir(bench.at("")).args(arguments).stdout(writer).stderr(Stdio::piped());
        let output = command.output().unwrap();
        let err = String::from_utf8_lossy(&output.stderr);
        assert_eq!((output.status.code(), &*err), (Some(0), ""), "{arguments:?}");
    }
}

/// A disk without room, where the system offers one.
#[test]
#[cfg(target_os = "linux")]
fn output_that_cannot_be_written_is_the_machines_fault() {
    let Ok(full) = std::fs::OpenOptions::new().write(true).open("/dev/full") else { return };
    let mut command = Command::new(cargo_bin("slabtone"));
    let output = command.arg("demo").stdout(full).stderr(Stdio::piped()).output().unwrap();
    assert_eq!(output.status.code(), Some(3));
    let err = String::from_utf8_lossy(&output.stderr);
    assert!(err.contains("error: cannot print the result:"), "{err}");
}
