//! The amplifier's check: worst corners are the worst, heat is neither lost nor made, direct current
//! takes no way that is not there.

use crate::random::{log_between, mesh, resistance};
use crate::tried;
use num_complex::Complex64;
use proptest::collection::vec;
use proptest::prelude::*;
use slabtone::analysis::amplifier::AmplifierStudy;
use slabtone::analysis::amplifier::corners::{Case, Corners, Leeway};
use slabtone::analysis::study::Study;
use slabtone::analysis::terminals::Terminals;
use slabtone::circuit::direct::{self, Direct};
use slabtone::circuit::load::Load;
use slabtone::circuit::network::{Component, Network, Node};
use slabtone::circuit::solve;
use slabtone::design::{Material, Ways};
use slabtone::grid::{Grid, Impedance, Spectrum};
use slabtone::input::design_file;
use slabtone::input::files::{DEMO, Embedded};
use slabtone::model::slab_heat::film::Standing;
use slabtone::model::slab_heat::{Outside, Path, Place, Slab, Wall};

/// A second-order two-way network around `at_hz` for these loads.
fn two_way(at_hz: f64, woofer_ohm: f64, tweeter_ohm: f64, q: f64) -> Network {
    let omega = std::f64::consts::TAU * at_hz;
    let coil = |ohm: f64| Component::Inductor { henry: ohm / (q * omega), dcr_ohm: 0.2 };
    let capacitor = |ohm: f64| Component::Capacitor { farad: q / (ohm * omega), esr_ohm: 0.02 };
    let mut network = Network::new("amp+", "amp-");
    let (low, high) = (network.node("low"), network.node("high"));
    network.add("L1", coil(woofer_ohm), [Node::INPUT, low]);
    network.add("C1", capacitor(woofer_ohm), [low, Node::RETURN]);
    network.add("C2", capacitor(tweeter_ohm), [Node::INPUT, high]);
    network.add("L2", coil(tweeter_ohm), [high, Node::RETURN]);
    network.add_port("woofer", [low, Node::RETURN]);
    network.add_port("tweeter", [high, Node::RETURN]);
    network
}

/// Parseval: what a side takes is what its drivers and parts lose.
#[test]
fn the_power_of_a_side_is_the_heat_of_its_drivers_and_parts() {
    let design = design_file::load(&Embedded, std::path::Path::new(DEMO)).unwrap();
    let study = Study::new(design, &Grid::audible(480).unwrap()).unwrap();
    let amplifier = AmplifierStudy::of(&study.design, &study.sides).unwrap();
    for side in &amplifier.sides {
        let parts: f64 = side.part_heat_w.iter().map(|(_, watts)| watts).sum();
        let all = side.heat_w.woofer + side.heat_w.tweeter + parts;
        assert!(
            (all / side.faced.programme_w - 1.0).abs() < 1e-9,
            "{all} {}",
            side.faced.programme_w
        );
    }
}

proptest! {
    #![proptest_config(tried(12))]

    #[test]
    fn no_corner_is_lower_than_the_one_that_was_found(
        at_hz in 800.0..5000.0f64, woofer_ohm in 3.0..8.0f64, tweeter_ohm in 3.0..8.0f64,
        q in 0.5..1.2f64, tolerances in vec(0.01..0.2f64, 4),
    ) {
        let grid = Grid::audible(120).unwrap();
        let z = |ohm: f64, henry: f64| -> Impedance {
            Spectrum::from_fn(&grid, |w| Complex64::new(ohm, w * henry))
        };
        let (woofer, tweeter) = (z(woofer_ohm, 3e-4), z(tweeter_ohm, 2e-5));
        let drivers = Terminals { woofer, tweeter, mutual: None };
        let network = two_way(at_hz, woofer_ohm, tweeter_ohm, q);
        let leeway = |tolerance: &f64| Leeway { tolerance: *tolerance, ages: false, rating: None };
        let leeways: Vec<Leeway> = tolerances.iter().map(leeway).collect();
        let found = Corners::of(&Case {
            network: &network,
            leeways: &leeways,
            drivers: &drivers,
            added_ohm: Ways { woofer: 0.0, tweeter: 0.0 },
            sine_v: 10.0,
            noise_v2: &[],
        }).unwrap();
        let load = Load::diagonal(&grid, &[Some(&drivers.woofer), Some(&drivers.tweeter)]);
        for bits in 0..16 {
            let mut corner = network.clone();
            for (k, part) in corner.parts.iter_mut().enumerate() {
                let sign = if bits >> k & 1 == 1 { 1.0 } else { -1.0 };
                let value = part.component.value() * (1.0 + sign * tolerances[k]);
                part.component = part.component.with_value(value);
            }
            let z = solve::solve(&corner, &grid, &load).unwrap().input_impedance();
            let (lowest, _) = z.lowest(20.0, 20_000.0).unwrap();
            prop_assert!(found.lowest.value <= lowest * (1.0 + 1e-9), "{} {lowest}", found.lowest.value);
        }
        prop_assert!(found.lowest.value <= found.nominal.value);
        prop_assert!(found.borne.iter().all(|b| b.worst >= b.nominal * (1.0 - 1e-12)));
    }

    #[test]
    fn all_heat_ends_in_the_room_and_more_heat_warms_everything(
        size in (0.1..0.6f64, 0.1..0.5f64, 0.015..0.08f64), sheets in (1e-3..0.02f64, 1e-3..0.02f64),
        foam_m in prop::sample::select(vec![0.0, 0.01]), lying in any::<bool>(),
        gap_m in prop::option::of(0.002..0.1f64), watts in log_between(0.05, 40.0),
    ) {
        let wall = |material, thickness_m, foam_m, outside| Wall { material, thickness_m, foam_m, outside };
        let slab = Slab {
            width_m: size.0,
            height_m: size.1,
            depth_m: size.2,
            face: wall(Material::Plywood, sheets.0, 0.0, Outside::Room),
            back: wall(Material::Aluminium, sheets.1, foam_m, gap_m.map_or(Outside::Room, Outside::Gap)),
            standing: if lying { Standing::FaceUp } else { Standing::Upright },
            room_c: 22.0,
        };
        let settled = |watts: f64| {
            let mut network = slab.network();
            let board = network.add_node(0.3 * watts);
            network.join(board, Some(Place::Air.node()), Path::Fixed(0.4));
            network.sources_w[Place::Air.node()] = 0.7 * watts;
            let warm_c = network.settle().unwrap();
            (network.to_room_w(&warm_c), warm_c)
        };
        let (away_w, warm_c) = settled(watts);
        prop_assert!((away_w / watts - 1.0).abs() < 1e-6, "{away_w} of {watts} W");
        prop_assert!(warm_c.iter().all(|t| *t > 22.0));
        let (_, warmer_c) = settled(1.5 * watts);
        prop_assert!(warm_c.iter().zip(&warmer_c).all(|(a, b)| b > a));
    }
}

proptest! {
    #![proptest_config(tried(64))]

    #[test]
    fn direct_current_reaches_a_port_only_where_there_is_a_way(mesh in mesh(), ohm in 2.0..20.0f64) {
        let mut network = Network::new("amp+", "amp-");
        let nodes = mesh.add_to(&mut network);
        network.add("R in", Component::Resistor { ohm: 1.0 }, [Node::INPUT, nodes[1]]);
        let last = nodes[nodes.len() - 1];
        network.add_port("driver", [last, Node::RETURN]);
        let direct = Direct::of(&network, &[Some(ohm)]).unwrap();
        if direct::path(&network, 0).is_none() {
            prop_assert_eq!(direct.share[0], 0.0);
        }
        prop_assert!((0.0..=1.0 + 1e-9).contains(&direct.share[0]));
        // An ohmmeter reads what a very slow signal sees.
        let grid = Grid::from_points(vec![1e-4]).unwrap();
        let load = Load::diagonal(&grid, &[Some(&resistance(&grid, ohm))]);
        let slow = solve::solve(&network, &grid, &load).unwrap().input_impedance().values()[0];
        if direct.input_ohm < 1e4 {
            prop_assert!((slow.norm() / direct.input_ohm - 1.0).abs() < 1e-2, "{slow} {}", direct.input_ohm);
        }
    }
}
