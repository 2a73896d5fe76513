//! Programme noise through a side: what reaches each driver, how far its cone moves, and how much of
//! it the side takes.
//!
//! The noise has the shape of IEC 60268-1 and peaks of twice its rms (IEC 60268-5). A driver's
//! rated noise power is compared with V²/Re at its terminals, the way such ratings are told; the
//! coil's own heat is less where the impedance is above Re.

use super::finding::Finding;
use super::loudest::{Holder, largest_sine_v};
use super::side::{SideModel, SideResponse};
use crate::design::{Design, Side, Way, Ways};
use crate::grid::level_db;
use crate::model::driver::REFERENCE_PRESSURE_PA;
use crate::signal::programme::{CREST_FACTOR, Programme};
use std::f64::consts::SQRT_2;

/// What the noise does to a driver with the amplifier at its rated power.
#[derive(Debug, Clone, PartialEq)]
pub struct NoiseLoad {
    /// At its terminals, V rms.
    pub volts: f64,
    /// V²/Re, W.
    pub power_w: f64,
    /// Its rated noise power, W.
    pub rated_w: f64,
    /// Excursion, m rms.
    pub rms_m: f64,
    /// The same times the noise's crest factor, m one-way peak.
    pub peak_m: f64,
    /// Its Xmax, m.
    pub xmax_m: f64,
    /// Excursion in each third-octave band: middle of the band, Hz, and m rms.
    pub bands: Vec<(f64, f64)>,
}

/// Programme noise through a side.
#[derive(Debug, Clone, PartialEq)]
pub struct Noise {
    /// At the source with the amplifier at its rated power, V rms.
    pub source_v: f64,
    /// Peak over rms.
    pub crest_factor: f64,
    /// What it does to the drivers.
    pub drivers: Ways<NoiseLoad>,
    /// The most that amplifier and drivers take, V rms at the source.
    pub most_v: f64,
    /// What holds it there; the amplifier gives no higher peaks than those of its largest sine.
    pub held_by: Holder,
    /// Level of that noise at each seat, dB re 20 µPa.
    pub seats_db: Vec<(String, f64)>,
}

impl Noise {
    /// The noise through `side` with the response `response`.
    pub fn of(design: &Design, side: &Side, model: &SideModel, response: &SideResponse) -> Self {
        let programme = Programme::iec_60268_1();
        let grid = response.impedance.grid();
        let shares = programme.shares(grid, design.amplifier.cut_below_hz.unwrap_or(0.0));
        let source_v = design.amplifier.rated_v();
        let rms_m = model.excursion_m(&response.voltage, response.polarity, source_v / SQRT_2);
        let load = |way: Way| {
            let driver = &side.drivers.of(way).driver;
            let moves = shares.iter().zip(rms_m.of(way));
            let square: Vec<f64> = moves.map(|(s, x)| s * x * x).collect();
            let arrives = shares.iter().zip(response.voltage.of(way).values());
            let volts = source_v * arrives.map(|(s, h)| s * h.norm_sqr()).sum::<f64>().sqrt();
            let rms_m = square.iter().sum::<f64>().sqrt();
            let bands = programme.by_band(grid, &square).into_iter();
            NoiseLoad {
                volts,
                power_w: volts.powi(2) / driver.motor.re_ohm,
                rated_w: driver.limits.noise_power_w,
                rms_m,
                peak_m: CREST_FACTOR * rms_m,
                xmax_m: driver.limits.xmax_m,
                bands: bands.map(|(hz, square)| (hz, square.sqrt())).collect(),
            }
        };
        let drivers = Ways { woofer: load(Way::Woofer), tweeter: load(Way::Tweeter) };
        let (held_by, most_v) = most(design, source_v, &drivers);
        let level = |pressure: &[num_complex::Complex64]| {
            let square: f64 = shares.iter().zip(pressure).map(|(s, p)| s * p.norm_sqr()).sum();
            level_db(square.sqrt() * most_v / design.drive_v, REFERENCE_PRESSURE_PA)
        };
        let seats = response.seats.iter();
        let seats_db = seats.map(|s| (s.name.clone(), level(s.sum.values()))).collect();
        Self { source_v, crest_factor: CREST_FACTOR, drivers, most_v, held_by, seats_db }
    }

    /// What it asks care for.
    pub fn findings(&self, side: &str) -> Vec<Finding> {
        let mut findings = Vec::new();
        for way in Way::BOTH {
            let (load, way) = (self.drivers.of(way), way.word());
            if load.power_w > load.rated_w {
                findings.push(Finding::caution(
                    format!("{side} {way}"),
                    format!(
                        "gets {:.1} W of programme noise with the amplifier at its rated power and is rated for {:.1} W: keep programme under {:.1} V rms, or take a smaller amplifier",
                        load.power_w,
                        load.rated_w,
                        self.source_v * (load.rated_w / load.power_w).sqrt()
                    ),
                ));
            }
            if load.peak_m > load.xmax_m {
                findings.push(Finding::caution(
                    format!("{side} {way}"),
                    format!(
                        "moves {:.2} mm rms, {:.1} mm at the peaks, with programme noise at the amplifier's rated power (Xmax {:.1} mm)",
                        1e3 * load.rms_m,
                        1e3 * load.peak_m,
                        1e3 * load.xmax_m
                    ),
                ));
            }
        }
        findings
    }
}

/// The most noise that nothing is too little for, V rms at the source, and what holds it.
fn most(design: &Design, source_v: f64, drivers: &Ways<NoiseLoad>) -> (Holder, f64) {
    let amplifier_v = largest_sine_v(&design.amplifier) * SQRT_2 / CREST_FACTOR;
    let mut most = (Holder::Amplifier, amplifier_v.min(source_v));
    for way in Way::BOTH {
        let load = drivers.of(way);
        for (holder, times) in [
            (Holder::Travel(way), load.xmax_m / load.peak_m),
            (Holder::Heat(way), (load.rated_w / load.power_w).sqrt()),
        ] {
            if times * source_v < most.1 {
                most = (holder, times * source_v);
            }
        }
    }
    most
}
