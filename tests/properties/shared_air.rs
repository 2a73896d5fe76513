//! Two cones in the same air: passivity, reciprocity, limits, and the balance of power.

use crate::random::log_between;
use crate::sheets::{cavity, layout};
use crate::tried;
use num_complex::Complex64;
use proptest::prelude::*;
use slabtone::analysis::acoustics::Acoustics;
use slabtone::analysis::cone_load;
use slabtone::analysis::side::SideModel;
use slabtone::analysis::synthesis;
use slabtone::circuit::ladder::Polarity;
use slabtone::circuit::linear;
use slabtone::design::{Design, PolarityRule};
use slabtone::grid::Grid;
use slabtone::input::design_file;
use slabtone::input::files::{DEMO, Embedded};
use slabtone::model::coupled_cavity::CoupledCavity;
use slabtone::model::driver::Motor;
use slabtone::model::shared_air::{AirMatrix, Together};
use slabtone::model::sheet::{Sheet, Walls};
use slabtone::model::wave_cavity::{Disc, Rear, RearSpace, WaveField};
use std::f64::consts::TAU;
use std::path::Path;

const DISCS: [Disc; 2] =
    [Disc { x_m: 0.13, y_m: 0.1, radius_m: 0.04 }, Disc { x_m: 0.24, y_m: 0.17, radius_m: 0.013 }];

/// The smallest power that any two flows may put in, over the larger of the own ones: at least 0
/// where the matrix is passive.
fn least_power(air: &AirMatrix) -> f64 {
    let [a, b] = air.own.map(|z| z.re);
    let scale = air.own[0].norm().max(air.own[1].norm());
    let mean = 0.5 * (a + b);
    (mean - (0.25 * (a - b).powi(2) + air.between.re.powi(2)).sqrt()) / scale
}

fn motor() -> impl Strategy<Value = Motor> {
    (2.0..12.0f64, 0.8..9.0f64, log_between(1e-4, 2e-2), log_between(3e-5, 2e-3), 0.1..2.0f64)
        .prop_flat_map(|(re_ohm, bl_t_m, mms_kg, cms_m_per_n, rms_kg_per_s)| {
            log_between(2e-4, 2e-2).prop_map(move |sd_m2| Motor {
                re_ohm,
                bl_t_m,
                mms_kg,
                cms_m_per_n,
                rms_kg_per_s,
                sd_m2,
            })
        })
}

fn complex() -> impl Strategy<Value = Complex64> {
    (log_between(1e2, 1e6), -1e6..1e6f64).prop_map(|(re, im)| Complex64::new(re, im))
}

/// A passive matrix: what is between is less than the root of the own resistances.
fn air() -> impl Strategy<Value = AirMatrix> {
    (complex(), complex(), -0.99..0.99f64, -1e6..1e6f64).prop_map(|(one, other, share, im)| {
        let between = Complex64::new(share * (one.re * other.re).sqrt(), im);
        AirMatrix { own: [one, other], between }
    })
}

fn space() -> impl Strategy<Value = Option<RearSpace>> {
    prop::option::of((log_between(1e-6, 1e-4), log_between(1e-4, 1e-2), 0.0..1e5f64)).prop_map(
        |space| {
            space.map(|(volume_m3, window_area_m2, resistance_pa_s_per_m3)| RearSpace {
                volume_m3,
                window_area_m2,
                window_length_m: 0.01,
                resistance_pa_s_per_m3,
                rho_kg_per_m3: 1.2,
                bulk_modulus_pa: 1.42e5,
            })
        },
    )
}

/// The reading bench with the backs of its tweeters open.
fn bench(waves: bool, moving: bool) -> Design {
    let mut design = design_file::load(&Embedded, Path::new(DEMO)).unwrap();
    design.models.cavity_waves = waves;
    design.models.sheets_move = Walls { back: moving, face: moving };
    for side in &mut design.sides {
        side.drivers.tweeter.driver.open_back = true;
        assert!(side.shares_air());
    }
    design
}

proptest! {
    #![proptest_config(tried(16))]

    #[test]
    fn the_air_of_two_cones_is_passive_whatever_the_back(
        cavity in cavity(), back in prop::option::of(layout()), face in prop::option::of(layout()),
    ) {
        let field = WaveField::new(cavity, &DISCS, 20e3);
        let couplings = (field.own(&DISCS[0]), field.own(&DISCS[1]), field.between(&DISCS[0], &DISCS[1]));
        let [back, face] = [back, face]
            .map(|layout| layout.map(|layout| Sheet::new(&layout, &cavity.air)));
        let walls = Walls { back: back.as_ref(), face: face.as_ref() };
        let moves = back.is_some() || face.is_some();
        let coupled = moves.then(|| CoupledCavity::new(&field, walls, &DISCS));
        for i in 0..30 {
            let omega = TAU * 20.0 * 1000f64.powf(f64::from(i) / 29.0);
            let (a, b, c) = (&couplings.0, &couplings.1, &couplings.2);
            let [first, second, between] = field.impedances_at(omega, [a, b, c]);
            let mut air = AirMatrix { own: [first, second], between };
            if let Some(coupled) = &coupled {
                let (both, give) = coupled.pair_at(omega, [0, 1]).unwrap();
                let (_, back) = coupled.pair_at(omega, [1, 0]).unwrap();
                let scale = [0, 1].map(|i| (air.own[i] - both[i].impedance).norm());
                prop_assert!((give - back).norm() <= 1e-9 * (scale[0] * scale[1]).sqrt());
                for (cone, answer) in both.iter().enumerate() {
                    prop_assert_eq!(*answer, coupled.answer_at(omega, cone).unwrap());
                    air.own[cone] = answer.impedance;
                }
                air.between -= give;
            }
            prop_assert!(air.between.is_finite());
            prop_assert!(least_power(&air) >= -1e-7, "{} at {} Hz", least_power(&air), omega / TAU);
        }
    }

    #[test]
    fn what_two_drivers_do_solves_their_equations(
        one in motor(), other in motor(), air in air(), hz in log_between(20.0, 20e3),
        le in log_between(1e-5, 1e-3),
    ) {
        let omega = TAU * hz;
        let motors = [&one, &other];
        let blocked = motors.map(|m| Complex64::new(m.re_ohm, omega * le));
        let got = Together::at(omega, motors, blocked, &air);
        // Unknowns: velocities, then currents; right sides: a volt at each, then a current in each.
        let moving = [0, 1].map(|i| motors[i].mechanical_impedance(omega, air.own[i]));
        let x = air.between * one.sd_m2 * other.sd_m2;
        let bl = motors.map(|m| Complex64::new(m.bl_t_m, 0.0));
        let o = Complex64::default();
        let mut system = vec![
            moving[0], x, -bl[0], o,
            x, moving[1], o, -bl[1],
            bl[0], o, blocked[0], o,
            o, bl[1], o, blocked[1],
        ];
        let unit = Complex64::new(1.0, 0.0);
        let mut by_volts = vec![o, o, o, o, unit, o, o, unit];
        linear::solve(&mut system, &mut by_volts, 4, 2).unwrap();
        let u = |cone: usize, volt: usize| by_volts[2 * cone + volt];
        let near = |a: Complex64, b: Complex64| (a - b).norm() <= 1e-8 * b.norm().max(1e-12);
        prop_assert!(near(got.follows[0] * u(0, 0), u(0, 1)));
        prop_assert!(near(got.follows[1] * u(1, 1), u(1, 0)));
        for i in 0..2 {
            let alone = |load: Complex64| {
                let zm = motors[i].mechanical_impedance(omega, load);
                bl[i] / (zm * (blocked[i] + bl[i] * bl[i] / zm))
            };
            prop_assert!(near(alone(got.shorted[i]), u(i, i)));
        }
        // The admittances are the inverse of the impedances with the other open.
        let z = |i: usize| blocked[i] + bl[i] * bl[i] / motors[i].mechanical_impedance(omega, got.open[i]);
        let y = linear::inverse(vec![z(0), got.mutual, got.mutual, z(1)], 2).unwrap();
        for row in 0..2 {
            for col in 0..2 {
                prop_assert!(near(y[2 * row + col], by_volts[2 * (2 + row) + col]));
            }
        }
        // Nothing gives power back.
        let electric = AirMatrix { own: [z(0), z(1)], between: got.mutual };
        prop_assert!(least_power(&electric) >= -1e-9);
    }

    #[test]
    fn baskets_keep_the_air_passive_and_without_them_it_is_as_it_was(
        air in air(), spaces in (space(), space()), hz in log_between(20.0, 20e3),
    ) {
        let omega = TAU * hz;
        let rear = |disc: Disc, space| Rear { disc, held_mass_kg_per_m4: 0.0, space };
        let (first, second) = (rear(DISCS[0], spaces.0), rear(DISCS[1], spaces.1));
        let felt = air.felt(omega, [&first, &second]);
        // A mass that is taken off moves no power.
        prop_assert!(least_power(&felt) >= -1e-9, "{felt:?}");
        // One flow alone meets what one rear by itself does, where nothing is between.
        let apart = AirMatrix { between: Complex64::default(), ..air }.felt(omega, [&first, &second]);
        for (rear, (got, own)) in [&first, &second].into_iter().zip(apart.own.iter().zip(air.own)) {
            let alone = rear.load(omega, own);
            prop_assert!((got - alone).norm() < 1e-9 * alone.norm().max(1.0), "{got} {alone}");
        }
        if spaces == (None, None) {
            prop_assert_eq!(felt, air);
        }
    }
}

#[test]
fn slow_pressure_is_the_same_on_both_cones_but_for_their_masses() {
    let grid = Grid::from_points(vec![0.5, 1.0]).unwrap();
    for waves in [false, true] {
        let mut design = bench(waves, false);
        design.sides.iter_mut().for_each(|side| side.cavity.leak_ql = None);
        let side = &design.sides[0];
        let acoustics = Acoustics::of(&design, side, &grid);
        let between = acoustics.between.as_ref().unwrap();
        for (f, omega) in grid.omega().enumerate() {
            let spring = if waves {
                cone_load::rigid(side, &design.air).0.cavity().uniform_impedance(omega)
            } else {
                let lump = side.closed_box(&design.air).compliance(omega, &design.air);
                1.0 / (Complex64::new(0.0, omega) * lump)
            };
            let all = [&acoustics.load.woofer, &acoustics.load.tweeter, between];
            for z in all.map(|z| z.values()[f]) {
                assert!((z - spring).norm() < 2e-3 * spring.norm(), "waves {waves}: {z} {spring}");
            }
        }
    }
}

/// The more a tweeter weighs, or the smaller it is, the less it matters that its back is open.
#[test]
fn a_tweeter_that_moves_no_air_is_as_good_as_closed() {
    let grid = Grid::audible(40).unwrap();
    type Change = fn(&mut Motor);
    let still: [(Change, f64); 2] = [
        (|motor| (motor.mms_kg, motor.rms_kg_per_s) = (1e6, 1e9), 1e-7),
        (|motor| motor.sd_m2 = 1e-9, 1e-6),
    ];
    for (change, near) in still {
        for (waves, moving) in [(false, false), (false, true), (true, false), (true, true)] {
            let mut open = bench(waves, moving);
            open.sides.iter_mut().for_each(|s| change(&mut s.drivers.tweeter.driver.motor));
            let mut closed = open.clone();
            closed.sides.iter_mut().for_each(|s| s.drivers.tweeter.driver.open_back = false);
            let [open, closed] = [open, closed]
                .map(|design| (SideModel::new(&design, &design.sides[0], &grid).unwrap(), design));
            // The field counts more waves for a second disc: 0.003 % of the first one's inertance.
            let near = if waves { 1e-4 } else { near };
            let alike = |a: &[Complex64], b: &[Complex64], what: &str| {
                for (a, b) in a.iter().zip(b) {
                    assert!((a - b).norm() < near * b.norm(), "{what} {waves} {moving}: {a} {b}");
                }
            };
            let (one, other) = (&open.0.impedance, &closed.0.impedance);
            alike(one.woofer.values(), other.woofer.values(), "woofer");
            alike(one.tweeter.values(), other.tweeter.values(), "tweeter");
            let network = synthesis::network_for(&closed.1, &closed.1.sides[0]).unwrap().network;
            let rule = PolarityRule::Fixed(Polarity::Inverted);
            let [a, b] = [&open.0, &closed.0].map(|model| model.through(&network, rule).unwrap());
            alike(a.impedance.values(), b.impedance.values(), "input");
            alike(a.seats[0].woofer.values(), b.seats[0].woofer.values(), "seat");
        }
    }
}

#[test]
fn power_out_is_power_in_with_both_drivers_in_one_air() {
    let grid = Grid::audible(120).unwrap();
    let design = bench(true, true);
    let side = &design.sides[0];
    let model = SideModel::new(&design, side, &grid).unwrap();
    let network = synthesis::network_for(&design, side).unwrap().network;
    for polarity in [Polarity::Normal, Polarity::Inverted] {
        let flows = model.flows(&network, polarity).unwrap();
        let ports: Vec<Vec<f64>> = flows.ports.iter().map(|p| p.power_w()).collect();
        for (f, source_w) in flows.source_w().into_iter().enumerate() {
            let heat: f64 = flows.heat_w.iter().map(|w| w[f]).sum();
            let drivers = ports[0][f] + ports[1][f];
            assert!(drivers > 0.0 && source_w > 0.0);
            assert!(((heat + drivers) / source_w - 1.0).abs() < 1e-9, "{polarity:?} {f}");
        }
        // The currents that are told are those of the flows.
        let response = model.through(&network, PolarityRule::Fixed(polarity)).unwrap();
        let drivers = model.impedance.connected(polarity);
        let told = drivers.currents(&response.voltage);
        let at_terminals =
            response.impedance.values().iter().map(|z| z / (z + design.amplifier.output_ohm));
        for (f, share) in at_terminals.enumerate() {
            for (port, told) in [&told.woofer, &told.tweeter].into_iter().enumerate() {
                let through = flows.ports[port].current[f] * share;
                assert!((told[f] - through).norm() < 1e-9 * through.norm(), "{port} {f}");
            }
        }
    }
}
