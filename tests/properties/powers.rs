//! Parseval: what the source gives is what parts and drivers take, for every sine and for noise.

use slabtone::analysis::ratings::Ratings;
use slabtone::analysis::side::{self, SideModel};
use slabtone::analysis::study::Study;
use slabtone::circuit::ladder::Polarity;
use slabtone::circuit::slope::Slope;
use slabtone::design::{Axis, BuiltFor, CoilRule, Design, Make, Stand, Topology};
use slabtone::grid::Grid;
use slabtone::input::design_file;
use slabtone::input::files::{DEMO, Disk, Embedded};
use std::path::Path;

const SHARE: f64 = 1e-9;

/// The examples, and the bench with every slope and with coils side by side.
fn designs() -> Vec<Design> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let file = |name: &str| design_file::load(&Disk, &root.join("examples").join(name)).unwrap();
    let bench = design_file::load(&Embedded, Path::new(DEMO)).unwrap();
    let mut designs = vec![file("study-desk.toml"), file("bed-head.toml")];
    for each in Slope::ALL {
        let mut design = bench.clone();
        if let Topology::Textbook { slope, .. } = &mut design.crossover.topology {
            *slope = each;
        }
        designs.push(design);
    }
    designs.push(with_near_coils(bench));
    designs
}

fn with_near_coils(mut design: Design) -> Design {
    let coil = |name: &str, x_m| CoilRule {
        reference: name.into(),
        make: Make::Wound { wire_m: 8e-4, height_m: 12e-3, inner_m: None },
        stand: Some(Stand { at_m: [x_m, 0.0, 0.0], axis: Axis::Z, reversed: false }),
    };
    design.coils = vec![coil("L1", 0.0), coil("L3", 0.06)];
    design
}

#[test]
fn power_out_is_power_in_for_every_sine_and_for_noise() {
    let grid = Grid::audible(240).unwrap();
    for design in designs() {
        let study = Study::new(design.clone(), &grid).unwrap();
        for (its, side) in study.sides.iter().zip(&design.sides) {
            let balance = &its.ratings.balance;
            let taken = balance.output_w + balance.parts_w + balance.drivers_w;
            assert!((taken / balance.source_w - 1.0).abs() < SHARE, "{}: {balance:?}", design.name);
            let model = SideModel::new(&design, side, &grid).unwrap();
            let mut whole = its.chosen.network.clone();
            if design.amplifier.output_ohm > 0.0 {
                side::prepend_source(&mut whole, design.amplifier.output_ohm);
            }
            let flows = model.flows(&whole, Polarity::Normal).unwrap();
            for (f, source_w) in flows.source_w().into_iter().enumerate() {
                let heat: f64 = flows.heat_w.iter().map(|w| w[f]).sum();
                let drivers: f64 = flows.ports.iter().map(|p| p.power_w()[f]).sum();
                let off = (heat + drivers) / source_w - 1.0;
                assert!(off.abs() < SHARE, "{}: {off:e}", design.name);
            }
        }
    }
}

#[test]
fn near_coils_share_field_and_the_response_tells_it() {
    let grid = Grid::audible(480).unwrap();
    let bench = with_near_coils(design_file::load(&Embedded, Path::new(DEMO)).unwrap());
    let side = &Study::new(bench.clone(), &grid).unwrap().sides[0];
    assert_eq!(side.synthesis.network.couplings.len(), 1);
    assert_eq!(side.chosen.network.couplings.len(), 1);
    let pair = &side.coils.coils.pairs[0];
    assert!(pair.factor < -0.005 && pair.factor > -0.1, "{pair:?}");
    assert!(side.coils.changes.iter().all(|c| c.most_db.abs() > 0.01), "{:?}", side.coils.changes);
    let recipe = side.coils.coils.recipe("L1").unwrap();
    let part = side.synthesis.network.parts.iter().find(|p| p.reference == "L1").unwrap();
    assert_eq!(part.component.loss_ohm(), recipe.dcr_ohm);
    // A quarter turn takes the field out.
    let mut turned = bench;
    turned.coils[1].stand.as_mut().unwrap().axis = Axis::X;
    let side = &Study::new(turned, &grid).unwrap().sides[0];
    assert!(side.coils.coils.pairs[0].factor.abs() < 1e-6);
}

#[test]
fn a_sine_asks_more_of_every_part_than_noise_of_its_voltage() {
    let grid = Grid::audible(480).unwrap();
    for design in designs() {
        let of = |signal| {
            let mut design = design.clone();
            design.amplifier.built_for = signal;
            let study = Study::new(design, &grid).unwrap();
            study.sides[0].ratings.clone()
        };
        let (sine, noise): (Ratings, Ratings) = (of(BuiltFor::Sine), of(BuiltFor::Programme));
        for (a, b) in sine.parts.iter().zip(&noise.parts) {
            assert_eq!(a.stress, b.stress);
            let (sine, noise) = (&a.stress.sine, &b.stress.programme);
            assert!(sine.amps.value >= noise.amps.value && sine.power.value >= noise.power.value);
            assert!(sine.volts.value >= noise.volts.value, "{}", a.reference);
        }
    }
}
