//! Conformity under uncertainty: the worked examples of JCGM 106:2012 (from memory).

use crate::rows::rows;
use slabtone::analysis::inspection::conformity::{Tolerance, guard_band, guard_for};

const ROWS: &str = include_str!("data/conformity.toml");

#[test]
fn conformance_probabilities_are_those_of_the_examples() {
    for row in rows(ROWS, "conformance", 2) {
        let low = if row.id == "zener" { f64::NEG_INFINITY } else { row.number("low") };
        let tolerance = Tolerance { low, high: row.number("high") };
        row.check("probability", tolerance.conformance(row.number("y"), row.number("u")));
        row.done();
    }
}

#[test]
fn guard_bands_are_those_of_the_examples() {
    for row in rows(ROWS, "guarded_rejection", 1) {
        let z = guard_for(row.number("probability"));
        row.check("threshold", row.number("limit") / (1.0 - z * row.number("relative_u")));
        row.done();
    }
    for row in rows(ROWS, "guarded_acceptance", 1) {
        let tolerance = Tolerance { low: row.number("low"), high: row.number("high") };
        let w = guard_band(row.number("r"), row.number("u"));
        let inner = tolerance.guarded(w).expect("something is left");
        row.check("accept_low", inner.low);
        row.check("accept_high", inner.high);
        assert_eq!(tolerance.guarded(1.0), None);
        row.done();
    }
}
