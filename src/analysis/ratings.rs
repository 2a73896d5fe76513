//! What every part has to stand: under the worst sine of the amplifier's rated voltage, and under
//! programme noise of that voltage (IEC 60268-1), from the network at work.
//!
//! Peaks: √2 of a sine's rms, and of noise the crest factor 2 (IEC 60268-5, from memory) of the rms
//! at the part; what a filter passes can peak a little higher than that, which the margins cover.

use super::finding::Finding;
use super::need::Need;
use super::side::{SideModel, prepend_source};
use super::synthesis::{TWEETER, WOOFER};
use crate::circuit::flows::Flow;
use crate::circuit::ladder::Polarity;
use crate::circuit::network::{Component, Network};
use crate::circuit::solve::SolveError;
use crate::design::{BuiltFor, Design, Side, Way, Ways};
use crate::signal::programme::{CREST_FACTOR, Programme};
use std::f64::consts::SQRT_2;

/// A largest value and the frequency of the sine that makes it; noise has none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Most {
    /// V, A or W.
    pub value: f64,
    /// Frequency, Hz.
    pub at_hz: Option<f64>,
}

/// What a part or driver bears under one signal; each at its own worst frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stress {
    /// Across it, V rms.
    pub volts: Most,
    /// Through it, A rms.
    pub amps: Most,
    /// Turned into heat or handed on, W.
    pub power: Most,
    /// Peak over rms of the signal.
    pub crest_factor: f64,
}

impl Stress {
    /// Highest voltage, V.
    pub fn peak_v(&self) -> f64 {
        self.volts.value * self.crest_factor
    }

    /// Highest current, A.
    pub fn peak_a(&self) -> f64 {
        self.amps.value * self.crest_factor
    }
}

/// Under both signals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Both {
    /// Under the worst sine.
    pub sine: Stress,
    /// Under programme noise.
    pub programme: Stress,
}

impl Both {
    /// Under the signal that the panel is built for.
    pub fn under(&self, signal: BuiltFor) -> &Stress {
        match signal {
            BuiltFor::Programme => &self.programme,
            BuiltFor::Sine => &self.sine,
        }
    }
}

/// A part's stress and what to ask for.
#[derive(Debug, Clone, PartialEq)]
pub struct PartRating {
    /// Reference name.
    pub reference: String,
    /// The part.
    pub component: Component,
    /// What it bears.
    pub stress: Both,
    /// What to ask for.
    pub need: Need,
}

/// A driver's share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DriverRating {
    /// Taken at its terminals.
    pub stress: Both,
    /// V²/Re under the noise, as its rating is told, W.
    pub programme_w: f64,
    /// Rated noise power, W.
    pub rated_w: f64,
}

/// Where the power of the noise goes, W.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Balance {
    /// Out of the amplifier's stiff source.
    pub source_w: f64,
    /// Heat in its output and cable.
    pub output_w: f64,
    /// Heat in the network's parts.
    pub parts_w: f64,
    /// Taken by the drivers.
    pub drivers_w: f64,
}

/// Every part of a side.
#[derive(Debug, Clone, PartialEq)]
pub struct Ratings {
    /// At the source, V rms, for either signal.
    pub source_v: f64,
    /// Where the sine was sought and the noise lies, Hz.
    pub band_hz: (f64, f64),
    /// Which of the two the needs are for.
    pub built_for: BuiltFor,
    /// Air around the board, °C.
    pub ambient_c: f64,
    /// In the order of the network.
    pub parts: Vec<PartRating>,
    /// The drivers.
    pub drivers: Ways<DriverRating>,
    /// Of the noise.
    pub balance: Balance,
}

/// Makes stresses from flows.
struct Weigher {
    source_v: f64,
    hz: Vec<f64>,
    from: usize,
    shares: Vec<f64>,
}

impl Weigher {
    fn of(&self, flow: &Flow, power_w: &[f64]) -> Both {
        let square = |values: &[num_complex::Complex64]| -> Vec<f64> {
            values.iter().map(num_complex::Complex64::norm_sqr).collect()
        };
        let (volts, amps) = (square(&flow.voltage), square(&flow.current));
        let root = |most: Most| Most { value: most.value.sqrt(), ..most };
        let stress = |pick: &dyn Fn(&[f64]) -> Most, crest_factor| Stress {
            volts: root(pick(&volts)),
            amps: root(pick(&amps)),
            power: pick(power_w),
            crest_factor,
        };
        Both {
            sine: stress(&|values| self.worst(values), SQRT_2),
            programme: stress(&|values| self.mean(values), CREST_FACTOR),
        }
    }

    /// The largest of `values` (per V² of the source) over the band.
    fn worst(&self, values: &[f64]) -> Most {
        let pairs = self.hz.iter().zip(values).skip(self.from);
        let most = pairs.max_by(|a, b| a.1.total_cmp(b.1));
        let (hz, value) = most.map_or((0.0, 0.0), |(hz, v)| (*hz, *v));
        Most { value: value * self.source_v.powi(2), at_hz: Some(hz) }
    }

    /// Their mean over the noise.
    fn mean(&self, values: &[f64]) -> Most {
        let sum: f64 = self.shares.iter().zip(values).map(|(s, v)| s * v).sum();
        Most { value: sum * self.source_v.powi(2), at_hz: None }
    }
}

impl Ratings {
    /// Of `side` through `network`, the tweeter connected as `polarity` says.
    ///
    /// # Errors
    /// What the solver finds wrong with the network.
    pub fn of(
        design: &Design,
        side: &Side,
        model: &SideModel,
        network: &Network,
        polarity: Polarity,
    ) -> Result<Self, SolveError> {
        let amplifier = &design.amplifier;
        let mut whole = network.clone();
        if amplifier.output_ohm > 0.0 {
            prepend_source(&mut whole, amplifier.output_ohm);
        }
        let flows = model.flows(&whole, polarity)?;
        let grid = model.impedance.grid();
        let hz = grid.frequency_hz().to_vec();
        let cut_hz = amplifier.cut_below_hz.unwrap_or(0.0);
        let from = hz.partition_point(|f| *f < cut_hz).min(hz.len() - 1);
        let shares = Programme::iec_60268_1().shares(grid, cut_hz);
        let band_hz = (hz[from], hz[hz.len() - 1]);
        let weigh = Weigher { source_v: amplifier.rated_v(), hz, from, shares };
        let (built_for, ambient_c) = (amplifier.built_for, design.parts.ambient_c);
        let parts = network.parts.iter().enumerate().map(|(k, part)| {
            let stress = weigh.of(&flows.parts[k], &flows.heat_w[k]);
            PartRating {
                reference: part.reference.clone(),
                component: part.component,
                stress,
                need: Need::of(&part.component, stress.under(built_for), ambient_c),
            }
        });
        let driver = |way: Way, port: usize| {
            let driver = &side.drivers.of(way).driver;
            let stress = weigh.of(&flows.ports[port], &flows.ports[port].power_w());
            DriverRating {
                stress,
                programme_w: stress.programme.volts.value.powi(2) / driver.motor.re_ohm,
                rated_w: driver.limits.noise_power_w,
            }
        };
        let drivers =
            Ways { woofer: driver(Way::Woofer, WOOFER), tweeter: driver(Way::Tweeter, TWEETER) };
        let parts: Vec<PartRating> = parts.collect();
        let heat = |k: usize| weigh.mean(&flows.heat_w[k]).value;
        let taken = Way::BOTH.map(|way| drivers.of(way).stress.programme.power.value);
        let balance = Balance {
            source_w: weigh.mean(&flows.source_w()).value,
            output_w: (network.parts.len()..whole.parts.len()).map(heat).sum(),
            parts_w: (0..network.parts.len()).map(heat).sum(),
            drivers_w: taken.iter().sum(),
        };
        let source_v = weigh.source_v;
        Ok(Self { source_v, band_hz, built_for, ambient_c, parts, drivers, balance })
    }

    /// The rating of a part.
    pub fn of_part(&self, reference: &str) -> Option<&PartRating> {
        self.parts.iter().find(|p| p.reference == reference)
    }

    /// What no usual part stands.
    pub fn findings(&self, side: &str) -> Vec<Finding> {
        let told = self.parts.iter().filter_map(|part| {
            let subject = format!("{side} {}", part.reference);
            Some(Finding::caution(subject, part.need.beyond()?))
        });
        told.collect()
    }
}
