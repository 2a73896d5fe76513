//! What the amplifier faces: the sine at which it clips, and what that drives into the real
//! impedance at each frequency.

use crate::analysis::side::{SeatResponse, SideResponse};
use crate::design::{Amplifier, Design};
use crate::grid::level_db;
use crate::model::driver::REFERENCE_PRESSURE_PA;
use crate::signal::programme::{CREST_FACTOR, Programme};
use num_complex::Complex64;
use std::f64::consts::SQRT_2;

/// Largest sine before the amplifier clips, V rms: what the supply allows, where it is known, else
/// the rating.
pub fn clipping_v(amplifier: &Amplifier) -> f64 {
    amplifier.supply_limit_v().unwrap_or_else(|| amplifier.rated_v())
}

/// Programme noise whose peaks of twice its rms just fit, V rms.
pub fn clipping_noise_v(amplifier: &Amplifier) -> f64 {
    clipping_v(amplifier) * SQRT_2 / CREST_FACTOR
}

/// A side as the amplifier's load at clipping; one value a grid point.
#[derive(Debug, Clone, PartialEq)]
pub struct Faced {
    /// Sine at which the stage clips, V rms at the source.
    pub clipping_v: f64,
    /// That into the load of the rating, W.
    pub rated_load_w: f64,
    /// The axis, Hz.
    pub frequency_hz: Vec<f64>,
    /// Largest sine that supply and current limit allow, V rms at the source.
    pub limit_v: Vec<f64>,
    /// What that gives into the side, W.
    pub power_w: Vec<f64>,
    /// Peak current that the clipping sine asks for, A.
    pub current_a: Vec<f64>,
    /// Where the current limit comes first, from and to, Hz.
    pub current_limited_hz: Option<(f64, f64)>,
    /// Power of programme noise that just fits, W.
    pub programme_w: f64,
    /// Its current, A rms.
    pub programme_a: f64,
    /// Level of a 1 kHz sine at clipping at each seat, dB re 20 µPa.
    pub sine_db: Vec<(String, f64)>,
    /// Level there of the programme noise that just fits, dB re 20 µPa.
    pub programme_db: Vec<(String, f64)>,
}

impl Faced {
    /// The load of a side with the response `response`.
    pub fn of(design: &Design, response: &SideResponse) -> Self {
        let amplifier = &design.amplifier;
        let clipping_v = clipping_v(amplifier);
        let grid = response.impedance.grid();
        let hz = grid.frequency_hz();
        let whole = |z: &Complex64| (z + amplifier.output_ohm).norm();
        let loads = response.impedance.values();
        let most_v = |z: &Complex64| {
            let limited = amplifier.hardware.current_limit_a.map(|a| a / SQRT_2 * whole(z));
            limited.unwrap_or(f64::INFINITY).min(clipping_v)
        };
        let limit_v: Vec<f64> = loads.iter().map(most_v).collect();
        let power = |(z, v): (&Complex64, &f64)| (v / whole(z)).powi(2) * z.re;
        let held: Vec<f64> = hz
            .iter()
            .zip(&limit_v)
            .filter_map(|(f, v)| (*v < clipping_v * (1.0 - 1e-9)).then_some(*f))
            .collect();
        let shares = Programme::iec_60268_1().shares(grid, amplifier.cut_below_hz.unwrap_or(0.0));
        let noise_v = clipping_noise_v(amplifier);
        let square_a: Vec<f64> = shares
            .iter()
            .zip(loads)
            .map(|(share, z)| share * (noise_v / whole(z)).powi(2))
            .collect();
        let near = hz.partition_point(|f| *f < 1000.0).min(hz.len() - 1);
        let level = |pa: f64, v: f64| level_db(pa * v / design.drive_v, REFERENCE_PRESSURE_PA);
        let sine = |s: &SeatResponse| level(s.sum.values()[near].norm(), limit_v[near]);
        let programme = |s: &SeatResponse| {
            let each = shares.iter().zip(s.sum.values());
            level(each.map(|(share, p)| share * p.norm_sqr()).sum::<f64>().sqrt(), noise_v)
        };
        let seats = |of: &dyn Fn(&SeatResponse) -> f64| {
            response.seats.iter().map(|s| (s.name.clone(), of(s))).collect()
        };
        let (sine_db, programme_db) = (seats(&sine), seats(&programme));
        Self {
            clipping_v,
            rated_load_w: clipping_v.powi(2) / amplifier.into_ohm,
            frequency_hz: hz.to_vec(),
            power_w: loads.iter().zip(&limit_v).map(power).collect(),
            current_a: loads.iter().map(|z| SQRT_2 * clipping_v / whole(z)).collect(),
            limit_v,
            current_limited_hz: held.first().copied().zip(held.last().copied()),
            programme_w: square_a.iter().zip(loads).map(|(a2, z)| a2 * z.re).sum(),
            programme_a: square_a.iter().sum::<f64>().sqrt(),
            sine_db,
            programme_db,
        }
    }

    /// Index of the frequency that takes most power.
    pub fn hungriest(&self) -> usize {
        let by = |&a: &usize, &b: &usize| self.power_w[a].total_cmp(&self.power_w[b]);
        (0..self.power_w.len()).max_by(by).unwrap_or(0)
    }

    /// Largest peak current that the clipping sine asks for, A.
    pub fn most_current_a(&self) -> f64 {
        self.current_a.iter().copied().fold(0.0, f64::max)
    }
}
