//! `compare` with arguments and files that cannot be compared.

use crate::support::{BED, BENCH, Bench, DESK};

#[test]
fn only_one_thing_is_varied_at_a_time() {
    let bench = Bench::new();
    let ways: [[&str; 2]; 4] = [
        ["--slopes", "lr4"],
        ["--at", "2000"],
        ["--woofer", "drivers/bramble.toml"],
        ["--tweeter", "drivers/fennel.toml"],
    ];
    for (k, one) in ways.iter().enumerate() {
        for other in &ways[k + 1..] {
            let arguments = [&["compare", BENCH][..], one, other].concat();
            bench.run(&arguments).refused(&["cannot be used with", one[0], other[0]]);
        }
        let two_files = [&["compare", BENCH, BENCH][..], one].concat();
        bench.run(&two_files).refused(&["several files are compared as they are", one[0]]);
    }
    bench.run(&["compare", BENCH, "--json", "--csv"]).refused(&["cannot be used with"]);
    bench.run(&["compare"]).refused(&["<FILE>", "Usage:"]);
}

#[test]
fn slopes_that_are_none_are_told() {
    let bench = Bench::new();
    let run = |slopes: &str| bench.run(&["compare", BENCH, "--slopes", slopes]);
    run("lr4,lr3").refused(&["there is no lr3", "the nearest are lr2, lr4 and bw3"]);
    run("lr1").refused(&["there is no lr1", "the nearest are bw1 and lr2"]);
    run("bw2,foo").refused(&["`foo` is not a slope; write one of bw1 bw2 bw3 bw4 lr2 lr4"]);
    run("bw5").refused(&["is not offered"]);
    for empty in ["", ",", "lr4,"] {
        run(empty).refused(&["is not a slope"]);
    }
}

#[test]
fn frequencies_out_of_the_band_are_told_with_their_number() {
    let bench = Bench::new();
    let run = |at: &str| bench.run(&["compare", BENCH, "--at", at]);
    let range = "expected frequencies from 20 to 20000 Hz";
    for (at, told) in [("19.9", "19.9"), ("2000,20001", "20001"), ("0", "0"), ("nan", "NaN")] {
        run(at).refused(&[&format!("--at: found {told}, {range}")]);
    }
    for at in ["inf", "1e9", "1e999"] {
        run(at).refused(&["--at: found ", range]);
    }
    for at in ["2.5kHz", "", "2000,,3000", "x"] {
        run(at).refused(&["--at <HZ>"]);
    }
    bench.run(&["compare", BENCH, "--at=-2000"]).refused(&["--at: found -2000"]);
}

#[test]
fn a_negative_frequency_is_told_as_a_number() {
    let bench = Bench::new();
    bench.run(&["compare", BENCH, "--at", "-2000"]).refused(&["--at: found -2000"]);
}

#[test]
fn a_driver_of_the_other_role_is_told() {
    let bench = Bench::new();
    bench
        .run(&["compare", BENCH, "--woofer", "drivers/clover.toml,drivers/yarrow.toml"])
        .refused(&["`drivers/yarrow.toml` is no woofer", "name a file with role = \"woofer\""]);
    bench
        .run(&["compare", BENCH, "--tweeter", "drivers/clover.toml"])
        .refused(&["`drivers/clover.toml` is no tweeter", "role = \"tweeter\""]);
}

#[test]
fn files_that_do_not_load_are_told_as_by_any_command() {
    let bench = Bench::new();
    bench.run(&["compare", "none.toml"]).refused(&["there is no file `none.toml`"]);
    bench.run(&["compare", BENCH, "none.toml"]).refused(&["there is no file `none.toml`"]);
    let woofers = "drivers/clover.toml,none.toml";
    bench.run(&["compare", BENCH, "--woofer", woofers]).refused(&["there is no file `none.toml`"]);
    bench.run(&["compare", BENCH, "--tweeter", BED]).refused(&["kind", BED]);
    bench.run(&["compare", "drivers/clover.toml"]).refused(&["kind", "--> drivers/clover.toml:"]);
    bench.write("drivers/bad.toml", bench.text("drivers/clover.toml").replace("fs_hz", "fs"));
    bench.run(&["compare", BENCH, "--woofer", "drivers/bad.toml"]).refused(&[
        "unknown key `fs`",
        "expected `fs_hz`",
        "--> drivers/bad.toml:",
    ]);
    bench.write("examples/bad.toml", bench.text(BENCH).replace("depth_mm = 34", "depth_mm = 0"));
    bench
        .run(&["compare", BENCH, "examples/bad.toml"])
        .refused(&["depth_mm`: found 0", "--> examples/bad.toml:"]);
}

#[test]
fn designs_with_different_listeners_are_told_with_file_and_line() {
    let bench = Bench::new();
    let sentences = [
        "its listeners are not those of `examples/reading-bench.toml`",
        "give both files the same [[listener]] tables",
    ];
    let line = |file: &str| {
        let text = bench.text(file);
        1 + text.lines().position(|line| line == "[[listener]]").expect("a listener")
    };
    let place = format!("--> {BED}:{}:1", line(BED));
    bench.run(&["compare", BENCH, BED, "--out", "out"]).refused(&sentences).refused(&[&place]);
    assert!(!bench.at("out").exists(), "nothing is written");
    for (from, to) in [("\"reader\"", "\"visitor\""), ("330, 720]", "331, 720]")] {
        bench.write("examples/other.toml", bench.text(BENCH).replace(from, to));
        let place = format!("--> examples/other.toml:{}:1", line("examples/other.toml"));
        let run = bench.run(&["compare", BENCH, "examples/other.toml", "--json"]);
        run.refused(&sentences).refused(&[&place]);
    }
}

#[test]
fn a_comment_that_speaks_of_listeners_is_not_taken_for_them() {
    let bench = Bench::new();
    let text = bench.text(BENCH).replace("330, 720]", "331, 720]");
    let text = format!("# About the [[listener]] tables.\n{text}");
    bench.write("examples/other.toml", &text);
    let line = 1 + text.lines().position(|line| line == "[[listener]]").unwrap();
    bench
        .run(&["compare", BENCH, "examples/other.toml"])
        .refused(&[&format!("--> examples/other.toml:{line}:")]);
}

#[test]
fn a_listed_network_has_no_frequency_to_vary() {
    let bench = Bench::new();
    let run = bench.run(&["compare", DESK, "--at", "1500,2500"]);
    run.refused(&["--at", "listed part by part stays the same"]);
}

#[test]
fn a_variant_without_air_is_unfit_and_nothing_is_written() {
    let bench = Bench::new();
    let huge = bench
        .text("drivers/clover.toml")
        .replace("displaced_volume_cm3 = ", "displaced_volume_cm3 = 9999 # ");
    bench.write("drivers/huge.toml", huge);
    let run =
        bench.run(&["compare", BENCH, "--woofer", "drivers/huge.toml", "--out", "out"]).ends(1);
    assert!(run.err.contains("no air is left behind the woofer"), "{}", run.err);
    assert!(!bench.at("out").exists());
}

#[test]
fn an_out_folder_that_cannot_be_is_the_machines_fault() {
    let bench = Bench::new();
    bench.write("file", "text");
    let before = bench.listing("");
    for command in ["compare", "parts"] {
        let run = bench.run(&[command, BENCH, "--out", "file/below"]).ends(3);
        assert_eq!(run.out, "");
        assert!(run.err.contains("error: cannot write `file/below"), "{}", run.err);
    }
    assert_eq!(bench.listing(""), before);
}
