//! What the edges of a panel do must keep its symmetries and its limits.

use super::tried;
use num_complex::Complex64;
use proptest::prelude::*;
use slabtone::analysis::panel_edges::PanelEdges;
use slabtone::design::Design;
use slabtone::grid::Grid;
use slabtone::input::design_file;
use slabtone::input::files::{DEMO, Embedded};
use slabtone::model::air::Air;
use slabtone::model::edges::slab::Slab;
use slabtone::model::edges::{Disc, EdgeField, Patch};
use slabtone::model::piston::directivity;
use slabtone::model::place::Point;
use std::path::Path;

fn bench() -> Design {
    design_file::load(&Embedded, Path::new(DEMO)).expect("the embedded example is sound")
}

/// A side on the right takes the field of its mirror image: that must be what its own gives.
#[test]
fn a_mirrored_side_has_the_edges_of_its_own_place() {
    let design = bench();
    let right = &design.sides[1];
    let woofer = &right.drivers.woofer;
    assert!(woofer.x_m > 0.0);
    let slab = Slab {
        width_m: design.panel.width_m,
        height_m: design.panel.height_m,
        thickness_m: design.panel.thickness_m(right.cavity.depth_m),
    };
    let radius_m = woofer.driver.motor.radius_m();
    let disc = Disc { x_m: woofer.x_m, y_m: woofer.y_m, radius_m };
    let grid = Grid::log(20.0, 20_000.0, 40).expect("sound");
    let own = EdgeField::new(&slab, &[disc], &[], &grid, &design.air).expect("on the panel");
    let edges = PanelEdges::of(&design, right).expect("the panel ends");
    for place in [Point::new(0.9, 0.2, 0.7), Point::new(-0.3, -0.4, 1.5)] {
        let (got, want) = (edges.at(&place, &grid).drivers().woofer, own.ratio(0, &place));
        for (got, want) in got.values().iter().zip(want.values()) {
            assert!((got - want).norm() < 1e-9, "{got} is not {want}");
        }
    }
}

/// Edges know wavelengths alone: warmer air moves what they do up with the speed of sound.
#[test]
fn warm_air_moves_the_edges_up_in_frequency() {
    let design = bench();
    let mut warm = design.clone();
    warm.air = design.air.warmer(15.0);
    let up = warm.air.c_m_per_s / design.air.c_m_per_s;
    assert!(up > 1.02);
    let (cool_grid, warm_grid) =
        (Grid::log(20.0, 15_000.0, 40), Grid::log(20.0 * up, 15_000.0 * up, 40));
    let (cool_grid, warm_grid) = (cool_grid.expect("sound"), warm_grid.expect("sound"));
    let place = Point::new(0.2, 0.3, 0.8);
    let ratio = |design: &Design, grid| {
        let edges = PanelEdges::of(design, &design.sides[0]).expect("the panel ends");
        edges.at(&place, grid).drivers().tweeter
    };
    let (cool, warm) = (ratio(&design, &cool_grid), ratio(&warm, &warm_grid));
    for (cool, warm) in cool.values().iter().zip(warm.values()) {
        assert!((cool - warm).norm() < 1e-6, "{cool} is not {warm}");
    }
}

proptest! {
    #![proptest_config(tried(6))]

    /// Half the pressure of an endless panel is left at very low frequency, anywhere far off; and a
    /// source in the middle is heard the same at mirrored places.
    #[test]
    fn low_notes_lose_half_and_mirrored_places_hear_the_same(
        width_m in 0.3..0.9f64,
        height_m in 0.2..0.6f64,
        thickness_m in 0.03..0.08f64,
        angle in 0.1..1.4f64,
    ) {
        let slab = Slab { width_m, height_m, thickness_m };
        let disc = Disc { x_m: 0.0, y_m: 0.0, radius_m: 0.03 };
        let grid = Grid::log(1.0, 8_000.0, 30).expect("sound");
        let field = EdgeField::new(&slab, &[disc], &[], &grid, &Air::default()).expect("sound");
        let at = |x: f64, y: f64| Point::new(x * 8.0 * angle.sin(), y, 8.0 * angle.cos());
        let heard = field.ratio(0, &at(1.0, 0.4));
        prop_assert!((heard.values()[0].norm() - 0.5).abs() < 0.02, "{}", heard.values()[0]);
        for other in [at(-1.0, 0.4), at(1.0, -0.4), at(-1.0, -0.4)] {
            for (a, b) in field.ratio(0, &other).values().iter().zip(heard.values()) {
                prop_assert!((a - b).norm() < 1e-6, "{a} is not {b}");
            }
        }
    }
}

/// A small patch on the face is a driver there; a large one loses half at low notes, and from the
/// face what it sends to the front is what one on the back sends behind.
#[test]
fn a_patch_on_the_face_is_a_driver_as_large() {
    let slab = Slab { width_m: 0.6, height_m: 0.35, thickness_m: 0.05 };
    let grid = Grid::log(1.0, 12_000.0, 60).expect("sound");
    let side_m = 0.02;
    let disc = Disc { x_m: 0.1, y_m: -0.05, radius_m: side_m / std::f64::consts::PI.sqrt() };
    let around = |x: f64, half: f64| [x - half, x + half];
    let small = Patch { x_m: around(0.1, 0.5 * side_m), y_m: around(-0.05, 0.5 * side_m) };
    let large = Patch { x_m: around(0.05, 0.15), y_m: around(0.0, 0.1) };
    let air = Air::default();
    let field = EdgeField::new(&slab, &[disc], &[small, large], &grid, &air).expect("sound");
    let k: Vec<f64> = grid.omega().map(|w| w / air.c_m_per_s).collect();
    for place in [Point::new(0.3, 0.1, 1.2), Point::new(-1.1, 0.4, 0.9)] {
        let own_m = Point::new(disc.x_m, disc.y_m, 0.0).distance_m(&place);
        let origin_m = Point::default().distance_m(&place);
        let sine = Point::new(disc.x_m, disc.y_m, 0.0).angle_off_axis_rad(&place).sin();
        let heard = field.at(&place);
        let patch = heard.front(0, &k);
        for ((patch, driver), k) in patch.iter().zip(heard.ratio(0, &k)).zip(&k) {
            let way = Complex64::from_polar(own_m / origin_m, k * (own_m - origin_m));
            // The driver's is told over its own beam in an endless panel.
            let got = patch * way / directivity(k * disc.radius_m * sine);
            assert!((got - driver).norm() < 0.03 * driver.norm().max(0.5), "{k}/m: {got} {driver}");
        }
        let far = Point::new(9.0 * place.x_m, 9.0 * place.y_m, 9.0 * place.z_m);
        let low = field.at(&far).front(1, &k)[0].norm();
        assert!((low - 0.5).abs() < 0.02, "{low}");
        let behind = Point { z_m: -place.z_m - slab.thickness_m, ..place };
        let (front, rear) = (heard.front(1, &k), field.at(&behind).rear(1, &k));
        for (k, (front, rear)) in k.iter().zip(front.iter().zip(&rear)).take(25) {
            // The distance that either is told over differs.
            let to = Point::default();
            let (a, b) = (to.distance_m(&place), to.distance_m(&behind));
            let rear = rear * Complex64::from_polar(a / b, k * (a - b));
            // Both are polynomials through the same nodes, of phases told from unlike distances.
            assert!((front - rear).norm() < 1e-3, "{k}/m: {front} is not {rear}");
        }
    }
}
