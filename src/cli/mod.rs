//! The command line: the only place with arguments, terminals and exit codes. Uses the library by
//! its public names.

mod args;
mod check;
mod coil;
mod compare;
mod crossover;
mod design;
mod explore;
mod extract;
mod failure;
mod fit;
mod fixture_args;
mod held;
mod inspect;
mod limits;
mod measure_args;
mod offset;
mod output;
mod parts;
mod paths;
mod patience;
mod stimulus;
mod sweeps;
mod tune;
mod yields;

use args::{Arguments, Command};
use clap::Parser;
use failure::Failure;
use std::io::Write;
use std::process::ExitCode;

/// What a command found, once its result is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Verdict {
    Fit,
    Unfit,
    Interrupted,
}

/// Ten lines for someone who types the bare name.
const GREETING: &str = "\
slabtone designs crossover and cavity of slim two-way panel speakers.

  slabtone demo --out out          the whole job on the built-in example
  slabtone design FILE --out DIR   the whole job on a design file
  slabtone compare FILE            slopes over each other: what each costs and gives
  slabtone tune FILE --out DIR     values that meet a target on the real drivers
  slabtone explore FILE            orders and frequencies too: the designs that none beats
  slabtone yield FILE              how many units of the run are good, and what decides
  slabtone parts FILE --units 300  the parts list
  slabtone coil --mh 0.47 ...      how to wind a coil
  slabtone check FILE...           are these driver and design files sound, does it fit
  slabtone fit SWEEP...            driver parameters from impedance sweeps
  slabtone stimulus                a sweep to play
  slabtone extract RECORDING...    a recording of it turned into a curve
  slabtone offset W T BOTH         how much later the tweeter is, from three sweeps
  slabtone limits FILE             limits for the factory
  slabtone inspect FILE SWEEP...   is this unit right, and what is wrong with it
  slabtone crossover --slope lr4   textbook values for resistive loads

Every command takes --json and --help.
";

/// Runs the program on the process's arguments.
///
/// Exit codes: 0 done, 1 well-formed but unfit, 2 malformed input, 3 the machine failed.
pub fn run() -> ExitCode {
    let arguments = Arguments::parse();
    let result = match &arguments.command {
        None => output::print(GREETING).map(|()| Verdict::Fit),
        Some(Command::Crossover(a)) => crossover::run(a),
        Some(Command::Check(a)) => check::run(a),
        Some(Command::Design(a)) => design::run(a),
        Some(Command::Compare(a)) => compare::run(a),
        Some(Command::Parts(a)) => parts::run(a),
        Some(Command::Coil(a)) => coil::run(a),
        Some(Command::Tune(a)) => tune::run(a),
        Some(Command::Explore(a)) => explore::run(a),
        Some(Command::Yield(a)) => yields::run(a),
        Some(Command::Offset(a)) => offset::run(a),
        Some(Command::Fit(a)) => fit::run(a),
        Some(Command::Stimulus(a)) => stimulus::run(a),
        Some(Command::Extract(a)) => extract::run(a),
        Some(Command::Limits(a)) => limits::run(a),
        Some(Command::Inspect(a)) => inspect::run(a),
        Some(Command::Demo(a)) => design::demo(a),
    };
    match result {
        Ok(Verdict::Fit) => ExitCode::SUCCESS,
        Ok(Verdict::Unfit) => ExitCode::from(1),
        Ok(Verdict::Interrupted) => ExitCode::from(patience::INTERRUPTED),
        Err(Failure::ClosedPipe) => ExitCode::SUCCESS,
        Err(failure) => {
            // A closed standard error leaves nobody to tell.
            let _ = writeln!(anstream::stderr(), "{failure}");
            failure.exit_code()
        }
    }
}
