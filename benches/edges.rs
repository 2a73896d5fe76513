//! What the edges of a panel cost. `cargo bench --bench edges` times, at 480 points, a change of the
//! panel's geometry for four drivers and two patches, on back and face, heard by six listeners, its
//! two parts, and 72 directions at ten frequencies. One core: `RAYON_NUM_THREADS=1`.

use divan::{Bencher, black_box};
use slabtone::grid::Grid;
use slabtone::model::air::Air;
use slabtone::model::edges::slab::Slab;
use slabtone::model::edges::{Disc, EdgeField, Patch};
use slabtone::model::place::Point;
use std::f64::consts::TAU;

const SMALL: Slab = Slab { width_m: 0.42, height_m: 0.3, thickness_m: 0.04 };
const LONG: Slab = Slab { width_m: 1.4, height_m: 0.36, thickness_m: 0.06 };

fn main() {
    divan::main();
}

/// Two woofers, two tweeters, and the back in two halves.
fn field(slab: &Slab, points: usize) -> EdgeField {
    let disc =
        |x: f64, y: f64, radius_m| Disc { x_m: x * slab.width_m, y_m: y * slab.height_m, radius_m };
    let discs = [
        disc(-0.3, 0.0, 0.05),
        disc(0.3, 0.0, 0.05),
        disc(-0.4, 0.3, 0.012),
        disc(0.4, 0.3, 0.012),
    ];
    let (x, y) = (0.48 * slab.width_m, 0.48 * slab.height_m);
    let half = |x_m| Patch { x_m, y_m: [-y, y] };
    let grid = Grid::audible(points).expect("enough points");
    let patches = [half([-x, 0.0]), half([0.0, x])];
    EdgeField::new(slab, &discs, &patches, &grid, &Air::default()).expect("all on the panel")
}

/// All ways to `count` listeners on a ring at 1.5 m, over the grid of `points`.
fn heard(field: &EdgeField, points: usize, count: usize) {
    let grid = Grid::audible(points).expect("enough points");
    let k: Vec<f64> = grid.omega().map(|w| w / Air::default().c_m_per_s).collect();
    for i in 0..count {
        let (sine, cosine) = (TAU * (i as f64 + 0.5) / count as f64).sin_cos();
        let listener = Point::new(1.5 * sine, 0.2, 1.5 * cosine);
        let here = field.at(&listener);
        (0..4).for_each(|source| drop(black_box(here.ratio(source, &k))));
        (0..2).for_each(|patch| drop(black_box(here.rear(patch, &k))));
        (0..2).for_each(|patch| drop(black_box(here.front(patch, &k))));
    }
}

#[divan::bench(args = [SMALL, LONG])]
fn change_of_panel(bencher: Bencher, slab: &Slab) {
    bencher.bench(|| heard(&field(black_box(slab), 480), 480, 6));
}

#[divan::bench(args = [SMALL, LONG])]
fn solving(bencher: Bencher, slab: &Slab) {
    bencher.bench(|| field(black_box(slab), 480));
}

#[divan::bench(args = [SMALL, LONG])]
fn six_listeners(bencher: Bencher, slab: &Slab) {
    let field = field(slab, 480);
    bencher.bench(|| heard(black_box(&field), 480, 6));
}

#[divan::bench(args = [SMALL, LONG])]
fn directions_at_ten_frequencies(bencher: Bencher, slab: &Slab) {
    let field = field(slab, 10);
    bencher.bench(|| heard(black_box(&field), 10, 72));
}
