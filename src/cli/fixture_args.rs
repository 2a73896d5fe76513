//! What `limits` and `inspect` share: how the fixture measures, the population behind the limits.

use super::failure::Failure;
use super::stimulus::within;
use clap::Args;
use slabtone::analysis::inspection::gate::{Gate, GateError, Rule};
use slabtone::analysis::inspection::measuring::{Measuring, Repeatability};
use slabtone::analysis::inspection::population::Population;
use slabtone::analysis::inspection::twin::Twin;
use slabtone::analysis::spread::Spread;
use slabtone::analysis::study::StudyError;
use slabtone::design::Design;
use slabtone::grid::Grid;
use slabtone::input::curve_file::{self, MagnitudeUnit};
use slabtone::input::files::Disk;
use slabtone::input::reader::Bounds;
use slabtone::input::touchstone;
use slabtone::signal::curve::Curve;
use slabtone::signal::interpolate::Outside;
use std::path::{Path, PathBuf};
use std::sync::Arc;

const PERCENT: Bounds = Bounds::new(0.01, 20.0, "%");

#[derive(Debug, Args)]
pub(super) struct Fixture {
    /// Noise of a sweep at one frequency, %, one standard deviation
    #[arg(long, value_name = "PERCENT", default_value_t = 1.0, allow_negative_numbers = true)]
    pub(super) noise_percent: f64,
    /// Gain that the daily check leaves uncertain, %, one standard deviation
    #[arg(long, value_name = "PERCENT", default_value_t = 1.0, allow_negative_numbers = true)]
    pub(super) gain_percent: f64,
    /// Resistance of leads and contacts, ohm, one standard deviation
    #[arg(long, value_name = "OHM", default_value_t = 0.05, allow_negative_numbers = true)]
    pub(super) leads_ohm: f64,
    /// Sweeps of one unit, taken out in between: noise and gain from them instead
    #[arg(long, value_name = "FILE", num_args = 2..)]
    pub(super) repeat: Vec<PathBuf>,
    /// Guard band over the expanded uncertainty
    #[arg(long, value_name = "R", default_value_t = 1.0, allow_negative_numbers = true)]
    pub(super) guard: f64,
    /// Units of the run drawn for the limits
    #[arg(long, default_value_t = 2000, allow_negative_numbers = true, value_parser = clap::value_parser!(u64).range(100..=100_000))]
    pub(super) draws: u64,
    /// Seed of the draws
    #[arg(long, default_value_t = 1, allow_negative_numbers = true)]
    pub(super) seed: u64,
}

/// Whether the numbers make sense, how the fixture measures, and the study behind that.
pub(super) fn measuring(f: &Fixture) -> Result<(Measuring, Option<Repeatability>), Failure> {
    within("--noise-percent", f.noise_percent, PERCENT)?;
    within("--gain-percent", f.gain_percent, PERCENT)?;
    within("--leads-ohm", f.leads_ohm, Bounds::new(0.001, 1.0, "ohm"))?;
    within("--guard", f.guard, Bounds::new(0.0, 3.0, ""))?;
    let stated = Measuring {
        noise: 0.01 * f.noise_percent,
        gain: 0.01 * f.gain_percent,
        leads_ohm: f.leads_ohm,
        ..Measuring::default()
    };
    if f.repeat.is_empty() {
        return Ok((stated, None));
    }
    let curves: Vec<Curve> = f.repeat.iter().map(|p| impedance(p)).collect::<Result<_, _>>()?;
    let unusable = |e: String| Failure::Arguments(format!("--repeat: {e}"));
    let grid =
        Grid::from_points(curves[0].frequency_hz.clone()).map_err(|e| unusable(e.to_string()))?;
    let on = |c: &Curve| c.magnitude_on(&grid, Outside::Refuse).map(|s| s.values);
    let sweeps: Vec<Vec<f64>> =
        curves.iter().map(on).collect::<Result<_, _>>().map_err(|e| unusable(e.to_string()))?;
    let logs: Vec<Vec<f64>> =
        sweeps.into_iter().map(|s| s.into_iter().map(f64::ln).collect()).collect();
    let found = Repeatability::of(&logs);
    let found = found.ok_or_else(|| unusable("two sweeps of two points are the least".into()))?;
    // No study of a few sweeps shows that a fixture has no noise at all.
    let (noise, gain) = (found.noise.max(1e-4), found.gain.max(1e-4));
    Ok((Measuring { noise, gain, ..stated }, Some(found)))
}

/// An impedance from text columns or, by the ending `.s1p`, from a Touchstone file.
pub(super) fn impedance(path: &Path) -> Result<Curve, slabtone::input::fault::InputError> {
    if path.extension().is_some_and(|e| e.eq_ignore_ascii_case("s1p")) {
        return Ok(touchstone::load(&Disk, path)?.impedance);
    }
    Ok(curve_file::load(&Disk, path, MagnitudeUnit::Ohm)?.curve)
}

/// One side with its population and limits.
pub(super) struct Made {
    pub(super) twin: Arc<Twin>,
    pub(super) population: Population,
    pub(super) gate: Gate,
    pub(super) rule: Rule,
}

/// Draws the population of side `index` and lays its limits.
pub(super) fn made(
    design: &Design,
    spread: &Spread,
    index: usize,
    measuring: &Measuring,
    fixture: &Fixture,
    grid: &Arc<Grid>,
) -> Result<Made, Failure> {
    let twin = Arc::new(Twin::new(design, spread, index, measuring, grid)?);
    let network = |e| Failure::Study(StudyError::Network(e));
    let (draws, seed) = (fixture.draws, fixture.seed);
    let population =
        Population::drawn(design, spread, &twin, index, draws, seed).map_err(network)?;
    let rule = Rule { guard: fixture.guard, ..Rule::default() };
    let gate = Gate::of(&twin, &population, measuring, rule, seed).map_err(|e| match e {
        GateError::Network(e) => network(e),
        other => Failure::Unfit(other.to_string()),
    })?;
    Ok(Made { twin, population, gate, rule })
}
