//! A near field joined to the far field of its angle, and what `check` tells of it.

use crate::curves::{add, response, rows};
use crate::support::{Bench, WOOFER};
use num_complex::Complex64;
use slabtone::grid::Grid;
use slabtone::input::driver_file;
use slabtone::input::files::Disk;
use slabtone::signal::interpolate::Outside;
use std::f64::consts::PI;

/// Far pressure at 1 m for 1 V: a closed box and nothing above it.
fn far(f: f64) -> Complex64 {
    let s = Complex64::new(0.0, f);
    0.2 * s * s / (s * s + s * 110.0 / 0.8 + 110.0 * 110.0)
}

/// Radius of Bramble's piston, from the area in its file.
fn radius_m() -> f64 {
    (38e-4 / PI).sqrt()
}

fn polar(z: Complex64) -> (f64, f64) {
    (z.norm(), z.arg().to_degrees())
}

const NEAR: &str = "condition = \"near_field\"\nmagnitude = \"pascal\"\ndrive_v = 0.5\ntime_zero = \"driver\"\nfile = \"near.txt\"";
const FAR: &str = "condition = \"in_this_panel\"\nmagnitude = \"pascal\"\ndrive_v = 1\ndistance_mm = 1000\ngate_ms = 5\ntime_zero = \"driver\"\nfile = \"far.txt\"";

/// A near field by Keele's relation, p(far, 1 m) = p(near) a/2, and a far field from 20 Hz on whose
/// gate of 5 ms lets nothing below 200 Hz count; it is `louder` than it should be.
fn both(near: &str, far_keys: &str, louder: f64) -> Bench {
    let grid = Grid::audible(121).unwrap();
    let bench = Bench::new();
    let near_rows = rows(&grid, |_, f| polar(far(f) * 0.5 / (0.5 * radius_m())));
    add(&bench, WOOFER, &response(near), "near.txt", &near_rows);
    let far_rows = rows(&grid, |_, f| {
        // What a gate leaves of the bass is nothing to go by.
        if f < 190.0 { (1e-3, 0.0) } else { polar(far(f) * louder) }
    });
    add(&bench, WOOFER, &response(far_keys), "far.txt", &far_rows);
    bench
}

#[test]
fn a_near_field_alone_is_the_far_one_times_two_over_the_radius() {
    let grid = Grid::audible(121).unwrap();
    let bench = Bench::new();
    let near_rows = rows(&grid, |_, f| polar(far(f) * 0.5 / (0.5 * radius_m())));
    add(&bench, WOOFER, &response(NEAR), "near.txt", &near_rows);
    let driver = driver_file::load(&Disk, &bench.at(WOOFER)).unwrap().driver;
    let curve = &driver.measured.responses[0].curve;
    // It holds up to ka = 1.
    let last = *curve.frequency_hz.last().unwrap();
    let ka_one = 343.21 / (2.0 * PI * radius_m());
    assert!(last <= ka_one && last > 0.9 * ka_one, "{last} for {ka_one}");
    for (f, m) in curve.frequency_hz.iter().zip(&curve.magnitude) {
        assert!((m / far(*f).norm() - 1.0).abs() < 1e-6, "{f}: {m}");
    }
}

#[test]
fn the_two_are_joined_at_the_far_ones_level_and_the_step_is_told() {
    let near = format!("{NEAR}\nsplice_hz = 400");
    let bench = both(&near, FAR, 1.25);
    let loaded = driver_file::load(&Disk, &bench.at(WOOFER)).unwrap();
    let responses = &loaded.driver.measured.responses;
    assert_eq!(responses.len(), 1);
    let grid = Grid::log(25.0, 15_000.0, 80).unwrap();
    let got = responses[0].curve.complex_on(&grid, Outside::Refuse).unwrap().values;
    for (f, p) in grid.frequency_hz().iter().zip(got) {
        let off = 20.0 * (p / (far(*f) * 1.25)).norm().log10();
        assert!(off.abs() < 0.1, "{f:.0} Hz: {off:.2} dB off");
    }
    // 20 lg 1.25 = 1.94 dB.
    let told = bench.run(&["check", WOOFER]).ends(0).out;
    let flat = told.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("near field joined at 400 Hz after a step of +1.9 dB"), "{told}");
    assert!(
        flat.contains("phase step +0 degrees") || flat.contains("phase step -0 degrees"),
        "{told}"
    );
    let json = bench.run(&["check", WOOFER, "--json"]).ends(0).json();
    assert!(json.to_string().contains("near field joined at 400 Hz"), "{json}");
}

#[test]
fn a_near_field_beside_a_far_one_says_where_it_gives_way() {
    let bench = both(NEAR, FAR, 1.0);
    bench.run(&["check", WOOFER]).refused(&[
        "`response[1].condition`: two curves at this angle and no splice_hz",
        "splice_hz = 300",
    ]);
}

#[test]
fn a_near_field_is_not_joined_to_a_half_space_curve() {
    let near = format!("{NEAR}\nsplice_hz = 400");
    let bench = both(&near, &FAR.replace("in_this_panel", "half_space"), 1.0);
    bench.run(&["check", WOOFER]).refused(&[
        "`response[1].condition`: cannot be joined to a half_space curve",
        "take the far curve in_this_panel as well",
    ]);
}

#[test]
fn a_splice_with_nothing_to_join_is_told() {
    let near = format!("{NEAR}\nsplice_hz = 400\nangle_deg = 30");
    let bench = both(&near, FAR, 1.0);
    bench
        .run(&["check", WOOFER])
        .refused(&["`response[1].splice_hz`: there is no far curve at this angle to join"]);
}

/// A gate of 5 ms tells nothing at 100 Hz: the far curve would be spliced where it does not hold.
#[test]
fn a_splice_below_what_the_gate_holds_is_refused() {
    let near = format!("{NEAR}\nsplice_hz = 100");
    let bench = both(&near, FAR, 1.0);
    bench.run(&["check", WOOFER]).refused(&["`response[1].splice_hz`"]);
}
