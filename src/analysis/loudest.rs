//! How loud a side can be with a sine: at each frequency the smallest of what the amplifier gives,
//! what the cones may travel and what the coils may take.
//!
//! Travel: the voltage that brings a cone to Xmax, one-way peak, on its real impedance in its
//! network (Small 1972, displacement-limited rating, taken frequency by frequency). Heat: E²/Re at
//! the driver's terminals up to its rated noise power, as ratings are told (Small's thermal limit).

use super::side::{SeatResponse, SideModel, SideResponse};
use crate::design::{Amplifier, Design, Side, Way};
use crate::grid::level_db;
use crate::model::driver::REFERENCE_PRESSURE_PA;

/// What holds the level.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holder {
    /// Rated power or supply of the amplifier.
    Amplifier,
    /// Xmax of a driver.
    Travel(Way),
    /// Rated noise power of a driver.
    Heat(Way),
}

impl Holder {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Amplifier,
        Self::Travel(Way::Woofer),
        Self::Heat(Way::Woofer),
        Self::Travel(Way::Tweeter),
        Self::Heat(Way::Tweeter),
    ];

    /// Words for it in a sentence: "the woofer's travel".
    pub fn words(self) -> &'static str {
        match self {
            Self::Amplifier => "the amplifier",
            Self::Travel(Way::Woofer) => "the woofer's travel",
            Self::Travel(Way::Tweeter) => "the tweeter's travel",
            Self::Heat(Way::Woofer) => "the woofer's heat",
            Self::Heat(Way::Tweeter) => "the tweeter's heat",
        }
    }

    /// The word for it in documents.
    pub fn key(self) -> &'static str {
        match self {
            Self::Amplifier => "amplifier",
            Self::Travel(Way::Woofer) => "woofer_travel",
            Self::Travel(Way::Tweeter) => "tweeter_travel",
            Self::Heat(Way::Woofer) => "woofer_heat",
            Self::Heat(Way::Tweeter) => "tweeter_heat",
        }
    }
}

/// A stretch of the band and what holds the level there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// From here, Hz.
    pub from_hz: f64,
    /// To here, Hz.
    pub to_hz: f64,
    /// What binds.
    pub holder: Holder,
}

/// Largest sine and what it comes to, one value a grid point.
#[derive(Debug, Clone, PartialEq)]
pub struct Loudest {
    /// The axis, Hz.
    pub frequency_hz: Vec<f64>,
    /// Largest sine at the source, V rms.
    pub volts: Vec<f64>,
    /// What holds it there.
    pub held_by: Vec<Holder>,
    /// The sine that each limit alone allows, V rms.
    pub allowed_v: Vec<(Holder, Vec<f64>)>,
    /// Level of the largest sine at each seat, dB re 20 µPa.
    pub seats_db: Vec<(String, Vec<f64>)>,
    /// The same towards the first seat with each driver 1 m away, dB re 20 µPa.
    pub at_1m_db: Vec<f64>,
    /// The first seat's level for 1 V at the source, dB re 20 µPa.
    pub per_volt_db: Vec<f64>,
    /// Where which limit binds, over the band that is driven.
    pub stretches: Vec<Stretch>,
}

/// Largest sine of an amplifier, V rms: its rating, or what its supply allows.
pub fn largest_sine_v(amplifier: &Amplifier) -> f64 {
    amplifier.supply_limit_v().unwrap_or(f64::INFINITY).min(amplifier.rated_v())
}

impl Loudest {
    /// The limits of `side` through a network with the response `response`.
    pub fn of(design: &Design, side: &Side, model: &SideModel, response: &SideResponse) -> Self {
        let hz = response.impedance.grid().frequency_hz().to_vec();
        let allowed_v = allowed_v(design, side, model, response);
        let tightest = |i: usize| {
            let at = |(holder, volts): &(Holder, Vec<f64>)| (*holder, volts[i]);
            let smaller = |a: (Holder, f64), b: (Holder, f64)| if b.1 < a.1 { b } else { a };
            allowed_v.iter().map(at).reduce(smaller).unwrap_or((Holder::Amplifier, 0.0))
        };
        let (held_by, volts): (Vec<Holder>, Vec<f64>) = (0..hz.len()).map(tightest).unzip();
        let level = |pa: f64, v: f64| level_db(pa * v / design.drive_v, REFERENCE_PRESSURE_PA);
        let loud = |seat: &SeatResponse| {
            let pairs = seat.sum.values().iter().zip(&volts);
            (seat.name.clone(), pairs.map(|(p, v)| level(p.norm(), *v)).collect())
        };
        let (mut at_1m_db, mut per_volt_db) = (Vec::new(), Vec::new());
        if let Some(seat) = response.seats.first() {
            let ways = seat.woofer.values().iter().zip(seat.tweeter.values());
            for ((woofer, tweeter), v) in ways.zip(&volts) {
                let near = woofer * seat.distance_m.woofer + tweeter * seat.distance_m.tweeter;
                at_1m_db.push(level(near.norm(), *v));
                per_volt_db.push(level((woofer + tweeter).norm(), 1.0));
            }
        }
        let cut_hz = design.amplifier.cut_below_hz.unwrap_or(0.0);
        Self {
            seats_db: response.seats.iter().map(loud).collect(),
            stretches: stretches(&hz, &held_by, cut_hz),
            frequency_hz: hz,
            volts,
            held_by,
            allowed_v,
            at_1m_db,
            per_volt_db,
        }
    }

    /// Index of the first point at or above `hz`, or of the last.
    pub fn near(&self, hz: f64) -> usize {
        self.frequency_hz.partition_point(|f| *f < hz).min(self.frequency_hz.len() - 1)
    }

    /// Level at seat `seat` of the largest sine nearest to `hz`, dB re 20 µPa.
    pub fn level_near_db(&self, seat: usize, hz: f64) -> Option<f64> {
        self.seats_db.get(seat)?.1.get(self.near(hz)).copied()
    }
}

/// The sine at the source that each limit allows, V rms.
fn allowed_v(
    design: &Design,
    side: &Side,
    model: &SideModel,
    response: &SideResponse,
) -> Vec<(Holder, Vec<f64>)> {
    // What a way that gets next to nothing may be driven with, V.
    const ANY_V: f64 = 1e6;
    let within = |allowed: f64, per_volt: f64| (allowed / per_volt.max(1e-300)).min(ANY_V);
    let per_volt_m = model.excursion_m(&response.voltage, response.polarity, 1.0);
    let amplifier = vec![largest_sine_v(&design.amplifier); per_volt_m.woofer.len()];
    let mut allowed = vec![(Holder::Amplifier, amplifier)];
    for way in Way::BOTH {
        let driver = &side.drivers.of(way).driver;
        let rated_v = (driver.limits.noise_power_w * driver.motor.re_ohm).sqrt();
        let travel = per_volt_m.of(way).iter().map(|x| within(driver.limits.xmax_m, *x));
        let gain = response.voltage.of(way).values().iter();
        allowed.push((Holder::Travel(way), travel.collect()));
        allowed.push((Holder::Heat(way), gain.map(|h| within(rated_v, h.norm())).collect()));
    }
    allowed
}

fn stretches(hz: &[f64], held_by: &[Holder], cut_hz: f64) -> Vec<Stretch> {
    let mut found: Vec<Stretch> = Vec::new();
    for (f, holder) in hz.iter().zip(held_by).filter(|(f, _)| **f >= cut_hz) {
        match found.last_mut() {
            Some(last) if last.holder == *holder => last.to_hz = *f,
            _ => found.push(Stretch { from_hz: *f, to_hz: *f, holder: *holder }),
        }
    }
    found
}
