//! From recordings of a sweep to curves.
//!
//! [`hear`] checks one two-channel recording, finds the sweep in it and brings it to the impulse
//! response from the reference channel to the other; [`impedance`], [`response`] and
//! [`distortion`] take it from there.

pub mod distortion;
pub mod impedance;
pub mod one_port;
pub mod response;

use crate::signal::clock;
use crate::signal::deconvolve::{self, Band, Impulse};
use crate::signal::sweep::Sweep;
use crate::signal::take::{self, Take};
use num_complex::Complex64;

/// Which channels of a recording are which, counted from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Channels {
    /// What is divided by: the loopback, or the voltage before the resistor.
    pub reference: usize,
    /// What is divided: the microphone, or the voltage behind the resistor.
    pub signal: usize,
}

/// Whether a channel may be next to silent, as behind a short circuit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quiet {
    /// It may not.
    Refused,
    /// It may.
    Allowed,
}

/// What was heard in one recording.
#[derive(Debug, Clone)]
pub struct Heard {
    /// Impulse response from the reference to the signal.
    pub impulse: Impulse,
    /// About the recording.
    pub facts: Facts,
}

/// What there is to tell about a recording.
#[derive(Debug, Clone, PartialEq)]
pub struct Facts {
    /// The recording as the user named it.
    pub file: String,
    /// Start of the sweep after that of the recording, s.
    pub start_s: f64,
    /// By how much the player's clock is faster than the recorder's, parts in a million.
    pub clock_ppm: f64,
    /// Peak of the reference channel, dB re full scale.
    pub reference_peak_db: f64,
    /// Peak of the signal channel, dB re full scale.
    pub signal_peak_db: f64,
    /// Level of the reference while the sweep was steady, as a share of full scale, rms.
    pub reference_rms: f64,
    /// Sweep over the noise before it in the signal channel, dB; `None` where there is too little
    /// before the sweep to tell.
    pub snr_db: Option<f64>,
}

/// Why a recording is refused.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("`{file}`: {fault}")]
pub struct ExtractError {
    /// The recording as the user named it.
    pub file: String,
    /// What is wrong with it.
    pub fault: TakeFault,
}

/// What is wrong with a recording; channels are counted from 1 in words.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum TakeFault {
    /// Too few channels.
    #[error("channel {asked} is asked for and the recording has {found}")]
    NoChannel {
        /// The channel asked for, from 1.
        asked: usize,
        /// How many there are.
        found: usize,
    },
    /// One channel in both roles.
    #[error("channel {0} cannot be reference and signal at once")]
    SameChannel(usize),
    /// Not the rate of the sweep.
    #[error("the recording has {found_hz} samples a second and the sweep {expected_hz}")]
    Rate {
        /// Of the recording, Hz.
        found_hz: u32,
        /// Of the sweep, Hz.
        expected_hz: u32,
    },
    /// NaN or infinity.
    #[error("sample {sample} of channel {channel} is not a finite number")]
    NotFinite {
        /// From 1.
        channel: usize,
        /// From 1.
        sample: usize,
    },
    /// At full scale for three samples or more.
    #[error("channel {channel} is clipped: {runs} times at full scale, first at {at_s:.3} s")]
    Clipped {
        /// From 1.
        channel: usize,
        /// How often.
        runs: usize,
        /// First time, s.
        at_s: f64,
    },
    /// Shorter than the sweep.
    #[error("the recording lasts {found_s:.3} s, the sweep alone {needed_s:.3} s")]
    Short {
        /// The recording, s.
        found_s: f64,
        /// The sweep, s.
        needed_s: f64,
    },
    /// Nothing but noise, if that.
    #[error("channel {0} is silent")]
    Silent(usize),
    /// The reference holds something else.
    #[error("channel {0} does not hold the sweep that the stimulus file describes")]
    NotThere(usize),
    /// The recording was started too late or stopped too soon.
    #[error(
        "the sweep begins at {start_s:.3} s and ends at {end_s:.3} s of a recording of {found_s:.3} s"
    )]
    Cut {
        /// Start of the sweep in the recording, s.
        start_s: f64,
        /// Its end, s.
        end_s: f64,
        /// Length of the recording, s.
        found_s: f64,
    },
    /// More voltage behind the resistor than before it.
    #[error("there is more voltage behind the resistor than before it")]
    Swapped,
    /// The voltages at both ends of the resistor are equal, or make no impedance.
    #[error("the two channels make no impedance at {at_hz:.0} Hz: they are as good as equal")]
    NothingThere {
        /// Where first, Hz.
        at_hz: f64,
    },
    /// The takes for correction and the recording do not make sense together.
    #[error("the takes for correction contradict the recording at {at_hz:.0} Hz")]
    Contradiction {
        /// Where first, Hz.
        at_hz: f64,
    },
}

impl TakeFault {
    /// The next step.
    pub fn help(&self) -> &'static str {
        match self {
            Self::NoChannel { .. } => {
                "record two channels in one file: the reference and what is measured"
            }
            Self::SameChannel(_) => "give --reference and --signal different numbers",
            Self::Rate { .. } => {
                "set player and recorder to the rate of the stimulus, without conversion"
            }
            Self::NotFinite { .. } => "export the recording again, as 24-bit numbers",
            Self::Clipped { .. } => "turn the input or the level down by 6 dB and record again",
            Self::Short { .. } | Self::Cut { .. } => {
                "start recording before the stimulus plays and stop after its last silence"
            }
            Self::Silent(_) => "check the cable, the input and its gain, then record again",
            Self::NotThere(_) => {
                "name the stimulus that was played; a microphone cannot be the reference: swap with --reference and --signal"
            }
            Self::NothingThere { .. } => {
                "connect the driver behind the resistor, and channel 2 to the driver's side of it"
            }
            Self::Swapped => "swap the channels with --reference 2 --signal 1, or the leads",
            Self::Contradiction { .. } => {
                "record short, open, known resistor and driver in the same wiring, one file each"
            }
        }
    }
}

/// Below this peak a channel is silent, as a share of full scale (−100 dB).
const SILENT: f64 = 1e-5;
/// A reference holds the sweep if this share of it is compressed into one moment.
const LEAST_SHARE: f64 = 0.4;
/// A sweep this little above the noise is not heard, dB.
const LEAST_SNR_DB: f64 = 3.0;

/// Checks a recording and deconvolves it. Where several reasons stand against it, the one that is
/// the likeliest cause of the others is told.
///
/// # Errors
/// The recording cannot carry a curve.
pub fn hear(
    file: &str,
    take: &Take,
    channels: Channels,
    quiet: Quiet,
    sweep: &Sweep,
) -> Result<Heard, ExtractError> {
    examine(take, channels, quiet, sweep)
        .map(|(impulse, facts)| Heard { impulse, facts: Facts { file: file.to_owned(), ..facts } })
        .map_err(|fault| ExtractError { file: file.to_owned(), fault })
}

fn examine(
    take: &Take,
    channels: Channels,
    quiet: Quiet,
    sweep: &Sweep,
) -> Result<(Impulse, Facts), TakeFault> {
    let (reference, signal) = sound(take, channels, sweep)?;
    let (reference, signal) = (take::without_offset(reference), take::without_offset(signal));
    let silent = |x: &[f64]| take::peak(x) < SILENT;
    if silent(&reference) {
        return Err(TakeFault::Silent(channels.reference + 1));
    }
    if quiet == Quiet::Refused && silent(&signal) {
        return Err(TakeFault::Silent(channels.signal + 1));
    }
    let not_there = TakeFault::NotThere(channels.reference + 1);
    let found = clock::locate(&reference, sweep).ok_or(not_there.clone())?;
    if found.share < LEAST_SHARE {
        return Err(not_there);
    }
    let rate_hz = f64::from(sweep.rate_hz);
    let (start_s, end_s) = (found.start_s, found.start_s + sweep.seconds);
    let found_s = take.len() as f64 / rate_hz;
    let slack_s = sweep.seconds * (found.offset.abs() + 2e-3);
    if start_s < -slack_s || end_s > found_s + slack_s {
        return Err(TakeFault::Cut { start_s, end_s, found_s });
    }
    let part = |x: &[f64], from_s: f64, to_s: f64| -> Vec<f64> {
        let sample = |s: f64| ((s * rate_hz).max(0.0) as usize).min(x.len());
        x[sample(from_s).min(sample(to_s))..sample(to_s)].to_vec()
    };
    let playing = |x: &[f64]| take::rms(&part(x, start_s, end_s));
    let before = part(&signal, 0.0, start_s - 0.02);
    let snr_db = (before.len() as f64 > 0.1 * rate_hz).then(|| {
        (20.0 * (playing(&signal) / take::rms(&before).max(1e-9)).log10()).clamp(-200.0, 200.0)
    });
    if quiet == Quiet::Refused && snr_db.is_some_and(|db| db < LEAST_SNR_DB) {
        return Err(TakeFault::Silent(channels.signal + 1));
    }
    let band = Band { low_hz: sweep.from_hz, high_hz: sweep.to_hz };
    let impulse = deconvolve::divide(&signal, &reference, rate_hz, band).ok_or(not_there)?;
    let steady_s = (start_s + sweep.fade_in_s, end_s - sweep.fade_out_s);
    let peak_db = |x: &[f64]| 20.0 * take::peak(x).max(1e-10).log10();
    let facts = Facts {
        file: String::new(),
        start_s,
        clock_ppm: found.offset * 1e6,
        reference_peak_db: peak_db(&reference),
        signal_peak_db: peak_db(&signal),
        reference_rms: take::rms(&part(&reference, steady_s.0, steady_s.1)),
        snr_db,
    };
    Ok((impulse, facts))
}

/// The two channels, of the right rate, long enough, finite and not clipped.
fn sound<'t>(
    take: &'t Take,
    channels: Channels,
    sweep: &Sweep,
) -> Result<(&'t [f64], &'t [f64]), TakeFault> {
    let Channels { reference, signal } = channels;
    if reference == signal {
        return Err(TakeFault::SameChannel(signal + 1));
    }
    let channel = |at: usize| {
        let missing = TakeFault::NoChannel { asked: at + 1, found: take.channels.len() };
        take.channels.get(at).ok_or(missing)
    };
    let (x, y) = (channel(reference)?, channel(signal)?);
    if take.rate_hz != sweep.rate_hz {
        return Err(TakeFault::Rate { found_hz: take.rate_hz, expected_hz: sweep.rate_hz });
    }
    for (at, samples) in [(reference, x), (signal, y)] {
        if let Some(sample) = samples.iter().position(|v| !v.is_finite()) {
            return Err(TakeFault::NotFinite { channel: at + 1, sample: sample + 1 });
        }
        if let Some(clipped) = take::clipped(samples) {
            let at_s = clipped.first as f64 / f64::from(take.rate_hz);
            return Err(TakeFault::Clipped { channel: at + 1, runs: clipped.runs, at_s });
        }
    }
    let found_s = take.len() as f64 / f64::from(take.rate_hz);
    // A player may be faster by some hundred parts in a million.
    if found_s < 0.999 * sweep.seconds {
        return Err(TakeFault::Short { found_s, needed_s: sweep.seconds });
    }
    Ok((x, y))
}

/// The mean of several takes of one curve, and by how much one of them differs from it at most, dB.
fn mean(takes: &[Vec<Complex64>]) -> (Vec<Complex64>, f64) {
    let points = takes.iter().map(Vec::len).min().unwrap_or(0);
    let count = takes.len().max(1) as f64;
    let at = |k: usize| takes.iter().map(|t| t[k]).sum::<Complex64>() / count;
    let mean: Vec<_> = (0..points).map(at).collect();
    let apart = |t: &Vec<Complex64>| {
        let each = t.iter().zip(&mean).map(|(v, m)| 20.0 * (v.norm() / m.norm()).log10().abs());
        each.filter(|d| d.is_finite()).fold(0.0, f64::max)
    };
    let spread_db = takes.iter().map(apart).fold(0.0, f64::max);
    (mean, spread_db)
}
