//! Power in every resistance of a whole network, drivers' equivalent circuits and coupled coils
//! included, against ngspice-39 (see `netlists/README.md`).

use crate::spice::Deck;
use slabtone::circuit::flows::Flows;
use slabtone::circuit::load::Load;
use slabtone::grid::Grid;

pub const NETLIST: &str = include_str!("netlists/n4_powers.cir");
const RESULTS: &str = include_str!("netlists/n4_powers.csv");
/// Rounding in either program; small powers are squares of differences of volts.
const RELATIVE: f64 = 1e-9;
const ABSOLUTE_W: f64 = 1e-16;

/// Frequency and the powers in the order of the header.
pub type Line = Vec<f64>;

/// The names of the powers.
fn names() -> Vec<&'static str> {
    RESULTS.lines().next().unwrap().split(',').skip(1).collect()
}

#[test]
fn powers_are_those_that_ngspice_stored() {
    let number = |word: &str| word.parse().expect("a number");
    let lines: Vec<Line> =
        RESULTS.lines().skip(1).map(|l| l.split(',').map(number).collect()).collect();
    assert_eq!(lines.len(), 61);
    compare(&lines);
}

/// Compares the flows through the netlist with `lines`.
pub fn compare(lines: &[Line]) {
    let deck = Deck::read(NETLIST);
    let network = deck.network();
    let grid = Grid::from_points(lines.iter().map(|l| l[0]).collect()).unwrap();
    let flows = Flows::of(&network, &grid, &Load::diagonal(&grid, &[])).unwrap();
    let square = deck.source_v.powi(2);
    let source_w = flows.source_w();
    for (column, name) in names().into_iter().enumerate() {
        let part = network.parts.iter().position(|p| p.reference == name);
        assert!(part.is_some() || name == "source", "no {name}");
        let got_w = part.map_or(&source_w, |k| &flows.heat_w[k]);
        for (line, got_w) in lines.iter().zip(got_w) {
            let (want, got) = (line[column + 1], got_w * square);
            let allowed = RELATIVE * want.abs() + ABSOLUTE_W;
            assert!((got - want).abs() <= allowed, "{name} at {} Hz: {got}, {want}", line[0]);
        }
    }
}
