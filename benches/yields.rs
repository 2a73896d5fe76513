//! What a production run costs. `cargo bench --bench yields` times 10 000 units of one side of the
//! reading bench at 200 frequencies, drawn, judged and counted; `benches/numpy/compare` sets the same
//! physics in numpy beside it.

use divan::{Bencher, black_box};
use slabtone::analysis::yields::{Draws, Line};
use slabtone::design::Design;
use slabtone::input::design_file;
use slabtone::input::files::{DEMO, Embedded};
use std::path::Path;

const UNITS: u64 = 10_000;
const POINTS: usize = 200;

fn main() {
    divan::main();
}

/// The reading bench with so many of its sides.
fn bench(sides: usize) -> Design {
    let mut design =
        design_file::load(&Embedded, Path::new(DEMO)).expect("the embedded example is sound");
    design.sides.truncate(sides);
    design
}

#[divan::bench(args = [1, 2])]
fn ten_thousand_units(bencher: Bencher, sides: usize) {
    let line = Line::of(&bench(sides), POINTS).expect("the example has a window");
    let draws = Draws { units: UNITS, seed: 1, go_on: &|| true };
    bencher.bench(|| black_box(&line).draw(draws));
}

#[divan::bench(sample_count = 3)]
fn made_ready(bencher: Bencher) {
    let design = bench(1);
    bencher.bench(|| Line::of(black_box(&design), POINTS));
}
