//! Parts that can be bought: a maker's or dealer's list, as plain data.

use crate::circuit::network::Component;
use std::sync::Arc;

/// How much a part stands, in the unit of its kind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rating {
    /// Power of a resistor, W.
    PowerW(f64),
    /// Current of a coil, A.
    CurrentA(f64),
    /// Voltage of a capacitor, V.
    VoltageV(f64),
}

/// One part that can be bought.
#[derive(Debug, Clone, PartialEq)]
pub struct Article {
    /// Order code.
    pub code: String,
    /// What it is made as ("air core", "film").
    pub family: String,
    /// Value and loss.
    pub component: Component,
    /// Tolerance, %.
    pub tolerance_percent: Option<f64>,
    /// What it stands.
    pub rating: Option<Rating>,
    /// Current from which a cored coil saturates, A, where it is told apart.
    pub saturation_a: Option<f64>,
    /// Ripple current of a capacitor, A rms.
    pub ripple_a: Option<f64>,
    /// Size or case ("axial 10 x 30").
    pub package: Option<String>,
    /// Price of one from so many pieces on, rising in pieces; empty where it is not known.
    pub prices: Vec<(u32, f64)>,
    /// Height above the board, m.
    pub height_m: Option<f64>,
    /// Pieces there are, where known.
    pub in_stock: Option<u32>,
}

impl Article {
    /// Whether a coil has a core that saturates: its family does not say air.
    pub fn is_cored(&self) -> bool {
        self.component.letter() == 'L' && !self.family.to_lowercase().contains("air")
    }

    /// Price of one where `pieces` are ordered; fewer than the first step asks for cost what that
    /// step costs.
    pub fn price_at(&self, pieces: f64) -> Option<f64> {
        let reached = self.prices.iter().rev().find(|(from, _)| f64::from(*from) <= pieces);
        reached.or(self.prices.first()).map(|(_, price)| *price)
    }
}

/// What a design's parts are chosen from.
#[derive(Debug, Clone, PartialEq)]
pub struct Stock {
    /// What it is called.
    pub name: String,
    /// The file it came from, as the design names it.
    pub file: String,
    /// Currency of its prices.
    pub currency: Option<String>,
    /// The parts that the design's rules allow.
    pub articles: Vec<Arc<Article>>,
    /// A value that is missed by more is told, %.
    pub within_percent: f64,
}
