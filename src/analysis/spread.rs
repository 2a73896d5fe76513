//! Random units of a production run: every part, driver, cavity and the temperature drawn around
//! its nominal value, partly common to a lot, partly for each unit by itself.
//!
//! What scatters is a *factor*. Each has a standard normal score z = √s z_lot + √(1 − s) z_unit,
//! with the share s of the variance that is common to the lot; the score is turned into a value by
//! the factor's own distribution, which so keeps its shape whatever the share (a Gaussian copula:
//! common practice in risk analysis, no source).

use super::chance::{self, Chance};
use super::choice::Chosen;
use super::side::{SideModel, SideResponse};
use super::study::StudyError;
use super::synthesis;
use crate::circuit::ladder::Polarity;
use crate::circuit::network::{Component, Network};
use crate::design::{Design, PolarityRule, Scatter, Shape, Side, Ways};
use crate::grid::Grid;
use crate::model::fill::Fill;
use crate::model::heat::COPPER_PER_K;
use crate::model::spread::ElementSpread;
use std::sync::Arc;

mod layout;

pub use layout::{ELEMENTS, Factor, What};

/// Scores beyond this are taken as this.
const FARTHEST: f64 = 6.0;
/// Steps of a tabulated distribution from −6 to 6.
const STEPS: usize = 3072;

/// How a score becomes a value: a table over the score, straight between its entries.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantile {
    table: Vec<f64>,
}

impl Quantile {
    /// Deviations of this shape, as shares of its limit (as they are, for measured ones).
    pub fn of(shape: &Shape) -> Self {
        let third = chance::normal_cdf(3.0) - chance::normal_cdf(-3.0);
        let value = |z: f64| {
            let p = chance::normal_cdf(z);
            match shape {
                Shape::Uniform => 2.0 * p - 1.0,
                Shape::Normal => {
                    let inside = chance::normal_cdf(-3.0) + p * third;
                    (chance::normal_quantile(inside) / 3.0).clamp(-1.0, 1.0)
                }
                Shape::Measured(percent) => 0.01 * empirical(percent, p),
            }
        };
        let score = |k: usize| FARTHEST * (2.0 * k as f64 / STEPS as f64 - 1.0);
        Self { table: (0..=STEPS).map(|k| value(score(k))).collect() }
    }

    /// The deviation at the score `z`.
    pub fn at(&self, z: f64) -> f64 {
        let place = (z + FARTHEST) * (STEPS as f64 / (2.0 * FARTHEST));
        let place = place.clamp(0.0, STEPS as f64);
        let low = (place as usize).min(STEPS - 1);
        let share = place - low as f64;
        self.table[low] + share * (self.table[low + 1] - self.table[low])
    }
}

/// The value that `p` of the rising `values` are below, straight between them.
fn empirical(values: &[f64], p: f64) -> f64 {
    let Some(last) = values.len().checked_sub(1) else { return 0.0 };
    let place = (p * last as f64).clamp(0.0, last as f64);
    let low = (place as usize).min(last.saturating_sub(1));
    let share = place - low as f64;
    values[low] + share * (values[last.min(low + 1)] - values[low])
}

/// Everything that scatters in a design.
#[derive(Debug, Clone)]
pub struct Spread {
    /// The network of each side as bought.
    pub networks: Vec<Network>,
    /// Polarity of the tweeter of each side, that of the design.
    pub polarity: Vec<Polarity>,
    /// The factors, those of each side together, the temperature last.
    pub factors: Vec<Factor>,
    /// Scores that a lot has.
    pub lots: usize,
    /// Which parts of each side are electrolytic capacitors by the stock.
    wet: Vec<Vec<bool>>,
    starts: Vec<usize>,
}

/// Scores common to the units of one lot.
#[derive(Debug, Clone, PartialEq)]
pub struct Lot {
    /// One a group of factors.
    pub scores: Vec<f64>,
}

/// One unit: factors on nominal values.
#[derive(Debug, Clone, PartialEq)]
pub struct Unit {
    /// One a side of the design, in its order.
    pub sides: Vec<SideUnit>,
    /// Warmer than the design's air, K.
    pub warmer_k: f64,
}

/// One side of a unit; all are factors on the nominal value.
#[derive(Debug, Clone, PartialEq)]
pub struct SideUnit {
    /// On each part's main value, in the order of the network.
    pub parts: Vec<f64>,
    /// On the elements of the drivers.
    pub drivers: Ways<DriverUnit>,
    /// On the depth of the cavity.
    pub depth: f64,
    /// On what the fill does.
    pub fill: f64,
}

/// One driver of a unit: factors on its elements.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DriverUnit {
    /// On the moving mass.
    pub mms: f64,
    /// On the compliance.
    pub cms: f64,
    /// On the mechanical losses.
    pub rms: f64,
    /// On the force factor.
    pub bl: f64,
    /// On the coil's resistance, without its temperature.
    pub re: f64,
    /// On the coil's inductive part.
    pub le: f64,
}

impl Spread {
    /// What scatters in `design` with the parts as bought. The polarity that each side has in the
    /// design is kept for every unit.
    ///
    /// # Errors
    /// A crossover that cannot be made, or a side that cannot be simulated.
    pub fn of(design: &Design) -> Result<Self, StudyError> {
        let grid = Grid::audible(240)?;
        let (mut networks, mut polarity, mut goods) = (Vec::new(), Vec::new(), Vec::new());
        for side in &design.sides {
            let exact = synthesis::network_for(design, side)?.network;
            let chosen = Chosen::of(&exact, design);
            polarity.push(match design.crossover.polarity {
                PolarityRule::Fixed(polarity) => polarity,
                rule => SideModel::new(design, side, &grid)?.through(&exact, rule)?.polarity,
            });
            goods.push(chosen.goods().cloned().collect::<Vec<_>>());
            networks.push(chosen.network);
        }
        Ok(layout::laid_out(design, networks, polarity, &goods))
    }

    /// The lot number `lot` of this seed.
    pub fn lot(&self, seed: u64, lot: u64) -> Lot {
        let chance = Chance::of(seed).row(2 * lot);
        Lot { scores: (0..self.lots as u64).map(|k| chance.normal(k)).collect() }
    }

    /// A lot that is like the design.
    pub fn nominal_lot(&self) -> Lot {
        Lot { scores: vec![0.0; self.lots] }
    }

    /// Scores of the unit number `unit` of this seed by itself, one a factor.
    pub fn scores(&self, seed: u64, unit: u64) -> Vec<f64> {
        let chance = Chance::of(seed).row(2 * unit + 1);
        (0..self.factors.len() as u64).map(|k| chance.normal(k)).collect()
    }

    /// The unit number `unit` of this seed out of `lot`.
    pub fn unit(&self, lot: &Lot, seed: u64, unit: u64) -> Unit {
        let mut values = vec![0.0; self.factors.len()];
        self.values(lot, &self.scores(seed, unit), &mut values);
        self.unit_of(&values)
    }

    /// Value of each factor (a factor on nominal; K for the temperature) for these scores.
    pub fn values(&self, lot: &Lot, scores: &[f64], values: &mut [f64]) {
        for (k, factor) in self.factors.iter().enumerate() {
            let own = match factor.twin {
                Some((twin, alike)) => {
                    alike * scores[twin] + (1.0 - alike * alike).max(0.0).sqrt() * scores[k]
                }
                None => scores[k],
            };
            values[k] = factor.value(lot.scores[factor.lot], own);
        }
    }

    /// The unit with these values of its factors.
    pub fn unit_of(&self, values: &[f64]) -> Unit {
        let side = |(s, network): (usize, &Network)| {
            let at = self.starts[s] + network.parts.len();
            let driver = |k: usize| DriverUnit {
                mms: values[k],
                cms: values[k + 1],
                rms: values[k + 2],
                bl: values[k + 3],
                re: values[k + 4],
                le: values[k + 5],
            };
            SideUnit {
                parts: values[self.starts[s]..at].to_vec(),
                drivers: Ways { woofer: driver(at), tweeter: driver(at + 6) },
                depth: values[at + 12],
                fill: values[at + 13],
            }
        };
        let sides = self.networks.iter().enumerate().map(side).collect();
        Unit { sides, warmer_k: values.last().copied().unwrap_or(0.0) }
    }

    /// Whether a part is an electrolytic capacitor by the family of its article.
    pub fn electrolytic(&self, side: usize, part: usize) -> bool {
        self.wet[side].get(part).copied().unwrap_or(false)
    }

    /// Where the factors of a side begin: parts, woofer (6), tweeter (6), depth, fill.
    pub fn start_of(&self, side: usize) -> usize {
        self.starts[side]
    }

    /// The network of a side of a unit.
    pub fn network(&self, unit: &Unit, side: usize) -> Network {
        let mut network = self.networks[side].clone();
        let hot = 1.0 + COPPER_PER_K * unit.warmer_k;
        for (part, factor) in network.parts.iter_mut().zip(&unit.sides[side].parts) {
            let moved = part.component.with_value(part.component.value() * factor);
            part.component = match moved {
                Component::Inductor { dcr_ohm, .. } => moved.with_loss(dcr_ohm * hot),
                other => other,
            };
        }
        network
    }

    /// Each side of a unit through the full model over `grid`.
    ///
    /// # Errors
    /// A side that cannot be simulated.
    pub fn built(
        &self,
        design: &Design,
        unit: &Unit,
        grid: &Arc<Grid>,
    ) -> Result<Vec<SideResponse>, StudyError> {
        let moved = unit.design(design);
        let through = |(s, side): (usize, &Side)| {
            let rule = PolarityRule::Fixed(self.polarity[s]);
            let model = SideModel::new(&moved, side, grid)?;
            Ok(model.through(&self.network(unit, s), rule)?)
        };
        moved.sides.iter().enumerate().map(through).collect()
    }
}

impl Unit {
    /// The design with the drivers, cavities and air of this unit; its network is
    /// [`Spread::network`].
    pub fn design(&self, design: &Design) -> Design {
        let mut moved = design.clone();
        moved.air = design.air.warmer(self.warmer_k);
        for (side, unit) in moved.sides.iter_mut().zip(&self.sides) {
            unit.drivers.woofer.apply(&mut side.drivers.woofer.driver, self.warmer_k);
            unit.drivers.tweeter.apply(&mut side.drivers.tweeter.driver, self.warmer_k);
            side.cavity.depth_m *= unit.depth;
            side.cavity.fill = filled(side.cavity.fill, unit.fill);
        }
        moved
    }
}

impl DriverUnit {
    /// Like the design's.
    pub const NOMINAL: Self = Self { mms: 1.0, cms: 1.0, rms: 1.0, bl: 1.0, re: 1.0, le: 1.0 };

    fn apply(&self, driver: &mut crate::model::driver::Driver, warmer_k: f64) {
        let motor = &mut driver.motor;
        motor.mms_kg *= self.mms;
        motor.cms_m_per_n *= self.cms;
        motor.rms_kg_per_s *= self.rms;
        motor.bl_t_m *= self.bl;
        motor.re_ohm *= self.re * (1.0 + COPPER_PER_K * warmer_k);
        driver.coil = driver.coil.scaled(self.le);
    }
}

/// A fill that does `factor` times as much.
pub fn filled(fill: Fill, factor: f64) -> Fill {
    match fill {
        Fill::Empty => Fill::Empty,
        Fill::Factor(f) => Fill::Factor(1.0 + (f - 1.0) * factor),
        Fill::Foam { fraction, porosity, thermal_length_m, flow_resistivity_pa_s_per_m2 } => {
            let fraction = (fraction * factor).clamp(0.0, 0.999);
            Fill::Foam { fraction, porosity, thermal_length_m, flow_resistivity_pa_s_per_m2 }
        }
    }
}
