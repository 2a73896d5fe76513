//! The most important messages, whole: every `bad/NAME.toml` with what `check` prints beside it.

use crate::support::{Bench, project};
use std::fs;

/// `check` on `bad/{name}.toml`, with the drivers where its paths expect them.
fn told(name: &str) {
    let folder = project().join("tests/tool/bad");
    let bench = Bench::new();
    let file = format!("bad/{name}.toml");
    bench.write(&file, fs::read(folder.join(format!("{name}.toml"))).unwrap());
    let run = bench.run(&["check", &file]).ends(2);
    assert_eq!(run.out, "");
    let message = folder.join(format!("{name}.txt"));
    if std::env::var_os("SLABTONE_BLESS").is_some() {
        fs::write(&message, &run.err).unwrap();
    }
    let expected = fs::read_to_string(&message).unwrap_or_default().replace("\r\n", "\n");
    assert_eq!(run.err, expected, "SLABTONE_BLESS=1 cargo test --test tool writes it anew");
}

#[test]
fn of_a_driver_with_several_unknown_keys() {
    told("unknown-keys");
}

#[test]
fn of_a_driver_without_some_keys() {
    told("missing-keys");
}

#[test]
fn of_a_driver_with_impossible_numbers() {
    told("impossible-numbers");
}

#[test]
fn of_a_driver_that_contradicts_itself() {
    told("contradiction");
}

#[test]
fn of_a_driver_in_a_foreign_notation() {
    told("foreign-notation");
}

#[test]
fn of_a_file_of_a_newer_version() {
    told("newer-version");
}

#[test]
fn of_a_design_whose_driver_is_missing() {
    told("missing-driver");
}

#[test]
fn of_a_design_with_a_slope_that_cannot_be() {
    told("slope-lr3");
}

#[test]
fn of_a_network_with_an_open_end() {
    told("open-end");
}
