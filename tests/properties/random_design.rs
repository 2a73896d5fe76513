//! The reading bench with another crossover, other parts, seats and places.

use crate::random::log_between;
use proptest::prelude::*;
use slabtone::circuit::preferred::Series;
use slabtone::circuit::slope::Slope;
use slabtone::design::{
    Design, Flatten, Kinds, Listener, LoadRule, PartsRules, PolarityRule, Shaping, Shelf,
    ShelfKind, Topology, TweeterLevel, Values, Ways,
};
use slabtone::input::design_file;
use slabtone::input::files::{DEMO, Embedded};
use slabtone::model::place::Point;
use std::path::Path;

fn shaping() -> impl Strategy<Value = Shaping> {
    let flatten = prop::sample::select(vec![
        Flatten::Nothing,
        Flatten::Coil,
        Flatten::Resonance,
        Flatten::Both,
    ]);
    let kind = prop::sample::select(vec![ShelfKind::TrebleCut, ShelfKind::BassCut]);
    let shelf = (kind, 0.5..8.0f64, log_between(200.0, 8000.0))
        .prop_map(|(kind, db, at_hz)| Shelf { kind, db, at_hz });
    (flatten, prop::option::of(shelf)).prop_map(|(flatten, shelf)| Shaping { flatten, shelf })
}

fn series() -> impl Strategy<Value = Kinds<Series>> {
    let one = || prop::sample::select(Series::ALL.map(|(_, series)| series).to_vec());
    (one(), one(), one()).prop_map(|(resistor, inductor, capacitor)| Kinds {
        resistor,
        inductor,
        capacitor,
    })
}

pub fn parts() -> impl Strategy<Value = PartsRules> {
    let values = prop::sample::select(vec![Values::Exact, Values::Chosen]);
    let pairs = prop::option::of(0.0..10.0f64);
    (series(), pairs, values, 0.0..0.6f64, 0.0..0.2f64).prop_map(
        |(series, pairs_above_percent, values, coil_dcr_at_1mh_ohm, capacitor_esr_ohm)| {
            PartsRules {
                series,
                pairs_above_percent,
                values,
                coil_dcr_at_1mh_ohm,
                capacitor_esr_ohm,
                ambient_c: 40.0,
            }
        },
    )
}

fn level() -> impl Strategy<Value = TweeterLevel> {
    prop_oneof![
        Just(TweeterLevel::Untouched),
        Just(TweeterLevel::Match),
        (0.1..12.0f64).prop_map(TweeterLevel::Lowered),
    ]
}

fn topology() -> impl Strategy<Value = Topology> {
    let load = prop::sample::select(vec![LoadRule::ImpedanceAtCrossover, LoadRule::CoilResistance]);
    let slope = prop::sample::select(Slope::ALL.to_vec());
    (slope, load, level(), shaping(), shaping()).prop_map(
        |(slope, load, level, woofer, tweeter)| Topology::Textbook {
            slope,
            load,
            level,
            shaping: Ways { woofer, tweeter },
        },
    )
}

fn seats() -> impl Strategy<Value = Vec<Listener>> {
    let one = (-1.0..1.0f64, -0.5..1.0f64, 0.4..2.5f64, 0.2..3.0f64);
    prop::collection::vec(one, 1..4).prop_map(|seats| {
        let listener = |(k, (x, y, z, weight)): (usize, (f64, f64, f64, f64))| Listener {
            name: format!("seat {k}"),
            place: Point::new(x, y, z),
            weight,
            spread_m: 0.0,
        };
        seats.into_iter().enumerate().map(listener).collect()
    })
}

prop_compose! {
    /// A textbook design in the better polarity.
    pub fn design()(
        topology in topology(), at_hz in log_between(900.0, 6000.0), parts in parts(),
        listeners in seats(), output_ohm in 0.0..0.5f64, leak in any::<bool>(),
    ) -> Design {
        let mut design = design_file::load(&Embedded, Path::new(DEMO)).unwrap();
        design.crossover.topology = topology;
        design.crossover.at_hz = at_hz;
        design.crossover.polarity = PolarityRule::Best;
        design.parts = parts;
        design.listeners = listeners;
        design.amplifier.output_ohm = output_ohm;
        if !leak {
            design.sides.iter_mut().for_each(|side| side.cavity.leak_ql = None);
        }
        design
    }
}
