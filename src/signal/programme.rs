//! Spectra that stand for programme: how much of a signal's power lies where.
//!
//! The simulated programme signal of IEC 60268-1:1985, clause 7, Table II, 31 levels in
//! third-octave bands from 20 Hz to 20 kHz (read in an open transcription, not in the standard),
//! and pink noise. Within a band the power is spread evenly over the logarithm of frequency.

use crate::grid::Grid;

/// Peak over rms of the noise used to rate loudspeakers, clipped to 2 (IEC 60268-5, from memory;
/// IEC 60268-7:2010, 8.3.2 asks for 1.8 to 2.2, read in a transcription).
pub const CREST_FACTOR: f64 = 2.0;

/// Band levels of IEC 60268-1, Table II, 20 Hz to 20 kHz, dB.
pub const IEC_LEVELS_DB: [f64; 31] = [
    -13.5, -10.2, -7.4, -5.2, -3.5, -2.3, -1.4, -0.9, -0.5, -0.2, -0.1, 0.0, 0.0, 0.0, 0.0, 0.0,
    0.0, -0.1, -0.3, -0.6, -1.0, -1.6, -2.5, -3.7, -5.1, -7.0, -9.4, -11.9, -14.8, -18.2, -21.6,
];

/// Exact middle of the first band, 10^1.3 Hz.
const FIRST_TENTHS: i32 = 13;

/// A power spectrum: even over log frequency between each two edges.
#[derive(Debug, Clone, PartialEq)]
pub struct Programme {
    /// Edges of the bands, Hz, rising.
    edges_hz: Vec<f64>,
    /// Share of the whole power below each edge, 0 to 1.
    below: Vec<f64>,
}

impl Programme {
    /// The simulated programme signal of IEC 60268-1: bands a tenth of a decade wide around
    /// 10^1.3 … 10^4.3 Hz.
    pub fn iec_60268_1() -> Self {
        let edges = (0..=IEC_LEVELS_DB.len() as i32)
            .map(|k| 10f64.powf(0.1 * (f64::from(FIRST_TENTHS + k) - 0.5)));
        Self::of(edges.collect(), &IEC_LEVELS_DB.map(|db| 10f64.powf(0.1 * db)))
    }

    /// Pink noise with sharp limits at 20 Hz and 20 kHz: equal power an octave.
    pub fn pink() -> Self {
        Self::of(vec![20.0, 20_000.0], &[1.0])
    }

    fn of(edges_hz: Vec<f64>, power: &[f64]) -> Self {
        let total: f64 = power.iter().sum();
        let mut below = vec![0.0];
        let mut sum = 0.0;
        for p in power {
            sum += p;
            below.push(sum / total);
        }
        Self { edges_hz, below }
    }

    /// Edges of its bands, Hz.
    pub fn edges_hz(&self) -> &[f64] {
        &self.edges_hz
    }

    /// Share of the power below `hz`, 0 to 1; 0 where `hz` is no positive frequency.
    pub fn below(&self, hz: f64) -> f64 {
        let last = self.edges_hz.len() - 1;
        // Also where `hz` is not a number.
        if hz.is_nan() || hz <= self.edges_hz[0] {
            return 0.0;
        }
        let band = self.edges_hz.partition_point(|edge| *edge <= hz);
        if band > last {
            return 1.0;
        }
        let (low_hz, high_hz) = (self.edges_hz[band - 1], self.edges_hz[band]);
        let part = (hz / low_hz).ln() / (high_hz / low_hz).ln();
        self.below[band - 1] + part * (self.below[band] - self.below[band - 1])
    }

    /// Share of the power above `hz`, 0 to 1; `None` where `hz` is no positive frequency.
    pub fn above(&self, hz: f64) -> Option<f64> {
        (hz > 0.0 && hz.is_finite()).then(|| 1.0 - self.below(hz))
    }

    /// Share of the power that each point of `grid` stands for: from halfway (in log frequency) to
    /// its lower neighbour to halfway to its upper one, and for the ends all that lies beyond.
    /// The shares add up to 1; nothing below `cut_hz` counts, as behind a steep high-pass.
    /// With them, ∫S|H|² is Σ share·|H|².
    pub fn shares(&self, grid: &Grid, cut_hz: f64) -> Vec<f64> {
        let hz = grid.frequency_hz();
        let cut = self.below(cut_hz);
        let upto = |i: usize| {
            let halfway = hz.get(i + 1).map(|next| (hz[i] * next).sqrt());
            halfway.map_or(1.0, |edge| self.below(edge)).max(cut)
        };
        let mut before = cut;
        let share = |i: usize| {
            let here = upto(i);
            let share = here - before;
            before = here;
            share
        };
        (0..hz.len()).map(share).collect()
    }

    /// Sums `values`, one a point of `grid` (each with its share of the power already in it), over
    /// this spectrum's bands: `(middle of the band in Hz, sum)`. A point counts where it lies.
    pub fn by_band(&self, grid: &Grid, values: &[f64]) -> Vec<(f64, f64)> {
        let bands = self.edges_hz.windows(2).map(|edge| {
            let inside = grid.frequency_hz().partition_point(|f| *f < edge[0])
                ..grid.frequency_hz().partition_point(|f| *f < edge[1]);
            ((edge[0] * edge[1]).sqrt(), values[inside].iter().sum())
        });
        bands.collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn shares_add_up_on_any_grid_and_nothing_below_the_cut_counts() {
        let programme = Programme::iec_60268_1();
        for points in [3, 48, 481] {
            let grid = Grid::audible(points).unwrap();
            let all: f64 = programme.shares(&grid, 0.0).iter().sum();
            assert_relative_eq!(all, 1.0, max_relative = 1e-12);
            let cut: f64 = programme.shares(&grid, 100.0).iter().sum();
            assert_relative_eq!(cut, programme.above(100.0).unwrap(), max_relative = 1e-12);
        }
    }
}
