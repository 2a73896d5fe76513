//! Direct current in a network: which ports it reaches, by way of which parts, and what an ohmmeter
//! shows at the input.

use super::load::Load;
use super::network::{Component, Network, Node};
use super::solve::{self, SolveError};
use crate::grid::{Grid, Impedance, Spectrum};
use num_complex::Complex64;

/// A capacitor at direct current: its leakage, Ω (any large value).
const LEAK_OHM: f64 = 1e9;
/// A coil without stated winding resistance, Ω.
const BARE_COIL_OHM: f64 = 1e-6;
/// A smaller share of the input than this is leakage.
const LEAKED: f64 = 1e-5;

/// A network at direct current.
#[derive(Debug, Clone, PartialEq)]
pub struct Direct {
    /// Resistance between the input's terminals, Ω; 10⁸ and more: no path.
    pub input_ohm: f64,
    /// Each port's share of the voltage at the input, 0 where capacitors keep it away.
    pub share: Vec<f64>,
}

impl Direct {
    /// `network` with a resistance (Ω) on each port, `None` for an open one.
    ///
    /// # Errors
    /// What the solver finds wrong with the network.
    pub fn of(network: &Network, ports_ohm: &[Option<f64>]) -> Result<Self, SolveError> {
        let mut resistive = network.clone();
        resistive.couplings.clear();
        for part in &mut resistive.parts {
            let ohm = match part.component {
                Component::Resistor { ohm } => ohm,
                Component::Inductor { dcr_ohm, .. } => dcr_ohm.max(BARE_COIL_OHM),
                Component::Capacitor { .. } => LEAK_OHM,
            };
            part.component = Component::Resistor { ohm };
        }
        let Ok(grid) = Grid::from_points(vec![1.0]) else {
            return Ok(Self { input_ohm: LEAK_OHM, share: vec![0.0; ports_ohm.len()] });
        };
        let constant =
            |ohm: f64| -> Impedance { Spectrum::from_fn(&grid, |_| Complex64::new(ohm, 0.0)) };
        // A missing driver leaves its port open; a leak keeps the node from floating.
        let loads: Vec<Impedance> =
            ports_ohm.iter().map(|ohm| constant(ohm.unwrap_or(LEAK_OHM))).collect();
        let load = Load::diagonal(&grid, &loads.iter().map(Some).collect::<Vec<_>>());
        let solution = solve::solve(&resistive, &grid, &load)?;
        let share = |port: &super::network::Port| {
            let v = solution.between(port.nodes).values()[0].norm();
            if v < LEAKED { 0.0 } else { v }
        };
        Ok(Self {
            input_ohm: solution.input_impedance().values()[0].norm(),
            share: network.ports.iter().map(share).collect(),
        })
    }
}

/// The parts by which direct current runs from the input through port `port` to the return: a
/// shortest way in, and a shortest way out; `None` where there is no such way.
pub fn path(network: &Network, port: usize) -> Option<Vec<String>> {
    let [a, b] = network.ports.get(port)?.nodes;
    let ways = [(a, b), (b, a)].map(|(hot, cold)| {
        let mut way = way(network, Node::INPUT, hot, cold)?;
        way.extend(self::way(network, cold, Node::RETURN, hot)?);
        Some(way)
    });
    ways.into_iter().flatten().min_by_key(Vec::len)
}

/// A shortest way over parts that pass direct current, not by way of `barrier`.
fn way(network: &Network, from: Node, to: Node, barrier: Node) -> Option<Vec<String>> {
    let mut reached: Vec<Option<Vec<String>>> = vec![None; network.node_count()];
    reached[from.0] = Some(Vec::new());
    let passes = |component: &Component| !matches!(component, Component::Capacitor { .. });
    for _ in 0..network.node_count() {
        for part in network.parts.iter().filter(|p| passes(&p.component)) {
            for (here, there) in [(0, 1), (1, 0)] {
                let (here, there) = (part.nodes[here], part.nodes[there]);
                if here == barrier || there == barrier {
                    continue;
                }
                let Some(mut longer) = reached[here.0].clone() else { continue };
                longer.push(part.reference.clone());
                let shorter = |old: &Vec<String>| old.len() <= longer.len();
                if !reached[there.0].as_ref().is_some_and(shorter) {
                    reached[there.0] = Some(longer);
                }
            }
        }
    }
    reached[to.0].take()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A tweeter behind a capacitor, or behind that and a resistor across it.
    fn high_pass(bridged_by: Option<f64>) -> Network {
        let mut network = Network::new("amp+", "amp-");
        let top = network.node("top");
        let capacitor = Component::Capacitor { farad: 4.7e-6, esr_ohm: 0.0 };
        network.add("C1", capacitor, [Node::INPUT, top]);
        let coil = Component::Inductor { henry: 0.3e-3, dcr_ohm: 0.4 };
        network.add("L1", coil, [top, Node::RETURN]);
        if let Some(ohm) = bridged_by {
            network.add("R1", Component::Resistor { ohm }, [Node::INPUT, top]);
        }
        network.add_port("tweeter", [top, Node::RETURN]);
        network
    }

    #[test]
    fn a_capacitor_keeps_direct_current_away_and_a_resistor_across_it_does_not() {
        let safe = high_pass(None);
        assert_eq!(path(&safe, 0), None);
        assert_eq!(Direct::of(&safe, &[Some(5.0)]).unwrap().share, [0.0]);
        let unsafe_one = high_pass(Some(10.0));
        assert_eq!(path(&unsafe_one, 0), Some(vec!["R1".to_owned()]));
        let found = Direct::of(&unsafe_one, &[Some(5.0)]).unwrap();
        let shunt = 0.4 * 5.0 / 5.4;
        assert!((found.share[0] - shunt / (10.0 + shunt)).abs() < 1e-6);
        assert!((found.input_ohm - (10.0 + shunt)).abs() < 1e-6);
    }
}
