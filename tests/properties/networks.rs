//! Laws of passive networks, and the nodal solver against a recursion that knows no nodes.

use crate::random::{Mesh, grid, log_between, mesh, part, resistance};
use crate::tried;
use num_complex::Complex64;
use proptest::collection::vec;
use proptest::prelude::*;
use slabtone::circuit::load::Load;
use slabtone::circuit::network::{Component, Coupling, Network, Node};
use slabtone::circuit::solve::{Solution, solve};
use slabtone::grid::Grid;
use std::f64::consts::TAU;
use std::sync::Arc;

/// The voltage across `ohm` at node `to` when the source feeds node `from` through as much.
fn heard(mesh: &Mesh, [from, to]: [usize; 2], ohm: f64, grid: &Arc<Grid>) -> Vec<Complex64> {
    let mut network = Network::new("in", "ret");
    let nodes = mesh.add_to(&mut network);
    network.add("source", Component::Resistor { ohm }, [Node::INPUT, nodes[from]]);
    network.add_port("load", [nodes[to], Node::RETURN]);
    let load = Load::diagonal(grid, &[Some(&resistance(grid, ohm))]);
    solve(&network, grid, &load).unwrap().between([nodes[to], Node::RETURN]).values().to_vec()
}

/// A mesh hung to the source by a resistor, with a resistive port at its last node.
fn fed(mesh: &Mesh, ohm: f64, grid: &Arc<Grid>) -> (Network, Solution) {
    let mut network = Network::new("in", "ret");
    let nodes = mesh.add_to(&mut network);
    network.add("source", Component::Resistor { ohm: 0.5 }, [Node::INPUT, nodes[1]]);
    network.add_port("load", [nodes[mesh.nodes - 1], Node::RETURN]);
    let load = Load::diagonal(grid, &[Some(&resistance(grid, ohm))]);
    let solution = solve(&network, grid, &load).unwrap();
    (network, solution)
}

/// Input impedance and output voltage of series and shunt parts in turn, from the load backwards.
fn by_recursion(ladder: &[(bool, Component)], load_ohm: f64, omega: f64) -> (Complex64, Complex64) {
    let mut z = Complex64::new(load_ohm, 0.0);
    let mut transfer = Complex64::new(1.0, 0.0);
    for (series, component) in ladder.iter().rev() {
        let own = component.impedance(omega);
        if *series {
            transfer *= z / (z + own);
            z += own;
        } else {
            z = z * own / (z + own);
        }
    }
    (z, transfer)
}

fn near(a: Complex64, b: Complex64, relative: f64) -> bool {
    (a - b).norm() <= relative * (a.norm() + b.norm()) + 1e-14
}

proptest! {
    #![proptest_config(tried(192))]

    #[test]
    fn source_and_listener_may_change_places(
        mesh in mesh(), grid in grid(), ohm in log_between(0.5, 50.0),
        a in any::<prop::sample::Index>(), b in any::<prop::sample::Index>(),
    ) {
        let ends = [1 + a.index(mesh.nodes - 1), 1 + b.index(mesh.nodes - 1)];
        let there = heard(&mesh, ends, ohm, &grid);
        let back = heard(&mesh, [ends[1], ends[0]], ohm, &grid);
        for (there, back) in there.into_iter().zip(back) {
            prop_assert!(near(there, back, 1e-9), "{there} and {back}");
        }
    }

    #[test]
    fn no_network_gives_power_back(mesh in mesh(), grid in grid(), ohm in log_between(0.5, 50.0)) {
        let (_, solution) = fed(&mesh, ohm, &grid);
        for z in solution.input_impedance().values() {
            prop_assert!(z.re >= 0.5 - 1e-9 * z.norm(), "{z}");
        }
    }

    #[test]
    fn a_ladder_without_losses_takes_only_what_its_load_takes(
        ladder in vec((any::<bool>(), part()), 1..8), grid in grid(), ohm in log_between(0.5, 50.0),
    ) {
        let ladder: Vec<_> = ladder.into_iter().filter_map(|(series, part)| match part {
            Component::Resistor { .. } => None,
            Component::Inductor { henry, .. } =>
                Some((series, Component::Inductor { henry, dcr_ohm: 0.0 })),
            Component::Capacitor { farad, .. } =>
                Some((series, Component::Capacitor { farad, esr_ohm: 0.0 })),
        }).collect();
        for omega in grid.omega() {
            let grid = Grid::from_points(vec![omega / TAU]).unwrap();
            let Some((z, output)) = solved(&ladder, ohm, &grid) else { continue };
            let (taken, given) = (z.inv().re, output.norm_sqr() / ohm);
            // Reactive currents may be far larger than what the load takes.
            let scale = z.inv().norm() + given;
            prop_assert!((taken - given).abs() <= 1e-7 * scale, "{taken} W in, {given} W out");
        }
    }

    #[test]
    fn power_in_is_the_sum_of_power_in_the_parts(
        mesh in mesh(), grid in grid(), ohm in log_between(0.5, 50.0),
    ) {
        let (network, solution) = fed(&mesh, ohm, &grid);
        let input = solution.input_impedance();
        for (f, omega) in grid.omega().enumerate() {
            let volts = |nodes| solution.between(nodes).values()[f].norm_sqr();
            let parts = network.parts.iter();
            let taken = parts.map(|p| volts(p.nodes) * p.component.impedance(omega).inv().conj());
            let load = Complex64::from(volts(network.ports[0].nodes) / ohm);
            let spent: Complex64 = taken.sum::<Complex64>() + load;
            let given = input.values()[f].inv().conj();
            prop_assert!((spent - given).norm() <= 1e-9 * given.norm(), "{spent} and {given}");
            // Where nearly all of it swings to and fro, the little that stays keeps fewer digits.
            let allowed = 1e-9 * given.re + 1e-11 * given.norm();
            prop_assert!((spent.re - given.re).abs() <= allowed, "{spent} and {given}");
        }
    }

    #[test]
    fn the_nodal_solver_agrees_with_a_recursion_along_the_ladder(
        ladder in vec((any::<bool>(), part()), 1..12), grid in grid(), ohm in log_between(0.5, 50.0),
    ) {
        for omega in grid.omega() {
            let grid = Grid::from_points(vec![omega / TAU]).unwrap();
            let (z, transfer) = solved(&ladder, ohm, &grid).unwrap();
            let (expected_z, expected) = by_recursion(&ladder, ohm, omega);
            prop_assert!(near(z, expected_z, 1e-9), "{z} and {expected_z}");
            prop_assert!(near(transfer, expected, 1e-9), "{transfer} and {expected}");
        }
    }

    #[test]
    fn coupled_coils_are_reciprocal_and_passive(
        henry in (log_between(1e-5, 1e-2), log_between(1e-5, 1e-2)), factor in -0.99..0.99,
        grid in grid(), ohm in log_between(0.5, 50.0),
    ) {
        let heard = |swap: bool| {
            let mut network = Network::new("in", "ret");
            let (a, b) = (network.node("a"), network.node("b"));
            let coil = |henry| Component::Inductor { henry, dcr_ohm: 0.05 };
            network.add("L1", coil(henry.0), [a, Node::RETURN]);
            network.add("L2", coil(henry.1), [b, Node::RETURN]);
            network.couplings.push(Coupling { parts: [0, 1], factor });
            let (from, to) = if swap { (b, a) } else { (a, b) };
            network.add("source", Component::Resistor { ohm }, [Node::INPUT, from]);
            network.add_port("load", [to, Node::RETURN]);
            let load = Load::diagonal(&grid, &[Some(&resistance(&grid, ohm))]);
            let solution = solve(&network, &grid, &load).unwrap();
            (solution.between([to, Node::RETURN]), solution.input_impedance())
        };
        let ((there, z), (back, _)) = (heard(false), heard(true));
        for ((there, back), z) in there.values().iter().zip(back.values()).zip(z.values()) {
            prop_assert!(near(*there, *back, 1e-8), "{there} and {back}");
            prop_assert!(z.re >= ohm - 1e-9 * z.norm(), "{z}");
        }
    }
}

/// Input impedance and output voltage of a ladder by the nodal solver; `None` at an exact resonance.
fn solved(
    ladder: &[(bool, Component)],
    load_ohm: f64,
    grid: &Arc<Grid>,
) -> Option<(Complex64, Complex64)> {
    let mut network = Network::new("in", "ret");
    let mut here = Node::INPUT;
    for (k, (series, component)) in ladder.iter().enumerate() {
        let next = if *series { network.node(&format!("n{k}")) } else { Node::RETURN };
        network.add(format!("P{k}"), *component, [here, next]);
        here = if *series { next } else { here };
    }
    network.add_port("load", [here, Node::RETURN]);
    let load = Load::diagonal(grid, &[Some(&resistance(grid, load_ohm))]);
    let solution = solve(&network, grid, &load).ok()?;
    let output = solution.between([here, Node::RETURN]).values()[0];
    Some((solution.input_impedance().values()[0], output))
}
