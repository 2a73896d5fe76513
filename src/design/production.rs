//! What a production run scatters, what a unit has to keep to be accepted, and how it ages.

use super::Window;
use std::sync::Arc;

/// How values lie within their limits.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// Flat between the limits: what is left of a batch whose best parts were sold as better ones.
    Uniform,
    /// Normal with a third of the limit as its standard deviation, nothing beyond the limit.
    Normal,
    /// As measured: deviations from nominal in percent, rising; the limit is not used.
    Measured(Arc<[f64]>),
}

/// How one thing scatters around its nominal value.
#[derive(Debug, Clone, PartialEq)]
pub struct Scatter {
    /// The distribution.
    pub shape: Shape,
    /// Largest deviation, % of nominal.
    pub limit_percent: f64,
    /// Share of the variance that all units of a run have in common (one reel, one batch), 0 to 1.
    pub lot_share: f64,
}

impl Scatter {
    /// Flat within ± `limit_percent`, each unit for itself.
    pub fn uniform(limit_percent: f64) -> Self {
        Self { shape: Shape::Uniform, limit_percent, lot_share: 0.0 }
    }
}

/// The scatter of one part of the crossover by its reference.
#[derive(Debug, Clone, PartialEq)]
pub struct PartScatter {
    /// The reference ("C1").
    pub reference: String,
    /// How it scatters.
    pub scatter: Scatter,
}

/// Everything that scatters in a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Spreads {
    /// Parts of each kind; the limit counts where neither an article nor the part has its own.
    pub resistor: Scatter,
    /// Coils.
    pub inductor: Scatter,
    /// Capacitors.
    pub capacitor: Scatter,
    /// Parts with a scatter of their own.
    pub own: Vec<PartScatter>,
    /// The parts of the two sides of a unit are paired so that they differ by no more than this, %;
    /// `None`: taken as they come.
    pub matched_percent: Option<f64>,
    /// Share of the drivers' variance that is common to a batch, 0 to 1.
    pub driver_lot_share: f64,
    /// Depth of the cavity.
    pub cavity: Scatter,
    /// What the fill does.
    pub fill: Scatter,
    /// Temperature of the room that a unit is in, ± K around the design's, evenly spread.
    pub temperature_k: f64,
}

impl Spreads {
    /// The scatter of parts of the kind with this letter.
    pub fn of_kind(&self, letter: char) -> &Scatter {
        match letter {
            'R' => &self.resistor,
            'L' => &self.inductor,
            _ => &self.capacitor,
        }
    }
}

impl Default for Spreads {
    /// Parts within 5 %, cavities within 2 %, fill within 15 %, drivers half by batch: common
    /// practice, no source.
    fn default() -> Self {
        let part = Scatter { lot_share: 0.3, ..Scatter::uniform(5.0) };
        Self {
            resistor: part.clone(),
            inductor: part.clone(),
            capacitor: part,
            own: Vec::new(),
            matched_percent: None,
            driver_lot_share: 0.5,
            cavity: Scatter { lot_share: 0.5, ..Scatter::uniform(2.0) },
            fill: Scatter { lot_share: 0.5, ..Scatter::uniform(15.0) },
            temperature_k: 5.0,
        }
    }
}

/// What the window of acceptance is laid around.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum About {
    /// A flat line at the unit's mean level.
    Flat,
    /// The response of the design.
    Design,
}

/// What a unit has to keep.
#[derive(Debug, Clone, PartialEq)]
pub struct Acceptance {
    /// What the window is laid around.
    pub about: About,
    /// Corners of the window: frequency (Hz, rising), allowed above and below (dB); straight over
    /// the logarithm of frequency between them.
    pub window: Vec<(f64, f64, f64)>,
    /// Largest departure of the mean level over the window from the design's, dB.
    pub level_db: Option<f64>,
    /// Largest difference between the deviations of the two sides of a unit, dB.
    pub pair_db: Option<f64>,
    /// Lowest impedance allowed, Ω.
    pub lowest_ohm: f64,
}

impl Acceptance {
    /// The window of a design that says no more, and the amplifier's lowest load.
    pub fn of_window(window: &Window, lowest_ohm: f64) -> Self {
        let corner = |hz| (hz, window.plus_db, window.minus_db);
        Self {
            about: About::Flat,
            window: vec![corner(window.from_hz), corner(window.to_hz)],
            level_db: None,
            pair_db: None,
            lowest_ohm,
        }
    }

    /// Lowest and highest frequency of the window, Hz.
    pub fn band_hz(&self) -> (f64, f64) {
        let hz = |corner: Option<&(f64, f64, f64)>| corner.map_or(0.0, |c| c.0);
        (hz(self.window.first()), hz(self.window.last()))
    }

    /// Allowed above and below at `hz` within the band, dB.
    pub fn limits_at(&self, hz: f64) -> (f64, f64) {
        let next = self.window.iter().position(|c| c.0 >= hz);
        let last = self.window.len().saturating_sub(1);
        let next = next.unwrap_or(last);
        let (a, b) = (self.window[next.saturating_sub(1)], self.window[next]);
        let share = if b.0 > a.0 { (hz / a.0).ln() / (b.0 / a.0).ln() } else { 1.0 };
        let share = share.clamp(0.0, 1.0);
        (a.1 + share * (b.1 - a.1), a.2 + share * (b.2 - a.2))
    }
}

/// What years do to a unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Ageing {
    /// Capacitance that electrolytic capacitors lose, %.
    pub capacitor_loss_percent: f64,
    /// Factor on their series resistance.
    pub esr_factor: f64,
    /// References of the electrolytic capacitors beside those that the stock calls so.
    pub capacitors: Vec<String>,
    /// What the fill loses of its effect, %.
    pub fill_loss_percent: f64,
    /// How much softer suspensions become, %.
    pub compliance_rise_percent: f64,
}

impl Default for Ageing {
    /// A tenth less capacitance and half as much resistance again for bipolar electrolytics, a
    /// tenth off the foam, suspensions 5 % softer: common practice, no source.
    fn default() -> Self {
        Self {
            capacitor_loss_percent: 10.0,
            esr_factor: 1.5,
            capacitors: Vec::new(),
            fill_loss_percent: 10.0,
            compliance_rise_percent: 5.0,
        }
    }
}

/// A tolerance that parts of a kind can be had in, where no stock says so.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToleranceClass {
    /// The kind's letter, R, L or C.
    pub letter: char,
    /// The tolerance, %.
    pub percent: f64,
    /// Price of one.
    pub price: f64,
}

/// What a design says of its production beside the number of units.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Production {
    /// What a unit has to keep, where it is stated.
    pub acceptance: Option<Acceptance>,
    /// What scatters.
    pub spreads: Spreads,
    /// What years do.
    pub ageing: Ageing,
    /// Tolerances that parts can be had in.
    pub classes: Vec<ToleranceClass>,
}

impl Production {
    /// Tolerances of a kind, widest first.
    pub fn classes_of(&self, letter: char) -> Vec<ToleranceClass> {
        let mut classes: Vec<_> =
            self.classes.iter().filter(|c| c.letter == letter).copied().collect();
        classes.sort_by(|a, b| b.percent.total_cmp(&a.percent));
        classes
    }
}
