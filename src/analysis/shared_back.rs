//! What the pressure in the woofer's cavity does to a tweeter whose back is open to it.

use super::finding::Finding;
use super::side::{SideModel, SideResponse};
use crate::design::{Design, Side};
use crate::grid::{Impedance, level_db};
use crate::units;

/// Less than this is not told as added, dB.
const QUIET_DB: f64 = 1.0;

/// What takes no account of it, for the reader of the result.
const LEFT_OUT: &str = "Where to put the woofer, the review of back and face, the output filter above the band and circuit.cir leave its motion in the cavity out";

/// A tweeter in the woofer's air, with a sine of the amplifier's rated voltage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SharedBack {
    /// Its largest peak excursion in the driven band, m.
    pub peak_m: f64,
    /// Where that is, Hz.
    pub at_hz: f64,
    /// The largest that its own voltage alone would make, m, and where, Hz.
    pub alone_m: f64,
    /// Where that is, Hz.
    pub alone_at_hz: f64,
    /// Its Xmax, m.
    pub xmax_m: f64,
    /// The most that either driver's current does to the other's voltage: |Z12|² over |Z11 Z22|.
    pub coupling: f64,
}

impl SharedBack {
    /// Of `side` with the response `response`; `None` for a tweeter closed at its back.
    pub fn of(
        design: &Design,
        side: &Side,
        model: &SideModel,
        response: &SideResponse,
    ) -> Option<Self> {
        let mutual = model.impedance.mutual.as_ref()?;
        let grid = response.impedance.grid();
        let hz = grid.frequency_hz();
        let rated_v = design.amplifier.rated_v();
        let both = model.excursion_m(&response.voltage, response.polarity, rated_v).tweeter;
        let alone = model.alone_m(&response.voltage, rated_v).tweeter;
        let driven = grid.within(design.amplifier.cut_below_hz.unwrap_or(0.0), f64::INFINITY);
        let most = |x: &[f64]| driven.clone().max_by(|&a, &b| x[a].total_cmp(&x[b]));
        let (at, alone_at) = (most(&both)?, most(&alone)?);
        let shares = |own: &Impedance, other: &Impedance| {
            let pairs = own.values().iter().zip(other.values()).zip(mutual.values());
            pairs.map(|((a, b), m)| m.norm_sqr() / (a * b).norm()).fold(0.0, f64::max)
        };
        Some(Self {
            peak_m: both[at],
            at_hz: hz[at],
            alone_m: alone[alone_at],
            alone_at_hz: hz[alone_at],
            xmax_m: side.drivers.tweeter.driver.limits.xmax_m,
            coupling: shares(&model.impedance.woofer, &model.impedance.tweeter),
        })
    }

    /// What the woofer's pressure adds to the tweeter's largest excursion, dB.
    pub fn added_db(&self) -> f64 {
        level_db(self.peak_m, self.alone_m.max(f64::MIN_POSITIVE))
    }

    /// It in words.
    pub fn words(&self, rated_v: f64) -> String {
        let (peak_mm, alone_mm) = (1e3 * self.peak_m, 1e3 * self.alone_m);
        let moves = format!(
            "with {rated_v:.1} V it moves {} mm at {} (Xmax {:.2} mm)",
            units::significant(peak_mm, 2),
            units::hertz(self.at_hz),
            1e3 * self.xmax_m
        );
        let alone = format!(
            "by its own voltage at most {} mm, at {}",
            units::significant(alone_mm, 2),
            units::hertz(self.alone_at_hz)
        );
        if self.added_db() > QUIET_DB {
            let added_db = self.added_db();
            format!("{moves}, pushed by the woofer's pressure; {alone}, {added_db:.0} dB less")
        } else {
            format!("{moves}; the woofer's pressure adds next to nothing to that")
        }
    }

    /// What it asks care for.
    pub fn finding(&self, side: &str, rated_v: f64) -> Finding {
        let subject = format!("{side} tweeter");
        let text =
            format!("its back is open to the woofer's cavity: {}. {LEFT_OUT}", self.words(rated_v));
        if self.peak_m > self.xmax_m && self.alone_m <= self.xmax_m {
            let cure = "Close its back, give it a chamber of its own, or cut the lows";
            Finding::caution(subject, format!("{text}. {cure}"))
        } else {
            Finding::note(subject, text)
        }
    }
}
