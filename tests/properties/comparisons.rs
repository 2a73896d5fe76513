//! Studies, comparisons, chosen networks and seats of random designs, each against a computation
//! of this file.

use crate::choices::{half_gap_percent, together};
use crate::random_design::design;
use crate::tried;
use num_complex::Complex64;
use proptest::prelude::*;
use slabtone::analysis::choice::Chosen;
use slabtone::analysis::compare::{self, Outcome};
use slabtone::analysis::parts_list::{Item, PartsList};
use slabtone::analysis::seat::{self, SeatVerdict};
use slabtone::analysis::side::{SeatResponse, SideModel};
use slabtone::analysis::study::Study;
use slabtone::analysis::synthesis;
use slabtone::circuit::network::Component;
use slabtone::circuit::preferred::Adds;
use slabtone::circuit::slope::Slope;
use slabtone::design::{Design, Topology, Values};
use slabtone::grid::Grid;
use std::f64::consts::TAU;

fn slope_of(design: &Design) -> Slope {
    match design.crossover.topology {
        Topology::Textbook { slope, .. } => slope,
        Topology::Listed(_) => unreachable!("a textbook design"),
    }
}

fn compared(design: &Design, slopes: &[Slope]) -> Vec<Outcome> {
    let grid = Grid::audible(32).unwrap();
    compare::outcomes(compare::slopes(design, slopes), &grid).unwrap()
}

fn close(a: f64, b: f64, allowed: f64) -> bool {
    (a - b).abs() <= allowed * (1.0 + a.abs().max(b.abs()))
}

proptest! {
    #![proptest_config(tried(64))]

    #[test]
    fn what_is_bought_differs_from_the_exact_by_half_a_gap_at_most(design in design()) {
        let exact = synthesis::network_for(&design, &design.sides[0]).unwrap().network;
        let chosen = Chosen::of(&exact, &design);
        prop_assert_eq!(chosen.parts.len(), exact.parts.len());
        chosen.network.check().unwrap();
        for (part, bought) in exact.parts.iter().zip(&chosen.parts) {
            let series = design.parts.series.of(&part.component);
            let adds = match part.component {
                Component::Capacitor { .. } => Adds::InParallel,
                _ => Adds::InSeries,
            };
            let values: Vec<f64> = bought.bought.iter().map(|(_, good)| good.component.value()).collect();
            let value = match (&values[..], bought.choice.second) {
                ([one], None) => *one,
                ([a, b], Some((_, connection))) => together(*a, *b, connection, adds),
                _ => return Err(TestCaseError::fail(format!("{bought:?}"))),
            };
            let ratio = value / part.component.value();
            let off = 100.0 * (ratio.max(1.0 / ratio) - 1.0);
            prop_assert!(off <= half_gap_percent(series), "{bought:?}");
            prop_assert!(close(bought.error_percent(), 100.0 * (ratio - 1.0), 1e-9));
        }
        let parts: usize = chosen.parts.iter().map(|p| p.bought.len()).sum();
        prop_assert_eq!(chosen.network.parts.len(), parts);
    }

    #[test]
    fn the_list_holds_every_bought_part_of_every_side(design in design(), units in 1u32..10_000) {
        let study = Study::new(design, &Grid::audible(16).unwrap()).unwrap();
        let list = PartsList::of(&study, units);
        let listed: f64 = list.lines.iter().filter(|l| matches!(l.item, Item::Part { .. }))
            .map(|l| l.per_panel).sum();
        let bought: usize = study.sides.iter().map(|s| s.chosen.network.parts.len()).sum();
        prop_assert_eq!(listed, bought as f64);
        let ordered: f64 = list.orders.iter().map(|o| o.per_panel).sum();
        prop_assert_eq!(ordered, listed);
        for line in list.lines.iter().filter(|l| l.unit == "piece") {
            let needed = line.per_panel * f64::from(units) * (1.0 + list.spares_percent / 100.0);
            prop_assert!(line.for_run >= needed - 1e-6 && line.for_run < needed + 1.0, "{line:?}");
            prop_assert_eq!(line.for_run.fract(), 0.0);
        }
    }
}

proptest! {
    #![proptest_config(tried(16))]

    #[test]
    fn a_comparison_of_one_slope_is_the_designs_own_study(design in design()) {
        let outcome = compared(&design, &[slope_of(&design)]).remove(0);
        let study = Study::new(design, &Grid::audible(32).unwrap()).unwrap();
        prop_assert_eq!(&outcome.study.design, &study.design);
        let seats = || study.sides.iter().flat_map(|s| &s.seats);
        let least = |of: fn(&SeatVerdict) -> f64| seats().map(of).fold(f64::INFINITY, f64::min);
        let most = |of: fn(&SeatVerdict) -> f64| seats().map(of).fold(0.0, f64::max);
        prop_assert_eq!(outcome.cancel_db, least(|s| s.cancel_db));
        prop_assert_eq!(outcome.delay_bump_s, most(|s| s.delay_bump_s));
        prop_assert_eq!(outcome.peak_db, most(|s| s.deviation.above.0.max(-s.deviation.below.0)));
        let weight: f64 = seats().map(|s| s.weight).sum();
        let square: f64 = seats().map(|s| s.weight * s.deviation.rms_db.powi(2)).sum();
        prop_assert!(close(outcome.rms_db, (square / weight).sqrt(), 1e-12));
        let lowest = study.sides.iter().map(|s| s.limits.lowest_ohm).fold(f64::INFINITY, f64::min);
        prop_assert_eq!(outcome.lowest_ohm, lowest);
        prop_assert_eq!(outcome.polarity, study.sides[0].response().polarity);
        prop_assert_eq!(outcome.parts, study.sides[0].network().parts.len());
        for (a, b) in outcome.study.sides.iter().zip(&study.sides) {
            prop_assert_eq!(&a.seats, &b.seats);
            prop_assert_eq!(a.network(), b.network());
            prop_assert_eq!(a.response().impedance.values(), b.response().impedance.values());
        }
    }

    #[test]
    fn first_order_is_the_measure_of_travel_and_heat(design in design()) {
        let outcomes = compared(&design, &Slope::ALL);
        prop_assert_eq!(outcomes[0].label.as_str(), "bw1");
        prop_assert_eq!(outcomes[0].tweeter_travel_db, 0.0);
        prop_assert_eq!(outcomes[0].tweeter_heat_db, 0.0);
        for outcome in &outcomes {
            // One frequency, one driver: travel and current go together.
            let (travel, heat) = (outcome.tweeter_travel_db, outcome.tweeter_heat_db);
            prop_assert!((travel - heat).abs() < 1e-9, "{travel} and {heat}");
        }
    }

    #[test]
    fn travel_at_the_resonance_is_the_voltage_there_relative_to_first_order(design in design()) {
        let outcomes = compared(&design, &Slope::ALL);
        let hz = design.sides[0].drivers.tweeter.driver.motor.fs_hz();
        let grid = Grid::from_points(vec![hz]).unwrap();
        let volts = |outcome: &Outcome| {
            let design = &outcome.study.design;
            let model = SideModel::new(design, &design.sides[0], &grid).unwrap();
            let network = outcome.study.sides[0].network();
            model.through(network, design.crossover.polarity).unwrap().voltage.tweeter.values()[0]
        };
        let first = volts(&outcomes[0]).norm();
        for outcome in &outcomes {
            let expected = 20.0 * (volts(outcome).norm() / first).log10();
            prop_assert!(close(outcome.tweeter_travel_db, expected, 1e-9), "{}", outcome.label);
        }
    }

    #[test]
    fn verdicts_are_for_the_values_that_are_asked_for(design in design()) {
        let grid = Grid::audible(480).unwrap();
        let study = Study::new(design, &grid).unwrap();
        for side in &study.sides {
            let (response, network) = match study.design.parts.values {
                Values::Exact => (&side.exact, &side.synthesis.network),
                Values::Chosen => (&side.bought, &side.chosen.network),
            };
            prop_assert_eq!(side.network(), network);
            let lowest = response.impedance.magnitude().into_iter().fold(f64::INFINITY, f64::min);
            prop_assert_eq!(side.limits.lowest_ohm, lowest);
            prop_assert_eq!(side.exact.polarity, side.bought.polarity);
        }
    }
}

/// Indices of the grid points within an octave of `at_hz` on either side.
fn band(grid: &Grid, at_hz: f64) -> Vec<usize> {
    let inside = |f: f64| f >= 0.5 * at_hz * (1.0 - 1e-9) && f <= 2.0 * at_hz * (1.0 + 1e-9);
    (0..grid.len()).filter(|i| inside(grid.frequency_hz()[*i])).collect()
}

fn db(ratio: f64) -> f64 {
    20.0 * ratio.log10()
}

/// Group delay at the middle of three points from the phases between them, the travel taken out.
fn delays(seat: &SeatResponse, c_m_per_s: f64) -> Vec<f64> {
    let hz = seat.sum.grid().frequency_hz();
    let omega = |i: usize| TAU * hz[i];
    let excess = |i: usize| {
        seat.sum.values()[i] * Complex64::from_polar(1.0, omega(i) * seat.travel_m / c_m_per_s)
    };
    let slope = |i: usize| -(excess(i + 1) / excess(i)).arg() / (omega(i + 1) - omega(i));
    let middle = |i: usize| {
        // Between two chords the slope of the parabola is their mean, the shorter one weighing more.
        let (left, right) = (omega(i) - omega(i - 1), omega(i + 1) - omega(i));
        (slope(i - 1) * right + slope(i) * left) / (left + right)
    };
    let inner = 1..hz.len() - 1;
    std::iter::once(f64::NAN).chain(inner.map(middle)).chain([f64::NAN]).collect()
}

proptest! {
    #![proptest_config(tried(24))]

    #[test]
    fn a_seats_verdict_is_what_its_curves_say(design in design()) {
        let at_hz = design.crossover.at_hz;
        let c_m_per_s = design.air.c_m_per_s;
        let grid = Grid::audible(480).unwrap();
        let study = Study::new(design, &grid).unwrap();
        for side in &study.sides {
            for (response, verdict) in side.response().seats.iter().zip(&side.seats) {
                let band = band(&grid, at_hz);
                let sum = |i: usize| response.sum.values()[i].norm();
                let levels: Vec<f64> = band.iter().map(|i| db(sum(*i) / 20e-6)).collect();
                let count = levels.len() as f64;
                let mean = levels.iter().sum::<f64>() / count;
                let rms = (levels.iter().map(|l| (l - mean).powi(2)).sum::<f64>() / count).sqrt();
                let top = levels.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                let bottom = levels.iter().copied().fold(f64::INFINITY, f64::min);
                let found = &verdict.deviation;
                prop_assert!(close(found.mean_db, mean, 1e-9) && close(found.rms_db, rms, 1e-9));
                prop_assert!(close(found.above.0, top - mean, 1e-9), "{found:?}");
                prop_assert!(close(found.below.0, bottom - mean, 1e-9), "{found:?}");
                prop_assert!(close(found.peak_db(), (top - mean).max(mean - bottom), 1e-9));
                let other = |i: usize| {
                    (response.woofer.values()[i] - response.tweeter.values()[i]).norm()
                };
                let cancel = band.iter().map(|i| db(sum(*i) / other(*i))).fold(0.0, f64::max);
                prop_assert!(close(verdict.cancel_db, cancel, 1e-6), "{cancel} {verdict:?}");
                let delay = delays(response, c_m_per_s);
                let delay: Vec<f64> = band.iter().map(|i| delay[*i]).collect();
                let low = delay.iter().copied().fold(f64::INFINITY, f64::min);
                let high = delay.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                prop_assert!(close(verdict.delay_bump_s, high - low, 1e-9), "{}", high - low);
            }
            let points = side.seats[0].band_db.len();
            let spread = (0..points).map(|i| {
                let at: Vec<f64> = side.seats.iter().map(|s| s.band_db[i]).collect();
                at.iter().copied().fold(f64::NEG_INFINITY, f64::max)
                    - at.iter().copied().fold(f64::INFINITY, f64::min)
            }).sum::<f64>() / points as f64;
            prop_assert!(close(seat::spread_db(&side.seats), spread, 1e-9));
        }
    }
}
