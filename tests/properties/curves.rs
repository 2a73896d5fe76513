//! Measured curves: interpolation, minimum phase, and the readers of their files.

use super::tried;
use num_complex::Complex64;
use proptest::collection::vec;
use proptest::prelude::*;
use slabtone::grid::Grid;
use slabtone::input::curve_file::{self, MagnitudeUnit};
use slabtone::input::touchstone;
use slabtone::signal::curve::Curve;
use slabtone::signal::interpolate::{LogCubic, Outside};
use slabtone::signal::minimum_phase::{Tails, phase_rad_at};
use std::f64::consts::TAU;

/// Rising frequencies, some nearly the same, with values.
fn points() -> impl Strategy<Value = Vec<(f64, f64)>> {
    vec((prop_oneof![1e-15..1e-9_f64, 1e-3..3.0_f64], -60.0..60.0_f64), 2..40).prop_map(|steps| {
        let mut f = 10.0;
        let step = |(grow, y)| {
            f *= 1.0 + grow;
            (f, y)
        };
        steps.into_iter().map(step).collect()
    })
}

/// A factor of a rational function: corner in Hz; Q of a pair, or none for a single corner.
type Corner = (f64, Option<f64>);

fn corner() -> impl Strategy<Value = Corner> {
    (40.0_f64.ln()..8000.0_f64.ln(), proptest::option::of(0.3..3.0_f64))
        .prop_map(|(corner, q)| (corner.exp(), q))
}

fn value((corner_hz, q): Corner, f: f64) -> Complex64 {
    let s = Complex64::new(0.0, f / corner_hz);
    match q {
        Some(q) => s * s + s / q + 1.0,
        None => s + 1.0,
    }
}

fn order(corners: &[Corner]) -> f64 {
    corners.iter().map(|(_, q)| if q.is_some() { 2.0 } else { 1.0 }).sum()
}

/// Unwrapped phase in degrees: each factor's own angle, which never passes half a turn.
fn exact_deg(above: &[Corner], below: &[Corner], at_zero: u8, f: f64) -> f64 {
    let angle = |corners: &[Corner]| corners.iter().map(|&c| value(c, f).arg()).sum::<f64>();
    (angle(above) - angle(below)).to_degrees() + 90.0 * f64::from(at_zero)
}

proptest! {
    #![proptest_config(tried(300))]

    #[test]
    fn interpolation_returns_its_samples_and_never_leaves_the_range_of_two(
        points in points(),
        between in vec(0.0..1.0_f64, 8),
    ) {
        let (f, y): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
        let cubic = LogCubic::new(&f, &y).unwrap();
        for (i, pair) in f.windows(2).enumerate() {
            prop_assert_eq!((cubic.at(pair[0]), cubic.at(pair[1])), (y[i], y[i + 1]));
            let (low, high) = (y[i].min(y[i + 1]), y[i].max(y[i + 1]));
            let mut before: Option<f64> = None;
            let mut inner: Vec<f64> = between.clone();
            inner.sort_by(f64::total_cmp);
            for part in inner {
                let got = cubic.at(pair[0] + part * (pair[1] - pair[0]));
                prop_assert!((low..=high).contains(&got), "{got} between {low} and {high}");
                let rising = y[i + 1] >= y[i];
                let turned = before.is_some_and(|b| if rising { got < b - 1e-9 } else { got > b + 1e-9 });
                prop_assert!(!turned, "{got} after {before:?}");
                before = Some(got);
            }
        }
    }

    #[test]
    fn complex_values_at_the_samples_are_the_samples(points in points(), turn in -400.0..400.0_f64) {
        let f: Vec<f64> = points.iter().map(|p| p.0).collect();
        let size = points.iter().map(|p| 10f64.powf(p.1 / 20.0)).collect();
        let phase = points.iter().map(|p| p.1 * turn).collect();
        let curve = Curve::new(f.clone(), size, Some(phase)).unwrap();
        let grid = Grid::from_points(f).unwrap();
        let sampled = curve.complex_on(&grid, Outside::Refuse).unwrap();
        prop_assert_eq!(sampled.covered.len(), grid.len());
        for (i, got) in sampled.values.iter().enumerate() {
            let phase = curve.phase_deg.as_ref().unwrap()[i].to_radians();
            let want = Complex64::from_polar(curve.magnitude[i], phase);
            prop_assert!((got - want).norm() < 1e-9 * want.norm());
        }
    }

    #[test]
    fn any_text_is_read_or_refused_with_its_faults(text in "(?s).{0,200}", unit in 0..5_usize) {
        let _ = touchstone::parse("any.s1p", &text);
        if let Err(error) = curve_file::parse("any.txt", &text, UNITS[unit]) {
            prop_assert!(!error.to_string().is_empty());
        }
    }

    #[test]
    fn any_text_of_numbers_gives_a_sound_curve_or_faults(
        text in "[0-9.,; \t\r\n+eE#\"-]{0,120}",
        head in "(# Hz [ZSY] (RI|MA|DB) R [0-9]{1,2}\n)?(\\[Version\\] 2.0\n)?",
        unit in 0..5_usize,
    ) {
        match curve_file::parse("any.txt", &text, UNITS[unit]) {
            Ok(read) => prop_assert!(read.curve.check().is_ok()),
            Err(error) => prop_assert!(!error.to_string().is_empty()),
        }
        match touchstone::parse("any.s1p", &format!("{head}{text}")) {
            Ok(read) => prop_assert!(read.impedance.check().is_ok()),
            Err(error) => prop_assert!(!error.to_string().is_empty()),
        }
    }
}

const UNITS: [MagnitudeUnit; 5] = [
    MagnitudeUnit::Ohm,
    MagnitudeUnit::DbSpl,
    MagnitudeUnit::Db,
    MagnitudeUnit::Pascal,
    MagnitudeUnit::Linear,
];

proptest! {
    #![proptest_config(tried(40))]

    /// Stable rational functions with zeros in the left half-plane or at zero, corners from 40 Hz
    /// to 8 kHz; data from 1 Hz to 300 kHz, 48 points per octave; asked for in the audible band.
    #[test]
    fn the_phase_of_a_random_filter_is_recovered_within_a_degree(
        above in vec(corner(), 0..3),
        below in vec(corner(), 1..4),
        at_zero in 0..4_u8,
    ) {
        let grid = Grid::log(1.0, 300e3, 874).unwrap();
        let f = grid.frequency_hz().to_vec();
        let size = |&f: &f64| {
            let product = |corners: &[Corner]| corners.iter().map(|&c| value(c, f).norm()).product::<f64>();
            (TAU * f).powi(i32::from(at_zero)) * product(&above) / product(&below)
        };
        let curve = Curve::new(f.clone(), f.iter().map(size).collect(), None).unwrap();
        let low = f64::from(at_zero);
        let tails = Tails { low, high: low + order(&above) - order(&below) };
        let asked: Vec<f64> = f[grid.within(20.0, 20e3)].iter().copied().step_by(7).collect();
        let phase = phase_rad_at(&curve, tails, &asked).unwrap();
        for (got, f) in phase.into_iter().map(f64::to_degrees).zip(asked) {
            let exact = exact_deg(&above, &below, at_zero, f);
            prop_assert!((got - exact).abs() < 1.0, "{got} for {exact} at {f} Hz");
        }
    }
}
