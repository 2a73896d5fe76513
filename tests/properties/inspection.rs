//! A side that can be moved and spoilt: its slopes, and that at rest it is the design.

use slabtone::analysis::inspection::fault::Fault;
use slabtone::analysis::inspection::measuring::Measuring;
use slabtone::analysis::inspection::twin::Twin;
use slabtone::analysis::side::SideModel;
use slabtone::analysis::spread::Spread;
use slabtone::design::{PolarityRule, Way};
use slabtone::grid::Grid;
use slabtone::input::design_file;
use slabtone::input::files::{DEMO, Embedded};

fn twin() -> Twin {
    let design = design_file::load(&Embedded, DEMO.as_ref()).unwrap();
    let spread = Spread::of(&design).unwrap();
    let grid = Grid::audible(41).unwrap();
    Twin::new(&design, &spread, 0, &Measuring::default(), &grid).unwrap()
}

#[test]
fn slopes_agree_with_differences_for_good_and_bad_units() {
    let twin = twin();
    let leak = twin.faults.iter().find(|f| matches!(f, Fault::Leak(_))).unwrap();
    let here: Vec<f64> = twin.deviations.iter().map(|d| 0.3 * d).collect();
    for fault in [Fault::None, Fault::Open(1), Fault::DriverOpen(Way::Tweeter), *leak] {
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
    let design = design_file::load(&Embedded, DEMO.as_ref()).unwrap();
    let spread = Spread::of(&design).unwrap();
    let twin = twin();
    let model = SideModel::new(&design, &design.sides[0], &twin.grid).unwrap();
    let rule = PolarityRule::Fixed(spread.polarity[0]);
    let response = model.through(&spread.networks[0], rule).unwrap();
    let shown = twin.nominal(&Fault::None).unwrap();
    for f in 0..41 {
        assert!((shown.ln_z[f].exp() / response.impedance.values()[f] - 1.0).norm() < 1e-6);
        let pressure = response.seats[0].sum.values()[f].norm();
        assert!((shown.ln_p[f] - pressure.ln()).abs() < 1e-6, "{f}");
    }
}
