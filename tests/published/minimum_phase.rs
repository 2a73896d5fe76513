//! Minimum phase from magnitude, the error of a wrong tail, and excess phase.
//!
//! Sources (named in full in each row of `data/minimum_phase.toml`): the phases are the arguments
//! of analytic transfer functions, which the rows write out; Bode's relation is what is tested.

use crate::rows::{Row, rows};
use num_complex::Complex64;
use slabtone::grid::level_db;
use slabtone::signal::curve::Curve;
use slabtone::signal::minimum_phase::{Tails, chi2, phase_rad_at, tail_error_rad};
use std::f64::consts::{SQRT_2, TAU};

const ROWS: &str = include_str!("data/minimum_phase.toml");

/// The rows' transfer functions, as the key `transfer` has them, at s = jω.
fn transfer(row: &Row, omega: f64) -> Complex64 {
    let s = Complex64::new(0.0, omega);
    let butterworth = s * s + SQRT_2 * s + 1.0;
    match row.text("transfer") {
        "1/(s+1)" => 1.0 / (s + 1.0),
        "s^2/(s^2+sqrt2 s+1)" => s * s / butterworth,
        "1/((s^2+0.76536686 s+1)(s^2+1.84775907 s+1))" => {
            1.0 / ((s * s + 0.76536686 * s + 1.0) * (s * s + 1.84775907 * s + 1.0))
        }
        "s^4/(s^2+sqrt2 s+1)^2" => s.powi(4) / butterworth.powi(2),
        "s^2/(s^2+s/0.9+1) / ((s/50)^2+(s/50)/0.7+1)" => {
            let high = s / 50.0;
            s * s / (s * s + s / 0.9 + 1.0) / (high * high + high / 0.7 + 1.0)
        }
        "(s^2+0.2 s+1)/(s^2+2 s+1)" => (s * s + 0.2 * s + 1.0) / (s * s + 2.0 * s + 1.0),
        other => panic!("{}: unknown transfer function {other}", row.id),
    }
}

/// |H| on 0.01 to 100 rad/s with 48 points per octave, as the rows ask.
fn magnitude_only(row: &Row) -> Curve {
    let points = (1e4_f64.log2() * 48.0).ceil() as i32;
    let omega = |k| 0.01 * 10f64.powf(4.0 * f64::from(k) / f64::from(points));
    let frequency_hz: Vec<f64> = (0..=points).map(|k| omega(k) / TAU).collect();
    let magnitude = frequency_hz.iter().map(|f| transfer(row, TAU * f).norm()).collect();
    Curve::new(frequency_hz, magnitude, None).expect("a sound curve")
}

#[test]
fn phases_from_magnitudes_are_those_of_the_analytic_filters() {
    for row in rows(ROWS, "minimum_phase_analytic", 6) {
        let tails =
            Tails { low: row.number("low_tail_slope"), high: row.number("high_tail_slope") };
        let omega = row.numbers("w_rad_per_s");
        let levels = omega.iter().map(|&w| level_db(transfer(&row, w).norm(), 1.0));
        row.check_all("magnitude_db", &levels.collect::<Vec<f64>>());
        let at_hz: Vec<f64> = omega.iter().map(|w| w / TAU).collect();
        let phase = phase_rad_at(&magnitude_only(&row), tails, &at_hz).expect("a sound curve");
        let phase_deg: Vec<f64> = phase.into_iter().map(f64::to_degrees).collect();
        row.check_all("phase_deg", &phase_deg);
        // The comparison above would not see a whole turn too many.
        for (got, want) in phase_deg.iter().zip(row.expected_numbers("phase_deg")) {
            assert!((got - want).abs() < 180.0, "{}: {got} unwrapped for {want}", row.id);
        }
        row.done();
    }
}

#[test]
fn a_wrong_tail_costs_what_the_exact_law_says() {
    for row in rows(ROWS, "tail_error_bound", 7) {
        let x = row.number("x");
        row.check("chi2", chi2(x));
        row.check("error_deg_per_unit_slope", tail_error_rad(x).to_degrees());
        row.check("error_deg_for_12db_per_oct", 2.0 * tail_error_rad(x).to_degrees());
        // The law against the method itself: the same data with two assumed tails, x below the end.
        let curve = Curve::new(vec![1.0, 10.0, 100.0], vec![1.0, 3.0, 2.0], None).expect("sound");
        let phase =
            |high| phase_rad_at(&curve, Tails { low: 0.0, high }, &[100.0 * x]).expect("sound")[0];
        row.check("error_deg_per_unit_slope", (phase(0.0) - phase(-1.0)).to_degrees());
        row.done();
    }
}

#[test]
fn a_delay_is_the_excess_over_minimum_phase() {
    for row in rows(ROWS, "excess_phase", 2) {
        let (delay_s, f_hz) = (row.number("delay_ms") * 1e-3, row.number("frequency_hz"));
        // Any magnitude will do: a second-order high-pass at 80 Hz; one point lies at the row's.
        let frequency_hz: Vec<f64> =
            (-24..=24).map(|k| f_hz * 2f64.powf(f64::from(k) / 6.0)).collect();
        let size = |f: &f64| (f / 80.0).powi(2) / (1.0 + (f / 80.0).powi(4)).sqrt();
        let magnitude = frequency_hz.iter().map(size).collect();
        let tails = Tails { low: 2.0, high: 0.0 };
        let bare = Curve::new(frequency_hz, magnitude, None).expect("sound");
        let minimum = bare.to_minimum_phase(tails).expect("sound");
        let measured = minimum.delayed(delay_s).expect("it has phase");
        let excess = measured.excess_phase_deg(tails).expect("sound")[24];
        row.check("excess_phase_deg", excess);
        row.done();
    }
}

/// What a measured curve of 480 points on the audible band allows: wrong tails by 6 dB per octave
/// cost 3.65° a decade inside the band, whatever the data.
#[test]
fn a_decade_inside_the_band_a_wrong_order_costs_under_four_degrees() {
    assert!((tail_error_rad(0.1).to_degrees() - 3.65).abs() < 0.01);
}
