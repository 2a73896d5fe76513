//! What a back sheet costs: its modes, and the cavity with it at 480 points, as after every change
//! of the panel's geometry.

use divan::{Bencher, black_box};
use slabtone::grid::Grid;
use slabtone::model::air::Air;
use slabtone::model::coupled_cavity::CoupledCavity;
use slabtone::model::fluid::Foam;
use slabtone::model::material::Material;
use slabtone::model::plate::edge::{Edges, Fixing};
use slabtone::model::sheet::{Layout, Rear, Ribs, Sheet, Walls};
use slabtone::model::wave_cavity::{Disc, WaveCavity, WaveField, WaveFill};

const POINTS: usize = 480;
const DISC: Disc = Disc { x_m: 0.12, y_m: 0.11, radius_m: 0.0407 };

fn main() {
    divan::main();
}

fn layout(edges: Edges, ribs: Ribs) -> Layout {
    Layout {
        corner_m: [0.0; 2],
        sides_m: [0.38, 0.24],
        section: Material::Aluminium.skin(1e-3, Some(0.05)).section(),
        edges,
        ribs,
        rear: Rear::Open,
        outside_mass: true,
    }
}

fn ribs(at_x_m: &[f64], at_y_m: &[f64]) -> Ribs {
    Ribs { at_x_m: at_x_m.to_vec(), at_y_m: at_y_m.to_vec(), fixing: Fixing::Supported }
}

fn field() -> WaveField {
    let foam = Foam { flow_resistivity_pa_s_per_m2: 10_000.0 };
    let fill = WaveFill::Back { foam, thickness_m: 0.01 };
    let cavity = WaveCavity { fill, ..WaveCavity::bare([0.38, 0.24, 0.034], Air::default()) };
    WaveField::new(cavity, &[DISC], 20_000.0)
}

fn cases() -> Vec<(&'static str, Layout)> {
    let clamped = Edges::all(Fixing::Clamped);
    let spring = Fixing::Elastic { stiffness_n: 200.0 };
    let uneven = Edges { x: [Fixing::Clamped, spring], y: [spring, Fixing::Supported] };
    let part =
        Layout { corner_m: [0.01, 0.02], sides_m: [0.36, 0.21], ..layout(uneven, Ribs::none()) };
    vec![
        ("supported", layout(Edges::all(Fixing::Supported), Ribs::none())),
        ("clamped", layout(clamped, Ribs::none())),
        ("rib in the middle", layout(clamped, ribs(&[0.19], &[]))),
        ("ribs at odd places", layout(clamped, ribs(&[0.15], &[0.1]))),
        ("uneven edges, off the middle", part),
    ]
}

#[divan::bench(args = 0..5, sample_count = 8)]
fn modes(bencher: Bencher, case: usize) {
    let (_, layout) = &cases()[case];
    bencher.bench(|| Sheet::new(black_box(layout), &Air::default()));
}

#[divan::bench(sample_count = 8)]
fn rigid_field(bencher: Bencher) {
    let grid = Grid::audible(POINTS).expect("enough points");
    bencher.bench(|| {
        let field = field();
        field.faces(&grid).impedance(&field.own(&DISC))
    });
}

#[divan::bench(args = 0..5, sample_count = 8)]
fn change_of_geometry(bencher: Bencher, case: usize) {
    let (_, layout) = &cases()[case];
    let grid = Grid::audible(POINTS).expect("enough points");
    bencher.bench(|| {
        let sheet = Sheet::new(black_box(layout), &Air::default());
        CoupledCavity::new(&field(), Walls::back(&sheet), &[DISC]).answer_on(&grid, 0)
    });
}

/// The same with a face of 12 mm plywood that moves too.
#[divan::bench(args = 0..5, sample_count = 8)]
fn change_of_geometry_with_a_face(bencher: Bencher, case: usize) {
    let (_, layout) = &cases()[case];
    let section = Material::Plywood.skin(12e-3, None).section();
    let grid = Grid::audible(POINTS).expect("enough points");
    bencher.bench(|| {
        let back = Sheet::new(black_box(layout), &Air::default());
        let whole = Layout {
            section,
            corner_m: [0.0; 2],
            sides_m: [0.38, 0.24],
            ribs: Ribs::none(),
            ..layout.clone()
        };
        let face = Sheet::new(&whole, &Air::default());
        let walls = Walls { back: Some(&back), face: Some(&face) };
        CoupledCavity::new(&field(), walls, &[DISC]).answer_on(&grid, 0)
    });
}
