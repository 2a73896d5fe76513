//! What a seat comes to around the crossover: deviation, agreement of the ways, where they meet.
//!
//! The band is the two octaves centred on the crossover frequency, as far as the grid goes.

use super::deviation::Deviation;
use super::side::SeatResponse;
use crate::grid::Grid;

/// A seat's figures around the crossover.
#[derive(Debug, Clone, PartialEq)]
pub struct SeatVerdict {
    /// The listener's name.
    pub name: String,
    /// Weight in averages.
    pub weight: f64,
    /// Deviation of the sum in the band.
    pub deviation: Deviation,
    /// How deep the ways cancel there with one turned round, dB (0 or more).
    pub cancel_db: f64,
    /// Where woofer and tweeter are equally loud: the crossing nearest to the crossover frequency,
    /// Hz; `None` if they do not cross in the band.
    pub meeting: Option<Meeting>,
    /// Largest minus smallest group delay of the sum in the band, s.
    pub delay_bump_s: f64,
    /// Level of the sum over the band against its mean, dB, one a grid point.
    pub band_db: Vec<f64>,
}

/// Where the ways are equally loud.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meeting {
    /// Frequency, Hz.
    pub hz: f64,
    /// Level of the sum over that of either way there, dB: +6 in phase, 0 at 120°, negative where
    /// they work against one another.
    pub gain_db: f64,
}

impl SeatVerdict {
    /// Judges a seat around `at_hz`; `None` if no grid point lies in the band.
    pub fn of(seat: &SeatResponse, at_hz: f64) -> Option<Self> {
        let grid = seat.sum.grid();
        let band = grid.within(at_hz / 2.0, at_hz * 2.0);
        let level = SeatResponse::level_db(&seat.sum);
        let deviation = Deviation::around(grid, &level, at_hz)?;
        let agreement = seat.agreement_db();
        let delay = seat.excess(&seat.sum).group_delay_s();
        let (low, high) = extremes(&delay[band.clone()]);
        Some(Self {
            name: seat.name.clone(),
            weight: seat.weight,
            deviation,
            cancel_db: -agreement[band.clone()].iter().copied().fold(0.0, f64::min),
            meeting: meeting(seat, grid, at_hz),
            delay_bump_s: high - low,
            band_db: level[band].iter().map(|l| l - deviation.mean_db).collect(),
        })
    }
}

/// How differently seats hear the band: largest minus smallest level over the seats, each against
/// its own mean, averaged over the band, dB. 0 for one seat.
pub fn spread_db(seats: &[SeatVerdict]) -> f64 {
    spread_of(&seats.iter().map(|s| s.band_db.as_slice()).collect::<Vec<_>>())
}

/// The same of levels against their means, dB, one slice a seat.
pub fn spread_of(levels_db: &[&[f64]]) -> f64 {
    let points = levels_db.iter().map(|l| l.len()).min().unwrap_or(0);
    let at = |i: usize| {
        let (low, high) = extremes(&levels_db.iter().map(|l| l[i]).collect::<Vec<_>>());
        high - low
    };
    if points == 0 { 0.0 } else { (0..points).map(at).sum::<f64>() / points as f64 }
}

fn extremes(values: &[f64]) -> (f64, f64) {
    let start = (f64::INFINITY, f64::NEG_INFINITY);
    values.iter().fold(start, |(low, high), v| (low.min(*v), high.max(*v)))
}

fn meeting(seat: &SeatResponse, grid: &Grid, at_hz: f64) -> Option<Meeting> {
    let ratio = |i: usize| (seat.woofer.values()[i].norm() / seat.tweeter.values()[i].norm()).ln();
    let hz = grid.frequency_hz();
    let distance = |f: f64| (f / at_hz).ln().abs();
    let crossings = grid.within(at_hz / 2.0, at_hz * 2.0).skip(1).filter_map(|i| {
        let (before, after) = (ratio(i - 1), ratio(i));
        let crosses = before.is_finite() && after.is_finite() && before * after <= 0.0;
        let share = if before == after { 0.0 } else { before / (before - after) };
        let f = hz[i - 1] * (hz[i] / hz[i - 1]).powf(share);
        let nearer = if share < 0.5 { i - 1 } else { i };
        let sum = seat.sum.values()[nearer].norm();
        let way =
            (seat.woofer.values()[nearer].norm() * seat.tweeter.values()[nearer].norm()).sqrt();
        crosses.then(|| Meeting { hz: f, gain_db: crate::grid::level_db(sum, way) })
    });
    crossings.min_by(|a, b| distance(a.hz).total_cmp(&distance(b.hz)))
}
