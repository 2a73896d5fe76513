//! Preferred values and pairs of them, against searches that try everything.

use crate::random::log_between;
use crate::tried;
use proptest::prelude::*;
use slabtone::circuit::preferred::{Adds, Connection, Rule, Series, best_pair, choose};

fn series() -> impl Strategy<Value = Series> {
    prop::sample::select(Series::ALL.map(|(_, series)| series).to_vec())
}

fn adds() -> impl Strategy<Value = Adds> {
    prop::sample::select(vec![Adds::InSeries, Adds::InParallel])
}

/// Half of the widest gap between neighbours, as the ratio of the further one, in percent: what
/// a wanted value can miss by at most.
pub fn half_gap_percent(series: Series) -> f64 {
    match series {
        Series::E6 => 22.5,
        Series::E12 => 11.8,
        Series::E24 => 7.5,
        Series::E96 => 1.5,
    }
}

/// What two values come to.
pub fn together(a: f64, b: f64, connection: Connection, adds: Adds) -> f64 {
    match (connection, adds) {
        (Connection::Series, Adds::InSeries) | (Connection::Parallel, Adds::InParallel) => a + b,
        _ => 1.0 / (1.0 / a + 1.0 / b),
    }
}

/// The smallest miss of all pairs in both connections.
fn smallest_miss(series: Series, wanted: f64, adds: Adds, low: i32, high: i32) -> f64 {
    let values = series.values(low, high);
    let mut best = f64::INFINITY;
    for a in &values {
        for b in &values {
            for connection in [Connection::Series, Connection::Parallel] {
                best = best.min((together(*a, *b, connection, adds) / wanted).ln().abs());
            }
        }
    }
    best
}

proptest! {
    #![proptest_config(tried(256))]

    #[test]
    fn the_nearest_value_misses_by_half_a_gap_at_most(
        series in series(), wanted in log_between(1e-12, 1e6),
    ) {
        let found = series.nearest(wanted, Rule::Ratio).unwrap();
        let ratio = (found / wanted).max(wanted / found);
        prop_assert!(100.0 * (ratio - 1.0) <= half_gap_percent(series), "{found} for {wanted}");
        let decade = wanted.log10().floor() as i32;
        let miss = |v: f64| (v / wanted).ln().abs();
        for other in series.values(decade - 1, decade + 1) {
            prop_assert!(miss(found) <= miss(other) + 1e-12, "{other} is nearer than {found}");
        }
    }

    #[test]
    fn the_best_pair_is_the_best_of_all_pairs(
        six in any::<bool>(), adds in adds(), wanted in log_between(1e-3, 1e3),
        low in -3i32..0, decades in 0i32..5,
    ) {
        let series = if six { Series::E6 } else { Series::E12 };
        let high = low + decades;
        let pair = best_pair(series, wanted, adds, low, high).unwrap().expect("a pair");
        let (second, connection) = pair.second.expect("two parts");
        let value = together(pair.first, second, connection, adds);
        prop_assert!((pair.value / value - 1.0).abs() < 1e-12, "{pair:?} makes {value}");
        let values = series.values(low, high);
        prop_assert!(values.contains(&pair.first) && values.contains(&second), "{pair:?}");
        prop_assert!(pair.first <= second);
        let best = smallest_miss(series, wanted, adds, low, high);
        prop_assert!(pair.miss(wanted) <= best + 1e-12, "{pair:?}, but {best} can be had");
    }

    #[test]
    fn a_choice_is_the_single_one_unless_two_are_allowed_and_nearer(
        six in any::<bool>(), adds in adds(), wanted in log_between(1e-7, 1e3),
        percent in prop::option::of(0.0..25.0f64),
    ) {
        let series = if six { Series::E6 } else { Series::E12 };
        let single = series.nearest(wanted, Rule::Ratio).unwrap();
        let error = 100.0 * (single / wanted - 1.0).abs();
        let choice = choose(series, wanted, adds, percent).unwrap();
        if percent.is_none_or(|percent| error <= percent) {
            prop_assert_eq!((choice.first, choice.second), (single, None));
            return Ok(());
        }
        let decade = wanted.log10().floor() as i32;
        let pair = smallest_miss(series, wanted, adds, decade - 2, decade + 2);
        let best = pair.min((single / wanted).ln().abs());
        prop_assert!(choice.miss(wanted) <= best + 1e-12, "{choice:?} for {wanted}");
        if choice.second.is_none() {
            prop_assert!(pair >= choice.miss(wanted) - 1e-12, "a pair is nearer than {choice:?}");
        }
    }
}
