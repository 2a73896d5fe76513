//! What the standing waves of a shallow cavity do to a woofer's level.
//!
//! Source: the modal impedance of `data/cavity.toml` in the driver's circuit, computed by another
//! program; driver A is invented. Its Mms holds the air of a large baffle on both sides.

use crate::cavity::{bare, disc};
use crate::closed_box::Worked;
use crate::drivers;
use crate::rows::{Row, rows};
use slabtone::analysis::ripple::{Ripple, difference_db};
use slabtone::grid::{Grid, Spectrum};
use slabtone::model::closed_box::ClosedBox;
use slabtone::model::coil::VoiceCoil;
use slabtone::model::driver::{Driver, MassCondition};
use slabtone::model::fill::Fill;
use slabtone::model::fluid::{AirLoss, Foam};
use slabtone::model::wave_cavity::{Rear, WaveField, WaveFill};
use std::sync::Arc;

const ROWS: &str = include_str!("data/cavity.toml");
/// Of driver A, stated in the rows that list its frequencies.
const LE_H: f64 = 0.35e-3;

fn driver(row: &Row) -> Driver {
    let motor = Worked::named(row.text("driver")).motor;
    drivers::driver("worked", motor, VoiceCoil::Plain { le_h: LE_H })
}

/// Level with waves over level with a lump of bare air, dB.
fn waves_over_lump(row: &Row, grid: &Arc<Grid>, fill: WaveFill, loss: AirLoss) -> Vec<f64> {
    let (driver, disc) = (driver(row), disc(row));
    let mut cavity = bare(row);
    (cavity.fill, cavity.loss) = (fill, loss);
    let rear = Rear::of(&driver.motor, MassCondition::Baffled, &cavity.air, disc.x_m, disc.y_m);
    // The disc of the rows, whose radius is rounded.
    let rear =
        Rear { disc, held_mass_kg_per_m4: cavity.air.disc_mass_kg_per_m4(disc.radius_m), ..rear };
    let field = WaveField::new(cavity, &[disc], grid.stop_hz());
    let load = rear.load_on(&field.faces(grid).impedance(&field.own(&disc)));
    let lump = ClosedBox::tight(cavity.net_volume_m3(), Fill::Empty);
    let lump = Spectrum::from_fn(grid, |w| lump.load(w, &cavity.air));
    difference_db(&driver, &load, &lump)
}

fn fills(row: &Row) -> [(&'static str, WaveFill, AirLoss); 4] {
    let foam = Foam { flow_resistivity_pa_s_per_m2: row.number("flow_resistivity_pa_s_per_m2") };
    let sheet = |thickness_m| WaveFill::Back { foam, thickness_m };
    [
        ("q60", WaveFill::None, AirLoss::ModalQ { q: 60.0 }),
        ("layer10", sheet(0.010), AirLoss::None),
        ("layer20", sheet(0.020), AirLoss::None),
        ("full10k", WaveFill::Whole(foam), AirLoss::None),
    ]
}

#[test]
fn waves_bend_the_level_as_another_program_finds() {
    for row in rows(ROWS, "cavity_ripple", 2) {
        let grid = Grid::from_points(row.numbers("frequency_hz")).unwrap();
        for (name, fill, loss) in fills(&row) {
            let key = format!("{name}_minus_lumped_db");
            if row.expects(&key) {
                row.check_all(&key, &waves_over_lump(&row, &grid, fill, loss));
            }
        }
    }
}

#[test]
fn place_and_foam_decide_the_ripple() {
    for row in rows(ROWS, "cavity_ripple_summary", 4) {
        let per_octave = row.number("points_per_octave");
        let (from, to) = (row.number("frequency_start_hz"), row.number("frequency_stop_hz"));
        let count = (per_octave * (to / from).log2()) as usize + 1;
        let hz = (0..count).map(|n| from * 2f64.powf(n as f64 / per_octave)).collect();
        let grid = Grid::from_points(hz).unwrap();
        for (name, fill, loss) in fills(&row) {
            let ripple = Ripple::of(&waves_over_lump(&row, &grid, fill, loss));
            row.check(&format!("{name}_max_db"), ripple.above_db);
            row.check(&format!("{name}_min_db"), ripple.below_db);
        }
        row.done();
    }
}
