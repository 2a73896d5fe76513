//! Parts rules, purchase, and the production run.

use crate::circuit::network::Component;
use crate::circuit::preferred::Series;

/// Something for each kind of part.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Kinds<T> {
    /// Resistors.
    pub resistor: T,
    /// Coils.
    pub inductor: T,
    /// Capacitors.
    pub capacitor: T,
}

impl<T: Copy> Kinds<T> {
    /// The one for `component`.
    pub fn of(&self, component: &Component) -> T {
        match component {
            Component::Resistor { .. } => self.resistor,
            Component::Inductor { .. } => self.inductor,
            Component::Capacitor { .. } => self.capacitor,
        }
    }
}

/// The signal that a panel's parts have to stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BuiltFor {
    /// Programme noise (IEC 60268-1) of the amplifier's rated voltage.
    Programme,
    /// A sine of that voltage, anywhere in the band.
    Sine,
}

/// Which values the verdicts are made for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Values {
    /// As computed.
    Exact,
    /// As bought: preferred values.
    Chosen,
}

/// What real parts are like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PartsRules {
    /// Preferred series of each kind (IEC 60063).
    pub series: Kinds<Series>,
    /// Two parts are combined where a single one misses by more than this, %, and two come nearer;
    /// `None`: never.
    pub pairs_above_percent: Option<f64>,
    /// Which values are simulated for the verdicts.
    pub values: Values,
    /// Winding resistance of a 1 mH coil, Ω; others go with √L (the same wire: turns as √L,
    /// common practice, no source).
    pub coil_dcr_at_1mh_ohm: f64,
    /// Series resistance of each capacitor, Ω.
    pub capacitor_esr_ohm: f64,
    /// Air around the board when the panel plays, °C.
    pub ambient_c: f64,
}

impl PartsRules {
    /// Winding resistance of a coil of `henry`, Ω.
    pub fn coil_dcr_ohm(&self, henry: f64) -> f64 {
        self.coil_dcr_at_1mh_ohm * (henry / 1e-3).sqrt()
    }
}

/// What is bought and what it costs; all prices in one currency.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Purchase {
    /// The currency, where there is any price.
    pub currency: Option<String>,
    /// Price of one part of each kind, where known.
    pub prices: Kinds<Option<f64>>,
    /// Amplifier, connectors, wire and whatever else comes along.
    pub extras: Vec<Extra>,
}

/// Something the user lists for each panel.
#[derive(Debug, Clone, PartialEq)]
pub struct Extra {
    /// What it is.
    pub name: String,
    /// How many (or how much) a panel needs.
    pub per_panel: f64,
    /// What it is counted in ("piece", "m").
    pub unit: String,
    /// Price of one unit, where known.
    pub price: Option<f64>,
}

/// The window that a unit must stay in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// Lowest frequency, Hz.
    pub from_hz: f64,
    /// Highest frequency, Hz.
    pub to_hz: f64,
    /// Allowed above the mean level of the window's band, dB.
    pub plus_db: f64,
    /// Allowed below it, dB.
    pub minus_db: f64,
}

/// The production run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run {
    /// Panels to build.
    pub units: u32,
    /// Spare parts to order on top, %.
    pub spares_percent: f64,
    /// Acceptance window, where there is one.
    pub window: Option<Window>,
}

impl Run {
    /// Enough of what a panel needs `per_panel` of, for all panels with spares; pieces are whole.
    pub fn needs(&self, per_panel: f64, pieces: bool) -> f64 {
        let needed = per_panel * f64::from(self.units) * (1.0 + self.spares_percent / 100.0);
        // 309.0000001 is 309: products of decimals are not exact.
        // … and 17.304 m are not 17.304000000000002.
        if pieces { (needed - 1e-9).ceil() } else { (needed * 1e9).round() / 1e9 }
    }
}
