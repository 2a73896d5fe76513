//! A side at its seats: sums, mirrors, delays, for random places and crossovers.

use crate::random::log_between;
use crate::tried;
use proptest::prelude::*;
use slabtone::analysis::side::{SeatResponse, SideModel, SideResponse};
use slabtone::analysis::synthesis;
use slabtone::circuit::ladder::Polarity;
use slabtone::circuit::slope::Slope;
use slabtone::design::{
    Cavity, Design, Listener, Mounted, PolarityRule, Side, Topology, TweeterLevel,
};
use slabtone::grid::{Grid, Pressure};
use slabtone::input::design_file;
use slabtone::input::files::{DEMO, Embedded};
use slabtone::model::place::Point;
use std::path::Path;

fn place() -> impl Strategy<Value = Point> {
    (-2.0..2.0, -2.0..2.0, 0.1..3.0).prop_map(|(x, y, z)| Point::new(x, y, z))
}

fn polarity() -> impl Strategy<Value = PolarityRule> {
    prop::sample::select(vec![
        PolarityRule::Best,
        PolarityRule::Fixed(Polarity::Normal),
        PolarityRule::Fixed(Polarity::Inverted),
    ])
}

prop_compose! {
    /// The reading bench with another crossover, other seats and drivers elsewhere.
    fn design()(
        slope in prop::sample::select(Slope::ALL.to_vec()), at_hz in log_between(300.0, 9000.0),
        polarity in polarity(), lowered_db in 0.1..20.0f64, places in prop::collection::vec(place(), 1..4),
        apart in (-0.5..0.5f64, -0.1..0.1f64), output_ohm in 0.0..2.0f64,
    ) -> Design {
        let mut design = design_file::load(&Embedded, Path::new(DEMO)).unwrap();
        design.crossover.at_hz = at_hz;
        design.crossover.polarity = polarity;
        if let Topology::Textbook { slope: its_slope, level, .. } = &mut design.crossover.topology {
            (*its_slope, *level) = (slope, TweeterLevel::Lowered(lowered_db));
        }
        design.amplifier.output_ohm = output_ohm;
        let seat = |(k, place)| Listener { name: format!("seat {k}"), place, weight: 1.0, spread_m: 0.0 };
        design.listeners = places.into_iter().enumerate().map(seat).collect();
        for side in &mut design.sides {
            side.drivers.tweeter.x_m += apart.0;
            side.drivers.tweeter.y_m += apart.1;
        }
        design
    }
}

fn response(design: &Design, side: &Side) -> SideResponse {
    let grid = Grid::audible(24).unwrap();
    let network = synthesis::network_for(design, side).unwrap().network;
    SideModel::new(design, side, &grid)
        .unwrap()
        .through(&network, design.crossover.polarity)
        .unwrap()
}

fn same(a: &Pressure, b: &Pressure, scale: &Pressure) -> bool {
    let pairs = a.values().iter().zip(b.values()).zip(scale.values());
    pairs.into_iter().all(|((a, b), s)| (a - b).norm() <= 1e-9 * (s.norm() + a.norm()))
}

fn mirrored(design: &Design, side: &Side) -> (Design, Side) {
    let mut other = design.clone();
    for listener in &mut other.listeners {
        listener.place.x_m = -listener.place.x_m;
    }
    let flip = |m: &Mounted| Mounted { x_m: -m.x_m, ..m.clone() };
    let cavity = Cavity { x_m: -side.cavity.x_m, ..side.cavity.clone() };
    (other, Side { name: "other".into(), cavity, drivers: side.drivers.map(flip) })
}

proptest! {
    #![proptest_config(tried(64))]

    #[test]
    fn the_sum_is_woofer_plus_tweeter_and_the_other_way_round_their_difference(design in design()) {
        let response = response(&design, &design.sides[0]);
        prop_assert_eq!(response.seats.len(), design.listeners.len());
        for seat in &response.seats {
            let loudest = seat.woofer.plus(&seat.woofer, 1.0).plus(&seat.tweeter, 1.0);
            prop_assert!(same(&seat.sum, &seat.woofer.plus(&seat.tweeter, 1.0), &loudest));
            prop_assert!(same(&seat.inverted, &seat.woofer.plus(&seat.tweeter, -1.0), &loudest));
        }
    }

    #[test]
    fn a_fixed_polarity_turns_the_tweeter_and_nothing_else(design in design()) {
        let side = &design.sides[0];
        let with = |polarity| {
            let mut design = design.clone();
            design.crossover.polarity = PolarityRule::Fixed(polarity);
            response(&design, side)
        };
        let (normal, inverted) = (with(Polarity::Normal), with(Polarity::Inverted));
        prop_assert_eq!(inverted.polarity, Polarity::Inverted);
        for (a, b) in normal.seats.iter().zip(&inverted.seats) {
            prop_assert_eq!(a.woofer.values(), b.woofer.values());
            prop_assert!(same(&a.tweeter, &b.tweeter.map(|_, p| -p), &a.tweeter));
            prop_assert_eq!(a.sum.values(), b.inverted.values());
            prop_assert_eq!(a.inverted.values(), b.sum.values());
        }
    }

    #[test]
    fn a_side_in_the_mirror_sounds_the_same_at_a_seat_in_the_mirror(design in design()) {
        let side = &design.sides[0];
        let (other_design, other_side) = mirrored(&design, side);
        let (a, b) = (response(&design, side), response(&other_design, &other_side));
        prop_assert_eq!(a.polarity, b.polarity);
        for (a, b) in a.seats.iter().zip(&b.seats) {
            prop_assert!(same(&a.sum, &b.sum, &a.woofer) && same(&a.woofer, &b.woofer, &a.woofer));
        }
    }

    #[test]
    fn the_sound_without_its_travel_is_the_sound_later_by_that_travel(design in design()) {
        let response = response(&design, &design.sides[0]);
        for seat in &response.seats {
            let back = seat.excess(&seat.sum).without_travel(-seat.travel_m, design.air.c_m_per_s);
            prop_assert!(same(&back, &seat.sum, &seat.sum));
            let levels = SeatResponse::level_db(&seat.sum);
            prop_assert!(levels.iter().all(|db| db.is_finite() && *db >= -200.0 && *db < 160.0));
        }
    }

    #[test]
    fn the_amplifiers_terminals_never_see_a_negative_resistance(design in design()) {
        let response = response(&design, &design.sides[0]);
        for z in response.impedance.values() {
            prop_assert!(z.re > 0.0, "{z}");
        }
    }
}
