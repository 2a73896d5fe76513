//! Compensation on random drivers: what the filter sees is a resistor.

use crate::random::log_between;
use crate::tried;
use num_complex::Complex64;
use proptest::prelude::*;
use slabtone::analysis::shaping::{self, Seen};
use slabtone::circuit::branch::{self, Namer, Stage};
use slabtone::circuit::load::Load;
use slabtone::circuit::network::{Network, Node};
use slabtone::circuit::solve::solve;
use slabtone::design::{Flatten, PartsRules, Shaping};
use slabtone::grid::{AcousticImpedance, Grid, Spectrum};
use slabtone::input::driver_file;
use slabtone::input::files::{DEMO, Embedded};
use slabtone::model::air::Air;
use slabtone::model::closed_box::{Alignment, ClosedBox};
use slabtone::model::coil::VoiceCoil;
use slabtone::model::driver::{Driver, MassCondition, Motor};
use slabtone::model::fill::Fill;
use std::f64::consts::TAU;
use std::path::Path;
use std::sync::Arc;

prop_compose! {
    fn driver()(
        fs_hz in log_between(40.0, 1500.0), mms_kg in log_between(2e-4, 0.02),
        qms in log_between(1.0, 10.0), qes in log_between(0.3, 2.0),
        re_ohm in log_between(2.0, 12.0), sd_m2 in log_between(4e-4, 0.01),
        le_h in prop_oneof![Just(0.0), log_between(1e-5, 2e-3)],
    ) -> Driver {
        let omega = TAU * fs_hz;
        let motor = Motor {
            re_ohm,
            bl_t_m: (omega * mms_kg * re_ohm / qes).sqrt(),
            mms_kg,
            cms_m_per_n: 1.0 / (omega * omega * mms_kg),
            rms_kg_per_s: omega * mms_kg / qms,
            sd_m2,
        };
        let loaded = driver_file::load(&Embedded, Path::new("drivers/bramble.toml")).unwrap();
        Driver { motor, coil: VoiceCoil::Plain { le_h }, ..loaded.driver }
    }
}

/// The parts rules of the demo with ideal capacitors and coils of `dcr` at 1 mH.
fn rules(dcr: f64) -> PartsRules {
    let demo = slabtone::input::design_file::load(&Embedded, Path::new(DEMO)).unwrap();
    PartsRules { coil_dcr_at_1mh_ohm: dcr, capacitor_esr_ohm: 0.0, ..demo.parts }
}

/// What a filter sees in front of the driver with its compensation, in the load `load`; and
/// whether the parts could be made.
fn seen(
    driver: &Driver,
    resonance_hz: f64,
    load: &dyn Fn(f64) -> Complex64,
    flatten: Flatten,
    dcr: f64,
    grid: &Arc<Grid>,
) -> (Vec<Complex64>, bool) {
    let own = Seen::new(driver, resonance_hz, load, 2500.0);
    let parts = rules(dcr);
    let tail = shaping::tail(&own, &Shaping { flatten, shelf: None }, 0.0, &parts);
    let change = |component| shaping::with_losses(component, &parts);
    let lossy = |s: &Stage| Stage { place: s.place, branch: s.branch.map(&change) };
    let stages: Vec<Stage> = tail.stages.iter().map(lossy).collect();
    let mut network = Network::new("in", "ret");
    let terminal = branch::lay(&mut network, &mut Namer::default(), &stages, "tail", "driver+");
    network.add_port("driver", [terminal, Node::RETURN]);
    let load: AcousticImpedance = Spectrum::from_fn(grid, load);
    let impedance = driver.respond(grid, Some(&load)).impedance;
    let solution = solve(&network, grid, &Load::diagonal(grid, &[Some(&impedance)])).unwrap();
    (solution.input_impedance().values().to_vec(), tail.remarks.is_empty())
}

/// How far the compensated driver in a tight, empty cavity is from its Re near and above the
/// resonance, and where, as f/fc; `None` where the coil has too much resistance for its notch.
fn worst(
    driver: &Driver,
    condition: MassCondition,
    volume_m3: f64,
    dcr: f64,
) -> Option<(f64, f64)> {
    let (air, motor) = (Air::default(), driver.motor);
    let closed_box = ClosedBox::tight(volume_m3, Fill::Empty).behind(&motor, condition, &air);
    let load = |w: f64| closed_box.load(w, &air);
    let fc_hz = Alignment::of(&motor, load, 0.0).fc_hz;
    let grid = Grid::log(0.7 * fc_hz, 30.0 * fc_hz, 60).unwrap();
    let (z, made) = seen(driver, fc_hz, &load, Flatten::Both, dcr, &grid);
    let off = z.iter().map(|z| (z.norm() / motor.re_ohm - 1.0).abs());
    let at = off.zip(grid.frequency_hz()).map(|(off, hz)| (off, hz / fc_hz));
    at.filter(|_| made).max_by(|a, b| a.0.total_cmp(&b.0))
}

proptest! {
    #![proptest_config(tried(256))]

    #[test]
    fn both_compensations_make_a_driver_in_a_tight_empty_cavity_a_resistor(
        driver in driver(), volume_m3 in log_between(2e-4, 0.05),
        dcr in prop_oneof![Just(0.0), 0.0..0.5f64],
    ) {
        if let Some((off, x)) = worst(&driver, MassCondition::Baffled, volume_m3, dcr) {
            prop_assert!(off < 0.01, "{off:.4} at {x:.2} fc");
        }
    }

    #[test]
    fn so_they_do_where_the_air_behind_the_cone_adds_its_mass(
        driver in driver(), volume_m3 in log_between(2e-4, 0.05),
        dcr in prop_oneof![Just(0.0), 0.0..0.5f64],
    ) {
        if let Some((off, x)) = worst(&driver, MassCondition::FreeAir, volume_m3, dcr) {
            prop_assert!(off < 0.01, "{off:.4} at {x:.2} fc");
        }
    }

    #[test]
    fn both_compensations_make_a_driver_in_free_air_a_resistor_at_every_frequency(
        driver in driver(), dcr in prop_oneof![Just(0.0), 0.0..0.5f64],
    ) {
        let motor = driver.motor;
        let grid = Grid::audible(60).unwrap();
        let free = |_: f64| Complex64::default();
        let (z, made) = seen(&driver, motor.fs_hz(), &free, Flatten::Both, dcr, &grid);
        prop_assume!(made);
        // A resistor below a milliohm is left out.
        let allowed = 1e-6 * motor.re_ohm + if dcr > 0.0 { 1e-3 } else { 0.0 };
        for z in z {
            prop_assert!((z - motor.re_ohm).norm() < allowed, "{z} and {}", motor.re_ohm);
        }
    }

    #[test]
    fn a_zobel_alone_leaves_nothing_of_the_coil_above_the_resonance(driver in driver()) {
        let motor = driver.motor;
        let grid = Grid::log(300.0 * motor.fs_hz(), 3000.0 * motor.fs_hz(), 20).unwrap();
        let free = |_: f64| Complex64::default();
        let (z, _) = seen(&driver, motor.fs_hz(), &free, Flatten::Coil, 0.0, &grid);
        for z in z {
            prop_assert!((z.norm() / motor.re_ohm - 1.0).abs() < 0.05, "{z} and {}", motor.re_ohm);
        }
    }

    #[test]
    fn a_notch_alone_takes_the_peak_of_a_driver_without_inductance_away(driver in driver()) {
        let driver = Driver { coil: VoiceCoil::Plain { le_h: 0.0 }, ..driver };
        let motor = driver.motor;
        let grid = Grid::audible(60).unwrap();
        let free = |_: f64| Complex64::default();
        let (z, _) = seen(&driver, motor.fs_hz(), &free, Flatten::Resonance, 0.0, &grid);
        for z in z {
            prop_assert!((z / motor.re_ohm - 1.0).norm() < 1e-6, "{z} and {}", motor.re_ohm);
        }
    }
}
