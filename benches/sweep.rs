//! What a sweep costs. `cargo bench` times: the study of the reading bench at 480 points (all of
//! `design` but reading and drawing), a change of network only, and one figure.

use divan::{Bencher, black_box};
use slabtone::analysis::side::SideModel;
use slabtone::analysis::study::Study;
use slabtone::analysis::synthesis;
use slabtone::design::Design;
use slabtone::grid::Grid;
use slabtone::input::design_file;
use slabtone::input::files::{DEMO, Embedded};
use slabtone::picture;
use slabtone::report::figures;
use std::path::Path;

const POINTS: usize = 480;

fn main() {
    divan::main();
}

fn bench() -> Design {
    design_file::load(&Embedded, Path::new(DEMO)).expect("the embedded example is sound")
}

#[divan::bench]
fn study_of_both_sides(bencher: Bencher) {
    let (design, grid) = (bench(), Grid::audible(POINTS).expect("enough points"));
    bencher.bench(|| Study::new(black_box(design.clone()), &grid));
}

#[divan::bench]
fn change_of_network(bencher: Bencher) {
    let (design, grid) = (bench(), Grid::audible(POINTS).expect("enough points"));
    let side = &design.sides[0];
    let model = SideModel::new(&design, side, &grid).expect("the example has no curves");
    let network = synthesis::network_for(&design, side).expect("the example has a ladder").network;
    let polarity = design.crossover.polarity;
    bencher.bench(|| model.through(black_box(&network), polarity));
}

#[divan::bench]
fn response_figure(bencher: Bencher) {
    let grid = Grid::audible(POINTS).expect("enough points");
    let study = Study::new(bench(), &grid).expect("the example has a solution");
    bencher.bench(|| picture::svg(&figures::response(&study, &study.sides[0], "left")));
}
