//! Design files with impossible contents, the crossover aside.

use crate::support::{BENCH, Bench, Run};

/// `design` on the reading bench with the replacements made.
fn spoiled(changes: &[(&str, &str)]) -> Run {
    let bench = Bench::new();
    for (from, to) in changes {
        bench.change(BENCH, from, to);
    }
    let before = bench.listing("");
    let run = bench.run(&["design", BENCH, "--out", "out"]);
    if run.code != 0 && run.code != 1 {
        assert_eq!(bench.listing(""), before, "nothing is written");
    }
    run
}

/// Every `key = number` and every number of a list in a text: line number and the spoilt line.
fn spoilt_numbers(text: &str, bad: &str) -> Vec<(usize, String, String)> {
    let mut found = Vec::new();
    for (n, line) in text.lines().enumerate().filter(|(_, l)| !l.starts_with(['#', '['])) {
        let mut from = 0;
        let is_digit = |c: char| c.is_ascii_digit() || c == '-' || c == '.';
        while let Some(start) = line[from..].find(|c: char| c.is_ascii_digit() || c == '-') {
            let start = from + start;
            let end = line[start..].find(|c: char| !is_digit(c)).map_or(line.len(), |e| start + e);
            from = end;
            let before = &line[..start];
            let quoted = before.matches('"').count() % 2 == 1;
            if !quoted && before.ends_with([' ', '[']) && !line.starts_with("slabtone") {
                let key = before.rsplit(['{', ',']).find(|part| part.contains('=')).unwrap_or("");
                let key = key.split('=').next().unwrap_or("").trim().to_owned();
                found.push((n, key, format!("{before}{bad}{}", &line[end..])));
            }
        }
    }
    found
}

#[test]
fn every_number_of_a_design_refuses_what_is_not_finite_absurd_or_text() {
    for file in [BENCH, "examples/bed-head.toml"] {
        let bench = Bench::new();
        let good = bench.text(file);
        for bad in ["nan", "inf", "-inf", "1e12", "-1e12", "1e400", "\"a few\"", "true", "{}"] {
            let spoilt = spoilt_numbers(&good, bad);
            assert!(spoilt.len() >= 30, "{file}: {spoilt:?}");
            for (n, key, line) in spoilt {
                let lines =
                    good.lines().enumerate().map(|(m, old)| if m == n { &line } else { old });
                bench.write(file, lines.map(|line| format!("{line}\n")).collect::<String>());
                let run = bench.run(&["check", file]);
                let place = format!("--> {file}:{}:", n + 1);
                run.refused(&[&key, "found ", "expected a ", &place]);
            }
        }
    }
}

#[test]
fn zeroes_and_negative_numbers_never_end_in_a_fault_of_the_program() {
    for file in [BENCH, "examples/bed-head.toml", "examples/study-desk.toml"] {
        let bench = Bench::new();
        let good = bench.text(file);
        for bad in ["0", "-1", "30"] {
            for (n, _, line) in spoilt_numbers(&good, bad) {
                let lines =
                    good.lines().enumerate().map(|(m, old)| if m == n { &line } else { old });
                bench.write(file, lines.map(|line| format!("{line}\n")).collect::<String>());
                let run = bench.run(&["design", file, "--json", "--points", "9"]);
                assert!(run.code <= 2 && !run.err.contains("panicked"), "{line}\n{}", run.err);
                if run.code < 2 {
                    run.json();
                }
            }
        }
    }
}

#[test]
fn all_unknown_keys_are_told_at_once() {
    spoiled(&[
        ("width_mm = 1200", "width = 1200"),
        ("depth_mm = 34", "depth_cm = 3.4"),
        ("[amplifier]", "[amplifyer]"),
        ("bridged = true", "bridged = true\ncolour = \"red\""),
        ("units = 300", "unit = 300"),
    ])
    .refused(&[
        "unknown key `width` in `panel`",
        "expected `width_mm`, in mm",
        "unknown key `depth_cm` in `side[1].cavity`",
        "unknown table `amplifyer`",
        "did you mean `amplifier`?",
        "unknown key `unit` in `run`",
    ]);
}

#[test]
fn missing_tables_and_keys_are_told_with_lines_to_copy() {
    spoiled(&[("depth_mm = 34\n", "")]).refused(&["`depth_mm` is missing in `side[1].cavity`"]);
    spoiled(&[("at_mm = [-380, -25]\n", "")]).refused(&["`at_mm` is missing in `side[1].woofer`"]);
    spoiled(&[("into_ohm = 4\n", ""), ("power_w = 15\n", "")])
        .refused(&["`power_w` and `into_ohm` are missing in `amplifier`"]);
    spoiled(&[("name = \"Reading bench\"\n", "")]).refused(&["`name` is missing"]);
}

#[test]
fn a_list_of_the_wrong_length_or_type_is_told() {
    spoiled(&[("[0, 330, 720]", "[0, 330]")]).refused(&["`listener[1].at_mm`: found a list of 2"]);
    spoiled(&[("[360, 240]", "360")]).refused(&["`side[1].cavity.size_mm`: found 360"]);
    spoiled(&[("[360, 240]", "[360, \"240\"]")]).refused(&["`side[1].cavity.size_mm[2]`"]);
    spoiled(&[("bridged = true", "bridged = \"yes\"")]).refused(&["expected true or false"]);
    spoiled(&[("units = 300", "units = 300.5")]).refused(&["expected a whole number"]);
}

#[test]
fn a_woofer_in_the_place_of_a_tweeter_is_told() {
    spoiled(&[("fennel.toml", "clover.toml")]).refused(&[
        "`side[1].tweeter.driver`: `../drivers/clover.toml` is a woofer",
        "name a file with role = \"tweeter\"",
        "--> examples/reading-bench.toml:36:10",
    ]);
    spoiled(&[("bramble.toml", "yarrow.toml")]).refused(&["is a tweeter", "role = \"woofer\""]);
}

#[test]
fn two_sides_of_one_name_are_told() {
    spoiled(&[("name = \"right\"", "name = \"left\"")]).refused(&[
        "`side[2].name`: used by another side",
        "give each side its own name",
        "--> examples/reading-bench.toml:40:8",
    ]);
}

#[test]
fn two_seats_of_one_name_are_told() {
    let seat = "[[listener]]\nname = \"reader\"\nat_mm = [100, 330, 720]\n\n[crossover]";
    spoiled(&[("[crossover]", seat)]).refused(&["`listener[2].name`: used by another listener"]);
}

#[test]
fn a_mirror_of_no_side_is_told() {
    for unknown in ["middle", "right", "Left"] {
        spoiled(&[("mirror_of = \"left\"", &format!("mirror_of = \"{unknown}\""))]).refused(&[
            &format!("`side[2].mirror_of`: there is no side `{unknown}`"),
            "mirror_of names a side that stands above this one",
            "--> examples/reading-bench.toml:41:13",
        ]);
    }
}

#[test]
fn a_mirror_of_a_faulty_side_adds_no_fault_of_its_own() {
    let run = spoiled(&[("bramble.toml", "none.toml")]).refused(&["there is no file"]);
    assert!(!run.err.contains("mirror_of"), "the original has the fault:\n{}", run.err);
    let third = "mirror_of = \"left\"\n\n[[side]]\nname = \"third\"\nmirror_of = \"right\"";
    let run = spoiled(&[("mirror_of = \"left\"", third), ("depth_mm = 34", "depth_mm = 0")])
        .refused(&["depth_mm`: found 0"]);
    assert!(!run.err.contains("there is no side"), "it is there:\n{}", run.err);
}

#[test]
fn names_bring_no_control_codes_into_messages() {
    let red = "\\u001b[31m";
    let spoils: [(&str, &str); 4] = [
        ("../drivers/bramble.toml", "../drivers/REDnone.toml"),
        ("mirror_of = \"left\"", "mirror_of = \"REDleft\""),
        ("\"lr4\"", "\"RED4\""),
        ("\"plywood\"", "\"REDplywood\""),
    ];
    for (from, to) in spoils {
        let bench = Bench::new();
        bench.change(BENCH, from, &to.replace("RED", red));
        let run = bench.run_with(&["design", BENCH], &[("CLICOLOR_FORCE", "1")]).ends(2);
        let own = run.err.replace("\x1b[1m\x1b[31m", "").replace("\x1b[1m\x1b[91m", "");
        assert!(!own.contains("\x1b[31mnone") && !own.contains("\x1b[31mleft"), "{own:?}");
        assert!(!own.contains("\x1b[31m4") && !own.contains("\x1b[31mplywood"), "{own:?}");
    }
}

#[test]
fn a_mirrored_side_has_no_cavity_of_its_own() {
    let own = "mirror_of = \"left\"\n[side.cavity]\ndepth_mm = 30";
    spoiled(&[("mirror_of = \"left\"", own)]).refused(&["unknown table `cavity` in `side[2]`"]);
}

#[test]
fn a_listener_behind_or_in_the_face_is_told() {
    for z in ["-720", "0", "99"] {
        spoiled(&[("[0, 330, 720]", &format!("[0, 330, {z}]"))]).refused(&[
            &format!("`listener[1].at_mm`: {z} mm in front of the face, expected 100 mm or more"),
            "z points out of the face towards the listener",
        ]);
    }
}

#[test]
fn foam_thicker_than_the_cavity_is_told() {
    spoiled(&[("thickness_mm = 10\n", "thickness_mm = 35\n")]).refused(&[
        "`side[1].cavity.fill.thickness_mm`: thicker than the cavity is deep",
        "at most depth_mm",
    ]);
    spoiled(&[("thickness_mm = 10\n", "thickness_mm = 34\n")]).ends(0);
}

#[test]
fn a_window_upside_down_is_told() {
    let window = |from: u32, to: u32| {
        let window = format!(
            "spares_percent = 3\n[run.window]\nfrom_hz = {from}\nto_hz = {to}\nplus_db = 3\nminus_db = 3"
        );
        spoiled(&[("spares_percent = 3", &window)])
    };
    for (from, to) in [(12_000, 200), (200, 200), (200, 201)] {
        window(from, to).refused(&["`run.window.to_hz`: not enough above from_hz"]);
    }
}

#[test]
fn a_window_between_two_frequencies_of_the_axis_is_not_passed_unseen() {
    let window =
        "spares_percent = 3\n[run.window]\nfrom_hz = 1000\nto_hz = 1300\nplus_db = 3\nminus_db = 3";
    let bench = Bench::new();
    bench.change(BENCH, "spares_percent = 3", window);
    let document = bench.run(&["design", BENCH, "--json", "--points", "9"]).ends(0).json();
    let seen = !document["sides"][0]["limits"]["window"].as_array().unwrap().is_empty();
    let told = |list: &str| document[list].to_string().contains("window");
    assert!(seen || told("warnings") || told("notes"), "nobody is told of the unused window");
}

#[test]
fn a_design_without_side_or_seat_is_told() {
    let bench = Bench::new();
    let text = bench.text(BENCH);
    let (head, rest) = text.split_once("[[side]]").unwrap();
    let tail = &rest[rest.find("[[listener]]").unwrap()..];
    bench.write(BENCH, format!("{head}{tail}"));
    bench.run(&["design", BENCH]).refused(&["side"]);
    bench
        .write(BENCH, text.replace("[[listener]]\nname = \"reader\"\nat_mm = [0, 330, 720]\n", ""));
    bench.run(&["design", BENCH]).refused(&["listener"]);
}
