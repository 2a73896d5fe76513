//! Coils: recipes keep to their wish, mutual inductance is reciprocal and bounded, shared field
//! makes no power.

use crate::random::{grid, log_between, mesh, resistance};
use crate::tried;
use proptest::prelude::*;
use slabtone::circuit::flows::Flows;
use slabtone::circuit::load::Load;
use slabtone::circuit::mutual::{self, Placement};
use slabtone::circuit::network::{Component, Coupling, Network, Node};
use slabtone::circuit::winding::recipe::{Recipe, Wish};
use slabtone::circuit::winding::{self, Winding};
use slabtone::design::{Axis, Stand};

prop_compose! {
    fn coil()(
        turns in 10..400u32, inner_m in log_between(6e-3, 60e-3), length_m in log_between(2e-3, 40e-3),
        depth_m in log_between(2e-3, 30e-3),
    ) -> Winding {
        Winding { turns, mean_radius_m: 0.5 * (inner_m + depth_m), length_m, depth_m }
    }
}

fn stand() -> impl Strategy<Value = Stand> {
    let axis = prop::sample::select(vec![Axis::X, Axis::Y, Axis::Z]);
    (prop::array::uniform3(-0.2..0.2f64), axis, any::<bool>())
        .prop_map(|(at_m, axis, reversed)| Stand { at_m, axis, reversed })
}

proptest! {
    #![proptest_config(tried(60))]

    #[test]
    fn a_recipe_fits_and_comes_near(
        henry in log_between(5e-5, 5e-3), wire_m in log_between(3e-4, 1.6e-3),
        height_m in log_between(4e-3, 40e-3),
    ) {
        let wish = Wish { henry, wire_m, height_m, inner_m: None };
        let Ok(recipe) = Recipe::of(&wish) else { return Ok(()) };
        let coil = &recipe.winding;
        prop_assert!(recipe.height_m() <= height_m * (1.0 + 1e-9));
        let half_turn = 1.0 / f64::from(coil.turns);
        prop_assert!((recipe.henry / henry).ln().abs() <= half_turn.max(0.0051));
        prop_assert!(coil.turns <= recipe.layers * recipe.turns_per_layer);
        prop_assert!(coil.turns > (recipe.layers - 1) * recipe.turns_per_layer);
        prop_assert!((recipe.outer_m() - recipe.inner_m - 2.0 * coil.depth_m).abs() < 1e-12);
        let mean = std::f64::consts::PI * 0.5 * (recipe.inner_m + recipe.outer_m());
        prop_assert!((recipe.wire_m / (mean * f64::from(coil.turns)) - 1.0).abs() < 1e-12);
        // Wheeler's formulas outside their best range, against the sum over the section.
        prop_assert!((recipe.henry / coil.section_h() - 1.0).abs() < 0.08, "{recipe:?}");
    }

    #[test]
    fn more_height_never_takes_more_wire(henry in log_between(1e-4, 3e-3), wire_m in log_between(4e-4, 1.2e-3)) {
        let with = |height_m| Recipe::of(&Wish { henry, wire_m, height_m, inner_m: None });
        let mut last = f64::INFINITY;
        for height_m in [4e-3, 8e-3, 16e-3, 32e-3] {
            let Ok(recipe) = with(height_m) else { continue };
            prop_assert!(recipe.wire_m <= last);
            last = recipe.wire_m;
        }
    }

    #[test]
    fn with_height_to_spare_a_recipe_is_near_brookss_coil(henry in log_between(3e-4, 3e-3), wire_m in log_between(4e-4, 1e-3)) {
        let recipe = Recipe::of(&Wish { henry, wire_m, height_m: 0.1, inner_m: None }).unwrap();
        // Brooks's coil of the same inductance and wire, squarely packed: b = c = √N d, a = 1.5 c.
        let pitch = slabtone::circuit::wire::overall_m(wire_m);
        let turns = (henry / (1.6994e-6 * 1.5 * pitch)).powf(0.4);
        let wire = std::f64::consts::TAU * 1.5 * pitch * turns.powf(1.5);
        prop_assert!((recipe.wire_m / wire - 1.0).abs() < 0.05, "{} for {wire}", recipe.wire_m);
    }

    #[test]
    fn mutual_inductance_is_the_same_from_either_side_and_below_the_mean(
        first in coil(), second in coil(), here in stand(), there in stand(),
    ) {
        let (to, back) = (here.sees(&there), there.sees(&here));
        prop_assume!(!mutual::overlap(&first, &second, &to));
        prop_assume!(!mutual::overlap(&second, &first, &back));
        let own = [first.section_h(), second.section_h()];
        let m = [mutual::windings_h(&first, &second, &to), mutual::windings_h(&second, &first, &back)];
        let k = m.map(|m| mutual::coupling_factor(m, own));
        prop_assert!((k[0] - k[1]).abs() < 2e-3 * k[0].abs() + 1e-6, "{k:?}");
        prop_assert!(k[0].abs() < 0.9, "{k:?}");
    }

    #[test]
    fn coaxial_and_any_place_agree_where_both_hold(first in coil(), second in coil(), gap_m in log_between(5e-3, 0.2)) {
        let apart_m = gap_m + 0.5 * (first.length_m + second.length_m);
        let along = mutual::windings_h(&first, &second, &Placement::coaxial(apart_m));
        // A hair off the axis: the other way of reckoning.
        let place = Placement { centre_m: [1e-9, 0.0, apart_m], axis: [0.0, 0.0, 1.0] };
        let beside = mutual::windings_h(&first, &second, &place);
        prop_assert!((along / beside - 1.0).abs() < 0.02, "{along} {beside}");
    }

    #[test]
    fn far_apart_coils_are_dipoles(first in coil(), second in coil()) {
        let far_m = 5.0f64;
        let moment = |c: &Winding| {
            let (r, d) = (c.mean_radius_m, c.depth_m);
            std::f64::consts::PI * f64::from(c.turns) * (r * r + d * d / 12.0)
        };
        let dipoles = 1e-7 * moment(&first) * moment(&second) / far_m.powi(3);
        let on_axis = mutual::windings_h(&first, &second, &Placement::coaxial(far_m));
        prop_assert!((on_axis / (2.0 * dipoles) - 1.0).abs() < 2e-3);
        let beside = mutual::windings_h(&first, &second, &Placement::beside(far_m));
        prop_assert!((beside / -dipoles - 1.0).abs() < 2e-3);
        let crossed = mutual::windings_h(&first, &second, &Placement::crossed(far_m));
        prop_assert!(crossed.abs() < 1e-6 * dipoles);
    }

    #[test]
    fn power_in_is_power_taken_with_shared_field_too(
        mesh in mesh(), grid in grid(), k in -0.99..0.99f64, ohm in log_between(1.0, 100.0),
    ) {
        let mut network = Network::new("in", "0");
        let nodes = mesh.add_to(&mut network);
        let feed = Component::Resistor { ohm: 1.0 };
        network.add("F", feed, [Node::INPUT, nodes[1]]);
        let coil = |henry| Component::Inductor { henry, dcr_ohm: 0.2 };
        network.add("LA", coil(5e-4), [nodes[1], nodes[0]]);
        network.add("LB", coil(2e-4), [nodes[nodes.len() - 1], nodes[0]]);
        let last = network.parts.len();
        network.couplings.push(Coupling { parts: [last - 2, last - 1], factor: k });
        network.add_port("load", [nodes[nodes.len() - 1], nodes[0]]);
        let load = resistance(&grid, ohm);
        let flows = Flows::of(&network, &grid, &Load::diagonal(&grid, &[Some(&load)]));
        let Ok(flows) = flows else { return Ok(()) };
        for (f, source_w) in flows.source_w().into_iter().enumerate() {
            let heat: f64 = flows.heat_w.iter().map(|w| w[f]).sum();
            let taken = heat + flows.ports[0].power_w()[f];
            prop_assert!(source_w >= 0.0);
            let most = flows.source[f].norm();
            prop_assert!((taken - source_w).abs() <= 1e-9 * source_w + 1e-13 * most, "{taken} {source_w}");
            // Part by part only what is not coupled turns all it takes into heat.
            let each: f64 = flows.parts.iter().map(|p| p.power_w()[f]).sum();
            prop_assert!((each - heat).abs() <= 1e-9 * source_w + 1e-12 * most);
        }
    }
}

#[test]
fn a_wish_without_sense_is_refused() {
    let good = Wish { henry: 1e-3, wire_m: 1e-3, height_m: 12e-3, inner_m: None };
    for wish in [
        Wish { henry: 0.0, ..good },
        Wish { henry: f64::NAN, ..good },
        Wish { wire_m: -1.0, ..good },
        Wish { height_m: f64::INFINITY, ..good },
        Wish { inner_m: Some(0.0), ..good },
        Wish { height_m: 1e-4, ..good },
        Wish { henry: 1e3, ..good },
    ] {
        let why = Recipe::of(&wish).expect_err("refused").to_string();
        assert!(!why.is_empty());
    }
    assert!(winding::brooks_h(100.0, 0.02) > 0.0);
}
