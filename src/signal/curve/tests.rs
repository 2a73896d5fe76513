use super::*;
use crate::grid::wrap_deg;
use approx::assert_relative_eq;

fn evenly(from_hz: f64, to_hz: f64, points: usize) -> Vec<f64> {
    Grid::log(from_hz, to_hz, points).unwrap().frequency_hz().to_vec()
}

/// A resonance at 200 Hz, 1/(1 − x² + jx/2), with its phase wrapped.
fn resonance(frequency_hz: &[f64]) -> Curve {
    let value = |&f: &f64| {
        let x = f / 200.0;
        1.0 / Complex64::new(1.0 - x * x, 0.5 * x)
    };
    let values: Vec<Complex64> = frequency_hz.iter().map(value).collect();
    let phase = values.iter().map(|v| v.arg().to_degrees()).collect();
    let size = values.iter().map(|v| v.norm()).collect();
    Curve::new(frequency_hz.to_vec(), size, Some(phase)).unwrap()
}

#[test]
fn only_a_sound_curve_is_made() {
    let new = |f: &[f64], m: &[f64], p: Option<&[f64]>| {
        Curve::new(f.to_vec(), m.to_vec(), p.map(<[f64]>::to_vec)).map(|_| ()).unwrap_err()
    };
    assert_eq!(new(&[1.0], &[1.0], None), CurveError::TooFewPoints { found: 1, needed: 2 });
    assert!(matches!(new(&[1.0, 2.0], &[1.0], None), CurveError::LengthsDiffer { .. }));
    assert!(matches!(new(&[2.0, 1.0], &[1.0, 1.0], None), CurveError::Frequency { index: 1, .. }));
    assert!(matches!(new(&[0.0, 1.0], &[1.0, 1.0], None), CurveError::Frequency { index: 0, .. }));
    assert!(matches!(new(&[1.0, 2.0], &[1.0, 0.0], None), CurveError::Magnitude { index: 1, .. }));
    let error = new(&[1.0, 2.0], &[1.0, 1.0], Some(&[0.0, f64::NAN]));
    assert_eq!(error.to_string(), "phases must be finite; point 1 is NaN degrees");
}

#[test]
fn values_on_a_grid_are_the_curves_own_where_they_meet() {
    let curve = resonance(&evenly(20.0, 20_000.0, 60));
    let grid = Grid::from_points(curve.frequency_hz.clone()).unwrap();
    let sampled = curve.complex_on(&grid, Outside::Refuse).unwrap();
    assert_eq!(sampled.covered, 0..60);
    for (i, value) in sampled.values.iter().enumerate() {
        let phase = curve.phase_deg.as_ref().unwrap()[i].to_radians();
        let expected = Complex64::from_polar(curve.magnitude[i], phase);
        assert!((value - expected).norm() < 1e-12 * expected.norm());
    }
}

/// 24 points per octave: the interpolated value is within 1 % of the true one everywhere.
#[test]
fn a_resonance_with_a_delay_survives_a_sparse_axis() {
    let curve = resonance(&evenly(20.0, 20_000.0, 240)).delayed(0.2e-3).unwrap();
    let grid = Grid::log(20.0, 20_000.0, 997).unwrap();
    let truth = resonance(grid.frequency_hz()).delayed(0.2e-3).unwrap();
    let got = curve.complex_on(&grid, Outside::Refuse).unwrap().values;
    let exact = truth.complex_on(&grid, Outside::Refuse).unwrap().values;
    for (got, exact) in got.iter().zip(exact) {
        assert!((got - exact).norm() < 0.01 * exact.norm(), "{got} for {exact}");
    }
    assert!(curve.largest_turn_deg().unwrap().0 > 30.0);
}

#[test]
fn outside_the_data_the_caller_decides() {
    let curve = Curve::new(vec![100.0, 1000.0], vec![1.0, 4.0], Some(vec![10.0, 20.0])).unwrap();
    let grid = Grid::from_points(vec![50.0, 100.0, 1000.0, 4000.0]).unwrap();
    let held = curve.complex_on(&grid, Outside::Hold).unwrap();
    assert_eq!(held.covered, 1..3);
    assert_relative_eq!(held.values[3].norm(), 4.0, epsilon = 1e-12);
    assert_relative_eq!(held.values[0].arg().to_degrees(), 10.0, epsilon = 1e-12);
    let slopes = Outside::Slope { low_db_per_octave: 12.0, high_db_per_octave: -6.0 };
    let sloped = curve.magnitude_on(&grid, slopes).unwrap().values;
    assert_relative_eq!(sloped[0], amplitude(-12.0), epsilon = 1e-12);
    assert_relative_eq!(sloped[3], 4.0 * amplitude(-12.0), epsilon = 1e-12);
    let endless = Outside::Slope { low_db_per_octave: 0.0, high_db_per_octave: f64::INFINITY };
    assert!(matches!(curve.magnitude_on(&grid, endless), Err(CurveError::Number { .. })));
    let refused = curve.magnitude_on(&grid, Outside::Refuse).unwrap_err();
    let words =
        "the curve covers 100.0000 Hz to 1000.0000 Hz, wanted are 50.0000 Hz to 4000.0000 Hz";
    assert_eq!(refused.to_string(), words);
}

#[test]
fn without_phase_what_needs_it_is_refused() {
    let bare = Curve::new(vec![100.0, 1000.0], vec![1.0, 4.0], None).unwrap();
    let grid = Grid::from_points(vec![200.0]).unwrap();
    assert_eq!(bare.complex_on(&grid, Outside::Hold).unwrap_err(), CurveError::NoPhase);
    assert_eq!(bare.delayed(1e-3).unwrap_err(), CurveError::NoPhase);
    assert_eq!(bare.largest_turn_deg(), None);
    let tails = Tails { low: 0.0, high: 0.0 };
    assert_eq!(bare.excess_phase_deg(tails).unwrap_err(), CurveError::NoPhase);
    assert!(Curve::spliced(&bare, &resonance(&[100.0, 1000.0]), 300.0, 1.0).is_err());
    assert!(bare.to_minimum_phase(tails).unwrap().delayed(1e-3).is_ok());
}

#[test]
fn scaling_and_delaying_are_undone_by_their_opposites() {
    let curve = resonance(&evenly(20.0, 20_000.0, 50));
    let back = curve.scaled(-4.0).unwrap().scaled(-0.25).unwrap();
    assert_eq!(back.magnitude, curve.magnitude);
    assert_relative_eq!(
        back.phase_deg.as_ref().unwrap()[7],
        curve.phase_deg.as_ref().unwrap()[7] + 360.0
    );
    let back = curve.delayed(1e-3).unwrap().delayed(-1e-3).unwrap();
    assert_relative_eq!(
        back.phase_deg.unwrap()[40],
        curve.phase_deg.as_ref().unwrap()[40],
        epsilon = 1e-9
    );
    for factor in [0.0, f64::NAN, f64::INFINITY, f64::MAX] {
        assert!(curve.scaled(factor).is_err());
    }
    assert!(curve.delayed(f64::NAN).is_err());
}

#[test]
fn a_microphone_is_divided_out() {
    let truth = resonance(&evenly(20.0, 20_000.0, 300));
    let microphone = Curve::new(vec![30.0, 1000.0, 15_000.0], vec![0.8, 1.0, 1.3], None).unwrap();
    let recorded = truth.multiplied(&microphone, Outside::Hold).unwrap();
    assert_relative_eq!(recorded.magnitude[0], 0.8 * truth.magnitude[0], max_relative = 1e-12);
    assert_eq!(recorded.phase_deg, truth.phase_deg);
    let corrected = recorded.divided(&microphone, Outside::Hold).unwrap();
    for (got, want) in corrected.magnitude.iter().zip(&truth.magnitude) {
        assert_relative_eq!(got, want, max_relative = 1e-12);
    }
    assert!(recorded.divided(&microphone, Outside::Refuse).is_err());
    assert_eq!(microphone.multiplied(&truth, Outside::Refuse).unwrap().phase_deg, None);
    let squared = truth.multiplied(&truth, Outside::Refuse).unwrap();
    let (once, twice) = (truth.phase_deg.unwrap()[20], squared.phase_deg.unwrap()[20]);
    assert_relative_eq!(twice, 2.0 * once, epsilon = 1e-9);
}

#[test]
fn a_curve_spliced_with_itself_is_itself() {
    let curve = resonance(&evenly(20.0, 20_000.0, 120));
    for octaves in [0.0, 1.0, 3.0] {
        let splice = Curve::spliced(&curve, &curve, 500.0, octaves).unwrap();
        assert_eq!(splice.curve.frequency_hz, curve.frequency_hz);
        assert!(splice.level_step_db.abs() < 1e-12 && splice.phase_step_deg.unwrap().abs() < 1e-9);
        for (got, want) in splice.curve.magnitude.iter().zip(&curve.magnitude) {
            assert_relative_eq!(got, want, max_relative = 1e-12);
        }
    }
}

/// The upper half is 3 dB louder, 30° ahead and two turns off: the turns vanish, the rest is told.
#[test]
fn the_steps_of_a_splice_are_told_and_faded() {
    let low = resonance(&evenly(20.0, 2000.0, 90));
    let high = resonance(&evenly(100.0, 20_000.0, 111)).scaled(amplitude(3.0)).unwrap();
    let turned = high.phase_deg.as_ref().unwrap().iter().map(|p| p + 750.0).collect();
    let high = Curve { phase_deg: Some(turned), ..high };
    let splice = Curve::spliced(&low, &high, 500.0, 2.0).unwrap();
    assert_relative_eq!(splice.level_step_db, 3.0, epsilon = 0.02);
    assert_relative_eq!(splice.phase_step_deg.unwrap(), 30.0, epsilon = 0.2);
    assert_eq!((splice.fade_from_hz, splice.fade_to_hz), (250.0, 1000.0));
    let curve = &splice.curve;
    assert_eq!((curve.frequency_hz[0], *curve.frequency_hz.last().unwrap()), (20.0, 20_000.0));
    assert!(curve.largest_turn_deg().unwrap().0 < 30.0);
    let grid = Grid::from_points(vec![240.0, 500.0, 1010.0]).unwrap();
    let got = curve.magnitude_on(&grid, Outside::Refuse).unwrap().values;
    let exact = resonance(grid.frequency_hz()).magnitude;
    for (step_db, (got, exact)) in [0.0, 1.5, 3.0].iter().zip(got.iter().zip(exact)) {
        assert_relative_eq!(20.0 * (got / exact).log10(), *step_db, epsilon = 0.02);
    }
    for (at_hz, octaves) in [(150.0, 2.0), (1500.0, 2.0), (f64::NAN, 1.0), (500.0, -1.0)] {
        assert!(Curve::spliced(&low, &high, at_hz, octaves).is_err(), "{at_hz} {octaves}");
    }
}

#[test]
fn the_delay_beyond_minimum_phase_is_found() {
    let tails = Tails { low: 0.0, high: -2.0 };
    let curve = resonance(&evenly(20.0, 20_000.0, 480));
    for (delay_s, sign) in [(0.0, 1.0), (0.35e-3, 1.0), (0.35e-3, -1.0)] {
        let late = curve.delayed(delay_s).unwrap().scaled(sign).unwrap();
        let found = late.excess_delay(tails, 100.0, 10_000.0).unwrap();
        assert!((found.delay_s - delay_s).abs() < 1e-7, "{found:?}");
        assert!(found.standard_error_s < 1e-7 && found.rms_deg < 0.2, "{found:?}");
        let expected = if sign < 0.0 { 180.0 } else { 0.0 };
        assert!(wrap_deg(found.at_zero_deg - expected).abs() < 0.2, "{found:?}");
    }
    // 10 ms turn by more than half a turn between points: not guessed at.
    let far = curve.delayed(10e-3).unwrap().excess_delay(tails, 100.0, 10_000.0);
    assert!(matches!(far, Err(CurveError::Turning { .. })));
    assert!(curve.excess_delay(tails, 100.0, 101.0).is_err());
}

#[test]
fn a_spectrum_becomes_a_curve_with_its_nulls_raised() {
    let grid = Grid::from_points(vec![10.0, 20.0, 40.0]).unwrap();
    let null_in = |values: [f64; 3]| {
        let values = values.map(|v| Complex64::new(v, 0.0)).to_vec();
        Curve::from_spectrum(&crate::grid::Transfer::from_values(&grid, values))
    };
    assert_eq!(null_in([2.0, 0.0, -2.0]).unwrap().magnitude, [2.0, 2e-10, 2.0]);
    assert!(null_in([0.0; 3]).is_err());
    assert!(null_in([1.0, f64::NAN, 1.0]).is_err());
}
