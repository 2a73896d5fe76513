//! The whole answer about a run: yield now and after years, what decides it, what tighter parts
//! would do, and the parts for a wanted yield or a budget.

use super::accept::Verdicts;
use super::classes::{Aim, Bill, Market, Place};
use super::deciding::{self, Deciding};
use super::{Drawn, Draws, Line, YieldError};
use crate::circuit::lanes::LANES;
use crate::design::Design;

/// Units that choices of parts are compared on.
const COMPARED: u64 = 2500;

/// What is asked of a run.
#[derive(Clone, Copy)]
pub struct Question<'f> {
    /// Units to draw.
    pub draws: u64,
    /// Frequencies from 20 Hz to 20 kHz.
    pub points: usize,
    /// Seed of the chances.
    pub seed: u64,
    /// Pairs of samples for what decides; 0: not asked.
    pub samples: usize,
    /// Parts for a yield or a budget, where asked.
    pub aim: Option<Aim>,
    /// Asked now and then: whether to go on.
    pub go_on: &'f (dyn Fn() -> bool + Sync),
}

/// The design with one part tightened.
#[derive(Debug, Clone, PartialEq)]
pub struct Tighter {
    /// The part.
    pub reference: String,
    /// From this tolerance, %.
    pub from_percent: f64,
    /// To this one, %.
    pub to_percent: f64,
    /// What it costs more for a panel.
    pub costs: f64,
    /// Share of good units as it is, with the same chances.
    pub good_before: f64,
    /// Share of good units with it.
    pub good: f64,
}

/// Parts chosen for an aim.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// What was asked for.
    pub aim: Aim,
    /// What the parts with a choice cost and make as the design has them.
    pub before: Bill,
    /// What was found.
    pub bill: Bill,
}

/// The whole answer.
#[derive(Debug, Clone)]
pub struct Answer {
    /// The line, for its grid and judge.
    pub line: Line,
    /// The design itself, in the first lane.
    pub nominal: Verdicts,
    /// As made.
    pub fresh: Drawn,
    /// After years.
    pub aged: Drawn,
    /// Departures of the worst unit as made, dB, one row a side and seat.
    pub worst_db: Vec<Vec<f64>>,
    /// What decides, where asked.
    pub deciding: Option<Deciding>,
    /// Parts that can be had in more than one tolerance.
    pub places: Vec<Place>,
    /// Each tightened by one class.
    pub tighter: Vec<Tighter>,
    /// Parts for the aim, where asked and found.
    pub choice: Option<Choice>,
}

impl Answer {
    /// Answers for a design.
    ///
    /// # Errors
    /// A design without a window, or one that cannot be simulated.
    pub fn of(design: &Design, question: Question<'_>) -> Result<Self, YieldError> {
        let line = Line::of(design, question.points)?;
        let draws = Draws { units: question.draws, seed: question.seed, go_on: question.go_on };
        let fresh = line.draw(draws);
        let aged = line.aged(design).draw(draws);
        let worst_db = line.departures_db(&fresh, question.seed);
        let goes_on = question.samples > 0 && (question.go_on)();
        let deciding = goes_on.then(|| deciding::deciding(&line, question.samples, question.seed));
        let compared = Draws { units: question.draws.min(COMPARED), ..draws };
        let mut market = Market::of(design, &line, compared);
        let tighter = if (question.go_on)() { tighter(&mut market) } else { Vec::new() };
        let choice = question.aim.and_then(|aim| choice(&mut market, aim));
        let places = market.places;
        let nominal = nominal(&line);
        Ok(Self { nominal, fresh, aged, worst_db, deciding, places, tighter, choice, line })
    }
}

fn nominal(line: &Line) -> Verdicts {
    let mut scratch = line.batch.scratch();
    let values = line.batch.nominal_values();
    line.batch.simulate(&[&values[..]; LANES], &mut scratch);
    line.judge.judge(&mut scratch.levels)
}

fn tighter(market: &mut Market<'_>) -> Vec<Tighter> {
    if market.places.is_empty() {
        return Vec::new();
    }
    let before = market.bill(&market.as_designed());
    let bills = market.tighter();
    let told = bills.into_iter().map(|(k, bill)| {
        let place = &market.places[k];
        Tighter {
            reference: place.reference.clone(),
            from_percent: place.offers[place.now].percent,
            to_percent: place.offers[bill.picks[k]].percent,
            costs: bill.cost - before.cost,
            good_before: before.good,
            good: bill.good,
        }
    });
    let mut told: Vec<Tighter> = told.collect();
    told.sort_by(|a, b| b.good.total_cmp(&a.good).then(a.reference.cmp(&b.reference)));
    told
}

fn choice(market: &mut Market<'_>, aim: Aim) -> Option<Choice> {
    if market.places.is_empty() {
        return None;
    }
    let before = market.bill(&market.as_designed());
    let bill = market.choose(aim)?;
    Some(Choice { aim, before, bill })
}
