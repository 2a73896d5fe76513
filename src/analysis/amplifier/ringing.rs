//! The output filter of a switching amplifier with the crossover behind it, up to 1 MHz: undamped it
//! rings above the audio band as soon as nothing loads it there.
//!
//! Above 20 kHz the drivers are their voice-coil models taken further, each in free air, whatever air
//! they share; a winding's capacitance and
//! the amplifier's own feedback are not in it.

use super::unplugged::Missing;
use crate::analysis::study::StudyError;
use crate::circuit::load::Load;
use crate::circuit::network::{Network, Node};
use crate::circuit::output_filter::{self, Damping, OutputFilter};
use crate::circuit::preferred::{Rule, Series};
use crate::circuit::solve;
use crate::design::{AMP_HOT, AMP_RETURN, Side, Ways};
use crate::grid::{Grid, Impedance, level_db};
use std::sync::Arc;

/// A higher peak above the band asks for damping, dB over the level at 1 kHz (common practice, no
/// source).
pub const MOST_PEAK_DB: f64 = 6.0;
/// Upper end of the audio band, Hz.
const BAND_HZ: f64 = 20_000.0;
/// Points from 10 Hz to 1 MHz.
const POINTS: usize = 1201;
/// Points around a peak, over two steps of the wide axis.
const NEAR_POINTS: usize = 81;
/// Capacitors of these multiples of the filter's own are tried for damping.
const RATIOS: [f64; 6] = [1.0, 2.0, 3.0, 4.0, 6.0, 8.0];

/// What is behind the filter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Behind {
    /// Crossover with both drivers.
    Everything,
    /// Crossover without a driver.
    Without(Missing),
    /// Nothing at all.
    Nothing,
}

impl Behind {
    /// All cases.
    pub const ALL: [Self; 5] = [
        Self::Everything,
        Self::Without(Missing::Tweeter),
        Self::Without(Missing::Woofer),
        Self::Without(Missing::Both),
        Self::Nothing,
    ];

    /// Words for it.
    pub fn words(self) -> &'static str {
        match self {
            Self::Everything => "everything connected",
            Self::Without(missing) => missing.words(),
            Self::Nothing => "nothing connected",
        }
    }

    /// The word for it in documents.
    pub fn key(self) -> &'static str {
        match self {
            Self::Everything => "everything",
            Self::Without(Missing::Woofer) => "without_woofer",
            Self::Without(Missing::Tweeter) => "without_tweeter",
            Self::Without(Missing::Both) => "without_drivers",
            Self::Nothing => "nothing",
        }
    }
}

/// The filter's response in one case.
#[derive(Debug, Clone, PartialEq)]
pub struct Response {
    /// What is behind it.
    pub behind: Behind,
    /// Level at the terminals over the stage's, dB, one value a frequency.
    pub level_db: Vec<f64>,
    /// Highest level above 20 kHz over that at 1 kHz, dB.
    pub peak_db: f64,
    /// Where, Hz.
    pub peak_hz: f64,
    /// Level at 20 kHz over that at 1 kHz, dB.
    pub at_20_khz_db: f64,
}

/// The filter in all cases.
#[derive(Debug, Clone, PartialEq)]
pub struct Ringing {
    /// Resonance of its coil and capacitor, Hz.
    pub resonance_hz: f64,
    /// The axis, Hz.
    pub frequency_hz: Vec<f64>,
    /// Each case.
    pub cases: Vec<Response>,
    /// What damps it, where it needs damping: a resistor and a capacitor of preferred values on each
    /// output, and the highest peak then, dB.
    pub cure: Option<(Damping, f64)>,
}

impl Ringing {
    /// `filter` ahead of `network` with the drivers of `side`.
    ///
    /// # Errors
    /// What the solver finds wrong with the network.
    pub fn of(
        filter: &OutputFilter,
        bridged: bool,
        network: &Network,
        side: &Side,
    ) -> Result<Self, StudyError> {
        let wide = Grid::log(10.0, 1e6, POINTS)?;
        let feed = Feed { network, bridged, side, wide };
        let cases = Behind::ALL.into_iter().map(|behind| feed.response(filter, behind));
        let cases = cases.collect::<Result<Vec<_>, _>>()?;
        let mut ringing = Self {
            resonance_hz: filter.resonance_hz(),
            frequency_hz: feed.wide.frequency_hz().to_vec(),
            cases,
            cure: None,
        };
        if ringing.worst().is_some_and(|worst| worst.peak_db > MOST_PEAK_DB) {
            ringing.cure = feed.cure(filter)?;
        }
        Ok(ringing)
    }

    /// The case with the highest peak.
    pub fn worst(&self) -> Option<&Response> {
        self.cases.iter().max_by(|a, b| a.peak_db.total_cmp(&b.peak_db))
    }
}

/// What a filter is ahead of.
struct Feed<'a> {
    network: &'a Network,
    bridged: bool,
    side: &'a Side,
    wide: Arc<Grid>,
}

impl Feed<'_> {
    fn response(&self, filter: &OutputFilter, behind: Behind) -> Result<Response, StudyError> {
        let level = self.level_db(filter, behind, &self.wide)?;
        let hz = self.wide.frequency_hz();
        let at = |f: f64| hz.partition_point(|g| *g < f).min(hz.len() - 1);
        let above = at(BAND_HZ)..hz.len();
        let top = above.max_by(|&a, &b| level[a].total_cmp(&level[b])).unwrap_or(hz.len() - 1);
        let (low, high) = (hz[top - 1].max(BAND_HZ), hz[(top + 1).min(hz.len() - 1)]);
        let near = Grid::log(low, high.max(1.001 * low), NEAR_POINTS)?;
        let close = self.level_db(filter, behind, &near)?;
        let peak = (0..close.len()).max_by(|&a, &b| close[a].total_cmp(&close[b])).unwrap_or(0);
        let reference_db = level[at(1000.0)];
        Ok(Response {
            behind,
            peak_db: close[peak] - reference_db,
            peak_hz: near.frequency_hz()[peak],
            at_20_khz_db: level[at(BAND_HZ)] - reference_db,
            level_db: level,
        })
    }

    fn level_db(
        &self,
        filter: &OutputFilter,
        behind: Behind,
        grid: &Arc<Grid>,
    ) -> Result<Vec<f64>, StudyError> {
        let bare = Network::new(AMP_HOT, AMP_RETURN);
        let fed = if behind == Behind::Nothing { &bare } else { self.network };
        let mut whole = filter.ahead_of(fed, self.bridged);
        let terminals = [Node::INPUT, Node::RETURN].map(|n| whole.node(fed.name(n)));
        let drivers = Ways {
            woofer: self.side.drivers.woofer.driver.respond(grid, None).impedance,
            tweeter: self.side.drivers.tweeter.driver.respond(grid, None).impedance,
        };
        let ports: Vec<Option<&Impedance>> = match behind {
            Behind::Everything => vec![Some(&drivers.woofer), Some(&drivers.tweeter)],
            Behind::Without(missing) => missing.ports(&drivers).to_vec(),
            Behind::Nothing => Vec::new(),
        };
        let load = Load::diagonal(grid, &ports);
        let across = solve::solve(&whole, grid, &load)?.between(terminals);
        Ok(across.magnitude().into_iter().map(|v| level_db(v, 1.0)).collect())
    }

    /// The smallest damping capacitor, with its best resistor, that keeps every peak low enough; the
    /// largest where none does.
    fn cure(&self, filter: &OutputFilter) -> Result<Option<(Damping, f64)>, StudyError> {
        let mut best = None;
        for ratio in RATIOS {
            let (exact, _) = output_filter::best_damping(filter, ratio);
            let preferred = |series: Series, value: f64| series.nearest(value, Rule::Ratio).ok();
            let values = preferred(Series::E6, exact.farad).zip(preferred(Series::E12, exact.ohm));
            let Some((farad, ohm)) = values else { continue };
            let damping = Damping { farad, ohm };
            let damped = OutputFilter { damping: Some(damping), ..*filter };
            let mut peak_db = f64::NEG_INFINITY;
            for behind in Behind::ALL {
                peak_db = peak_db.max(self.response(&damped, behind)?.peak_db);
            }
            best = Some((damping, peak_db));
            if peak_db <= MOST_PEAK_DB {
                break;
            }
        }
        Ok(best)
    }
}
