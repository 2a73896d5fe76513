//! Two cones in the same air: the pressure that one makes on the other, and both drivers in a
//! network.
//!
//! Sources: brick elements solved directly and plate elements, in each row of `data/two_cones.toml`
//! (`scipy/two_cones.py`); plane waves in a closed tube (any textbook of acoustics, from memory);
//! ngspice with gyrators for the drivers (`netlists/README.md`).

use crate::coupled_sheets;
use crate::drivers;
use crate::rows::{Row, rows};
use num_complex::Complex64;
use slabtone::analysis::terminals::{Follows, Terminals};
use slabtone::circuit::ladder::Polarity;
use slabtone::circuit::network::{Component, Network, Node};
use slabtone::circuit::solve;
use slabtone::design::Ways;
use slabtone::grid::{AcousticImpedance, Grid, Spectrum};
use slabtone::model::air::{Air, STANDARD_PRESSURE_PA};
use slabtone::model::coupled_cavity::CoupledCavity;
use slabtone::model::fluid::{AirLoss, Fluid};
use slabtone::model::plate::Plate;
use slabtone::model::plate::edge::{Edges, Fixing};
use slabtone::model::shared_air::PairResponse;
use slabtone::model::sheet::{Bay, Rear, Sheet, Walls};
use slabtone::model::wave_cavity::{Disc, WaveCavity, WaveField};
use std::f64::consts::TAU;

const ROWS: &str = include_str!("data/two_cones.toml");
const PAIR: [&str; 2] = ["re_pa_s_per_m3", "im_pa_s_per_m3"];

fn cavity(row: &Row) -> (WaveCavity, [Disc; 2]) {
    let air = Air::dry(row.number("temperature_c"), STANDARD_PRESSURE_PA);
    let [lx, ly, lz] = row.numbers("outline_m")[..] else { panic!("three sides") };
    let loss = AirLoss::Hysteretic { eta: row.number("eta_air") };
    let disc = |key: &str| {
        let [x_m, y_m, radius_m] = row.numbers(key)[..] else { panic!("three numbers") };
        Disc { x_m, y_m, radius_m }
    };
    let cavity = WaveCavity { loss, ..WaveCavity::bare([lx, ly, lz], air) };
    (cavity, [disc("first_m"), disc("second_m")])
}

#[test]
fn between_rigid_walls_the_transfer_is_that_of_elements() {
    for row in rows(ROWS, "two_cones_rigid", 2) {
        let (cavity, discs) = cavity(&row);
        let field = WaveField::new(cavity, &discs, 3000.0);
        let [there, back] =
            [field.between(&discs[0], &discs[1]), field.between(&discs[1], &discs[0])];
        let omega = row.numbers("frequency_hz").into_iter().map(|hz| TAU * hz);
        let z: Vec<Complex64> = omega
            .map(|omega| {
                let [z, back] = field.impedances_at(omega, [&there, &back]);
                assert!((z - back).norm() < 1e-12 * z.norm(), "{z} {back}");
                z
            })
            .collect();
        row.check_pairs(PAIR, &z);
        row.done();
    }
}

#[test]
fn a_back_that_moves_follows_both_cones_as_plate_elements_say() {
    for row in rows(ROWS, "two_cones_sheet", 1) {
        let (cavity, discs) = cavity(&row);
        let section = coupled_sheets::section(&row.numbers("plate"));
        let sides = [cavity.size_m[0], cavity.size_m[1]];
        let plate = Plate::new(sides, &section, &Edges::all(Fixing::Clamped));
        let sheet = Sheet { bays: vec![Bay { plate, corner_m: [0.0; 2] }], rear: Rear::Open };
        let field = WaveField::new(cavity, &discs, 3000.0);
        let coupled = CoupledCavity::new(&field, Walls::back(&sheet), &discs);
        let between = field.between(&discs[0], &discs[1]);
        let omega: Vec<f64> = row.numbers("frequency_hz").iter().map(|hz| TAU * hz).collect();
        let z: Vec<Complex64> = omega
            .iter()
            .map(|&w| field.impedance_at(w, &between) - coupled.pair_at(w, [0, 1]).unwrap().1)
            .collect();
        row.check_pairs(PAIR, &z);
        for (cone, key) in ["first_ratio", "second_ratio"].into_iter().enumerate() {
            let ratios = omega.iter().map(|&w| coupled.answer_at(w, cone).unwrap().flow_ratio.back);
            let keys = [format!("{key}_re"), format!("{key}_im")];
            row.check_pairs(keys.each_ref().map(String::as_str), &ratios.collect::<Vec<_>>());
        }
        row.done();
    }
}

/// Below the first wave across it a long narrow cavity is a tube: −jρc cos(kx1) cos(k(L − x2))/(S
/// sin kL) with the mean over either disc; what else is there dies out between them.
#[test]
fn in_a_long_narrow_cavity_the_transfer_is_that_of_a_tube() {
    let air = Air::default();
    let (size, loss) = ([1.0, 0.04, 0.02], AirLoss::Hysteretic { eta: 0.02 });
    let cavity = WaveCavity { loss, ..WaveCavity::bare(size, air) };
    let disc = |x_m: f64, radius_m: f64| Disc { x_m, y_m: 0.02, radius_m };
    let discs = [disc(0.17, 0.015), disc(0.62, 0.008)];
    let field = WaveField::new(cavity, &discs, 3000.0);
    let between = field.between(&discs[0], &discs[1]);
    for hz in [20.0, 120.0, 171.5, 300.0, 343.0, 700.0, 1500.0, 3000.0] {
        let omega = TAU * hz;
        let gas = Fluid::air(&air, loss, omega);
        let k = gas.wavenumber_per_m;
        let rho_c = gas.density_kg_per_m3 * omega / k;
        // 2J1(z)/z by its series (Abramowitz and Stegun 9.1.10), as the air's loss makes z complex.
        let mean = |d: &Disc| {
            let square = (k * d.radius_m).powi(2);
            1.0 - square / 8.0 + square.powi(2) / 192.0 - square.powi(3) / 9216.0
        };
        let tube = (k * discs[0].x_m).cos() * (k * (size[0] - discs[1].x_m)).cos()
            / (k * size[0]).sin()
            * (rho_c / (size[1] * size[2]))
            * mean(&discs[0])
            * mean(&discs[1])
            * Complex64::new(0.0, -1.0);
        let z = field.impedance_at(omega, &between);
        assert!((z - tube).norm() < 1e-4 * tube.norm(), "{hz} Hz: {z} {tube}");
    }
}

/// Woofer and tweeter behind `netlists/two_cones*.cir`.
fn crossover() -> Network {
    let mut network = Network::new("in", "0");
    let [woofer, tweeter] = ["w", "t"].map(|name| network.node(name));
    let coil = |henry, dcr_ohm| Component::Inductor { henry, dcr_ohm };
    let capacitor = |farad| Component::Capacitor { farad, esr_ohm: 0.0 };
    network.add("Lw1", coil(0.0006, 0.2), [Node::INPUT, woofer]);
    network.add("Cw1", capacitor(1e-5), [woofer, Node::RETURN]);
    network.add("Ct1", capacitor(6.8e-6), [Node::INPUT, tweeter]);
    network.add("Lt1", coil(0.00025, 0.15), [tweeter, Node::RETURN]);
    network.add_port("woofer", [woofer, Node::RETURN]);
    network.add_port("tweeter", [tweeter, Node::RETURN]);
    network
}

/// Both netlists: how the tweeter is connected, the netlist, and what ngspice stored.
pub const NETLISTS: [(Polarity, &str, &str); 2] = [
    (
        Polarity::Normal,
        include_str!("netlists/two_cones.cir"),
        include_str!("netlists/two_cones.csv"),
    ),
    (
        Polarity::Inverted,
        include_str!("netlists/two_cones_inverted.cir"),
        include_str!("netlists/two_cones_inverted.csv"),
    ),
];

#[test]
fn both_drivers_in_one_lump_of_air_do_what_ngspice_says() {
    for (polarity, _, results) in NETLISTS {
        let number = |word: &str| word.parse::<f64>().expect("a number");
        let lines: Vec<Vec<f64>> =
            results.lines().skip(1).map(|l| l.split(',').map(number).collect()).collect();
        compare(polarity, &lines);
    }
}

/// Compares both drivers in a lump of air with `lines`: frequency, then pairs as in the netlist.
pub fn compare(polarity: Polarity, lines: &[Vec<f64>]) {
    assert_eq!(lines.len(), 61);
    let grid = Grid::from_points(lines.iter().map(|l| l[0]).collect()).unwrap();
    let drivers = ["woofer_A", "tweeter_A"].map(drivers::named);
    let lump = |w: f64| 1.0 / Complex64::new(1.0 / 1.5e6, w * 1.8e-8);
    let load = |mass: f64| -> AcousticImpedance {
        Spectrum::from_fn(&grid, |w| lump(w) + Complex64::new(0.0, w * mass))
    };
    let (own, between) = ([load(30.0), load(55.0)], load(0.0));
    let pair = PairResponse::of([&drivers[0], &drivers[1]], [&own[0], &own[1]], &between);
    let [woofer, tweeter] = pair.drivers;
    let terminals = Terminals {
        woofer: woofer.impedance,
        tweeter: tweeter.impedance,
        mutual: Some(pair.mutual),
    };
    let [first, second] = pair.follows;
    let follows = Follows(Ways { woofer: first, tweeter: second });
    let network = crossover();
    let load = terminals.connected(polarity).load().unwrap();
    let solution = solve::solve(&network, &grid, &load).unwrap();
    let [w, t] = [0, 1].map(|port| solution.between(network.ports[port].nodes));
    let volts = Ways { woofer: w, tweeter: t };
    let moving = follows.voltage(&volts, polarity);
    let [sw, st] = drivers.map(|driver| driver.motor.sd_m2);
    let z = solution.input_impedance();
    for (f, line) in lines.iter().enumerate() {
        let got = [
            volts.woofer.values()[f],
            volts.tweeter.values()[f],
            // Into the source's positive terminal, as ngspice counts it.
            -z.values()[f].inv(),
            moving.woofer.values()[f] * woofer.flow.values()[f] / sw,
            moving.tweeter.values()[f] * tweeter.flow.values()[f] / st * polarity.sign(),
        ];
        for (k, got) in got.into_iter().enumerate() {
            let want = Complex64::new(line[1 + 2 * k], line[2 + 2 * k]);
            let off = (got - want).norm() / want.norm();
            assert!(off < 1e-9, "{polarity:?} {k} at {} Hz: {got} {want} {off:e}", line[0]);
        }
    }
}
