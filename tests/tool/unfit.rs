//! Designs that are well-formed but do not do their job: exit 1, and what is wrong is named.

use crate::support::{BENCH, Bench, Run, WOOFER};

/// `check` and `design` on the reading bench with the replacements made must tell the same.
fn unfit(changes: &[(&str, &str)], sentences: &[&str]) -> Run {
    let bench = Bench::new();
    for (from, to) in changes {
        bench.change(BENCH, from, to);
    }
    let checked = bench.run(&["check", BENCH]).unfit(sentences);
    assert!(checked.out.contains("a sound design file, but it does not fit"), "{}", checked.out);
    let json = bench.run(&["check", "--json", BENCH]).ends(1).json();
    assert_eq!(json["files"][0]["fit"], false);
    bench.run(&["design", BENCH]).unfit(&sentences[1..])
}

#[test]
fn a_driver_deeper_than_face_and_cavity_is_unfit() {
    unfit(
        &[("depth_mm = 34", "depth_mm = 25")],
        &[
            "unfit: left woofer: too deep by 2.0 mm",
            "too deep by 2.0 mm: 36.0 mm deep; face 9.0 mm + cavity 25.0 mm give 34.0 mm",
        ],
    );
}

#[test]
fn a_driver_that_just_fits_its_depth_is_a_caution_only() {
    let bench = Bench::new();
    bench.change(BENCH, "depth_mm = 34", "depth_mm = 27");
    let run = bench.run(&["check", BENCH]).ends(0);
    assert!(
        run.out.contains("caution: left woofer: only 0.0 mm are left behind it"),
        "{}",
        run.out
    );
}

#[test]
fn a_vent_asks_for_more_room_behind_it_and_the_cure_is_told() {
    let told = |line: &str, sentence: &str| {
        let bench = Bench::new();
        let size = "mounting_depth_mm = 36";
        bench.change(WOOFER, size, &format!("{size}\n{line}"));
        let run = bench.run(&["check", BENCH]).ends(0);
        assert_eq!(run.out.contains("left behind it"), !sentence.is_empty(), "{}", run.out);
        assert!(run.out.contains(sentence), "{}", run.out);
    };
    // 7 mm are left behind it.
    told("vented = true", "");
    told("vent_clearance_mm = 7", "");
    told(
        "vent_clearance_mm = 9.5",
        "its vent needs 9.5 mm: a cavity 2.5 mm deeper, or a driver no deeper than 33.5 mm, cures it",
    );
}

#[test]
fn a_tweeter_in_the_wall_of_the_cavity_is_a_caution() {
    let bench = Bench::new();
    bench.change(BENCH, "at_mm = [-380, 60]", "at_mm = [-380, 110]");
    let run = bench.run(&["check", BENCH]).ends(0);
    let told = "caution: left tweeter: its cut-out (";
    assert!(run.out.contains(told) && run.out.contains("cuts the wall"), "{}", run.out);
}

#[test]
fn drivers_that_overlap_are_unfit() {
    unfit(
        &[("at_mm = [-380, 60]", "at_mm = [-380, 40]")],
        &[
            "unfit: left woofer: overlaps the left tweeter",
            "overlaps the left tweeter: centres 65.0 mm apart, flanges need 73.5 mm; 8.5 mm more between them cures it",
        ],
    );
}

#[test]
fn a_driver_off_the_panel_is_unfit() {
    unfit(
        &[("at_mm = [-380, 60]", "at_mm = [-380, 140]")],
        &[
            "unfit: left tweeter: its flange",
            "its flange (54 mm) reaches 7.0 mm over the edge of the panel: 7.0 mm inward, up or down, cures it",
        ],
    );
}

#[test]
fn a_woofer_beside_its_cavity_is_unfit() {
    unfit(
        &[("at_mm = [-380, -25]", "at_mm = [-100, -25]")],
        &["unfit: left woofer: its cut-out", "is not wholly over its cavity"],
    );
}

#[test]
fn a_cavity_over_the_edge_and_cavities_in_one_another_are_unfit() {
    unfit(
        &[("centre_mm = [-380, 0]", "centre_mm = [-430, 0]")],
        &[
            "unfit: left cavity: reaches",
            "reaches 10.0 mm over the edge of the panel: 10.0 mm inward, sideways, cures it",
        ],
    );
    unfit(
        &[("size_mm = [360, 240]", "size_mm = [400, 240]"), ("[-380, ", "[-190, ")],
        &["unfit: left cavity: overlaps", "overlaps the right cavity by 20.0 mm"],
    );
}

#[test]
fn a_cavity_that_its_drivers_fill_is_unfit_and_nothing_worse() {
    // 360 x 240 x 34 mm hold 2937.6 cm³; both drivers stand over it, the tweeter takes 20.
    for woofer in ["20000", "2917.6", "2917.5"] {
        let bench = Bench::new();
        let taken = format!("displaced_volume_cm3 = {woofer}");
        bench.change(WOOFER, "displaced_volume_cm3 = 55", &taken);
        bench.run(&["check", BENCH]).unfit(&["unfit: left cavity:", "no air is left behind"]);
        for arguments in [&["design", BENCH][..], &["design", BENCH, "--json", "--out", "out"]] {
            let run = bench.run(arguments).ends(1);
            let told = format!("{}{}", run.out, run.err);
            assert!(told.contains("no air is left behind the woofer"), "{told}");
            assert!(!told.contains("NaN") && !told.contains("inf "), "{told}");
        }
    }
}

#[test]
fn an_impedance_below_what_the_amplifier_allows_is_unfit() {
    let bench = Bench::new();
    bench.change(BENCH, "lowest_load_ohm = 3.2", "lowest_load_ohm = 6");
    bench.run(&["design", BENCH]).unfit(&[
        "unfit left impedance, right impedance: falls to ",
        "the amplifier allows 6.00 Ω",
    ]);
}

#[test]
fn a_response_outside_its_window_is_unfit() {
    let bench = Bench::new();
    let window = "spares_percent = 3\n[run.window]\nfrom_hz = 300\nto_hz = 12000\nplus_db = 0.5\nminus_db = 0.5";
    bench.change(BENCH, "spares_percent = 3", window);
    bench.run(&["design", BENCH]).unfit(&[
        "left response at reader, right response at reader: leaves the acceptance window",
    ]);
}
