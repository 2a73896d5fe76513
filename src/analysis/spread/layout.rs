//! Which factors a design has, how each scatters, and what it shares with others.

use super::{ElementSpread, Quantile, Scatter, Spread};
use crate::analysis::shelf::Good;
use crate::circuit::ladder::Polarity;
use crate::circuit::network::Network;
use crate::design::{Design, Mounted, Shape, Way};
use std::sync::Arc;

/// What a factor stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    /// A part, by its index in the side's network.
    Part(usize),
    /// An element of a driver: Mms, Cms, Rms, Bl, Re, Le.
    Element(Way, usize),
    /// Depth of the cavity.
    Depth,
    /// Effect of the fill.
    Fill,
    /// Temperature.
    Temperature,
}

/// The trade's symbols of a driver's elements, in the order of the factors.
pub const ELEMENTS: [&str; 6] = ["Mms", "Cms", "Rms", "Bl", "Re", "Le"];

/// One thing that scatters.
#[derive(Debug, Clone)]
pub struct Factor {
    /// What it is.
    pub what: What,
    /// Index of its side; 0 for the temperature.
    pub side: usize,
    /// "C1", "woofer Mms", "cavity depth": the same on every side.
    pub name: String,
    /// Limit as a share of nominal, standard deviation of the logarithm for an element, K for the
    /// temperature.
    pub scale: f64,
    /// Share of its variance that is the lot's.
    pub lot_share: f64,
    /// Which score of the lot it takes.
    pub lot: usize,
    /// The factor of another side that it is paired with, and the correlation of the two.
    pub twin: Option<(usize, f64)>,
    shape: Arc<Quantile>,
}

impl Factor {
    /// The value for the score of the lot and that of the unit.
    pub fn value(&self, lot: f64, unit: f64) -> f64 {
        let z = self.lot_share.sqrt() * lot + (1.0 - self.lot_share).sqrt() * unit;
        match self.what {
            What::Element(..) => (self.scale * z).exp(),
            What::Temperature => self.scale * self.shape.at(z),
            _ => 1.0 + self.scale * self.shape.at(z),
        }
    }
}

/// The shapes in use, each tabulated once.
#[derive(Default)]
struct Shapes(Vec<(Shape, Arc<Quantile>)>);

impl Shapes {
    fn of(&mut self, shape: &Shape) -> Arc<Quantile> {
        if let Some((_, known)) = self.0.iter().find(|(s, _)| s == shape) {
            return Arc::clone(known);
        }
        let made = Arc::new(Quantile::of(shape));
        self.0.push((shape.clone(), Arc::clone(&made)));
        made
    }
}

struct Builder<'d> {
    design: &'d Design,
    shapes: Shapes,
    factors: Vec<Factor>,
    /// What each score of a lot stands for.
    lots: Vec<String>,
}

/// The factors of a design whose sides have these networks of these goods.
pub(super) fn laid_out(
    design: &Design,
    networks: Vec<Network>,
    polarity: Vec<Polarity>,
    goods: &[Vec<Good>],
) -> Spread {
    let mut builder =
        Builder { design, shapes: Shapes::default(), factors: Vec::new(), lots: Vec::new() };
    let mut starts = Vec::new();
    for (side, network) in networks.iter().enumerate() {
        starts.push(builder.factors.len());
        builder.parts(side, network, &goods[side]);
        builder.drivers(side);
        let spreads = &design.production.spreads;
        builder.add(What::Depth, side, "cavity depth", &spreads.cavity, "cavity");
        builder.add(What::Fill, side, "fill", &spreads.fill, "fill");
    }
    let kelvin = Scatter::uniform(100.0 * design.production.spreads.temperature_k);
    builder.add(What::Temperature, 0, "temperature", &kelvin, "temperature");
    let lots = builder.lots.len();
    let electrolytic = |g: &Good| {
        g.article.as_ref().is_some_and(|a| a.family.to_lowercase().contains("electrolytic"))
    };
    let wet = goods.iter().map(|side| side.iter().map(electrolytic).collect()).collect();
    Spread { networks, polarity, factors: builder.factors, lots, wet, starts }
}

impl Builder<'_> {
    fn add(&mut self, what: What, side: usize, name: &str, scatter: &Scatter, batch: &str) {
        let lot = self.lot(batch);
        let shape = self.shapes.of(&scatter.shape);
        let measured = matches!(scatter.shape, Shape::Measured(_));
        let scale = if measured { 1.0 } else { scatter.limit_percent / 100.0 };
        let lot_share = scatter.lot_share;
        let name = name.to_owned();
        self.factors.push(Factor { what, side, name, scale, lot_share, lot, twin: None, shape });
    }

    /// The score of a batch: what is named alike comes out of one.
    fn lot(&mut self, batch: &str) -> usize {
        self.lots.iter().position(|l| l == batch).unwrap_or_else(|| {
            self.lots.push(batch.to_owned());
            self.lots.len() - 1
        })
    }

    fn parts(&mut self, side: usize, network: &Network, goods: &[Good]) {
        let spreads = &self.design.production.spreads;
        for (k, part) in network.parts.iter().enumerate() {
            let article = goods.get(k).and_then(|g| g.article.as_deref());
            let own = spreads.own.iter().find(|p| p.reference == part.reference);
            let mut scatter = match own {
                Some(own) => own.scatter.clone(),
                None => spreads.of_kind(part.component.letter()).clone(),
            };
            if let (None, Some(percent)) = (own, article.and_then(|a| a.tolerance_percent)) {
                scatter.limit_percent = percent;
            }
            // Parts of one kind and value come off one reel.
            let reel = format!("{:?}", part.component);
            self.add(What::Part(k), side, &part.reference, &scatter, &reel);
            self.pair(side, &part.reference, &scatter);
        }
    }

    /// Pairs the newest factor with that of the same name on the first side. Paired parts differ by
    /// no more than m where they scatter evenly within ±m: a difference with the variance m²/3,
    /// which is 2 (1 − ρ) times that of the part by itself.
    fn pair(&mut self, side: usize, name: &str, scatter: &Scatter) {
        let Some(matched) = self.design.production.spreads.matched_percent else { return };
        let twin = self.factors.iter().position(|f| f.side == 0 && f.name == name);
        let (Some(twin), true) = (twin, side > 0) else { return };
        let variance = match &scatter.shape {
            Shape::Uniform => scatter.limit_percent.powi(2) / 3.0,
            Shape::Normal => scatter.limit_percent.powi(2) / 9.0,
            Shape::Measured(values) => variance(values),
        } * (1.0 - scatter.lot_share);
        let apart = matched.powi(2) / 3.0;
        let alike = if variance > 0.0 { 1.0 - apart / (2.0 * variance) } else { 1.0 };
        if let Some(factor) = self.factors.last_mut() {
            factor.twin = Some((twin, alike.clamp(0.0, 1.0)));
        }
    }

    fn drivers(&mut self, side: usize) {
        let drivers = &self.design.sides[side].drivers;
        let share = self.design.production.spreads.driver_lot_share;
        for way in Way::BOTH {
            let Mounted { driver, .. } = drivers.of(way);
            let s = driver.spread.unwrap_or(ElementSpread::USUAL);
            let sigmas = [s.mms, s.cms, s.rms, s.bl, s.re, s.le];
            for (k, (symbol, sigma)) in ELEMENTS.iter().zip(sigmas).enumerate() {
                let scatter = Scatter { lot_share: share, ..Scatter::uniform(100.0 * sigma) };
                let name = format!("{} {symbol}", way.word());
                let batch = format!("{} {symbol}", driver.name);
                self.add(What::Element(way, k), side, &name, &scatter, &batch);
            }
        }
    }
}

fn variance(values: &[f64]) -> f64 {
    let n = values.len().max(1) as f64;
    let mean = values.iter().sum::<f64>() / n;
    values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n
}
