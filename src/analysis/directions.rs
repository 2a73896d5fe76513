//! How the sum of a side spreads over directions: level over angle through the seat, in the plane
//! across and in the plane up and down, and how much room it holds at the crossover.
//!
//! Directions run from the middle between the two drivers, at the first listener's distance: *across*
//! is the angle to the right in the plane of that listener's elevation, *up* is the angle above the
//! face's normal at that listener's bearing. 0 dB is the level at that listener.

use super::side::{SeatResponse, SideModel};
use super::study::StudyError;
use crate::circuit::ladder::Polarity;
use crate::circuit::network::Network;
use crate::design::{Design, Listener, PolarityRule, Side};
use crate::grid::Grid;
use crate::model::place::Point;
use std::sync::Arc;

/// Largest angle off the normal that is told, degrees: near the plane of the face the edges'
/// model ends.
const WIDEST_DEG: i32 = 85;
/// Step of the angles, degrees.
const STEP_DEG: usize = 5;
/// Points an octave, and the lowest frequency, Hz.
const PER_OCTAVE: f64 = 12.0;
const FROM_HZ: f64 = 200.0;

/// Levels over angle and frequency.
#[derive(Debug, Clone, PartialEq)]
pub struct Directions {
    /// Frequencies, Hz.
    pub frequency_hz: Vec<f64>,
    /// Angles, degrees, rising.
    pub angle_deg: Vec<f64>,
    /// To the right, dB: one row an angle, one value a frequency.
    pub across_db: Vec<Vec<f64>>,
    /// Upwards, dB.
    pub up_db: Vec<Vec<f64>>,
    /// The listeners.
    pub seats: Vec<SeatAngles>,
    /// How far up and down the sum at the crossover stays within 3 dB of the listener's, degrees.
    pub lobe_deg: (f64, f64),
}

/// Where a listener is.
#[derive(Debug, Clone, PartialEq)]
pub struct SeatAngles {
    /// Their name.
    pub name: String,
    /// To the right, degrees.
    pub across_deg: f64,
    /// Up, degrees.
    pub up_deg: f64,
}

impl Directions {
    /// Directions of `side` through `network` in this polarity.
    ///
    /// # Errors
    /// What the solver or a measured curve has against it.
    pub fn of(
        design: &Design,
        side: &Side,
        network: &Network,
        polarity: Polarity,
    ) -> Result<Self, StudyError> {
        let octaves = (20_000.0 / FROM_HZ).log2();
        let grid = Grid::log(FROM_HZ, 20_000.0, (octaves * PER_OCTAVE) as usize + 1)?;
        let middle = middle(side);
        let seats: Vec<SeatAngles> =
            design.listeners.iter().map(|l| SeatAngles::of(l, &middle)).collect();
        let (Some(first), Some(seat)) = (design.listeners.first(), seats.first()) else {
            return Ok(Self::empty(&grid));
        };
        let far_m = middle.distance_m(&first.place);
        let angle_deg: Vec<f64> =
            (-WIDEST_DEG..=WIDEST_DEG).step_by(STEP_DEG).map(f64::from).collect();
        let across = angle_deg.iter().map(|&a| towards(&middle, a, seat.up_deg, far_m));
        let up = angle_deg.iter().map(|&a| towards(&middle, seat.across_deg, a, far_m));
        let places = std::iter::once(first.place).chain(across).chain(up);
        let heard = |place| Listener { name: String::new(), place, weight: 1.0, spread_m: 0.0 };
        let mut round = design.clone();
        round.listeners = places.map(heard).collect();
        let response =
            SideModel::new(&round, side, &grid)?.through(network, PolarityRule::Fixed(polarity))?;
        let mut levels =
            response.seats.iter().map(|s| SeatResponse::level_db(&s.sum)).collect::<Vec<_>>();
        let here = levels.remove(0);
        let against = |row: &Vec<f64>| row.iter().zip(&here).map(|(l, h)| l - h).collect();
        let across_db: Vec<Vec<f64>> = levels[..angle_deg.len()].iter().map(against).collect();
        let up_db: Vec<Vec<f64>> = levels[angle_deg.len()..].iter().map(against).collect();
        let at = nearest(grid.frequency_hz(), design.crossover.at_hz);
        let lobe_deg = lobe(&angle_deg, &up_db, at, seat.up_deg);
        let frequency_hz = grid.frequency_hz().to_vec();
        Ok(Self { frequency_hz, angle_deg, across_db, up_db, seats, lobe_deg })
    }

    fn empty(grid: &Arc<Grid>) -> Self {
        Self {
            frequency_hz: grid.frequency_hz().to_vec(),
            angle_deg: Vec::new(),
            across_db: Vec::new(),
            up_db: Vec::new(),
            seats: Vec::new(),
            lobe_deg: (0.0, 0.0),
        }
    }
}

impl SeatAngles {
    fn of(listener: &Listener, from: &Point) -> Self {
        let (dx, dy, dz) = (
            listener.place.x_m - from.x_m,
            listener.place.y_m - from.y_m,
            listener.place.z_m - from.z_m,
        );
        Self {
            name: listener.name.clone(),
            across_deg: dx.atan2(dz).to_degrees(),
            up_deg: dy.atan2(dx.hypot(dz)).to_degrees(),
        }
    }
}

/// Middle between the drivers, on the face.
fn middle(side: &Side) -> Point {
    let (w, t) = (&side.drivers.woofer, &side.drivers.tweeter);
    Point::new(0.5 * (w.x_m + t.x_m), 0.5 * (w.y_m + t.y_m), 0.0)
}

fn towards(from: &Point, across_deg: f64, up_deg: f64, far_m: f64) -> Point {
    let (sin_across, cos_across) = across_deg.to_radians().sin_cos();
    let (sin_up, cos_up) = up_deg.to_radians().sin_cos();
    Point::new(
        from.x_m + far_m * cos_up * sin_across,
        from.y_m + far_m * sin_up,
        from.z_m + far_m * cos_up * cos_across,
    )
}

fn nearest(hz: &[f64], at_hz: f64) -> usize {
    let off = |i: &usize| (hz[*i] / at_hz).ln().abs();
    (0..hz.len()).min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(0)
}

/// The angles round the seat's within which the level at one frequency stays within 3 dB of its
/// own.
fn lobe(angle_deg: &[f64], rows_db: &[Vec<f64>], at: usize, seat_deg: f64) -> (f64, f64) {
    let inside = |i: &usize| rows_db[*i][at].abs() <= 3.0;
    let start = angle_deg.partition_point(|a| *a < seat_deg);
    let up = (start..angle_deg.len()).take_while(inside).last();
    let down = (0..start).rev().take_while(inside).last();
    (down.map_or(seat_deg, |i| angle_deg[i]), up.map_or(seat_deg, |i| angle_deg[i]))
}
