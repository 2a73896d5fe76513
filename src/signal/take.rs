//! A recording as samples, and what can be seen of it without knowing what was played.

/// A recording of one or more channels.
#[derive(Debug, Clone, PartialEq)]
pub struct Take {
    /// Sample rate, Hz.
    pub rate_hz: u32,
    /// The channels, all of one length, full scale being ±1.
    pub channels: Vec<Vec<f64>>,
}

impl Take {
    /// Samples in each channel.
    pub fn len(&self) -> usize {
        self.channels.first().map_or(0, Vec::len)
    }

    /// Whether there is not one sample.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

/// A sample from here on is at full scale: the largest 16-bit number is 0.99997.
const FULL_SCALE: f64 = 0.9999;
/// So many samples in a row at full scale are no accident.
const RUN: usize = 3;

/// Where a channel stays at full scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Clipped {
    /// First sample of the first run.
    pub first: usize,
    /// Runs in all.
    pub runs: usize,
}

/// Whether a channel stays at full scale for three samples or more.
pub fn clipped(samples: &[f64]) -> Option<Clipped> {
    let (mut found, mut length): (Option<Clipped>, usize) = (None, 0);
    for (at, x) in samples.iter().enumerate() {
        length = if x.abs() >= FULL_SCALE { length + 1 } else { 0 };
        if length == RUN {
            let first = found.map_or(at + 1 - RUN, |f| f.first);
            found = Some(Clipped { first, runs: found.map_or(1, |f| f.runs + 1) });
        }
    }
    found
}

/// Root mean square; zero of nothing.
pub fn rms(samples: &[f64]) -> f64 {
    (samples.iter().map(|x| x * x).sum::<f64>() / samples.len().max(1) as f64).sqrt()
}

/// Largest size of a sample.
pub fn peak(samples: &[f64]) -> f64 {
    samples.iter().fold(0.0, |m, x| m.max(x.abs()))
}

/// The samples less their mean.
pub fn without_offset(samples: &[f64]) -> Vec<f64> {
    let mean = samples.iter().sum::<f64>() / samples.len().max(1) as f64;
    samples.iter().map(|x| x - mean).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_at_full_scale_are_counted_and_single_peaks_are_not() {
        assert_eq!(clipped(&[0.0, 1.0, 0.9, 1.0, -1.0, 0.0]), None);
        let long = [0.0, 1.0, 1.0, 1.0, 1.0, 0.0, -1.0, -1.0, -1.0];
        assert_eq!(clipped(&long), Some(Clipped { first: 1, runs: 2 }));
    }

    #[test]
    fn levels_are_those_of_the_samples() {
        assert_eq!((rms(&[3.0, -3.0]), peak(&[1.0, -2.0]), rms(&[])), (3.0, 2.0, 0.0));
        assert_eq!(without_offset(&[1.0, 3.0]), [-1.0, 1.0]);
    }
}
