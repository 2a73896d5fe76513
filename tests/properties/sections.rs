//! Synthesised sections against the closed forms of their responses.

use crate::random::{log_between, resistance};
use crate::tried;
use num_complex::Complex64;
use proptest::prelude::*;
use slabtone::circuit::attenuator::LPad;
use slabtone::circuit::ladder::{Element, Meeting, Pass, Place, section};
use slabtone::circuit::load::Load;
use slabtone::circuit::network::{Network, Node};
use slabtone::circuit::prototype;
use slabtone::circuit::slope::{Family, Slope};
use slabtone::circuit::solve::solve;
use slabtone::grid::Grid;

fn slope() -> impl Strategy<Value = Slope> {
    prop::sample::select(Slope::ALL.to_vec())
}

/// Voltage on `ohm` behind the section, per volt of the source.
fn through(elements: &[Element], ohm: f64, hz: f64) -> Complex64 {
    let grid = Grid::from_points(vec![hz]).unwrap();
    let mut network = Network::new("in", "ret");
    let mut here = Node::INPUT;
    for (k, element) in elements.iter().enumerate() {
        let next = match element.place {
            Place::Series => network.node(&format!("n{k}")),
            Place::Shunt => Node::RETURN,
        };
        network.add(format!("P{k}"), element.component, [here, next]);
        if element.place == Place::Series {
            here = next;
        }
    }
    network.add_port("load", [here, Node::RETURN]);
    let load = Load::diagonal(&grid, &[Some(&resistance(&grid, ohm))]);
    solve(&network, &grid, &load).unwrap().between([here, Node::RETURN]).values()[0]
}

/// |H|² by the definition of the family, at x = f/fc of the low-pass.
fn power(slope: Slope, x: f64) -> f64 {
    let order = slope.order() as i32;
    match slope.family() {
        Family::Butterworth => 1.0 / (1.0 + x.powi(2 * order)),
        Family::LinkwitzRiley => (1.0 + x.powi(order)).powi(-2),
    }
}

proptest! {
    #![proptest_config(tried(256))]

    #[test]
    fn a_section_into_its_resistor_has_exactly_the_response_of_its_slope(
        slope in slope(), low in any::<bool>(), at_hz in log_between(20.0, 20_000.0),
        ohm in log_between(0.5, 100.0), hz in log_between(20.0, 20_000.0),
    ) {
        let (pass, x) = if low { (Pass::Low, hz / at_hz) } else { (Pass::High, at_hz / hz) };
        let h = through(&section(slope, pass, at_hz, ohm).unwrap(), ohm, hz);
        let expected = power(slope, x).sqrt();
        prop_assert!((h.norm() / expected - 1.0).abs() < 1e-8, "{} and {expected}", h.norm());
        let (low_pass, high_pass) = prototype::responses(slope, hz / at_hz);
        let whole = if low { low_pass } else { high_pass };
        prop_assert!((h - whole).norm() <= 1e-8 * whole.norm(), "{h} and {whole}");
    }

    #[test]
    fn the_halves_of_linkwitz_riley_sum_flat_in_their_textbook_polarity(
        four in any::<bool>(), x in log_between(1e-3, 1e3),
    ) {
        let slope = Slope::new(Family::LinkwitzRiley, if four { 4 } else { 2 }).unwrap();
        let (low, high) = prototype::responses(slope, x);
        let sum = low + high * Meeting::of(slope).polarity().sign();
        prop_assert!((sum.norm() - 1.0).abs() < 1e-12, "{sum}");
    }

    #[test]
    fn the_halves_of_butterworth_share_the_power(order in 1u32..=4, x in log_between(1e-3, 1e3)) {
        let slope = Slope::new(Family::Butterworth, order).unwrap();
        let (low, high) = prototype::responses(slope, x);
        prop_assert!((low.norm_sqr() + high.norm_sqr() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_pad_keeps_its_load_and_lowers_by_what_it_says(
        db in 0.05..40.0f64, ohm in log_between(0.5, 100.0),
    ) {
        let pad = LPad::new(db, ohm).unwrap();
        let across = pad.shunt_ohm * ohm / (pad.shunt_ohm + ohm);
        prop_assert!(((pad.series_ohm + across) / ohm - 1.0).abs() < 1e-12);
        let lowered = -20.0 * (across / (across + pad.series_ohm)).log10();
        prop_assert!((lowered - db).abs() < 1e-9, "{lowered} and {db}");
    }

    #[test]
    fn a_slope_is_read_as_it_is_written(slope in slope(), text in "[blrw]{0,3}[0-9]{0,3}") {
        prop_assert_eq!(slope.to_string().parse::<Slope>().unwrap(), slope);
        if let Ok(read) = text.parse::<Slope>() {
            prop_assert!(Slope::ALL.contains(&read), "{text}");
        }
    }
}
