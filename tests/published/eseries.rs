//! Preferred values: the series, the nearest value by either rule, two parts for one.
//!
//! Sources (named in full in each row of `data/eseries.toml`): the lists of IEC 60063:2015, read in
//! two public copies; the rest follows from the lists by exact fractions or by trying every pair.
//! A tie between two neighbours goes to the larger value; a tie between two pairs may go either way.

use crate::rows::{Row, rows};
use slabtone::circuit::preferred::{
    Adds, Choice, Connection, NoPreferred, Rule, Series, best_pair, choose,
};

const ROWS: &str = include_str!("data/eseries.toml");
/// A step to either side of a boundary: far above rounding, far below the tolerances.
const STEP: f64 = 1e-12;

#[test]
fn the_series_are_the_standard_ones() {
    for row in rows(ROWS, "series", 4) {
        let row = row.expecting(&["count"]);
        let series = series_of(row.text("name"));
        assert_eq!(series.name(), row.text("name"));
        row.check("count", series.hundredths().len() as f64);
        row.check_all("values", &series.values(0, 0));
        row.done();
    }
}

#[test]
fn few_values_are_in_both_of_the_finer_series() {
    for row in rows(ROWS, "subset", 1) {
        let fine = Series::E96.values(0, 0);
        let common: Vec<f64> =
            Series::E24.values(0, 0).into_iter().filter(|v| fine.contains(v)).collect();
        row.check("count", common.len() as f64);
        row.check_all("common_values", &common);
        row.done();
    }
}

/// The list must leave the rounded geometric numbers where the rows say, and nowhere else.
#[test]
fn eight_values_are_not_the_rounded_geometric_ones() {
    let values = Series::E24.values(0, 0);
    let geometric = |i: usize| 10f64.powf(i as f64 / 24.0);
    let rounded = |i: usize| (10.0 * geometric(i)).round() / 10.0;
    let mut odd: Vec<usize> = (0..24).filter(|&i| rounded(i) != values[i]).collect();
    for row in rows(ROWS, "e24_oddity", 8) {
        let index = row.number("index") as usize;
        row.check("standard_value", values[index]);
        row.check("geometric_value", geometric(index));
        row.check("rounded_geometric", rounded(index));
        row.done();
        odd.retain(|&i| i != index);
    }
    assert!(odd.is_empty(), "oddities without a row: {odd:?}");
    for (i, value) in Series::E96.values(0, 0).into_iter().enumerate() {
        let rounded = (100.0 * 10f64.powf(i as f64 / 96.0)).round() / 100.0;
        assert_eq!(value, rounded, "E96 has no oddity");
    }
}

#[test]
fn the_nearest_value_is_found_by_either_rule() {
    for row in rows(ROWS, "nearest", 41) {
        let row = row.expecting(&["arithmetic_tie", "rules_differ", "error_percent_ratio_rule"]);
        let target = row.number("target");
        let near = |wanted: f64, rule: Rule| {
            series_of(row.text("series")).nearest(wanted, rule).expect("a positive value")
        };
        let (ratio, difference) = (near(target, Rule::Ratio), near(target, Rule::Difference));
        row.check("nearest_ratio", ratio);
        row.check("nearest_arithmetic", difference);
        check_flag(&row, "rules_differ", ratio != difference);
        // A tie is left for the smaller value by the smallest step down.
        let below = near(target * (1.0 - STEP), Rule::Difference);
        check_flag(&row, "arithmetic_tie", below < difference);
        let error_percent = Choice::single(ratio).error_percent(target);
        row.check("error_percent_ratio_rule", ten_digits(error_percent));
        row.done();
    }
}

/// The value as the row stores it: the errors have ten digits, but the row's tolerance, meant for
/// the values themselves, is finer. What is checked is that all ten digits agree.
fn ten_digits(value: f64) -> f64 {
    format!("{value:.9e}").parse().expect("a number")
}

/// The same rows in other decades, where binary fractions round otherwise: ties stay ties.
#[test]
fn the_decade_makes_no_difference() {
    for row in rows(ROWS, "nearest", 41) {
        let series = series_of(row.text("series"));
        for (key, rule) in
            [("nearest_ratio", Rule::Ratio), ("nearest_arithmetic", Rule::Difference)]
        {
            let want = row.expected(key).as_float().expect("a number");
            for decades in -13..=10 {
                let got = series.nearest(shifted(row.number("target"), decades), rule);
                assert_eq!(got, Ok(shifted(want, decades)), "{} {key} {decades}", row.id);
            }
        }
    }
}

/// `value` · 10^`decades` as its decimal digits say.
fn shifted(value: f64, decades: i32) -> f64 {
    let text = format!("{value:e}");
    let (digits, exponent) = text.split_once('e').expect("an exponent");
    let exponent: i32 = exponent.parse().expect("a whole exponent");
    format!("{digits}e{}", exponent + decades).parse().expect("a number")
}

/// Between two neighbours the choice changes at the geometric mean, where the error is largest.
#[test]
fn the_worst_error_is_half_of_the_widest_gap() {
    for row in rows(ROWS, "worst_case", 4) {
        let series = series_of(row.text("series"));
        let mut values = series.values(0, 0);
        values.push(10.0);
        let mut worst = (0.0, [0.0; 2]);
        for pair in values.windows(2) {
            let middle = (pair[0] * pair[1]).sqrt();
            let near = |wanted: f64| series.nearest(wanted, Rule::Ratio).expect("a value");
            assert_eq!(near(middle * (1.0 - STEP)), pair[0], "{}", row.id);
            let just_above = middle * (1.0 + STEP);
            assert_eq!(near(just_above), pair[1], "{}", row.id);
            let error_percent = Choice::single(pair[1]).error_percent(just_above);
            if error_percent > worst.0 {
                worst = (error_percent, [pair[0], pair[1]]);
            }
        }
        row.check("worst_error_percent", worst.0);
        row.check_all("between", &worst.1);
        row.done();
    }
}

#[test]
fn the_best_pair_is_found_and_kept_only_if_it_is_better() {
    for row in rows(ROWS, "pair", 8) {
        let row = row.expecting(&["pair_beats_single", "tie_for_best"]);
        let (series, target) = (series_of(row.text("series")), row.number("target"));
        let adds = match row.text("part") {
            "capacitor" => Adds::InParallel,
            "resistor" | "inductor" => Adds::InSeries,
            other => panic!("{}: part {other}", row.id),
        };
        let single = Choice::single(series.nearest(target, Rule::Ratio).expect("a value"));
        row.check("best_single", single.value);
        row.check("single_error_percent", single.error_percent(target));
        let decades = [row.number("decade_min") as i32, row.number("decade_max") as i32];
        let pair = best_pair(series, target, adds, decades[0], decades[1]);
        let pair = pair.expect("a positive value").expect("decades with values");
        check_pair(&row, &pair, target);
        let better = pair.miss(target) < single.miss(target);
        check_flag(&row, "pair_beats_single", better);
        let chosen = choose(series, target, adds, Some(0.0)).expect("a positive value");
        assert_eq!(chosen.second.is_some(), better, "{}: {chosen:?}", row.id);
        assert_eq!(choose(series, target, adds, None), Ok(single), "{}", row.id);
        row.done();
    }
}

/// The pair is the row's, or in a tie the runner-up, which must miss as much to the last digits.
fn check_pair(row: &Row, pair: &Choice, target: f64) {
    row.check("pair_value", pair.value);
    row.check("pair_error_percent", pair.error_percent(target));
    let runner_up = row.numbers("runner_up");
    let behind = Choice::single(runner_up[2]).miss(target) - pair.miss(target);
    let is_tie = behind.abs() < 1e-9;
    check_flag(row, "tie_for_best", is_tie);
    assert!(is_tie || behind > 0.0, "{}: the runner-up is better by {behind}", row.id);
    let (second, connection) = pair.second.expect("two parts");
    let name = match connection {
        Connection::Series => "series",
        Connection::Parallel => "parallel",
    };
    let found = [pair.first, second];
    let is_runner_up = runner_up[..2] == found && row.text("runner_up_connection") == name;
    if is_tie && is_runner_up {
        for key in ["pair_a", "pair_b", "pair_connection"] {
            row.expected(key);
        }
    } else {
        row.check("pair_a", pair.first);
        row.check("pair_b", second);
        assert_eq!(row.expected("pair_connection").as_str(), Some(name), "{}", row.id);
    }
}

#[test]
fn a_value_without_neighbours_is_refused() {
    for row in rows(ROWS, "error_case", 3) {
        let (series, target) = (series_of(row.text("series")), row.number("target"));
        assert_eq!(row.text("expect"), "error");
        let refused = NoPreferred(target);
        for rule in [Rule::Ratio, Rule::Difference] {
            assert_eq!(series.nearest(target, rule), Err(refused), "{}", row.id);
        }
        for adds in [Adds::InSeries, Adds::InParallel] {
            assert_eq!(best_pair(series, target, adds, -1, 1), Err(refused), "{}", row.id);
            assert_eq!(choose(series, target, adds, Some(0.0)), Err(refused), "{}", row.id);
        }
    }
}

fn series_of(name: &str) -> Series {
    let found = Series::ALL.iter().find(|(known, _)| *known == name);
    found.expect("the name of a series").1
}

fn check_flag(row: &Row, key: &str, got: bool) {
    assert_eq!(row.expected(key).as_bool(), Some(got), "{} {key}", row.id);
}
