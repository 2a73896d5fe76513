//! How the sum of a side spreads over directions: level over angle through the seat, in the plane
//! across and in the plane up and down, and how much room it holds at the crossover.
//!
//! Directions run from the middle between the two drivers, at the first listener's distance: *across*
//! is the angle to the right in the plane of that listener's elevation, *up* is the angle above the
//! face's normal at that listener's bearing. 0 dB is the level at that listener. Far away, in free
//! air, the level that way is set against the mean over all directions.

use super::side::{SeatResponse, SideModel};
use super::study::StudyError;
use crate::circuit::ladder::Polarity;
use crate::circuit::network::Network;
use crate::design::{Design, Listener, PolarityRule, Side};
use crate::grid::Grid;
use crate::model::place::Point;
use std::f64::consts::PI;
use std::sync::Arc;

/// Largest angle off the normal that is told, degrees: near the plane of the face the edges'
/// model ends.
const WIDEST_DEG: i32 = 85;
/// Step of the angles, degrees.
const STEP_DEG: usize = 5;
/// Points an octave, and the lowest frequency, Hz.
const PER_OCTAVE: f64 = 12.0;
const FROM_HZ: f64 = 200.0;

/// Directions over which the power is summed, of equal share of the sphere, and how far off they
/// are, m.
const SPHERE: usize = 96;
const FAR_M: f64 = 20.0;
/// Points an octave of the power.
const POWER_PER_OCTAVE: f64 = 3.0;

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
    /// How much goes everywhere.
    pub power: PowerResponse,
}

/// What a side sends out in all, and how much more towards the first seat.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PowerResponse {
    /// Frequencies, Hz.
    pub frequency_hz: Vec<f64>,
    /// Sound power at the design's drive voltage, dB re 1 pW: mean square pressure over a far
    /// sphere, times its area, over ρc.
    pub power_db: Vec<f64>,
    /// Directivity index towards the first seat: level that way over the mean of all, dB.
    pub index_db: Vec<f64>,
}

impl PowerResponse {
    /// Frequency (Hz), power (dB re 1 pW) and index (dB), point by point.
    pub fn points(&self) -> impl Iterator<Item = (f64, f64, f64)> {
        let levels = self.power_db.iter().zip(&self.index_db);
        self.frequency_hz.iter().zip(levels).map(|(hz, (power, index))| (*hz, *power, *index))
    }
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
        let round = Design { listeners: places.map(heard).collect(), ..design.clone() };
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
        let power = power(design, side, network, polarity, seat)?;
        Ok(Self { frequency_hz, angle_deg, across_db, up_db, seats, lobe_deg, power })
    }

    fn empty(grid: &Arc<Grid>) -> Self {
        Self {
            frequency_hz: grid.frequency_hz().to_vec(),
            angle_deg: Vec::new(),
            across_db: Vec::new(),
            up_db: Vec::new(),
            seats: Vec::new(),
            lobe_deg: (0.0, 0.0),
            power: PowerResponse::default(),
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

fn heard(place: Point) -> Listener {
    Listener { name: String::new(), place, weight: 1.0, spread_m: 0.0 }
}

/// Sums the sound over a far sphere, in free air; over half of it where the panel is endless.
fn power(
    design: &Design,
    side: &Side,
    network: &Network,
    polarity: Polarity,
    seat: &SeatAngles,
) -> Result<PowerResponse, StudyError> {
    let octaves = (20_000.0 / FROM_HZ).log2();
    let grid = Grid::log(FROM_HZ, 20_000.0, (octaves * POWER_PER_OCTAVE) as usize + 1)?;
    let middle = middle(side);
    let sphere = sphere(SPHERE).filter(|[.., z]| design.models.panel_ends || *z > 0.0);
    let out = |[x, y, z]: [f64; 3]| {
        Point::new(middle.x_m + FAR_M * x, middle.y_m + FAR_M * y, middle.z_m + FAR_M * z)
    };
    let seat = towards(&middle, seat.across_deg, seat.up_deg, FAR_M);
    let listeners = std::iter::once(seat).chain(sphere.map(out)).map(heard).collect();
    let far = Design { listeners, surface: None, ..design.clone() };
    let response =
        SideModel::new(&far, side, &grid)?.through(network, PolarityRule::Fixed(polarity))?;
    let Some((seat, all)) = response.seats.split_first() else {
        return Ok(PowerResponse::default());
    };
    let area_m2 = 4.0 * PI * FAR_M * FAR_M / SPHERE as f64;
    let mut found =
        PowerResponse { frequency_hz: grid.frequency_hz().to_vec(), ..Default::default() };
    for (i, here) in seat.sum.values().iter().enumerate() {
        let squares: f64 = all.iter().map(|s| s.sum.values()[i].norm_sqr()).sum();
        let power_w = squares * area_m2 / (design.air.rho_kg_per_m3 * design.air.c_m_per_s);
        // Behind an endless panel is nothing, and it counts as such.
        let mean = squares / SPHERE as f64;
        found.power_db.push(10.0 * (power_w / 1e-12).max(1e-20).log10());
        let index = 10.0 * (here.norm_sqr() / mean.max(1e-40)).max(1e-20).log10();
        found.index_db.push(index);
    }
    Ok(found)
}

/// `count` directions of equal share, as unit vectors: a spiral of the golden angle.
fn sphere(count: usize) -> impl Iterator<Item = [f64; 3]> {
    let golden = PI * (3.0 - 5f64.sqrt());
    (0..count).map(move |n| {
        let z = 1.0 - (2.0 * n as f64 + 1.0) / count as f64;
        let (sin, cos) = (golden * n as f64).sin_cos();
        let ring = (1.0 - z * z).sqrt();
        [ring * cos, ring * sin, z]
    })
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
