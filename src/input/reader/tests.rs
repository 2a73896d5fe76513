//! Whole messages, and the promise that no input makes the reader panic.

use proptest::prelude::*;

use super::{Bounds, Document, kind_of};
use crate::input::fault::{Fault, InputError};

const GOOD: &str = r#"slabtone = 1
kind = "design"
name = "Reading bench, 8 Ω"
inverted = true
stock = ["coils.toml", "caps.toml"]
sweep_hz = [20, 1e3, 20_000.0]

[panel]
depth_mm = 0x2A
seat_mm = [0, -350.5, 800]
units = 300

[[side]]
[side.woofer]
fs_hz = 48.5
slope = "lr4"

[[side]]
woofer = { fs_hz = 51, slope = "bw1" }
"#;

#[derive(Debug, PartialEq)]
struct Design {
    name: String,
    inverted: bool,
    stock: Vec<String>,
    sweep_hz: Vec<f64>,
    depth_m: f64,
    seat_mm: [f64; 3],
    units: u32,
    woofers: Vec<(f64, u8)>,
}

/// Asks once for every kind of value.
fn read(text: &str) -> Result<Design, InputError> {
    let document = Document::parse("bench.toml", text, &["design", "driver"])?;
    let mut root = document.root();
    let mut panel = root.section("panel");
    let mut woofers = Vec::new();
    for mut side in root.sections("side") {
        let mut woofer = side.section("woofer");
        let fs_hz = woofer.number("fs_hz", Bounds::new(10.0, 400.0, "Hz"));
        woofers.push((fs_hz, woofer.choice("slope", &[("bw1", 1), ("bw2", 2), ("lr4", 4)])));
        if woofer.is_sound() && fs_hz > 300.0 {
            woofer.refuse("fs_hz", "too high for a woofer", "");
        }
    }
    let design = Design {
        name: root.text("name"),
        inverted: root.flag_or("inverted", false),
        stock: root.texts("stock"),
        sweep_hz: root.numbers("sweep_hz", Bounds::positive(20_000.0, "Hz")),
        depth_m: panel.number("depth_mm", Bounds::new(5.0, 400.0, "mm")) * 1e-3,
        seat_mm: panel.point("seat_mm", Bounds::symmetric(10_000.0, "mm")),
        units: panel.integer_or("units", 1..=5000, 1),
        woofers,
    };
    drop((root, panel));
    document.finish()?;
    Ok(design)
}

/// The first fault of a text, as shown, without blanks at line ends.
fn first_fault(text: &str) -> String {
    let error = read(text).expect_err("a fault was planted");
    let first = InputError::new(&error.file, &error.text, vec![error.faults[0].clone()]);
    first.to_string().lines().map(|line| format!("{}\n", line.trim_end())).collect()
}

/// The good text with one place changed, and its only fault.
fn only_fault(from: &str, to: &str) -> String {
    assert!(GOOD.contains(from));
    let text = GOOD.replacen(from, to, 1);
    assert_eq!(read(&text).expect_err("a fault was planted").faults.len(), 1, "{text}");
    first_fault(&text)
}

#[test]
fn a_good_file_yields_its_values() {
    let expected = Design {
        name: "Reading bench, 8 Ω".into(),
        inverted: true,
        stock: vec!["coils.toml".into(), "caps.toml".into()],
        sweep_hz: vec![20.0, 1000.0, 20_000.0],
        depth_m: 0.042,
        seat_mm: [0.0, -350.5, 800.0],
        units: 300,
        woofers: vec![(48.5, 4), (51.0, 1)],
    };
    assert_eq!(read(GOOD).unwrap(), expected);
    assert_eq!(read(&format!("\u{feff}{}", GOOD.replace('\n', "\r\n"))).unwrap(), expected);
    assert_eq!(kind_of(GOOD).as_deref(), Some("design"));
}

#[test]
fn a_number_out_of_range_is_shown_with_its_limits() {
    assert_eq!(
        only_fault("0x2A", "-3  # µ"),
        "\
error: `panel.depth_mm`: found -3, expected a number from 5 to 400 mm
 --> bench.toml:9:12
  |
9 | depth_mm = -3  # µ
  |            ^^ below 5 mm
"
    );
}

#[test]
fn a_number_in_quotes_is_shown_without_them() {
    assert_eq!(
        only_fault("48.5", "\"48.50 Hz\""),
        "\
error: `side[1].woofer.fs_hz`: found text \"48.50 Hz\", expected a number from 10 to 400 Hz
  --> bench.toml:15:9
   |
15 | fs_hz = \"48.50 Hz\"
   |         ^^^^^^^^^^ of the wrong type
   |
   = help: the unit is part of the key: write the number alone, `fs_hz = 48.5`
"
    );
    assert!(
        only_fault("48.5", "\"5e1\"").contains("write the number without quotes: `fs_hz = 50`")
    );
    assert!(only_fault("48.5", "\"0.05 kHz\"").contains("write the number alone, in hz"));
}

#[test]
fn a_misspelt_key_and_the_missing_one_are_one_fault() {
    assert_eq!(
        only_fault("depth_mm", "depht_mm"),
        "\
error: unknown key `depht_mm` in `panel`
 --> bench.toml:9:1
  |
9 | depht_mm = 0x2A
  | ^^^^^^^^ did you mean `depth_mm`?
"
    );
}

#[test]
fn a_key_with_another_unit_is_told_so() {
    assert_eq!(
        only_fault("depth_mm", "depth_cm"),
        "\
error: unknown key `depth_cm` in `panel`
 --> bench.toml:9:1
  |
9 | depth_cm = 0x2A
  | ^^^^^^^^ expected `depth_mm`, in mm
  |
  = help: the unit is part of the key: give the value in mm and write `depth_mm = ...`
"
    );
    assert!(only_fault("depth_mm", "Depth").contains("expected `depth_mm`, in mm"));
}

#[test]
fn an_unknown_key_lists_the_known_ones() {
    assert_eq!(
        only_fault("units = 300", "\t\"größe\" = 300"),
        "\
error: unknown key `größe` in `panel`
  --> bench.toml:11:2
   |
11 |     \"größe\" = 300
   |     ^^^^^^^ not among the keys of this table
   |
   = help: known keys: `depth_mm`, `seat_mm`, `units`
"
    );
}

#[test]
fn missing_keys_of_a_table_are_one_fault_to_copy_from() {
    assert_eq!(
        only_fault("fs_hz = 48.5\nslope = \"lr4\"\n", ""),
        "\
error: `fs_hz` and `slope` are missing in `side[1].woofer`
  --> bench.toml:14:1
   |
14 | [side.woofer]
   | ^^^^^^^^^^^^^ in this table
   |
   = help: write for example
           fs_hz = 60     # a number from 10 to 400 Hz
           slope = \"bw1\"  # \"bw1\", \"bw2\", \"lr4\"
"
    );
    assert!(
        only_fault("[side.woofer]\nfs_hz = 48.5\nslope = \"lr4\"\n", "")
            .contains("[side.woofer]  # a table")
    );
}

#[test]
fn the_header_is_judged_alone() {
    let message = first_fault("");
    assert!(
        message.starts_with("error: `slabtone` and `kind` are missing\n --> bench.toml:1:1\n"),
        "{message}"
    );
    assert!(message.contains("slabtone = 1     # the version of the format\n"));
    assert!(message.ends_with("kind = \"design\"  # \"design\", \"driver\"\n"));
    let newer = only_fault("slabtone = 1", "slabtone = 2");
    assert!(
        newer.contains("found 2, expected format version 1")
            && newer.contains("use a newer slabtone")
    );
    let other = only_fault("\"design\"", "\"stock\"");
    assert!(other.contains("found text \"stock\", expected \"design\" or \"driver\""), "{other}");
    assert!(only_fault("kind =", "knid =").contains("did you mean `kind`?"));
}

#[test]
fn numbers_that_are_none_are_refused() {
    for (text, label) in [
        ("nan", "not a finite number"),
        ("-inf", "not a finite number"),
        ("1e400", "too large for a number"),
        ("-0", "a zero has no sign"),
        ("-0.0", "a zero has no sign"),
        ("1e-400", "too small to tell from 0"),
        ("true", "of the wrong type"),
        ("2026-01-01", "of the wrong type"),
        ("[1]", "of the wrong type"),
    ] {
        assert!(only_fault("48.5", text).contains(label), "{text}");
    }
    assert!(only_fault("-350.5, 800", "-350.5").contains("2 instead of 3"));
    assert!(only_fault("-350.5", "\"x\"").contains("`panel.seat_mm[2]`: found text \"x\""));
    assert!(only_fault("300", "3.6").contains("for example `4`"));
    assert!(only_fault("300", "-3").contains("below 1"));
    assert!(
        only_fault("300", "99999999999999999999999999999999999999999999").contains("above 5000")
    );
}

#[test]
fn tables_and_lists_of_tables_are_told_apart() {
    assert!(only_fault("[panel]", "[[panel]]").contains("single brackets: `[panel]`"));
    let single = format!("{}[side]\n", GOOD.split("[[side]]").next().unwrap());
    assert!(first_fault(&single).contains("double brackets: `[[side]]`"));
    assert!(only_fault("woofer = {", "wofer = {").contains("unknown table `wofer` in `side[2]`"));
    assert!(only_fault("\"lr4\"", "\"lr3\"").contains("did you mean \"lr4\"?"));
}

#[test]
fn syntax_faults_are_all_found_one_for_each_line() {
    let text =
        "a = 3,5\nb = Bramble\nc_mm = 40 mm\nd: 3\n// x\ne =\na = 2\nf = “x”\ng = True\nh = [1\n";
    let error = read(text).unwrap_err();
    let lines: Vec<_> = error.faults.iter().map(|fault| error.position(fault).unwrap().0).collect();
    assert_eq!(lines, [1, 2, 3, 4, 5, 6, 7, 8, 9, 10]);
    let shown = error.to_string();
    for help in [
        "`a = 3.5`",
        "double quotes",
        "`c_mm = 40`",
        "`key = value`",
        "with `#`",
        "after `=`",
        "one of the two",
    ] {
        assert!(shown.contains(help), "{help} in\n{shown}");
    }
    assert!(shown.ends_with("bench.toml: 10 faults"));
}

#[test]
fn a_check_of_the_caller_is_silent_on_stand_ins() {
    assert!(only_fault("48.5", "350").contains("`side[1].woofer.fs_hz`: too high for a woofer"));
    let document =
        Document::parse("a.toml", "slabtone = 1\nkind = \"design\"\n", &["design"]).unwrap();
    let mut root = document.root();
    root.number("x_mm", Bounds::new(0.0, 1.0, "mm"));
    root.refuse("x_mm", "noise", "");
    assert!(!root.is_sound());
    root.leave();
    document.fault(Fault::whole("two drivers overlap"));
    let error = document.finish().unwrap_err();
    assert_eq!(error.to_string(), "error: a.toml: two drivers overlap");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_bytes_panic(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        match crate::input::file::decode("x.toml", bytes) {
            Ok(text) => if let Err(error) = read(&text) { error.render(true); },
            Err(error) => { error.render(true); }
        }
    }

    #[test]
    fn no_text_panics(text in "(\\PC|[\t\r\n=\\[\\]{}\",.#µΩ0-9a-e]){0,80}") {
        if let Err(error) = read(&text) { error.render(true); }
        kind_of(&text);
    }

    #[test]
    fn no_mutation_of_a_good_file_panics(
        edits in prop::collection::vec(
            (any::<prop::sample::Index>(), 0usize..12, "(\\PC|[\t\r\n=\\[\\]{}\",.#-9]){0,4}"),
            1..5,
        )
    ) {
        let mut text = GOOD.to_owned();
        for (place, length, new) in edits {
            let start = text.floor_char_boundary(place.index(text.len() + 1));
            let end = text.floor_char_boundary((start + length).min(text.len()));
            text.replace_range(start..end.max(start), &new);
        }
        if let Err(error) = read(&text) {
            prop_assert!(!error.faults.is_empty());
            let start = |fault: &Fault| fault.span.as_ref().map(|span| span.start);
            prop_assert!(error.faults.is_sorted_by_key(start));
            prop_assert!(error.to_string().starts_with("error: "));
        }
    }

    #[test]
    fn no_span_panics(text in "[aµΩ\t\r\n]{0,20}", start in 0usize..50, end in 0usize..50) {
        let fault = Fault::at(start..end, "m").label("l").help("h");
        let error = InputError::new("f", &text, vec![fault]);
        error.position(&error.faults[0]);
        error.render(true);
    }

    #[test]
    fn the_stand_in_of_limits_is_within_them(low in -1e6..1e6f64, width in 1e-6..1e6f64) {
        let bounds = Bounds::new(low, low + width, "");
        prop_assert!(bounds.contains(bounds.typical()));
        prop_assert!(Bounds::positive(width, "").contains(Bounds::positive(width, "").typical()));
    }
}
