//! A side that can be moved and spoilt: its slopes, and that at rest it is the design.

use slabtone::analysis::inspection::fault::Fault;
use slabtone::analysis::inspection::measuring::Measuring;
use slabtone::analysis::inspection::twin::Twin;
use slabtone::analysis::side::SideModel;
use slabtone::analysis::spread::Spread;
use slabtone::circuit::load::Load;
use slabtone::circuit::solve;
use slabtone::design::{Design, PolarityRule, Way};
use slabtone::grid::Grid;
use slabtone::input::design_file;
use slabtone::input::files::{DEMO, Embedded};
use slabtone::model::fill::Fill;

/// The reading bench, with the backs of its tweeters open or closed.
fn bench(open_back: bool) -> Design {
    let mut design = design_file::load(&Embedded, DEMO.as_ref()).unwrap();
    for side in &mut design.sides {
        side.drivers.tweeter.driver.open_back = open_back;
        assert_eq!(side.shares_air(), open_back);
    }
    design
}

fn twin(open_back: bool) -> Twin {
    let design = bench(open_back);
    let spread = Spread::of(&design).unwrap();
    let grid = Grid::audible(41).unwrap();
    Twin::new(&design, &spread, 0, &Measuring::default(), &grid).unwrap()
}

#[test]
fn slopes_agree_with_differences_for_good_and_bad_units() {
    for open_back in [false, true] {
        slopes_agree(&twin(open_back));
    }
}

fn slopes_agree(twin: &Twin) {
    let leak = twin.faults.iter().find(|f| matches!(f, Fault::Leak(_))).unwrap();
    let here: Vec<f64> = twin.deviations.iter().map(|d| 0.3 * d).collect();
    let open = [Fault::DriverOpen(Way::Tweeter), Fault::DriverOpen(Way::Woofer)];
    for fault in [Fault::None, Fault::Open(1), open[0], open[1], Fault::Reversed, *leak] {
        let slopes = twin.slopes(&fault, &here).unwrap();
        assert_eq!(slopes.answer.ln_p.len(), 41);
        let plain = twin.answer(&fault, &here).unwrap();
        for q in 0..here.len() {
            let step = 1e-4 * twin.deviations[q].max(1e-3);
            let moved = |by: f64| {
                let mut at = here.clone();
                at[q] += by;
                twin.answer(&fault, &at).unwrap()
            };
            let (up, down) = (moved(step), moved(-step));
            for f in 0..41 {
                assert!((plain.ln_z[f] - slopes.answer.ln_z[f]).norm() < 1e-9);
                let dz = (up.ln_z[f] - down.ln_z[f]) / (2.0 * step);
                let got = slopes.z_by[f * here.len() + q];
                assert!(
                    (dz - got).norm() < 1e-4 * (1.0 + dz.norm()),
                    "{fault:?} {q} {f} {dz} {got}"
                );
                let dp = (up.ln_p[f] - down.ln_p[f]) / (2.0 * step);
                let got = slopes.p_by[f * here.len() + q];
                assert!((dp - got).abs() < 1e-4 * (1.0 + dp.abs()), "{fault:?} {q} {f} {dp} {got}");
            }
        }
    }
}

#[test]
fn a_nominal_unit_is_the_design() {
    for open_back in [false, true] {
        let (design, twin) = (bench(open_back), twin(open_back));
        let spread = Spread::of(&design).unwrap();
        let model = SideModel::new(&design, &design.sides[0], &twin.grid).unwrap();
        for (fault, polarity) in
            [(Fault::None, spread.polarity[0]), (Fault::Reversed, spread.polarity[0].flipped())]
        {
            let rule = PolarityRule::Fixed(polarity);
            let response = model.through(&spread.networks[0], rule).unwrap();
            let shown = twin.nominal(&fault).unwrap();
            for f in 0..41 {
                assert!((shown.ln_z[f].exp() / response.impedance.values()[f] - 1.0).norm() < 1e-6);
                let pressure = response.seats[0].sum.values()[f].norm();
                assert!((shown.ln_p[f] - pressure.ln()).abs() < 1e-6, "{open_back} {f}");
            }
        }
        // A leak and a missing fill are the design so built.
        for fault in twin.faults.iter().filter(|f| matches!(f, Fault::Leak(_) | Fault::NoFill)) {
            let mut other = design.clone();
            for side in &mut other.sides {
                match *fault {
                    Fault::Leak(ql) => side.cavity.leak_ql = Some(ql),
                    _ => side.cavity.fill = Fill::Empty,
                }
            }
            let model = SideModel::new(&other, &other.sides[0], &twin.grid).unwrap();
            let rule = PolarityRule::Fixed(spread.polarity[0]);
            let response = model.through(&spread.networks[0], rule).unwrap();
            let shown = twin.nominal(fault).unwrap();
            for (f, z) in response.impedance.values().iter().enumerate() {
                assert!((shown.ln_z[f].exp() / z - 1.0).norm() < 1e-6, "{open_back} {fault:?} {f}");
            }
        }
        // A woofer that is not connected leaves its cone in the air.
        let open = twin.nominal(&Fault::DriverOpen(Way::Woofer)).unwrap();
        let left = Load::diagonal(&twin.grid, &[None, Some(&model.impedance.tweeter)]);
        let solution = solve::solve(&spread.networks[0], &twin.grid, &left).unwrap();
        for (f, z) in solution.input_impedance().values().iter().enumerate() {
            assert!((open.ln_z[f].exp() / z - 1.0).norm() < 1e-3, "{open_back} {f}");
        }
    }
}
