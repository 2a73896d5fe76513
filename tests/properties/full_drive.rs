//! A side at full drive: limits are reached and never passed, short cuts agree with solving anew.

use crate::random::log_between;
use crate::tried;
use proptest::prelude::*;
use slabtone::analysis::guard::{self, Remedy};
use slabtone::analysis::loudest::Holder;
use slabtone::analysis::noise::Noise;
use slabtone::analysis::side::SideModel;
use slabtone::analysis::study::{SideStudy, Study};
use slabtone::circuit::network::Component;
use slabtone::circuit::slope::Slope;
use slabtone::design::{Design, PolarityRule, Topology, Way};
use slabtone::grid::Grid;
use slabtone::input::design_file;
use slabtone::input::files::{DEMO, Embedded};
use std::path::Path;
use std::sync::Arc;

/// Enough for verdicts: the study then uses this grid throughout.
fn grid() -> Arc<Grid> {
    Grid::audible(480).unwrap()
}

prop_compose! {
    /// The reading bench with another slope, amplifier and limits.
    fn design()(
        slope in prop::sample::select(Slope::ALL.to_vec()), power_w in log_between(2.0, 200.0),
        output_ohm in prop::sample::select(vec![0.0, 0.1, 2.0]), xmax_m in log_between(1e-3, 8e-3),
        k_per_w in log_between(1.0, 20.0), cut_hz in prop::option::of(20.0..150.0f64),
    ) -> Design {
        let mut design = design_file::load(&Embedded, Path::new(DEMO)).unwrap();
        if let Topology::Textbook { slope: its_slope, .. } = &mut design.crossover.topology {
            *its_slope = slope;
        }
        design.amplifier.power_w = power_w;
        design.amplifier.output_ohm = output_ohm;
        design.amplifier.supply_v = None;
        design.amplifier.cut_below_hz = cut_hz;
        design.sides.truncate(1);
        let woofer = &mut design.sides[0].drivers.woofer.driver.limits;
        (woofer.xmax_m, woofer.thermal_resistance_k_per_w) = (xmax_m, Some(k_per_w));
        design
    }
}

fn study(design: &Design) -> (Study, SideModel) {
    let model = SideModel::new(design, &design.sides[0], &grid()).unwrap();
    (Study::new(design.clone(), &grid()).unwrap(), model)
}

fn near(a: f64, b: f64, share: f64) -> bool {
    (a - b).abs() <= share * a.abs().max(b.abs())
}

proptest! {
    #![proptest_config(tried(10))]

    #[test]
    fn the_largest_sine_reaches_one_limit_and_passes_none(design in design()) {
        let (study, model) = study(&design);
        let side = &study.sides[0];
        let loudest = &side.drive.loudest;
        for (i, volts) in loudest.volts.iter().enumerate() {
            prop_assert!(*volts <= design.amplifier.rated_v() * (1.0 + 1e-9));
            let mut reached = near(*volts, design.amplifier.rated_v(), 1e-9);
            for way in Way::BOTH {
                let driver = &design.sides[0].drivers.of(way).driver;
                let moves_m = model.excursion_m(&side.response().voltage, side.response().polarity, *volts).of(way)[i];
                let gain = side.response().voltage.of(way).values()[i].norm();
                let power_w = (volts * gain).powi(2) / driver.motor.re_ohm;
                prop_assert!(moves_m <= driver.limits.xmax_m * (1.0 + 1e-9));
                prop_assert!(power_w <= driver.limits.noise_power_w * (1.0 + 1e-9));
                reached |= match loudest.held_by[i] {
                    Holder::Travel(held) if held == way => near(moves_m, driver.limits.xmax_m, 1e-9),
                    Holder::Heat(held) if held == way => near(power_w, driver.limits.noise_power_w, 1e-9),
                    _ => false,
                };
            }
            prop_assert!(reached, "{:?} at point {i}", loudest.held_by[i]);
        }
    }

    #[test]
    fn the_most_noise_passes_no_limit(design in design()) {
        let (study, model) = study(&design);
        let mut quieter = design.clone();
        let noise = &study.sides[0].drive.noise;
        quieter.amplifier.power_w = noise.most_v.powi(2) / design.amplifier.into_ohm;
        let again = Noise::of(&quieter, &design.sides[0], &model, study.sides[0].response());
        for way in Way::BOTH {
            let load = again.drivers.of(way);
            prop_assert!(load.power_w <= load.rated_w * (1.0 + 1e-9));
            prop_assert!(load.peak_m <= load.xmax_m * (1.0 + 1e-9));
            let bands: f64 = load.bands.iter().map(|b| b.1.powi(2)).sum();
            prop_assert!(near(bands, load.rms_m.powi(2), 1e-9), "the bands hold all of it");
        }
    }

    #[test]
    fn a_hot_coil_solved_anew_takes_the_heat_that_keeps_it_hot(design in design()) {
        let (study, _) = study(&design);
        let Some(heat) = study.sides[0].drive.heating.woofer else {
            return Err(TestCaseError::fail("the thermal resistance is stated"));
        };
        // The same side with the hot coil as its driver.
        let mut hot = design.clone();
        hot.sides[0].drivers.woofer.driver.motor.re_ohm = heat.sine.settled.re_ohm;
        let model = SideModel::new(&hot, &hot.sides[0], &grid()).unwrap();
        let network = study.sides[0].network();
        let response = model.through(network, PolarityRule::Best).unwrap();
        let at = grid().frequency_hz().iter().position(|f| *f == heat.sine_hz).unwrap();
        let current = response.voltage.woofer.values()[at] / model.impedance.woofer.values()[at];
        let power_w = (current.norm() * design.amplifier.rated_v()).powi(2) * heat.sine.settled.re_ohm;
        prop_assert!(near(power_w, heat.sine.settled.power_w, 1e-6));
        let k_per_w = design.sides[0].drivers.woofer.driver.limits.thermal_resistance_k_per_w;
        let rise_k = heat.sine.settled.rise_k();
        prop_assert!(rise_k > 499.0 || near(rise_k, power_w * k_per_w.unwrap(), 1e-6));
        prop_assert!(heat.noise.settled.rise_k() <= rise_k * (1.0 + 1e-9), "a sine at its worst is worse");
    }

    #[test]
    fn the_guard_is_the_largest_value_that_does(design in design()) {
        let (study, model) = study(&design);
        let side = &study.sides[0];
        let peak = |farad: f64| peak_behind(&design, &model, side, farad);
        let (xmax_m, bare_m) = (side.limits.travel.woofer.xmax_m, side.limits.travel.woofer.peak_m);
        let series = design.parts.series.capacitor;
        match &side.drive.remedy {
            Remedy::NotNeeded => prop_assert!(bare_m <= xmax_m * (1.0 + 1e-6)),
            Remedy::None => {
                prop_assert!(bare_m > xmax_m);
                prop_assert!(series.values(-5, -3).iter().step_by(7).all(|c| peak(*c) > xmax_m));
            }
            Remedy::Capacitor(found) => {
                prop_assert!(bare_m > xmax_m && near(peak(found.farad), found.peak_m, 1e-9));
                prop_assert!(found.peak_m <= xmax_m * (1.0 + 1e-6));
                let larger = series.values(-5, -3).into_iter().find(|c| *c > found.farad * 1.001);
                prop_assert!(larger.is_none_or(|c| peak(c) > xmax_m));
            }
        }
    }
}

/// The woofer's largest excursion over the driven band behind a series capacitor, m.
fn peak_behind(design: &Design, model: &SideModel, side: &SideStudy, farad: f64) -> f64 {
    let part = Component::Capacitor { farad, esr_ohm: design.parts.capacitor_esr_ohm };
    let (network, _) = guard::with_series(side.network(), part);
    let response = model.through(&network, PolarityRule::Best).unwrap();
    let moves_m =
        model.excursion_m(&response.voltage, response.polarity, design.amplifier.rated_v()).woofer;
    let from_hz = design.amplifier.cut_below_hz.unwrap_or(0.0);
    let each = grid().frequency_hz().to_vec().into_iter().zip(moves_m);
    each.filter(|(f, _)| *f >= from_hz).map(|(_, x)| x).fold(0.0, f64::max)
}
