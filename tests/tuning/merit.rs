//! What candidates are compared by: one scale for all, whatever their crossover frequency.

use slabtone::analysis::compare::{self, Variant};
use slabtone::analysis::explore::merit::{Candidate, Yardstick};
use slabtone::analysis::side::SeatResponse;
use slabtone::design::{Design, Target};
use slabtone::grid::Grid;
use slabtone::input::design_file;
use slabtone::input::files::{DEMO, Embedded};

fn bench() -> Design {
    design_file::load(&Embedded, DEMO.as_ref()).unwrap()
}

/// A design measured with the yardstick of another.
fn measured(reference: &Design, design: &Design) -> Candidate {
    let grid = Grid::audible(480).unwrap();
    let variant = Variant { label: String::new(), design: design.clone() };
    let mut outcomes = compare::outcomes(vec![variant], &grid).unwrap();
    let yardstick = Yardstick::of(reference, &outcomes).unwrap();
    yardstick.measure(outcomes.remove(0), design.clone())
}

#[test]
fn a_target_that_is_tilted_is_judged_along_its_tilt() {
    let mut design = bench();
    let tilt = -2.0;
    design.target = Some(Target { tilt_db_per_octave: tilt, ..design.target() });
    let candidate = measured(&design, &design);
    let grid = &candidate.outcome.study.grid;
    let (low, high) = design.target().band_hz;
    let mut squares = Vec::new();
    for side in &candidate.outcome.study.sides {
        for seat in &side.response().seats {
            let level = SeatResponse::level_db(&seat.sum);
            let straight: Vec<f64> = grid
                .frequency_hz()
                .iter()
                .zip(level)
                .filter(|(hz, _)| (low..=high).contains(*hz))
                .map(|(hz, db)| db - tilt * (hz / 1000.0).log2())
                .collect();
            let count = straight.len() as f64;
            assert!(count > 100.0);
            let mean = straight.iter().sum::<f64>() / count;
            squares.push(straight.iter().map(|l| (l - mean).powi(2)).sum::<f64>() / count);
        }
    }
    // One seat, so that weights do not matter.
    let expected = (squares.iter().sum::<f64>() / squares.len() as f64).sqrt();
    assert!((candidate.merit.rms_db - expected).abs() < 1e-9, "{expected}");
    let level = measured(&bench(), &design);
    assert!(candidate.merit.rms_db > level.merit.rms_db + 0.5, "the bench is level, not tilted");
}

/// Fourth order: 24 dB an octave, and a little more near the tweeter's resonance.
#[test]
fn a_lower_crossover_heats_the_tweeter_more_on_the_common_scale() {
    let high = bench();
    let mut low = bench();
    low.crossover.at_hz *= 0.7;
    let heat = |design: &Design| measured(&high, design).merit.heat_db;
    let more = heat(&low) - heat(&high);
    assert!((8.0..18.0).contains(&more), "{more}");
}

#[test]
fn without_a_price_of_one_kind_all_are_counted() {
    let priced = measured(&bench(), &bench());
    assert_eq!(priced.outcome.cost, Some(priced.merit.price));
    let mut design = bench();
    design.purchase.prices.resistor = None;
    let counted = measured(&design, &design);
    assert_eq!(counted.merit.price, counted.outcome.parts as f64);
}
