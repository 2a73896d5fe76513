//! The arguments of `stimulus` and `extract`.

use clap::{Args, ValueEnum};
use std::path::PathBuf;

#[derive(Debug, Args)]
#[command(
    after_help = "Example: slabtone stimulus --out sweep.wav --from 20 --to 20000 --seconds 5"
)]
pub(super) struct Stimulus {
    /// The WAV file to write; sweep.toml is written beside sweep.wav, for extract
    #[arg(long, value_name = "FILE.wav")]
    pub(super) out: PathBuf,
    /// First frequency, Hz
    #[arg(long, default_value_t = 20.0, value_name = "HZ", allow_negative_numbers = true)]
    pub(super) from: f64,
    /// Last frequency, Hz
    #[arg(long, default_value_t = 20_000.0, value_name = "HZ", allow_negative_numbers = true)]
    pub(super) to: f64,
    /// Length of the sweep, s
    #[arg(long, default_value_t = 5.0, value_name = "S", allow_negative_numbers = true)]
    pub(super) seconds: f64,
    /// Samples a second
    #[arg(long, default_value_t = 48_000, value_name = "HZ", allow_negative_numbers = true)]
    pub(super) rate: u32,
    /// Peak level, dB re full scale
    #[arg(long, default_value_t = -12.0, value_name = "DB", allow_negative_numbers = true)]
    pub(super) level_db: f64,
    /// Fade at the start, ms
    #[arg(long, default_value_t = 50.0, value_name = "MS", allow_negative_numbers = true)]
    pub(super) fade_in_ms: f64,
    /// Fade at the end, ms
    #[arg(long, default_value_t = 5.0, value_name = "MS", allow_negative_numbers = true)]
    pub(super) fade_out_ms: f64,
    /// Silence before the sweep, from which extract learns the noise, and after it, s
    #[arg(long, default_value_t = 1.0, value_name = "S", allow_negative_numbers = true)]
    pub(super) silence: f64,
    /// 24 (integers) or 32 (floating point)
    #[arg(long, default_value_t = 24)]
    pub(super) bits: u16,
    /// Equal channels: one for the amplifier, one for the loopback
    #[arg(long, default_value_t = 2, value_parser = clap::value_parser!(u16).range(1..=2))]
    pub(super) channels: u16,
    /// Print what was written as a JSON document
    #[arg(long)]
    pub(super) json: bool,
}

/// What a recording is turned into.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum As {
    /// Voltages before and behind a series resistor
    Impedance,
    /// Loopback and microphone
    Response,
    /// A stored impulse response, its first sample at time zero, in the signal channel (or the
    /// only one)
    Impulse,
}

/// Where the driver was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
#[value(rename_all = "snake_case")]
pub(super) enum Condition {
    /// Hanging free
    FreeAir,
    /// In a wall or a board much larger than the wavelength
    HalfSpace,
    /// Microphone close to the cone
    NearField,
    /// In the panel that is designed
    InThisPanel,
}

const WIRING: &str = "\
WIRING FOR --as impedance: a known resistor of 5 to 50 ohm in series, both channels against the
same ground. Divide the voltage down (alike in both) if it is more than the inputs bear.

  amplifier + ---+---[ series resistor ]---+--- driver +
                 |                         |
             channel 1                 channel 2
            (reference)                 (signal)
                 |                         |
  amplifier - ---+-------------------------+--- driver -

  An amplifier with bridged outputs must not be grounded through the sound card: use a single-ended
  one, or a headphone output.

  --short: the driver's terminals joined. --open: the driver taken off. --known: a resistor of
  --known-ohm in the driver's place. Each is one more recording of the same sweep in the same
  wiring. All three together correct every linear error of wiring and sound card; fewer correct
  what they can, and the rest is told.

WIRING FOR --as response: channel 1 takes the player's output directly (loopback), channel 2 the
microphone.

  player ---+--- amplifier --- driver   )  )  )   microphone --- channel 2 (signal)
            |
            +----------------------------------------------- channel 1 (reference)

  --gate-ms ends the window before the first reflection arrives; the response is valid from 1/gate
  up, and nothing is written below. With --mic-mv-per-pa and --full-scale-v the level is that of
  the sweep as it was played.

Example: slabtone extract take.wav --stimulus sweep.toml --as impedance --resistor-ohm 10
  --short short.wav --open open.wav --known known.wav --known-ohm 8.2 --out out
Example: slabtone extract take.wav --stimulus sweep.toml --as response --gate-ms 4
  --condition half_space --volts 2.83 --distance-m 1 --out out
Example: slabtone extract impulse.wav --as impulse --gate-ms 4 --out out";

#[derive(Debug, Args)]
#[command(
    after_help = "Example: slabtone extract take.wav --stimulus sweep.toml --as impedance --resistor-ohm 10\nHow to wire it: slabtone extract --help",
    after_long_help = WIRING
)]
pub(super) struct Extract {
    /// Recordings of one arrangement, WAV; several are averaged
    #[arg(required = true, value_name = "RECORDING")]
    pub(super) recordings: Vec<PathBuf>,
    /// What was played: the file that stimulus wrote beside its WAV
    #[arg(
        long,
        value_name = "FILE.toml",
        required_if_eq_any([("kind", "impedance"), ("kind", "response")])
    )]
    pub(super) stimulus: Option<PathBuf>,
    /// What the recordings hold
    #[arg(long = "as", value_enum)]
    pub(super) kind: As,
    /// Channel of the loopback, or of the voltage before the resistor, from 1
    #[arg(long, default_value_t = 1, value_name = "CHANNEL", value_parser = clap::value_parser!(u16).range(1..=32))]
    pub(super) reference: u16,
    /// Channel of the microphone, or of the voltage behind the resistor, from 1
    #[arg(long, default_value_t = 2, value_name = "CHANNEL", value_parser = clap::value_parser!(u16).range(1..=32))]
    pub(super) signal: u16,
    #[command(flatten)]
    pub(super) impedance: ImpedanceOptions,
    #[command(flatten)]
    pub(super) response: ResponseOptions,
    #[command(flatten)]
    pub(super) stated: StatedOptions,
    /// Points, evenly spaced in the logarithm
    #[arg(long, default_value_t = 480, allow_negative_numbers = true, value_parser = clap::value_parser!(u32).range(2..=20_000))]
    pub(super) points: u32,
    /// Folder for extract.csv and pictures, made if it is not there
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    /// Print the result as a JSON document
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
#[command(next_help_heading = "For --as impedance")]
pub(super) struct ImpedanceOptions {
    /// The series resistor, ohm
    #[arg(long, value_name = "OHM", allow_negative_numbers = true)]
    pub(super) resistor_ohm: Option<f64>,
    /// Recording with the terminals joined
    #[arg(long, value_name = "FILE")]
    pub(super) short: Option<PathBuf>,
    /// Recording with nothing at the terminals
    #[arg(long, value_name = "FILE")]
    pub(super) open: Option<PathBuf>,
    /// Recording with a known resistor at the terminals
    #[arg(long, value_name = "FILE", requires = "known_ohm")]
    pub(super) known: Option<PathBuf>,
    /// The known resistor, ohm
    #[arg(long, value_name = "OHM", requires = "known", allow_negative_numbers = true)]
    pub(super) known_ohm: Option<f64>,
}

#[derive(Debug, Args)]
#[command(next_help_heading = "For --as response")]
pub(super) struct ResponseOptions {
    /// Window after the arrival, ms; 200 with the room in it if left out
    #[arg(long, value_name = "MS", allow_negative_numbers = true)]
    pub(super) gate_ms: Option<f64>,
    /// Window before the arrival, ms; half the gate if left out
    #[arg(long, value_name = "MS", allow_negative_numbers = true)]
    pub(super) lead_ms: Option<f64>,
    /// Travel to take out of the phase, ms; what was found if left out. Give all drivers of a panel
    /// the same, so that their times stay comparable
    #[arg(long, value_name = "MS", allow_negative_numbers = true)]
    pub(super) take_out_ms: Option<f64>,
    /// Response of the microphone as text columns (Hz, dB, degrees if known); divided out
    #[arg(long, value_name = "FILE")]
    pub(super) mic_correction: Option<PathBuf>,
    /// Level at 1 kHz, dB re 20 µPa, if it is known
    #[arg(
        long,
        value_name = "DB",
        conflicts_with = "mic_mv_per_pa",
        allow_negative_numbers = true
    )]
    pub(super) level_at_1khz_db: Option<f64>,
    /// Sensitivity of the microphone, mV/Pa
    #[arg(long, value_name = "MV", requires = "full_scale_v", allow_negative_numbers = true)]
    pub(super) mic_mv_per_pa: Option<f64>,
    /// Peak voltage at the microphone's input that makes full scale, V
    #[arg(long, value_name = "V", requires = "mic_mv_per_pa", allow_negative_numbers = true)]
    pub(super) full_scale_v: Option<f64>,
}

#[derive(Debug, Args)]
#[command(next_help_heading = "Stated, and written into the curve's file")]
pub(super) struct StatedOptions {
    /// Where the driver was
    #[arg(long, value_enum)]
    pub(super) condition: Option<Condition>,
    /// Voltage at the driver, V rms
    #[arg(long, value_name = "V", allow_negative_numbers = true)]
    pub(super) volts: Option<f64>,
    /// Distance of the microphone, m
    #[arg(long, value_name = "M", allow_negative_numbers = true)]
    pub(super) distance_m: Option<f64>,
    /// Angle off the axis, degrees
    #[arg(long, value_name = "DEG", allow_negative_numbers = true)]
    pub(super) angle_deg: Option<f64>,
}
