//! A sheet on a cavity, every standing wave with every mode.
//!
//! Sources (in each row): the modal method by another program, with 3-D finite elements for the air
//! and C1 plate elements as witness.

use crate::cavity::{bare, disc};
use crate::plates;
use crate::rows::{Row, rows};
use num_complex::Complex64;
use slabtone::grid::{Grid, level_db, wrap_deg};
use slabtone::model::coupled_cavity::CoupledCavity;
use slabtone::model::fluid::AirLoss;
use slabtone::model::plate::edge::{Edges, Fixing};
use slabtone::model::sheet::{Layout, Rear, Ribs, Sheet};
use slabtone::model::wave_cavity::{WaveCavity, WaveField};

fn cavity(row: &Row) -> WaveCavity {
    let loss = AirLoss::Hysteretic { eta: row.number("eta_air") };
    WaveCavity { loss, ..bare(row) }
}

fn layout(row: &Row, fixing: Fixing) -> Layout {
    Layout {
        corner_m: [0.0; 2],
        sides_m: ["lx_m", "ly_m"].map(|key| row.number(key)),
        section: plates::skin_of(row, row.number("loss_factor")).section(),
        edges: Edges::all(fixing),
        ribs: Ribs::none(),
        rear: Rear::Open,
        outside_mass: false,
    }
}

fn check(row: &Row, cavity: WaveCavity, layout: &Layout) -> f64 {
    let (disc, air) = (disc(row), cavity.air);
    let grid = Grid::from_points(row.numbers("frequency_hz")).expect("rising frequencies");
    let field = WaveField::new(cavity, &[disc], grid.stop_hz());
    let coupled = CoupledCavity::new(&field, &Sheet::new(layout, &air), &[disc]);
    let found = coupled.answer_on(&grid, 0).expect("there is one cone");
    let ratio = found.flow_ratio.values();
    let db: Vec<f64> = ratio.iter().map(|r| level_db(r.norm(), 1.0)).collect();
    row.check_all("ratio_db", &db);
    let want = row.expected_numbers("ratio_deg");
    let near = |(r, want): (&Complex64, &f64)| want + wrap_deg(r.arg().to_degrees() - want);
    row.check_all("ratio_deg", &ratio.iter().zip(&want).map(near).collect::<Vec<_>>());
    let pair = ["z_re_pa_s_per_m3", "z_im_pa_s_per_m3"];
    for (i, (db, want)) in db.iter().zip(row.expected_numbers("ratio_db")).enumerate() {
        eprintln!("{} {} {:+.4} dB", row.id, grid.frequency_hz()[i], db - want);
    }
    let worst = row.check_pairs(pair, found.impedance.values());
    eprintln!("{} Z {worst:.5}", row.id);
    worst
}

#[test]
fn a_sheet_on_every_standing_wave_moves_as_the_modal_method_says() {
    for row in rows(plates::ROWS, "plate_cavity_full", 3) {
        check(&row, cavity(&row), &layout(&row, Fixing::Supported));
    }
}
