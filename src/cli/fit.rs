//! `slabtone fit`.

use super::failure::Failure;
use super::paths::file_name;
use super::stimulus::within;
use super::{Verdict, output};
use clap::{Args, ValueEnum};
use slabtone::analysis::identify::{CoilChoice, CoilKind, Identified, Request, identify};
use slabtone::input::curve_file::{self, MagnitudeUnit};
use slabtone::input::fault::InputError;
use slabtone::input::files::Disk;
use slabtone::input::reader::Bounds;
use slabtone::input::{driver_file, touchstone};
use slabtone::model::air::Air;
use slabtone::model::driver::{Limits, MassCondition, Role, Size};
use slabtone::picture;
use slabtone::report::fit_doc::{self, FitDoc, Stated};
use slabtone::report::fit_figure;
use slabtone::signal::curve::Curve;
use std::path::{Path, PathBuf};

/// A box to measure in.
const VOLUME_L: Bounds = Bounds::new(0.01, 1000.0, "l");

#[derive(Debug, Args)]
#[command(
    after_help = "Example: slabtone fit examples/bramble-free.csv --added-mass examples/bramble-3g.csv --mass-g 3 --sd-cm2 38 --out out",
    allow_negative_numbers = true
)]
pub(super) struct Arguments {
    /// Impedance sweep in free air: columns of frequency (Hz), magnitude (ohm) and phase (degrees,
    /// may be left out), or a Touchstone file (.s1p)
    #[arg(value_name = "FREE")]
    free: PathBuf,
    /// A second sweep with a known mass stuck to the cone
    #[arg(long, value_name = "FILE", requires = "mass_g")]
    added_mass: Option<PathBuf>,
    /// That mass, g
    #[arg(long, value_name = "G", requires = "added_mass")]
    mass_g: Option<f64>,
    /// A second sweep in a tight, empty box
    #[arg(long = "box", value_name = "FILE", requires = "volume_l")]
    boxed: Option<PathBuf>,
    /// Its net volume, l
    #[arg(long, value_name = "L", requires = "boxed")]
    volume_l: Option<f64>,
    /// Piston area, cm²: to the middle of the surround
    #[arg(long, value_name = "CM2")]
    sd_cm2: f64,
    /// Resistance measured at DC, ohm; fitted if left out
    #[arg(long, value_name = "OHM")]
    re_ohm: Option<f64>,
    /// Voice-coil model
    #[arg(long, value_enum, default_value = "auto")]
    coil: Coil,
    /// How the driver was mounted in the free-air sweep
    #[arg(long, value_enum, default_value = "free_air")]
    mms_measured: Mounted,
    #[command(flatten)]
    driver: DriverFile,
    /// Folder for fit.svg and the driver file, made if it is not there
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Print the result as a JSON document
    #[arg(long)]
    json: bool,
}

/// What a driver file needs beside the sweeps; it is written when all of these are stated.
#[derive(Debug, Args)]
struct DriverFile {
    /// Name of the driver, and of its file
    #[arg(long)]
    name: Option<String>,
    /// What the driver is for
    #[arg(long, value_enum)]
    role: Option<Way>,
    /// Linear excursion, one way, peak, mm
    #[arg(long, value_name = "MM")]
    xmax_mm: Option<f64>,
    /// Rated noise power, W
    #[arg(long, value_name = "W")]
    power_w: Option<f64>,
    /// Mounting depth behind the flange, mm
    #[arg(long, value_name = "MM")]
    depth_mm: Option<f64>,
    /// Diameter of the cut-out, mm
    #[arg(long, value_name = "MM")]
    cutout_mm: Option<f64>,
    /// Diameter of the flange, mm
    #[arg(long, value_name = "MM")]
    flange_mm: Option<f64>,
    /// Volume that magnet and basket displace, cm³
    #[arg(long, value_name = "CM3")]
    displaced_cm3: Option<f64>,
    /// Acoustic centre behind the face, mm
    #[arg(long, value_name = "MM")]
    centre_mm: Option<f64>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
#[value(rename_all = "snake_case")]
enum Coil {
    Plain,
    PowerLaw,
    Shunted,
    Auto,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
#[value(rename_all = "snake_case")]
enum Mounted {
    FreeAir,
    Baffle,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Way {
    Woofer,
    Tweeter,
}

/// Numbers within the bounds that the driver file has for them.
fn check(arguments: &Arguments) -> Result<(), Failure> {
    let d = &arguments.driver;
    let numbers = [
        ("--sd-cm2", Some(arguments.sd_cm2), driver_file::SD_CM2),
        ("--re-ohm", arguments.re_ohm, driver_file::RE_OHM),
        ("--mass-g", arguments.mass_g, driver_file::MMS_G),
        ("--volume-l", arguments.volume_l, VOLUME_L),
        ("--xmax-mm", d.xmax_mm, driver_file::XMAX_MM),
        ("--power-w", d.power_w, driver_file::NOISE_POWER_W),
        ("--depth-mm", d.depth_mm, driver_file::DEPTH_MM),
        ("--cutout-mm", d.cutout_mm, driver_file::CUTOUT_MM),
        ("--flange-mm", d.flange_mm, driver_file::FLANGE_MM),
        ("--displaced-cm3", d.displaced_cm3, driver_file::DISPLACED_CM3),
        ("--centre-mm", d.centre_mm, driver_file::CENTRE_MM),
    ];
    numbers.iter().try_for_each(|(name, value, bounds)| {
        value.map_or(Ok(()), |value| within(name, value, *bounds))
    })
}

pub(super) fn run(arguments: &Arguments) -> Result<Verdict, Failure> {
    check(arguments)?;
    let request = request(arguments)?;
    let found = identify(&request).map_err(|e| Failure::Arguments(e.to_string()))?;
    let mut note = String::new();
    let mut written = None;
    if let Some(dir) = &arguments.out {
        let name = arguments.driver.name.as_deref().unwrap_or("the driver");
        let figure = picture::svg(&fit_figure::figure(&found, name));
        let mut files = vec![(PathBuf::from("fit.svg"), figure)];
        match driver(arguments, &found)? {
            Ok(file) => {
                written = Some(dir.join(&file.0).display().to_string());
                files.push(file);
            }
            Err(why) => note = format!("No driver file: {why}\n"),
        }
        output::write_all(dir, &files)?;
        let names: Vec<String> = files.iter().map(|(path, _)| path.display().to_string()).collect();
        note.push_str(&format!("Written to {}: {}\n", dir.display(), names.join(", ")));
    }
    if arguments.json {
        output::print_json(&FitDoc::new(&found, written))?;
    } else {
        output::print(&fit_doc::text(&found, output::width()))?;
        if !note.is_empty() {
            output::print(&format!("\n{note}"))?;
        }
    }
    Ok(Verdict::Fit)
}

fn request(arguments: &Arguments) -> Result<Request, Failure> {
    let second = |file: &Option<PathBuf>, number: Option<f64>| match (file, number) {
        (Some(file), Some(number)) => Ok(Some((curve(file)?, number * 1e-3))),
        _ => Ok::<_, Failure>(None),
    };
    Ok(Request {
        free: curve(&arguments.free)?,
        added_mass: second(&arguments.added_mass, arguments.mass_g)?,
        closed_box: second(&arguments.boxed, arguments.volume_l)?,
        sd_m2: arguments.sd_cm2 * 1e-4,
        re_ohm: arguments.re_ohm,
        coil: match arguments.coil {
            Coil::Plain => CoilChoice::Fixed(CoilKind::Plain),
            Coil::PowerLaw => CoilChoice::Fixed(CoilKind::PowerLaw),
            Coil::Shunted => CoilChoice::Fixed(CoilKind::Shunted),
            Coil::Auto => CoilChoice::Auto,
        },
        mass_condition: mounted(arguments),
        air: Air::default(),
    })
}

fn mounted(arguments: &Arguments) -> MassCondition {
    match arguments.mms_measured {
        Mounted::FreeAir => MassCondition::FreeAir,
        Mounted::Baffle => MassCondition::Baffled,
    }
}

/// The driver file and its name, or why there is none. A file that `check` would refuse is an
/// error of the options.
#[allow(clippy::type_complexity)]
fn driver(
    arguments: &Arguments,
    found: &Identified,
) -> Result<Result<(PathBuf, String), String>, Failure> {
    let stated = match stated(arguments) {
        Ok(stated) => stated,
        Err(missing) => return Ok(Err(format!("state {} as well", missing.join(", ")))),
    };
    let origin = origin(arguments, found);
    let Some(text) = fit_doc::driver_file(found, &stated, &origin) else {
        let why = "a free-air sweep does not weigh the cone; give --added-mass or --box";
        return Ok(Err(why.to_owned()));
    };
    let file = format!("{}.toml", file_name(&stated.name.to_lowercase(), &[]));
    driver_file::parse(&Disk, Path::new(&file), &text)?;
    Ok(Ok((PathBuf::from(file), text)))
}

fn origin(arguments: &Arguments, found: &Identified) -> String {
    let name = |path: &PathBuf| {
        path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned())
    };
    let mut origin = format!("Identified by slabtone fit from {}", name(&arguments.free));
    if let (Some(file), Some(mass_g)) = (&arguments.added_mass, arguments.mass_g) {
        origin.push_str(&format!(", {} (added {mass_g} g)", name(file)));
    }
    if let (Some(file), Some(volume_l)) = (&arguments.boxed, arguments.volume_l) {
        origin.push_str(&format!(", {} (box of {volume_l} l)", name(file)));
    }
    format!("{origin}; residual {:.2} % rms.", found.residual_percent)
}

/// What was stated, or the options that are missing.
fn stated(arguments: &Arguments) -> Result<Stated, Vec<&'static str>> {
    let d = &arguments.driver;
    let numbers = [
        ("--xmax-mm", d.xmax_mm),
        ("--power-w", d.power_w),
        ("--depth-mm", d.depth_mm),
        ("--cutout-mm", d.cutout_mm),
        ("--flange-mm", d.flange_mm),
        ("--displaced-cm3", d.displaced_cm3),
        ("--centre-mm", d.centre_mm),
    ];
    let mut missing: Vec<&str> =
        numbers.iter().filter(|(_, v)| v.is_none()).map(|(option, _)| *option).collect();
    let (Some(name), Some(role)) = (&d.name, d.role) else {
        missing.extend(d.role.is_none().then_some("--role"));
        missing.extend(d.name.is_none().then_some("--name"));
        return Err(missing);
    };
    if !missing.is_empty() {
        return Err(missing);
    }
    let [xmax, power, depth, cutout, flange, displaced, centre] =
        numbers.map(|(_, value)| value.unwrap_or_default());
    Ok(Stated {
        name: name.clone(),
        role: match role {
            Way::Woofer => Role::Woofer,
            Way::Tweeter => Role::Tweeter,
        },
        mass_condition: mounted(arguments),
        limits: Limits::new(xmax * 1e-3, power),
        size: Size {
            mounting_depth_m: depth * 1e-3,
            cutout_m: cutout * 1e-3,
            flange_m: flange * 1e-3,
            displaced_volume_m3: displaced * 1e-6,
            acoustic_centre_m: centre * 1e-3,
            vent_clearance_m: None,
            screws: None,
            basket: None,
        },
    })
}

/// An impedance from text columns or, by the ending `.s1p`, from a Touchstone file.
fn curve(path: &Path) -> Result<Curve, InputError> {
    if path.extension().is_some_and(|e| e.eq_ignore_ascii_case("s1p")) {
        return Ok(touchstone::load(&Disk, path)?.impedance);
    }
    Ok(curve_file::load(&Disk, path, MagnitudeUnit::Ohm)?.curve)
}
