//! Files written with `--out`: all of them or none, well-formed, a folder a side where sides differ.

use crate::support::{BENCH, Bench, DESK, WOOFER};
use crate::svg;
use std::fs;

/// Of every side that differs.
const OF_SIDE: [&str; 8] = [
    "amplifier.svg",
    "curves.csv",
    "excursion.svg",
    "impedance.svg",
    "loudest.svg",
    "phase.svg",
    "response.svg",
    "values.svg",
];
/// Once, for the whole panel.
const OF_PANEL: [&str; 8] = [
    "assembly.txt",
    "panel.svg",
    "parts.csv",
    "report.html",
    "template.svg",
    "template.dxf",
    "wiring.csv",
    "wiring.txt",
];

fn written() -> impl Iterator<Item = &'static str> {
    OF_SIDE.into_iter().chain(OF_PANEL)
}

/// The files of a panel whose sides share one set are there, and every picture is whole.
fn is_complete(bench: &Bench, folder: &str) {
    has(bench, folder, &OF_PANEL);
    side_is_complete(bench, folder);
}

fn has(bench: &Bench, folder: &str, names: &[&str]) {
    for name in names {
        let path = format!("{folder}/{name}");
        assert!(bench.at(&path).is_file(), "{path} is missing");
    }
}

fn side_is_complete(bench: &Bench, folder: &str) {
    has(bench, folder, &OF_SIDE);
    for entry in fs::read_dir(bench.at(folder)).unwrap() {
        let path = entry.unwrap().path();
        let text = fs::read_to_string(&path).expect("a text file");
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        assert!(!name.starts_with('.') && !text.is_empty(), "{name}");
        if name.ends_with(".svg") {
            let elements = svg::read(&text).unwrap_or_else(|e| panic!("{name}: {e}"));
            assert!(elements[0].name == "svg" && elements.len() > 20, "{name} is empty");
            assert!(elements[0].attribute("viewBox").is_some(), "{name}");
            for foreign in ["NaN", "inf", "/tmp", "href"] {
                assert!(!text.contains(foreign), "`{foreign}` in {name}");
            }
        }
    }
}

#[test]
fn the_demo_writes_its_files_into_a_folder_that_it_makes() {
    let bench = Bench::empty();
    let run = bench.run(&["demo", "--out", "new/deep/out"]).ends(0);
    is_complete(&bench, "new/deep/out");
    for name in written() {
        assert!(run.out.contains(name), "{name} is not told\n{}", run.out);
    }
}

#[test]
fn sides_that_mirror_each_other_at_a_seat_in_the_middle_share_one_set() {
    let bench = Bench::new();
    bench.run(&["design", BENCH, "--out", "out"]).ends(0);
    is_complete(&bench, "out");
    assert!(bench.listing("out").iter().all(|(path, _)| path.is_file()), "no folders");
}

#[test]
fn sides_that_differ_get_a_folder_each() {
    let bench = Bench::new();
    bench.change(BENCH, "at_mm = [0, 330, 720]", "at_mm = [150, 330, 720]");
    for (design, out) in [(BENCH, "out"), (DESK, "desk")] {
        let run = bench.run(&["design", design, "--out", out]).ends(0);
        for side in ["left", "right"] {
            side_is_complete(&bench, &format!("{out}/{side}"));
        }
        has(&bench, out, &OF_PANEL);
        let found = fs::read_dir(bench.at(out)).unwrap().count();
        assert_eq!(found, 2 + OF_PANEL.len(), "two folders and what is there once");
        assert!(run.out.contains("left") && run.out.contains("right"));
    }
}

#[test]
fn side_names_that_no_file_system_likes_still_get_folders_of_their_own() {
    let bench = Bench::new();
    bench.change(DESK, "name = \"left\"", "name = \"desk/1\"");
    bench.change(DESK, "name = \"right\"", "name = \"desk:1\"");
    bench.run(&["design", DESK, "--out", "out"]).ends(0);
    let entries = fs::read_dir(bench.at("out")).unwrap().map(Result::unwrap);
    let folders: Vec<_> = entries.filter(|entry| entry.path().is_dir()).collect();
    assert_eq!(folders.len(), 2, "{:?}", bench.listing("out"));
    for folder in folders {
        side_is_complete(&bench, &format!("out/{}", folder.file_name().to_string_lossy()));
    }
}

#[test]
fn a_name_with_signs_of_xml_keeps_the_pictures_well_formed() {
    let bench = Bench::new();
    bench.change(BENCH, "\"Reading bench\"", "\"A & B <\\\"bench\\\"> \\u00a0 \\u202e\"");
    bench.change(BENCH, "\"reader\"", "\"reader's <ear>, one & only\"");
    bench.run(&["design", BENCH, "--out", "out"]).ends(0);
    is_complete(&bench, "out");
}

#[test]
fn a_name_cannot_send_control_codes_to_a_terminal() {
    let bench = Bench::new();
    bench.change(BENCH, "\"Reading bench\"", "\"Reading \\u001b]0;owned\\u0007 bench\"");
    let run = bench.run_with(&["design", BENCH], &[("CLICOLOR_FORCE", "1")]).refused(&["`name"]);
    assert!(!run.err.contains("\x1b]"), "{:?}", run.err);
}

#[test]
fn writing_again_replaces_the_files_and_leaves_others_alone() {
    let bench = Bench::new();
    bench.write("out/notes.txt", "mine");
    bench.write("out/response.svg", "old");
    bench.run(&["design", BENCH, "--out", "out"]).ends(0);
    is_complete(&bench, "out");
    assert_eq!(bench.text("out/notes.txt"), "mine");
}

#[test]
fn the_table_of_curves_has_a_row_a_frequency_and_finite_numbers() {
    let bench = Bench::new();
    bench.change(BENCH, "\"reader\"", "\"reader, \\\"the tall one\\\"\"");
    bench.run(&["design", BENCH, "--out", "out", "--points", "37"]).ends(0);
    let text = bench.text("out/curves.csv");
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let header = reader.headers().unwrap().clone();
    assert_eq!(&header[0], "frequency_hz");
    assert!(header.iter().any(|name| name == "reader, \"the tall one\" sum_db"), "{header:?}");
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 37);
    for cell in rows.iter().flat_map(csv::StringRecord::iter) {
        assert!(cell.parse::<f64>().is_ok_and(f64::is_finite), "{cell}");
    }
    assert_eq!((&rows[0][0], &rows[36][0]), ("20", "20000"));
}

#[test]
fn an_unfit_design_is_written_too_and_still_ends_with_1() {
    let bench = Bench::new();
    bench.change(BENCH, "lowest_load_ohm = 3.2", "lowest_load_ohm = 8");
    bench.run(&["design", BENCH, "--out", "out"]).ends(1);
    is_complete(&bench, "out");
}

#[test]
fn malformed_input_touches_no_folder() {
    let bench = Bench::new();
    bench.change(WOOFER, "fs_hz = 78", "fs_hz = nan");
    bench.write("out/response.svg", "old");
    let before = bench.listing("");
    bench.run(&["design", BENCH, "--out", "out"]).refused(&["drivers/bramble.toml:8:9"]);
    bench.run(&["design", BENCH, "--out", "new"]).refused(&["fs_hz"]);
    assert_eq!(bench.listing(""), before);
}

#[test]
fn an_out_folder_below_a_file_is_the_machines_fault() {
    let bench = Bench::new();
    bench.write("file", "text");
    let before = bench.listing("");
    for out in ["file", "file/below"] {
        let run = bench.run(&["design", BENCH, "--out", out]).ends(3);
        assert_eq!(run.out, "");
        assert!(run.err.contains(&format!("error: cannot write `{out}")), "{}", run.err);
        assert!(run.err.contains("help: name a folder"), "{}", run.err);
    }
    assert_eq!(bench.listing(""), before);
}

#[test]
fn a_folder_in_the_place_of_a_picture_stops_everything() {
    let bench = Bench::new();
    for name in written() {
        let out = format!("out-{name}");
        fs::create_dir_all(bench.at(&format!("{out}/{name}"))).unwrap();
        let before = bench.listing("");
        let run = bench.run(&["design", BENCH, "--out", &out]).ends(3);
        assert!(run.err.contains(&format!("cannot write `{out}/{name}`")), "{}", run.err);
        assert_eq!(bench.listing(""), before, "nothing half-written");
    }
}

#[test]
fn a_file_in_the_place_of_a_sides_folder_leaves_no_other_folder_behind() {
    let bench = Bench::new();
    bench.write("out/right", "in the way");
    let before = bench.listing("");
    bench.run(&["design", DESK, "--out", "out"]).ends(3);
    assert_eq!(bench.listing(""), before, "nothing half-written");
}
