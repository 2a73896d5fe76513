//! Random units have the distributions, lots and pairs that the design states.

use slabtone::analysis::batch::Batch;
use slabtone::analysis::chance::Chance;
use slabtone::analysis::side::SeatResponse;
use slabtone::analysis::spread::{Quantile, Spread};
use slabtone::circuit::ladder::Polarity;
use slabtone::circuit::lanes::LANES;
use slabtone::design::{Design, PolarityRule, Shape};
use slabtone::grid::Grid;
use slabtone::input::design_file;
use slabtone::input::files::Embedded;
use std::path::Path;

fn bench() -> Design {
    design_file::load(&Embedded, Path::new("examples/reading-bench.toml")).unwrap()
}

fn moments(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    (mean, values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n)
}

#[test]
fn distributions_have_their_limits_and_variance() {
    let chance = Chance::of(5);
    let draw = |shape: &Shape| -> Vec<f64> {
        let quantile = Quantile::of(shape);
        (0..100_000).map(|k| quantile.at(chance.normal(k))).collect()
    };
    let (mean, variance) = moments(&draw(&Shape::Uniform));
    assert!(mean.abs() < 0.005 && (variance - 1.0 / 3.0).abs() < 0.005);
    let normal = draw(&Shape::Normal);
    let (mean, variance) = moments(&normal);
    // A normal distribution cut at 3 standard deviations keeps 0.9733 of its variance.
    assert!(mean.abs() < 0.005 && (9.0 * variance - 0.9733).abs() < 0.01, "{variance}");
    assert!(normal.iter().all(|v| v.abs() <= 1.0));
    let measured = draw(&Shape::Measured([-2.0, -1.0, 0.0, 3.0].into()));
    assert!(measured.iter().all(|v| (-0.02..=0.03).contains(v)));
}

#[test]
fn a_nominal_unit_is_the_design_and_seeds_repeat() {
    let design = bench();
    let spread = Spread::of(&design).unwrap();
    let mut values = vec![0.0; spread.factors.len()];
    spread.values(&spread.nominal_lot(), &vec![0.0; spread.factors.len()], &mut values);
    let unit = spread.unit_of(&values);
    assert_eq!(unit.warmer_k, 0.0);
    let moved = unit.design(&design);
    let woofer = |d: &Design| d.sides[0].drivers.woofer.driver.motor;
    assert!((woofer(&moved).mms_kg / woofer(&design).mms_kg - 1.0).abs() < 1e-12);
    assert!((moved.sides[1].cavity.depth_m / design.sides[1].cavity.depth_m - 1.0).abs() < 1e-9);
    let lot = spread.lot(7, 3);
    assert_eq!(spread.unit(&lot, 7, 12), spread.unit(&spread.lot(7, 3), 7, 12));
    assert_ne!(spread.unit(&lot, 7, 12), spread.unit(&lot, 8, 12));
}

#[test]
fn a_lot_has_its_share_of_the_variance() {
    let spread = Spread::of(&bench()).unwrap();
    let k = spread.factors.iter().position(|f| f.name == "woofer Mms").unwrap();
    let mut means = Vec::new();
    let mut all = Vec::new();
    for lot in 0..300 {
        let scores = spread.lot(1, lot);
        let draw = |unit| spread.unit(&scores, 1, 300 * lot + unit);
        let logs: Vec<f64> = (0..40).map(|u| draw(u).sides[0].drivers.woofer.mms.ln()).collect();
        means.push(moments(&logs).0);
        all.extend(logs);
    }
    let total = moments(&all).1;
    assert!((total.sqrt() / spread.factors[k].scale - 1.0).abs() < 0.06);
    // Half of it, and a fortieth of the other half.
    assert!((moments(&means).1 / total - 0.5125).abs() < 0.09);
}

#[test]
fn matched_parts_stay_together() {
    let mut design = bench();
    design.production.spreads.matched_percent = Some(1.0);
    let spread = Spread::of(&design).unwrap();
    let lot = spread.nominal_lot();
    let apart = |u: u64| {
        let unit = spread.unit(&lot, 1, u);
        100.0 * (unit.sides[0].parts[0] - unit.sides[1].parts[0])
    };
    let (_, variance) = moments(&(0..4000).map(apart).collect::<Vec<_>>());
    assert!((variance.sqrt() - 1.0 / 3f64.sqrt()).abs() < 0.08, "{variance}");
}

/// Largest difference of level (dB) and impedance (share) between the fast and the full model over
/// `count` random units, from 100 Hz up.
fn fast_against_full(design: &Design, count: u64) -> (f64, f64) {
    let grid = Grid::audible(50).unwrap();
    let batch = Batch::of(design, &grid).unwrap();
    let spread = &batch.spread;
    let nominal = spread.unit_of(&batch.nominal_values());
    let reference = spread.built(design, &nominal, &grid).unwrap();
    let mut scratch = batch.scratch();
    let (mut level, mut ohm) = (0f64, 0f64);
    for number in 0..count {
        let lot = spread.lot(11, number);
        let mut values = batch.nominal_values();
        spread.values(&lot, &spread.scores(11, number), &mut values);
        batch.simulate(&[&values[..]; LANES], &mut scratch);
        let full = spread.built(design, &spread.unit_of(&values), &grid).unwrap();
        for (s, (side, nominal)) in full.iter().zip(&reference).enumerate() {
            for (seat, (heard, as_designed)) in side.seats.iter().zip(&nominal.seats).enumerate() {
                let over = SeatResponse::level_db(&heard.sum);
                let under = SeatResponse::level_db(&as_designed.sum);
                for f in grid.within(100.0, 20_000.0) {
                    let row = (s * batch.seats() + seat) * grid.len() + f;
                    let got = scratch.levels.over_design_db[row][1];
                    level = level.max((got - (over[f] - under[f])).abs());
                }
            }
            let lowest = side.impedance.lowest(1.0, 1e6).unwrap().0;
            ohm = ohm.max((scratch.levels.lowest_ohm[s][2] / lowest - 1.0).abs());
        }
    }
    (level, ohm)
}

#[test]
fn the_fast_model_agrees_with_the_full_one() {
    // 200 units keep the same bounds; these are enough to see a slip, and a full solve is slow.
    let (level, ohm) = fast_against_full(&bench(), 40);
    assert!(level < 0.05, "{level} dB");
    assert!(ohm < 1e-3, "{ohm}");
}

#[test]
fn the_fast_model_agrees_with_the_full_one_where_the_drivers_share_air() {
    for polarity in [Polarity::Normal, Polarity::Inverted] {
        let mut design = bench();
        design.crossover.polarity = PolarityRule::Fixed(polarity);
        for side in &mut design.sides {
            side.drivers.tweeter.driver.open_back = true;
            assert!(side.shares_air());
        }
        let (level, ohm) = fast_against_full(&design, 10);
        // The tweeter lies where a standing wave is strong that the woofer hardly meets.
        assert!(level < 0.1, "{level} dB");
        assert!(ohm < 1e-3, "{ohm}");
        // Where the air stays as it is nothing is expanded, and a large soft tweeter matters. A leak
        // stated by its quality would follow each unit's woofer.
        for side in &mut design.sides {
            side.cavity.leak_ql = None;
            let motor = &mut side.drivers.tweeter.driver.motor;
            (motor.sd_m2, motor.cms_m_per_n) = (3.0 * motor.sd_m2, 4.0 * motor.cms_m_per_n);
        }
        let spreads = &mut design.production.spreads;
        (spreads.cavity.limit_percent, spreads.fill.limit_percent) = (0.0, 0.0);
        spreads.temperature_k = 0.0;
        let (level, ohm) = fast_against_full(&design, 10);
        assert!(level < 1e-6, "{level} dB");
        assert!(ohm < 1e-9, "{ohm}");
    }
}
