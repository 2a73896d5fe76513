//! Tolerance for money: which tolerance of each part reaches a yield at the lowest cost, or the
//! best yield for a budget. A part of another loss makes another design: a window around the design
//! is then around that one. All choices meet the same chances, so that their yields can be compared
//! without the noise of the draws.

use super::{Draws, Line};
use crate::circuit::network::Component;
use crate::design::Design;
use std::collections::BTreeMap;
use std::sync::Arc;

/// A tolerance that a part can be had in.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// The tolerance, %.
    pub percent: f64,
    /// Price of one.
    pub price: f64,
    /// The part, where it is an article of the stock.
    pub component: Option<Component>,
    /// Its order code.
    pub code: Option<String>,
}

/// The offers for one reference, the cheapest first, each dearer one tighter.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// The reference.
    pub reference: String,
    /// How many a panel has.
    pub pieces: f64,
    /// What there is.
    pub offers: Vec<Offer>,
    /// Which offer the design has now.
    pub now: usize,
}

/// A choice of offers and what comes of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Bill {
    /// Index of the offer at each place.
    pub picks: Vec<usize>,
    /// What these parts of a panel cost.
    pub cost: f64,
    /// Share of good units.
    pub good: f64,
    /// Middle of the largest departures, dB: decides between equal yields.
    pub departure_db: f64,
}

/// What is asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Aim {
    /// At least this share of good units, as cheaply as possible.
    Reach(f64),
    /// As many good units as possible for no more than this for the parts of a panel.
    Budget(f64),
}

/// The market of a line: places with more than one offer, and a memory of what was tried.
pub struct Market<'l> {
    line: &'l Line,
    /// The places.
    pub places: Vec<Place>,
    draws: Draws<'l>,
    tried: BTreeMap<Vec<usize>, Bill>,
}

impl<'l> Market<'l> {
    /// What the design's stock, or else its classes, offer.
    pub fn of(design: &Design, line: &'l Line, draws: Draws<'l>) -> Self {
        let spread = &line.batch.spread;
        let mut places: Vec<Place> = Vec::new();
        for (side, network) in spread.networks.iter().enumerate() {
            for (k, part) in network.parts.iter().enumerate() {
                if let Some(known) = places.iter_mut().find(|p| p.reference == part.reference) {
                    known.pieces += 1.0;
                    continue;
                }
                let scale = spread.factors[spread.start_of(side) + k].scale;
                let pieces = design.run.needs(design.sides.len() as f64, true);
                let offers = offers(design, &part.component, pieces);
                let now = now(&offers, 100.0 * scale);
                let reference = part.reference.clone();
                places.push(Place { reference, pieces: 1.0, offers, now });
            }
        }
        places.retain(|p| p.offers.len() > 1);
        Self { line, places, draws, tried: BTreeMap::new() }
    }

    /// What comes of these picks.
    pub fn bill(&mut self, picks: &[usize]) -> Bill {
        if let Some(known) = self.tried.get(picks) {
            return known.clone();
        }
        let mut spread = (*self.line.batch.spread).clone();
        let mut networks = self.line.batch.networks();
        let mut cost = 0.0;
        for (place, pick) in self.places.iter().zip(picks) {
            let offer = &place.offers[*pick];
            cost += offer.price * place.pieces;
            let named = spread.factors.iter_mut().filter(|f| f.name == place.reference);
            named.for_each(|f| f.scale = offer.percent / 100.0);
            let parts = networks.iter_mut().flat_map(|n| &mut n.parts);
            for part in parts.filter(|p| p.reference == place.reference) {
                part.component = offer.component.unwrap_or(part.component);
            }
        }
        let batch = self.line.batch.with_networks(&networks).with_spread(Arc::new(spread));
        let batch = batch.as_design();
        let judge = self.line.judge.around(&batch);
        let drawn = Line { batch, judge }.draw(self.draws);
        let departure_db = drawn.tally.deviation_quantile_db(0.5);
        let bill = Bill { picks: picks.to_vec(), cost, good: drawn.good.mean, departure_db };
        self.tried.insert(picks.to_vec(), bill.clone());
        bill
    }

    /// The picks of the design as it is.
    pub fn as_designed(&self) -> Vec<usize> {
        self.places.iter().map(|p| p.now).collect()
    }

    /// The design with one place tightened to its next offer, place by place.
    pub fn tighter(&mut self) -> Vec<(usize, Bill)> {
        let now = self.as_designed();
        let can: Vec<usize> =
            (0..now.len()).filter(|k| now[*k] + 1 < self.places[*k].offers.len()).collect();
        let each = can.into_iter().map(|k| {
            let mut picks = now.clone();
            picks[k] += 1;
            (k, self.bill(&picks))
        });
        each.collect()
    }

    /// The best choice found for an aim: from the cheapest parts up by what gains most for its
    /// price, then back down where nothing is lost, then exchanges of one place for another. `None`
    /// where no part has a choice, or the work was stopped.
    pub fn choose(&mut self, aim: Aim) -> Option<Bill> {
        if self.places.is_empty() {
            return None;
        }
        let mut best = self.bill(&vec![0; self.places.len()]);
        while (self.draws.go_on)() && !aim.is_met(&best) {
            let Some(next) = self.step_up(&best, aim) else { break };
            best = next;
        }
        while (self.draws.go_on)() {
            let Some(next) = self.better_neighbour(&best, aim) else { break };
            best = next;
        }
        (self.draws.go_on)().then_some(best)
    }

    fn step_up(&mut self, from: &Bill, aim: Aim) -> Option<Bill> {
        let mut best: Option<(f64, Bill)> = None;
        for picks in self.moves(&from.picks, true) {
            let bill = self.bill(&picks);
            let gain = bill.worth() - from.worth();
            let rate = gain / (bill.cost - from.cost).max(1e-9);
            let better = best.as_ref().is_none_or(|(r, _)| rate > *r);
            if aim.allows(&bill) && gain > 0.0 && better {
                best = Some((rate, bill));
            }
        }
        best.map(|(_, bill)| bill)
    }

    /// A choice one or two moves away that serves the aim better.
    fn better_neighbour(&mut self, from: &Bill, aim: Aim) -> Option<Bill> {
        let mut near: Vec<Vec<usize>> = self.moves(&from.picks, false);
        near.extend(self.moves(&from.picks, true));
        for down in self.moves(&from.picks, false) {
            near.extend(self.moves(&down, true));
        }
        let mut best: Option<Bill> = None;
        for picks in near {
            let bill = self.bill(&picks);
            if aim.prefers(&bill, best.as_ref().unwrap_or(from)) {
                best = Some(bill);
            }
        }
        best
    }

    /// All picks with one place moved by one offer.
    fn moves(&self, picks: &[usize], up: bool) -> Vec<Vec<usize>> {
        let moved = |k: usize| {
            let to = if up { picks[k] + 1 } else { picks[k].wrapping_sub(1) };
            (to < self.places[k].offers.len()).then(|| {
                let mut moved = picks.to_vec();
                moved[k] = to;
                moved
            })
        };
        (0..picks.len()).filter_map(moved).collect()
    }
}

impl Bill {
    /// Yield, and between equal yields the smaller departures.
    fn worth(&self) -> f64 {
        self.good - 1e-4 * self.departure_db
    }
}

impl Aim {
    fn is_met(self, bill: &Bill) -> bool {
        matches!(self, Self::Reach(share) if bill.good >= share)
    }

    fn allows(self, bill: &Bill) -> bool {
        match self {
            Self::Reach(_) => true,
            Self::Budget(most) => bill.cost <= most + 1e-9,
        }
    }

    fn prefers(self, a: &Bill, b: &Bill) -> bool {
        match self {
            Self::Reach(_) => match (self.is_met(a), self.is_met(b)) {
                (true, true) => a.cost < b.cost - 1e-9,
                (met, _) => met || a.worth() > b.worth() + 1e-12,
            },
            Self::Budget(_) => {
                let equal = (a.good - b.good).abs() < 1e-12;
                let better = a.good > b.good + 1e-12 || (equal && a.cost < b.cost - 1e-9);
                self.allows(a) && (better || !self.allows(b))
            }
        }
    }
}

/// Which offer a part of `percent` is: the tightest that is no tighter, else the cheapest.
fn now(offers: &[Offer], percent: f64) -> usize {
    offers.iter().rposition(|o| o.percent >= percent - 1e-9).unwrap_or(0)
}

/// What a part can be had in, cheapest first; what is dearer and no tighter is left out.
fn offers(design: &Design, part: &Component, pieces: f64) -> Vec<Offer> {
    let same = |other: &Component| {
        other.letter() == part.letter() && (other.value() / part.value() - 1.0).abs() < 1e-3
    };
    let articles = design.stock.iter().flat_map(|s| &s.articles);
    let of_stock = articles.filter(|a| same(&a.component)).filter_map(|a| {
        let (percent, price) = (a.tolerance_percent?, a.price_at(pieces)?);
        Some(Offer { percent, price, component: Some(a.component), code: Some(a.code.clone()) })
    });
    let mut all: Vec<Offer> = of_stock.collect();
    if all.is_empty() {
        let classes = design.production.classes_of(part.letter()).into_iter();
        let offer = |percent, price| Offer { percent, price, component: None, code: None };
        all = classes.map(|c| offer(c.percent, c.price)).collect();
    }
    all.sort_by(|a, b| a.price.total_cmp(&b.price).then(a.percent.total_cmp(&b.percent)));
    let mut kept: Vec<Offer> = Vec::new();
    for offer in all {
        if kept.last().is_none_or(|k| offer.percent < k.percent) {
            kept.push(offer);
        }
    }
    kept
}
