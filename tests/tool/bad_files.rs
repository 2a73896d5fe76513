//! Files that are missing, folders, or no text: exit 2 with the name and the way out.

use crate::support::{BENCH, Bench, WOOFER};

#[test]
fn a_missing_file_is_told_by_name() {
    let bench = Bench::new();
    for command in ["design", "check"] {
        bench
            .run(&[command, "examples/none.toml"])
            .refused(&["there is no file `examples/none.toml`", "check the spelling"]);
    }
}

#[test]
fn a_folder_in_the_place_of_a_file_is_told() {
    let bench = Bench::new();
    for command in ["design", "check"] {
        bench.run(&[command, "examples"]).refused(&["`examples` is a folder, expected a file"]);
    }
}

#[test]
fn a_missing_driver_file_points_at_the_line_that_names_it() {
    let bench = Bench::new();
    bench.change(BENCH, "../drivers/bramble.toml", "../drivers/brambel.toml");
    for command in ["design", "check"] {
        bench.run(&[command, BENCH]).refused(&[
            "`side[1].woofer.driver`: there is no file `examples/../drivers/brambel.toml`",
            "--> examples/reading-bench.toml:32:10",
            "the path is relative to this design file",
        ]);
    }
}

#[test]
fn a_driver_path_that_is_a_folder_points_at_its_line() {
    let bench = Bench::new();
    bench.change(BENCH, "../drivers/fennel.toml", "../drivers");
    bench.run(&["design", BENCH]).refused(&[
        "`examples/../drivers` is a folder, expected a file",
        "--> examples/reading-bench.toml:36:10",
    ]);
}

#[test]
fn a_missing_driver_does_not_hide_the_other_faults_of_the_file() {
    let bench = Bench::new();
    bench.change(BENCH, "../drivers/bramble.toml", "../drivers/none.toml");
    bench.change(BENCH, "at_hz = 2600", "at_hz = -1");
    bench.change(WOOFER, "re_ohm = 5.6", "re_ohm = 0");
    bench.change(BENCH, "../drivers/fennel.toml", "../drivers/bramble.toml");
    bench.run(&["design", BENCH]).refused(&[
        "reading-bench.toml:32:10",
        "reading-bench.toml:49:9",
        "`thiele_small.re_ohm`: found 0",
    ]);
}

#[test]
fn bytes_that_are_no_text_are_told_with_their_place() {
    let bench = Bench::new();
    bench.write("latin.toml", b"slabtone = 1\nkind = \"driver\"\nname = \"B\xe4r\"\n");
    for command in ["design", "check"] {
        bench.run(&[command, "latin.toml"]).refused(&[
            "(0xE4, in line 3) is not UTF-8 text",
            "--> latin.toml:3:10",
            "save the file as UTF-8",
        ]);
    }
    bench.write("wide.toml", b"\xff\xfes\0l\0a\0b\0");
    bench.run(&["design", "wide.toml"]).refused(&["`wide.toml` is not a UTF-8 text, but UTF-16"]);
}

#[test]
fn a_driver_that_is_no_text_is_told_by_its_own_name() {
    let bench = Bench::new();
    let mut bytes = bench.text(WOOFER).into_bytes();
    bytes.push(0xb5);
    bench.write(WOOFER, bytes);
    bench.run(&["design", BENCH]).refused(&["is not UTF-8 text", "bramble.toml"]);
    bench.run(&["check", WOOFER]).refused(&["is not UTF-8 text", "drivers/bramble.toml:31"]);
}

#[test]
fn an_empty_file_asks_for_its_first_lines() {
    let bench = Bench::new();
    for empty in ["", "\n\n", "# only a remark\n", "\u{feff}"] {
        bench.write("empty.toml", empty);
        for command in ["design", "check"] {
            bench.run(&[command, "empty.toml"]).refused(&["`slabtone` and `kind` are missing"]);
        }
    }
}

#[test]
fn a_file_of_the_other_kind_is_told() {
    let bench = Bench::new();
    bench
        .run(&["design", WOOFER])
        .refused(&["`kind`: found text \"driver\", expected \"design\"", "bramble.toml:3:8"]);
    bench.change(BENCH, "../drivers/bramble.toml", "reading-bench.toml");
    bench.run(&["design", BENCH]).refused(&["`kind`: found text \"design\", expected \"driver\""]);
}

#[test]
fn a_kind_that_nobody_knows_names_those_there_are() {
    let bench = Bench::new();
    bench.change(WOOFER, "kind = \"driver\"", "kind = \"drive\"");
    bench.run(&["check", WOOFER]).refused(&[
        "`kind`: found text \"drive\", expected \"driver\", \"design\" or \"stock\"",
        "did you mean \"driver\"?",
    ]);
}

#[test]
fn a_version_that_is_not_1_is_told_before_anything_else() {
    let bench = Bench::new();
    for file in [WOOFER, BENCH] {
        let good = bench.text(file);
        for (version, told) in [
            ("2", "use a newer slabtone for this file"),
            ("0", "no such format"),
            ("-1", "no such format"),
            ("1.0", "expected format version 1"),
            ("\"1\"", "write the number without quotes"),
        ] {
            bench.write(file, good.replace("slabtone = 1", &format!("slabtone = {version}")));
            bench.run(&["check", file]).refused(&["`slabtone`: found", told]);
        }
    }
}

#[test]
fn a_good_file_beside_a_bad_one_is_still_told() {
    let bench = Bench::new();
    let run = bench.run(&["check", WOOFER, "none.toml", "drivers/fennel.toml"]).ends(2);
    assert!(run.out.contains("bramble.toml: a sound") && run.out.contains("fennel.toml: a sound"));
    assert!(run.err.contains("there is no file `none.toml`"));
}

#[test]
fn the_gravest_of_many_files_decides_the_exit_code() {
    let bench = Bench::new();
    bench.change(BENCH, "depth_mm = 34", "depth_mm = 20");
    bench.run(&["check", WOOFER, BENCH]).ends(1);
    bench.run(&["check", BENCH, "none.toml", WOOFER]).ends(2);
}

#[test]
fn carriage_returns_and_a_byte_order_mark_are_no_faults() {
    let bench = Bench::new();
    for file in [BENCH, WOOFER] {
        let text = bench.text(file).replace('\n', "\r\n");
        bench.write(file, format!("\u{feff}{text}"));
    }
    bench.run(&["design", BENCH]).ends(0);
}
