//! Sweeps of a batch from files and folders: the good ones, and what is wrong with the rest.

use super::failure::Failure;
use super::fixture_args::impedance;
use rayon::prelude::*;
use slabtone::analysis::inspection::examine::{Examined, Swept};
use slabtone::analysis::inspection::rub::{self, Rub};
use slabtone::design::Design;
use slabtone::grid::Grid;
use slabtone::input::curve_file::{self, MagnitudeUnit};
use slabtone::input::fault::{Fault, InputError};
use slabtone::input::file;
use slabtone::input::files::Disk;
use slabtone::signal::curve::Curve;
use slabtone::signal::interpolate::Outside;
use std::fs;
use std::path::{Path, PathBuf};

/// What was read.
pub(super) struct Read {
    /// In the order of the arguments, folders by name.
    pub(super) units: Vec<Swept>,
    /// By the name of the unit.
    pub(super) distortion: Vec<(String, Curve)>,
    pub(super) broken: Vec<InputError>,
}

/// Reads every sweep; a file that cannot be used takes no other with it.
pub(super) fn read(
    design: &Design,
    impedances: &[PathBuf],
    responses: &[PathBuf],
    distortions: &[PathBuf],
) -> Result<Read, Failure> {
    let mut broken = Vec::new();
    let curve = |unit| move |path: &PathBuf| Ok(curve_file::load(&Disk, path, unit)?.curve);
    let z = all(impedances, &mut broken, |path| impedance(path));
    let p = all(responses, &mut broken, curve(MagnitudeUnit::DbSpl));
    let d = all(distortions, &mut broken, curve(MagnitudeUnit::Linear));
    let one = |(k, (path, impedance)): (usize, (PathBuf, Curve))| {
        let stem = stem(&path);
        Swept {
            name: stem.clone(),
            side: side(design, &stem),
            serial: serial(&stem).unwrap_or(k as f64 + 1.0),
            impedance,
            response: p.iter().find(|(r, _)| self::stem(r) == stem).map(|(_, c)| c.clone()),
        }
    };
    let units: Vec<Swept> = z.into_iter().enumerate().map(one).collect();
    let lonely = p.iter().chain(&d).find(|(r, _)| units.iter().all(|u| u.name != stem(r)));
    if let Some((path, _)) = lonely.filter(|_| broken.is_empty()) {
        let text = format!("`{}`: no impedance sweep is named `{}`", path.display(), stem(path));
        return Err(Failure::Arguments(text));
    }
    let distortion = d.into_iter().map(|(path, curve)| (stem(&path), curve)).collect();
    Ok(Read { units, distortion, broken })
}

/// The curves of all files, in order; what is wrong with the rest goes to `broken`.
fn all(
    paths: &[PathBuf],
    broken: &mut Vec<InputError>,
    load: impl Fn(&PathBuf) -> Result<Curve, InputError> + Sync,
) -> Vec<(PathBuf, Curve)> {
    let mut files = Vec::new();
    for path in paths {
        if path.is_dir() {
            match listed(path) {
                Ok(found) if found.is_empty() => broken.push(empty(path)),
                Ok(found) => files.extend(found),
                Err(error) => broken.push(file::unreadable(&path.display().to_string(), &error)),
            }
        } else {
            files.push(path.clone());
        }
    }
    let read: Vec<_> = files.into_par_iter().map(|p| (load(&p), p)).collect();
    let mut good = Vec::new();
    for (result, path) in read {
        match result {
            Ok(curve) => good.push((path, curve)),
            Err(error) => broken.push(error),
        }
    }
    good
}

/// A folder without a sweep: a name mistaken, or a measurement not yet made.
fn empty(folder: &Path) -> InputError {
    let fault = Fault::whole("the folder holds no file, expected a sweep of each unit")
        .help("one text file a unit: frequency in Hz, magnitude in ohm, phase in degrees");
    InputError::new(&folder.display().to_string(), "", vec![fault])
}

/// The files of a folder by name; hidden ones and folders in it are left alone.
fn listed(folder: &Path) -> Result<Vec<PathBuf>, std::io::Error> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        let hidden = path.file_name().is_some_and(|n| n.to_string_lossy().starts_with('.'));
        if !hidden && !path.is_dir() {
            found.push(path);
        }
    }
    found.sort();
    Ok(found)
}

fn stem(path: &Path) -> String {
    path.file_stem().map_or_else(String::new, |s| s.to_string_lossy().into_owned())
}

/// The side whose name is a word of `stem`; the first if none is.
fn side(design: &Design, stem: &str) -> usize {
    let words: Vec<&str> = stem.split(|c: char| !c.is_alphanumeric()).collect();
    let named = |s: &slabtone::design::Side| words.iter().any(|w| w.eq_ignore_ascii_case(&s.name));
    design.sides.iter().position(named).unwrap_or(0)
}

/// The last run of digits in `stem`.
fn serial(stem: &str) -> Option<f64> {
    let digits = stem.split(|c: char| !c.is_ascii_digit()).rfind(|s| !s.is_empty())?;
    digits.parse().ok().filter(|n: &f64| n.is_finite())
}

/// Units whose distortion stands out, on the axis of the first of its curves that covers no more
/// than the others.
pub(super) fn rubs(distortion: &[(String, Curve)], units: &[Examined]) -> Vec<Rub> {
    let ends = |c: &Curve| (c.frequency_hz[0], c.frequency_hz[c.frequency_hz.len() - 1]);
    let from = distortion.iter().map(|(_, c)| ends(c).0).fold(20.0, f64::max);
    let to = distortion.iter().map(|(_, c)| ends(c).1).fold(20_000.0, f64::min);
    const POINTS: usize = 60;
    let Ok(grid) = Grid::log(from, to, POINTS) else { return Vec::new() };
    let (mut curves, mut of) = (Vec::new(), Vec::new());
    for (name, curve) in distortion {
        let unit = units.iter().position(|u| u.name == *name);
        let values = curve.magnitude_on(&grid, Outside::Refuse);
        if let (Some(unit), Ok(values)) = (unit, values) {
            curves.push(values.values.iter().map(|v| 20.0 * v.log10()).collect());
            of.push(unit);
        }
    }
    rub::standing_out(grid.frequency_hz(), &curves, &of)
}
