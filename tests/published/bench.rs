//! Small networks in front of one load, solved: branches across it, pads before it.

use num_complex::Complex64;
use slabtone::circuit::attenuator::LPad;
use slabtone::circuit::compensation::Dual;
use slabtone::circuit::load::Load;
use slabtone::circuit::network::{Component, Network, Node};
use slabtone::circuit::solve::{Solution, solve};
use slabtone::grid::{Grid, Impedance, Spectrum};
use std::sync::Arc;

const SOURCE: [Node; 2] = [Node::INPUT, Node::RETURN];

pub fn resistor(ohm: f64) -> Component {
    Component::Resistor { ohm }
}

pub fn coil(henry: f64, dcr_ohm: f64) -> Component {
    Component::Inductor { henry, dcr_ohm }
}

pub fn capacitor(farad: f64) -> Component {
    Component::Capacitor { farad, esr_ohm: 0.0 }
}

/// A resistance as a load.
pub fn constant(grid: &Arc<Grid>, ohm: f64) -> Impedance {
    Spectrum::from_fn(grid, |_| Complex64::new(ohm, 0.0))
}

/// A network with a load on its one port, solved.
pub struct Solved {
    pub solution: Solution,
    out: [Node; 2],
}

impl Solved {
    pub fn of(mut network: Network, out: [Node; 2], load: &Impedance) -> Self {
        network.add_port("load", out);
        let load_matrix = Load::diagonal(load.grid(), &[Some(load)]);
        let solution = solve(&network, load.grid(), &load_matrix).expect("a solution");
        Self { solution, out }
    }

    /// The pad before the load; a part that does nothing is left out.
    pub fn behind_pad(pad: LPad, load: &Impedance) -> Self {
        let mut network = Network::new("in", "return");
        let mut out = SOURCE;
        if pad.series_ohm > 0.0 {
            out[0] = network.node("out");
            network.add("series", resistor(pad.series_ohm), [SOURCE[0], out[0]]);
        }
        if pad.shunt_ohm.is_finite() {
            network.add("shunt", resistor(pad.shunt_ohm), out);
        }
        Self::of(network, out, load)
    }

    /// Level at the load.
    pub fn gain_db(&self) -> Vec<f64> {
        self.solution.between(self.out).level_db(1.0)
    }

    /// Response at the load, at grid point `at`.
    pub fn gain(&self, at: usize) -> Complex64 {
        self.solution.between(self.out).values()[at]
    }

    /// Input impedance, at the first point of the grid.
    pub fn input_ohm(&self) -> f64 {
        self.solution.input_impedance().magnitude()[0]
    }

    /// What load, series and shunt resistor take of the whole power, behind a pad.
    pub fn power_fractions(&self, pad: LPad, load_ohm: f64) -> [f64; 3] {
        let squared = |nodes| self.solution.between(nodes).values()[0].norm_sqr();
        let whole = self.solution.input_impedance().values()[0].inv().re;
        let series = if pad.series_ohm > 0.0 {
            squared([SOURCE[0], self.out[0]]) / pad.series_ohm
        } else {
            0.0
        };
        let at_load = squared(self.out);
        [at_load / load_ohm, series, at_load / pad.shunt_ohm].map(|power| power / whole)
    }
}

/// Input impedance of branches, each a chain of parts, across the load.
pub fn across(branches: &[Vec<Component>], load: &Impedance) -> Impedance {
    let mut network = Network::new("in", "return");
    for (k, branch) in branches.iter().enumerate() {
        add_chain(&mut network, &format!("branch {k}"), branch, SOURCE);
    }
    Solved::of(network, SOURCE, load).solution.input_impedance()
}

/// Input impedance of the exact dual across the load; `r_and_dcr_ohm` is what the resistance of
/// its motional branch is made of.
pub fn with_dual(dual: &Dual, r_and_dcr_ohm: [f64; 2], load: &Impedance) -> Impedance {
    let mut network = Network::new("in", "return");
    let inner = [network.node("inner"), Node::RETURN];
    network.add("shared", resistor(dual.shared_ohm), [SOURCE[0], inner[0]]);
    network.add("coil's dual", capacitor(dual.coil_c_f), inner);
    let [r_ohm, dcr_ohm] = r_and_dcr_ohm;
    let parts = [resistor(r_ohm), coil(dual.notch.l_h, dcr_ohm), capacitor(dual.notch.c_f)];
    add_chain(&mut network, "motional dual", &parts, inner);
    Solved::of(network, SOURCE, load).solution.input_impedance()
}

fn add_chain(network: &mut Network, name: &str, parts: &[Component], ends: [Node; 2]) {
    let mut at = ends[0];
    for (k, part) in parts.iter().enumerate() {
        let reference = format!("{name} {k}");
        let last = k + 1 == parts.len();
        let to = if last { ends[1] } else { network.node(&reference) };
        network.add(reference, *part, [at, to]);
        at = to;
    }
}
