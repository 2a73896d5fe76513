//! WAV files: recordings in, stimuli out. The only place that knows the format.

use super::fault::{Fault, InputError};
use super::file;
use crate::signal::take::Take;
use hound::{SampleFormat, WavReader, WavSpec, WavWriter};
use std::fs::File;
use std::io::{BufReader, Cursor, ErrorKind, Read};
use std::path::Path;

/// Longest recording, samples a channel: 174 s at 48 kHz.
pub const LONGEST: usize = 1 << 23;
/// Most channels.
const MOST_CHANNELS: u16 = 32;

/// Reads a WAV file of 8, 16, 24 or 32-bit integers or 32-bit floating point numbers.
///
/// # Errors
/// The file is missing, unreadable, no WAV, of an unknown kind, cut off, too long or empty.
pub fn read(path: &Path) -> Result<Take, InputError> {
    let name = path.display().to_string();
    if path.is_dir() {
        return Err(file::unreadable(&name, &ErrorKind::IsADirectory.into()));
    }
    let opened = File::open(path).map_err(|error| file::unreadable(&name, &error))?;
    decode(&name, BufReader::new(opened))
}

/// The same from any bytes; `name` is for messages.
///
/// # Errors
/// As for [`read`].
pub fn decode(name: &str, bytes: impl Read) -> Result<Take, InputError> {
    let mut reader = WavReader::new(bytes).map_err(|error| unusable(name, error))?;
    let spec = reader.spec();
    let channels = usize::from(spec.channels);
    if spec.channels == 0 || spec.channels > MOST_CHANNELS || spec.sample_rate == 0 {
        let what = format!("{} channels at {} Hz", spec.channels, spec.sample_rate);
        return Err(refused(name, &format!("has {what}"), "export it as WAV with two channels"));
    }
    if reader.duration() as usize > LONGEST {
        let what = format!("has {} samples, more than {LONGEST}", reader.duration());
        return Err(refused(name, &what, "cut the recording to the sweep and its silences"));
    }
    let samples: Result<Vec<f64>, hound::Error> = match spec.sample_format {
        SampleFormat::Float => reader.samples::<f32>().map(|s| s.map(f64::from)).collect(),
        SampleFormat::Int => {
            let full_scale = (1_u64 << (u32::from(spec.bits_per_sample).clamp(1, 32) - 1)) as f64;
            reader.samples::<i32>().map(|s| s.map(|v| f64::from(v) / full_scale)).collect()
        }
    };
    let samples = samples.map_err(|error| match error {
        // The library's own word for an early end has no kind of its own.
        hound::Error::IoError(error) if error.raw_os_error().is_none() => {
            refused(name, "ends before its samples do", "copy or export the file again")
        }
        error => unusable(name, error),
    })?;
    if samples.len() < channels {
        return Err(refused(name, "holds no samples", "record again"));
    }
    let channel = |at: usize| samples.iter().skip(at).step_by(channels).copied().collect();
    Ok(Take { rate_hz: spec.sample_rate, channels: (0..channels).map(channel).collect() })
}

fn refused(name: &str, what: &str, help: &str) -> InputError {
    InputError::new(name, "", vec![Fault::whole(format!("`{name}` {what}")).help(help)])
}

fn unusable(name: &str, error: hound::Error) -> InputError {
    let export = "export the recording as WAV, 24-bit numbers";
    match error {
        hound::Error::IoError(error) if error.raw_os_error().is_some() => {
            file::unreadable(name, &error)
        }
        hound::Error::Unsupported | hound::Error::TooWide | hound::Error::InvalidSampleFormat => {
            refused(name, "is a WAV file of a kind that cannot be read", export)
        }
        error => refused(name, &format!("is no sound WAV file: {error}"), export),
    }
}

/// How samples are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bits {
    /// 24-bit integers.
    Integer24,
    /// 32-bit floating point numbers.
    Float32,
}

/// The bytes of a WAV file with `channels` equal channels of `samples`, full scale being ±1.
///
/// # Errors
/// Writing to memory does not fail in practice; what the library says is passed on as text.
pub fn encode(samples: &[f64], rate_hz: u32, channels: u16, bits: Bits) -> Result<Vec<u8>, String> {
    let (bits_per_sample, sample_format) = match bits {
        Bits::Integer24 => (24, SampleFormat::Int),
        Bits::Float32 => (32, SampleFormat::Float),
    };
    let spec = WavSpec { channels, sample_rate: rate_hz, bits_per_sample, sample_format };
    let mut bytes = Cursor::new(Vec::new());
    let mut write = || -> Result<(), hound::Error> {
        let mut writer = WavWriter::new(&mut bytes, spec)?;
        for sample in samples {
            for _ in 0..channels {
                match bits {
                    Bits::Integer24 => {
                        let scaled = (sample * 8_388_608.0).round();
                        writer.write_sample(scaled.clamp(-8_388_608.0, 8_388_607.0) as i32)?;
                    }
                    Bits::Float32 => writer.write_sample(*sample as f32)?,
                }
            }
        }
        writer.finalize()
    };
    write().map_err(|error| error.to_string())?;
    Ok(bytes.into_inner())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_come_back_within_a_step() {
        let samples: Vec<f64> = (-50..=50).map(|k| f64::from(k) / 50.0).collect();
        for (bits, step) in [(Bits::Integer24, 1.2e-7), (Bits::Float32, 6e-8)] {
            let bytes = encode(&samples, 44_100, 2, bits).unwrap();
            let take = decode("a.wav", bytes.as_slice()).unwrap();
            assert_eq!((take.rate_hz, take.channels.len(), take.len()), (44_100, 2, 101));
            for channel in &take.channels {
                assert!(channel.iter().zip(&samples).all(|(a, b)| (a - b).abs() <= step));
            }
        }
    }

    #[test]
    fn what_is_no_wav_or_cut_off_is_refused_with_a_way_out() {
        let told = |bytes: &[u8]| decode("take.wav", bytes).unwrap_err().to_string();
        assert!(told(b"hello, this is text").contains("`take.wav` is no sound WAV file"));
        assert!(told(b"").contains("`take.wav`"));
        let bytes = encode(&[0.1; 400], 48_000, 2, Bits::Integer24).unwrap();
        let cut = told(&bytes[..bytes.len() - 301]);
        assert!(cut.contains("ends before its samples do") && cut.contains("help: "), "{cut}");
        let empty = encode(&[], 48_000, 2, Bits::Integer24).unwrap();
        assert!(told(&empty).contains("holds no samples"));
    }
}
