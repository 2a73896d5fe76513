//! Drivers and their cavities.

use crate::random::log_between;
use crate::tried;
use num_complex::Complex64;
use proptest::prelude::*;
use slabtone::grid::{Grid, Spectrum, Transfer};
use slabtone::input::driver_file;
use slabtone::input::files::Embedded;
use slabtone::model::air::Air;
use slabtone::model::closed_box::{Alignment, ClosedBox};
use slabtone::model::coil::VoiceCoil;
use slabtone::model::driver::{Driver, MassCondition, Motor};
use slabtone::model::fill::Fill;
use slabtone::model::given::GivenParameters;
use slabtone::model::piston;
use std::f64::consts::TAU;
use std::path::Path;

prop_compose! {
    fn motor()(
        fs_hz in log_between(20.0, 2000.0), mms_kg in log_between(1e-4, 0.1),
        qms in log_between(0.5, 20.0), qes in log_between(0.2, 5.0),
        re_ohm in log_between(1.0, 20.0), sd_m2 in log_between(2e-4, 0.05),
    ) -> Motor {
        let omega = TAU * fs_hz;
        Motor {
            re_ohm,
            bl_t_m: (omega * mms_kg * re_ohm / qes).sqrt(),
            mms_kg,
            cms_m_per_n: 1.0 / (omega * omega * mms_kg),
            rms_kg_per_s: omega * mms_kg / qms,
            sd_m2,
        }
    }
}

fn coil() -> impl Strategy<Value = VoiceCoil> {
    prop_oneof![
        (0.0..2e-3).prop_map(|le_h| VoiceCoil::Plain { le_h }),
        (log_between(1e-4, 0.1), 0.3..1.0).prop_map(|(k_si, n)| VoiceCoil::PowerLaw { k_si, n }),
        (0.0..1e-3, 1e-5..1e-3, log_between(0.1, 100.0))
            .prop_map(|(le_h, l2_h, r2_ohm)| VoiceCoil::Shunted { le_h, l2_h, r2_ohm }),
    ]
}

fn fill() -> impl Strategy<Value = Fill> {
    prop_oneof![
        Just(Fill::Empty),
        (1.0..1.4).prop_map(Fill::Factor),
        (0.01..1.0, 0.5..1.0, log_between(20e-6, 2e-3)).prop_map(
            |(fraction, porosity, thermal_length_m)| {
                Fill::Foam {
                    fraction,
                    porosity,
                    thermal_length_m,
                    flow_resistivity_pa_s_per_m2: 10_000.0,
                }
            }
        ),
    ]
}

/// The Bramble with another motor and coil.
fn driver(motor: Motor, coil: VoiceCoil) -> Driver {
    let loaded = driver_file::load(&Embedded, Path::new("drivers/bramble.toml")).unwrap();
    Driver { motor, coil, ..loaded.driver }
}

/// The parameters of `motor` whose bit is set, in the order fs Qms Qes Qts Vas Mms Cms Rms Bl.
fn stated(motor: &Motor, air: &Air, bits: u32) -> GivenParameters {
    let some = |bit: u32, value: f64| (bits >> bit & 1 == 1).then_some(value);
    GivenParameters {
        re_ohm: motor.re_ohm,
        sd_m2: motor.sd_m2,
        fs_hz: some(0, motor.fs_hz()),
        qms: some(1, motor.qms()),
        qes: some(2, motor.qes()),
        qts: some(3, motor.qts()),
        vas_m3: some(4, motor.vas_m3(air)),
        mms_kg: some(5, motor.mms_kg),
        cms_m_per_n: some(6, motor.cms_m_per_n),
        rms_kg_per_s: some(7, motor.rms_kg_per_s),
        bl_t_m: some(8, motor.bl_t_m),
    }
}

/// Whether mass, compliance, loss and force follow from what is stated.
fn suffices(given: &GivenParameters) -> bool {
    let spring = given.vas_m3.or(given.cms_m_per_n).is_some();
    let mass = given.mms_kg.is_some();
    let resonator = [given.fs_hz.is_some(), spring, mass].iter().filter(|b| **b).count() >= 2;
    // With mass and resonance known, Qms and Rms, and Qes and Bl, say the same.
    let loss = given.qms.or(given.rms_kg_per_s).is_some();
    let force = given.qes.or(given.bl_t_m).is_some();
    let both = [loss, force, given.qts.is_some()].iter().filter(|b| **b).count() >= 2;
    resonator && both
}

fn same(a: f64, b: f64) -> bool {
    (a / b - 1.0).abs() < 1e-9
}

proptest! {
    #![proptest_config(tried(384))]

    #[test]
    fn a_motor_comes_back_from_any_set_of_parameters_that_fixes_it(
        motor in motor(), bits in 0u32..512,
    ) {
        let air = Air::default();
        let given = stated(&motor, &air, bits);
        match given.motor(&air) {
            Ok(found) => {
                prop_assert!(suffices(&given), "too little was stated: {given:?}");
                prop_assert!(same(found.mms_kg, motor.mms_kg), "{found:?} {motor:?}");
                prop_assert!(same(found.cms_m_per_n, motor.cms_m_per_n), "{found:?} {motor:?}");
                prop_assert!(same(found.rms_kg_per_s, motor.rms_kg_per_s), "{found:?} {motor:?}");
                prop_assert!(same(found.bl_t_m, motor.bl_t_m), "{found:?} {motor:?}");
                prop_assert_eq!(given.disagreements(&found, &air, 1e-6), vec![]);
            }
            Err(error) => prop_assert!(!suffices(&given), "{error}, though stated: {given:?}"),
        }
    }

    #[test]
    fn a_stated_value_that_is_wrong_is_told_by_that_much(
        motor in motor(), off in prop_oneof![0.5..0.98f64, 1.02..2.0f64],
    ) {
        let air = Air::default();
        let mut given = stated(&motor, &air, 0b1_0001_0111);
        given.bl_t_m = Some(motor.bl_t_m * off);
        let told = given.disagreements(&given.motor(&air).unwrap(), &air, 0.005);
        prop_assert_eq!(told.len(), 1);
        prop_assert_eq!(told[0].symbol, "Bl");
        prop_assert!((told[0].percent() - 100.0 * (off - 1.0)).abs() < 1e-6);
    }

    #[test]
    fn air_in_a_cavity_and_the_driver_before_it_are_passive(
        motor in motor(), coil in coil(), fill in fill(), leak in prop::option::of(1.0..100.0f64), free in any::<bool>(),
        volume_m3 in log_between(1e-5, 0.5), hz in log_between(20.0, 20_000.0),
    ) {
        let air = Air::default();
        let condition = if free { MassCondition::FreeAir } else { MassCondition::Baffled };
        let tight = ClosedBox::tight(volume_m3, fill).behind(&motor, condition, &air);
        let closed_box = leak.map_or(tight, |ql| tight.with_leak_ql(ql, &motor, &air));
        let load = closed_box.load(TAU * hz, &air);
        prop_assert!(load.re >= -1e-12 * load.norm(), "{load}");
        let (z, velocity) = driver(motor, coil).respond_at(TAU * hz, load);
        prop_assert!(z.re >= motor.re_ohm * (1.0 - 1e-9), "{z}");
        // What the cone gives to the air cannot exceed what the amplifier gives to the coil.
        let flow = velocity * motor.sd_m2;
        let (given, taken) = (z.inv().re, flow.norm_sqr() * load.re);
        prop_assert!(taken <= given * (1.0 + 1e-9), "{taken} W of {given} W");
        let net = closed_box.net_flow(TAU * hz, &air);
        prop_assert!(net.is_finite() && net.norm() <= 1.0 + 1e-9, "{net}");
    }

    #[test]
    fn a_cavity_without_end_is_free_air(
        motor in motor(), coil in coil(), fill in fill(), hz in log_between(20.0, 20_000.0),
    ) {
        let (air, omega) = (Air::default(), TAU * hz);
        let driver = driver(motor, coil);
        let (free, moving) = driver.respond_at(omega, Complex64::default());
        let away = |volume_m3: f64| {
            let closed_box = ClosedBox::tight(volume_m3, fill);
            let (z, velocity) = driver.respond_at(omega, closed_box.load(omega, &air));
            ((z - free).norm() / free.norm()).max((velocity - moving).norm() / moving.norm())
        };
        prop_assert!(away(1e9) < 1e-6, "{}", away(1e9));
        prop_assert!(away(1e12) < 1e-3 * away(1e6) + 1e-12);
    }

    #[test]
    fn a_bare_closed_box_has_the_textbook_alignment(
        motor in motor(), ratio in log_between(0.05, 20.0),
    ) {
        let air = Air::default();
        let volume_m3 = motor.vas_m3(&air) / ratio;
        let closed_box = ClosedBox::tight(volume_m3, Fill::Empty);
        let alignment = Alignment::of(&motor, |w| closed_box.load(w, &air), 0.0);
        let root = (1.0 + ratio).sqrt();
        prop_assert!(same(alignment.fc_hz, motor.fs_hz() * root), "{alignment:?}");
        prop_assert!(same(alignment.qtc, motor.qts() * root), "{alignment:?}");
        let half = alignment.response(alignment.f3_hz()).norm_sqr();
        prop_assert!((half - 0.5).abs() < 1e-9, "{half}");
    }

    #[test]
    fn a_distance_delays_by_its_travel_time(
        distance_m in 0.1..5.0f64, temperature_c in -20.0..50.0f64, radius_m in 0.005..0.1f64,
    ) {
        let air = Air::dry(temperature_c, 101_325.0);
        let grid = Grid::log(100.0, 2000.0, 400).unwrap();
        let wave: Transfer = Spectrum::from_fn(&grid, |omega| {
            piston::transfer_to(omega, &air, radius_m, distance_m, 0.0)
        });
        for delay_s in wave.group_delay_s() {
            prop_assert!((delay_s * air.c_m_per_s - distance_m).abs() < 1e-7, "{delay_s}");
        }
    }
}
