//! The arguments of every command.

use super::measure_args::{Extract, Stimulus};
use clap::{Args, Parser, Subcommand};
use slabtone::circuit::slope::Slope;
use std::path::PathBuf;

/// Crossover and enclosure designer for slim two-way panel speakers.
#[derive(Debug, Parser)]
#[command(version, about, max_term_width = 100)]
pub(super) struct Arguments {
    #[command(subcommand)]
    pub(super) command: Option<Command>,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// The whole job on the example inside the program: no file needed
    Demo(Demo),
    /// The whole job on a design file: cavity, crossover, response, impedance, phase, limits
    Design(Design),
    /// Slopes, frequencies, drivers or whole designs over each other, and what each costs and gives
    Compare(Compare),
    /// Values in preferred series that meet the target at the seats, on the real drivers
    Tune(Tune),
    /// Frequency, orders and topology searched too: designs that no other beats in everything
    Explore(Explore),
    /// How many units of the run are within the window, and which tolerance decides
    Yield(Yield),
    /// Time offset between woofer and tweeter from three sweeps at one microphone place
    Offset(Offset),
    /// The parts list: exact and preferred values, quantities for the run, what comes along
    Parts(Parts),
    /// A coil to wind: turns, layers, diameters, wire and resistance; its field in another one
    Coil(super::coil::Arguments),
    /// Whether driver and design files are sound, agree with themselves, and fit the panel
    Check(Check),
    /// Driver parameters and a driver file from impedance sweeps
    Fit(super::fit::Arguments),
    /// A logarithmic sweep to play and record
    Stimulus(Stimulus),
    /// Recordings of the sweep turned into an impedance or a response
    Extract(Box<Extract>),
    /// Limits for the factory: impedance and response, guarded, with a sheet for the bench
    Limits(Box<super::limits::Arguments>),
    /// Sweeps of delivered units: pass or fail, what is wrong, the batch as a whole
    Inspect(Box<super::inspect::Arguments>),
    /// Textbook crossover values for resistive loads
    Crossover(Crossover),
}

#[derive(Debug, Args)]
#[command(after_help = "Example: slabtone demo --out out")]
pub(super) struct Demo {
    #[command(flatten)]
    pub(super) sweep: Sweep,
}

#[derive(Debug, Args)]
#[command(after_help = "Example: slabtone design examples/reading-bench.toml --out out")]
pub(super) struct Design {
    /// The design file
    pub(super) file: PathBuf,
    #[command(flatten)]
    pub(super) sweep: Sweep,
}

/// What every simulating command takes.
#[derive(Debug, Args)]
pub(super) struct Sweep {
    /// Folder for pictures and tables, made if it is not there
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    /// Frequencies from 20 Hz to 20 kHz, both included, evenly spaced in the logarithm
    #[arg(long, default_value_t = 480, allow_negative_numbers = true, value_parser = clap::value_parser!(u32).range(2..=100_000))]
    pub(super) points: u32,
    /// Print the result as a JSON document
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
#[command(
    after_help = "Example: slabtone compare examples/reading-bench.toml --slopes bw2,lr2,lr4 --out out"
)]
pub(super) struct Compare {
    /// One design file to vary, or several to set side by side
    #[arg(required = true, value_name = "FILE")]
    pub(super) files: Vec<PathBuf>,
    #[command(flatten)]
    pub(super) vary: Vary,
    /// Folder for compare.svg and compare.csv, made if it is not there
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    /// Frequencies from 20 Hz to 20 kHz, both included, evenly spaced in the logarithm
    #[arg(long, default_value_t = 480, allow_negative_numbers = true, value_parser = clap::value_parser!(u32).range(2..=100_000))]
    pub(super) points: u32,
    /// Print the result as a JSON document
    #[arg(long, conflicts_with = "csv")]
    pub(super) json: bool,
    /// Print the table as CSV
    #[arg(long)]
    pub(super) csv: bool,
}

/// What is varied: one of these; the slopes if none is named.
#[derive(Debug, Args)]
#[group(multiple = false)]
pub(super) struct Vary {
    /// Slopes, by default bw1,bw2,bw3,bw4,lr2,lr4
    #[arg(long, value_delimiter = ',')]
    pub(super) slopes: Option<Vec<Slope>>,
    /// Crossover frequencies, Hz
    #[arg(long, value_delimiter = ',', value_name = "HZ", allow_negative_numbers = true)]
    pub(super) at: Option<Vec<f64>>,
    /// Driver files to put in the woofers' places
    #[arg(long, value_delimiter = ',', value_name = "FILE")]
    pub(super) woofer: Option<Vec<PathBuf>>,
    /// Driver files to put in the tweeters' places
    #[arg(long, value_delimiter = ',', value_name = "FILE")]
    pub(super) tweeter: Option<Vec<PathBuf>>,
}

#[derive(Debug, Args)]
#[command(after_help = "Example: slabtone tune examples/reading-bench.toml --out tuned")]
pub(super) struct Tune {
    /// The design file; its [target] says what to aim for, the usual if there is none
    pub(super) file: PathBuf,
    /// Folder for tuned.toml, tune.svg and tune.csv, made if it is not there
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    /// Continuous searches for each polarity
    #[arg(long, default_value_t = 8, value_parser = clap::value_parser!(u64).range(1..=10_000),
          allow_negative_numbers = true)]
    pub(super) starts: u64,
    /// Seed of the searches' starting values
    #[arg(long, default_value_t = 1, allow_negative_numbers = true)]
    pub(super) seed: u64,
    /// Print the result as a JSON document
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
#[command(after_help = "Example: slabtone explore examples/reading-bench.toml --out explored")]
pub(super) struct Explore {
    /// The design file; its [target] bounds hold for every candidate
    pub(super) file: PathBuf,
    /// Instead: take out each part in turn, tune the rest, and tell what is saved and lost
    #[arg(long)]
    pub(super) cost_down: bool,
    /// Folder for the designs, explore.svg and explore.csv, made if it is not there
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    /// Continuous searches for each candidate and polarity
    #[arg(long, default_value_t = 2, value_parser = clap::value_parser!(u64).range(1..=1_000),
          allow_negative_numbers = true)]
    pub(super) starts: u64,
    /// Seed of the searches' starting values
    #[arg(long, default_value_t = 1, allow_negative_numbers = true)]
    pub(super) seed: u64,
    /// Print the result as a JSON document
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
#[command(
    after_help = "Example: slabtone yield examples/reading-bench.toml --draws 10000 --seed 1"
)]
pub(super) struct Yield {
    /// The design file; [run] says what a unit has to keep and what scatters
    pub(super) file: PathBuf,
    /// Units to draw
    #[arg(long, default_value_t = 10_000, allow_negative_numbers = true, value_parser = clap::value_parser!(u32).range(1..=100_000_000))]
    pub(super) draws: u32,
    /// Frequencies from 20 Hz to 20 kHz, both included, evenly spaced in the logarithm
    #[arg(long, default_value_t = 200, allow_negative_numbers = true, value_parser = clap::value_parser!(u32).range(10..=2_000))]
    pub(super) points: u32,
    /// Seed of the chances
    #[arg(long, default_value_t = 1, allow_negative_numbers = true)]
    pub(super) seed: u64,
    /// Pairs of samples to find what decides; 0 leaves that out
    #[arg(long, default_value_t = 256, allow_negative_numbers = true, value_parser = clap::value_parser!(u32).range(0..=100_000))]
    pub(super) samples: u32,
    /// Panels of the run; the design's own number if left out
    #[arg(long, allow_negative_numbers = true, value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    pub(super) units: Option<u32>,
    /// Find the cheapest tolerances for this yield, %
    #[arg(long, value_name = "PERCENT", conflicts_with = "budget", allow_negative_numbers = true, value_parser = share)]
    pub(super) reach: Option<f64>,
    /// Find the best yield for this price of a panel's parts that have a choice
    #[arg(long, value_name = "AMOUNT", allow_negative_numbers = true, value_parser = amount)]
    pub(super) budget: Option<f64>,
    /// Folder for yield.svg, deviation.svg, deciding.svg and yield.json, made if it is not there
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    /// Print the result as a JSON document
    #[arg(long)]
    pub(super) json: bool,
}

fn share(text: &str) -> Result<f64, String> {
    let inside = text.parse().ok().filter(|p: &f64| (0.0..=100.0).contains(p));
    inside.ok_or_else(|| "expected a percentage from 0 to 100".into())
}

fn amount(text: &str) -> Result<f64, String> {
    let known = text.parse().ok().filter(|a: &f64| a.is_finite() && *a >= 0.0);
    known.ok_or_else(|| "expected an amount of money, 0 or more".into())
}

#[derive(Debug, Args)]
#[command(after_help = "Example: slabtone offset woofer.csv tweeter.csv both.csv

Three sweeps from one microphone place: each way alone and both together, as columns of
frequency, level in dB and phase in degrees (the third needs no phase).")]
pub(super) struct Offset {
    /// The woofer alone
    pub(super) woofer: PathBuf,
    /// The tweeter alone
    pub(super) tweeter: PathBuf,
    /// Both together
    pub(super) both: PathBuf,
    /// Print the result as a JSON document
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
#[command(after_help = "Example: slabtone parts examples/reading-bench.toml --units 300 --csv")]
pub(super) struct Parts {
    /// The design file
    pub(super) file: PathBuf,
    /// Panels to build; the design's own number if left out
    #[arg(long, allow_negative_numbers = true, value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    pub(super) units: Option<u32>,
    /// Folder for the list as CSV, workbook, Markdown and JSON, made if it is not there
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    /// Print the list as a JSON document
    #[arg(long, conflicts_with = "csv")]
    pub(super) json: bool,
    /// Print the list as CSV
    #[arg(long)]
    pub(super) csv: bool,
    /// Print the list in Markdown
    #[arg(long, conflicts_with_all = ["csv", "json"])]
    pub(super) markdown: bool,
}

#[derive(Debug, Args)]
#[command(after_help = "Example: slabtone check drivers/bramble.toml examples/reading-bench.toml")]
pub(super) struct Check {
    /// Driver and design files
    #[arg(required = true, value_name = "FILE")]
    pub(super) files: Vec<PathBuf>,
    /// Print the result as a JSON document
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
#[command(
    after_help = "Example: slabtone crossover --slope lr4 --at 2500 --woofer 6.2 --tweeter 5.4"
)]
pub(super) struct Crossover {
    /// bw1, bw2, bw3, bw4 (Butterworth), lr2 or lr4 (Linkwitz-Riley)
    #[arg(long)]
    pub(super) slope: Slope,
    /// Crossover frequency, Hz
    #[arg(long, value_name = "HZ", allow_negative_numbers = true)]
    pub(super) at: f64,
    /// Load of the low-pass, ohm
    #[arg(long, value_name = "OHM", allow_negative_numbers = true)]
    pub(super) woofer: f64,
    /// Load of the high-pass, ohm
    #[arg(long, value_name = "OHM", allow_negative_numbers = true)]
    pub(super) tweeter: f64,
    /// Print the result as a JSON document
    #[arg(long)]
    pub(super) json: bool,
}
