//! The reading bench with drivers of [`crate::other_driver`]: files in a scratch folder.

use crate::other_driver::{self, Source};
use crate::support::{BENCH, Bench, TWEETER, WOOFER};
use slabtone::analysis::compare::{self, Outcome, Variant};
use slabtone::analysis::side::SideModel;
use slabtone::analysis::synthesis;
use slabtone::analysis::tune::Effort;
use slabtone::design::{Design, PolarityRule};
use slabtone::grid::Grid;
use slabtone::input::design_file;
use slabtone::input::files::Disk;

/// Angles at which the drivers were measured.
pub const ANGLES: [u32; 3] = [0, 30, 60];

/// The project's files, the bench's drivers with measured curves.
pub fn measured() -> Bench {
    let bench = Bench::of_project();
    add_curves(&bench, WOOFER, &other_driver::woofer());
    add_curves(&bench, TWEETER, &other_driver::tweeter());
    bench
}

/// Puts a source's curves beside a driver file, and their tables into it.
fn add_curves(bench: &Bench, driver: &str, source: &Source) {
    let stem = driver.trim_start_matches("drivers/").trim_end_matches(".toml");
    bench.write(&format!("drivers/{stem}-impedance.csv"), source.impedance_text());
    for angle in ANGLES {
        let text = source.level_text(f64::from(angle));
        bench.write(&format!("drivers/{stem}-{angle}.txt"), text);
    }
    let tables = other_driver::tables(stem, &ANGLES);
    bench.write(driver, format!("{}{tables}", bench.text(driver)));
}

/// A design of the scratch folder.
pub fn design(bench: &Bench, file: &str) -> Design {
    design_file::load(&Disk, &bench.at(file)).unwrap_or_else(|e| panic!("{file}: {e:?}"))
}

/// The reading bench of [`measured`].
pub fn reading_bench() -> Design {
    design(&measured(), BENCH)
}

/// How the search goes if nobody stops it.
pub fn effort(starts: u64) -> Effort<'static> {
    Effort { starts, seed: 1, go_on: &|| true }
}

/// What a design comes to, on the grid that the commands use.
pub fn outcome(design: &Design) -> Outcome {
    let grid = Grid::audible(480).unwrap();
    let variant = Variant { label: "it".into(), design: design.clone() };
    compare::outcomes(vec![variant], &grid).unwrap().remove(0)
}

/// Share of the power into the crossover that does not reach the drivers, %: real power in at the
/// terminals against real power in each driver, averaged over the band and the sides.
pub fn loss_percent(design: &Design, low_hz: f64, high_hz: f64) -> f64 {
    let grid = Grid::log(low_hz, high_hz, 200).unwrap();
    let mut shares = Vec::new();
    for side in &design.sides {
        let model = SideModel::new(design, side, &grid).unwrap();
        let network = synthesis::network_for(design, side).unwrap().network;
        let response = model.through(&network, PolarityRule::Best).unwrap();
        for f in 0..grid.len() {
            let z = response.impedance.values()[f];
            let terminals = z / (z + design.amplifier.output_ohm);
            let power =
                |v: num_complex::Complex64, z: num_complex::Complex64| v.norm_sqr() * z.inv().re;
            let woofer =
                power(response.voltage.woofer.values()[f], model.impedance.woofer.values()[f]);
            let tweeter =
                power(response.voltage.tweeter.values()[f], model.impedance.tweeter.values()[f]);
            shares.push(1.0 - (woofer + tweeter) / power(terminals, z));
        }
    }
    100.0 * shares.iter().sum::<f64>() / shares.len() as f64
}
