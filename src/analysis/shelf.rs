//! What a part may be bought as: preferred values, or articles of a stock, one or two of them.

use super::need::Need;
use crate::circuit::network::Component;
use crate::circuit::preferred::{self, Adds, Choice, Connection, Series};
use crate::design::{Article, Design};
use std::sync::Arc;

/// Decades around a value that its pairs are sought in.
const DECADES: i32 = 2;

/// One part as bought.
#[derive(Debug, Clone, PartialEq)]
pub struct Good {
    /// Value and loss.
    pub component: Component,
    /// The article, where it comes from a stock.
    pub article: Option<Arc<Article>>,
}

/// One part or two that stand for a wanted one.
#[derive(Debug, Clone, PartialEq)]
pub struct Pick {
    /// Their values.
    pub choice: Choice,
    /// The parts, in the order of the choice.
    pub goods: Vec<Good>,
}

impl Pick {
    /// The part as it is.
    pub fn own(component: Component) -> Self {
        let goods = vec![Good { component, article: None }];
        Self { choice: Choice::single(component.value()), goods }
    }

    /// The pick as one part. Of a pair side by side each bears its share of the current; with
    /// small losses these shares are those of the values.
    pub fn lumped(&self) -> Component {
        let (Some((_, connection)), [a, b]) = (self.choice.second, &self.goods[..]) else {
            return self.goods[0].component;
        };
        let loss = |good: &Good| good.component.loss_ohm();
        let whole = self.choice.value;
        let loss_ohm = match connection {
            Connection::Series => loss(a) + loss(b),
            Connection::Parallel => {
                let share = |good: &Good| match good.component {
                    Component::Capacitor { farad, .. } => farad / whole,
                    other => whole / other.value(),
                };
                share(a).powi(2) * loss(a) + share(b).powi(2) * loss(b)
            }
        };
        a.component.with_value(whole).with_loss(loss_ohm)
    }
}

/// How two parts of a kind make a pair.
fn adds(component: &Component) -> Adds {
    match component {
        Component::Capacitor { .. } => Adds::InParallel,
        _ => Adds::InSeries,
    }
}

#[derive(Debug, Clone)]
enum Source {
    Series(Series),
    /// Rising in value; of equal ones the cheapest first.
    Stock(Vec<Good>),
}

/// What one part of a network may be bought as.
#[derive(Debug, Clone)]
pub struct Shelf {
    source: Source,
    /// The part it is for.
    exact: Component,
    /// Two may be combined where a single one misses by more than this, %; `None`: never.
    pairs_above_percent: Option<f64>,
    /// Smallest and largest value.
    bounds: (f64, f64),
}

impl Shelf {
    /// The shelf of a design for `exact`, by the design's rules.
    pub fn of(design: &Design, exact: &Component) -> Self {
        Self::standing(design, exact, None)
    }

    /// The same, of a stock only what stands `need` where anything does.
    pub fn standing(design: &Design, exact: &Component, need: Option<&Need>) -> Self {
        let source = match &design.stock {
            None => Source::Series(design.parts.series.of(exact)),
            Some(stock) => {
                let pieces = design.run.needs(design.sides.len() as f64, true);
                let stands = |article: &Article| {
                    need.is_none_or(|n| n.refusal(article, design.parts.ambient_c).is_none())
                };
                let strong = stocked(&stock.articles, exact, pieces, stands);
                Source::Stock(match strong.is_empty() {
                    true => stocked(&stock.articles, exact, pieces, |_| true),
                    false => strong,
                })
            }
        };
        Self {
            source,
            exact: *exact,
            pairs_above_percent: design.parts.pairs_above_percent,
            bounds: (0.0, f64::INFINITY),
        }
    }

    /// The same shelf for values from the one to the other only.
    #[must_use]
    pub fn within(self, bounds: (f64, f64)) -> Self {
        Self { bounds, ..self }
    }

    /// The same shelf, single parts only.
    #[must_use]
    pub fn of_singles(self) -> Self {
        Self { pairs_above_percent: None, ..self }
    }

    /// Smallest and largest value.
    pub fn bounds(&self) -> (f64, f64) {
        self.bounds
    }

    /// The pick for the wanted part: nearest by ratio, two parts where the rules allow them and they
    /// come nearer. Of articles of one value the one whose loss is nearest, then the cheapest. The
    /// part as it is where the shelf is empty.
    pub fn choose(&self) -> Pick {
        let wanted = self.exact.value();
        let values = self.values(wanted);
        let nearest = self.by_miss(&values, wanted).first().copied();
        let single = nearest.map(Choice::single);
        let pair = self.pair_for(&values, wanted, single.as_ref());
        let nearer = pair.filter(|p| single.is_none_or(|s| p.miss(wanted) < s.miss(wanted)));
        if let Some(pair) = nearer.and_then(|p| self.pick_of_pair(p)) {
            return pair;
        }
        let off = |pick: &Pick| (pick.goods[0].component.loss_ohm() - self.exact.loss_ohm()).abs();
        let picks = nearest.map(|value| self.singles(value)).unwrap_or_default();
        let best = picks.into_iter().min_by(|a, b| off(a).total_cmp(&off(b)));
        best.unwrap_or_else(|| Pick::own(self.exact))
    }

    /// Picks near `value`: every good of the nearest value, the cheapest of each of the next ones up
    /// to `count` values, and the best pair where one is allowed.
    pub fn near(&self, value: f64, count: usize) -> Vec<Pick> {
        let values = self.values(value);
        let mut nearest = self.by_miss(&values, value);
        nearest.truncate(count);
        let single = nearest.first().copied().map(Choice::single);
        let pair = self.pair_for(&values, value, single.as_ref());
        let goods = |(k, value): (usize, f64)| {
            let most = if k == 0 { usize::MAX } else { 1 };
            self.singles(value).into_iter().take(most)
        };
        let mut picks: Vec<Pick> = nearest.into_iter().enumerate().flat_map(goods).collect();
        picks.extend(pair.and_then(|p| self.pick_of_pair(p)));
        if picks.is_empty() {
            // Bounds without a value between them: the nearest there is.
            let free = Self { bounds: (0.0, f64::INFINITY), ..self.clone() };
            let all = free.values(value);
            picks = free.by_miss(&all, value).first().map_or(Vec::new(), |&v| free.singles(v));
        }
        if picks.is_empty() {
            picks.push(Pick::own(self.exact.resized(value)));
        }
        picks
    }

    /// Values there are within the bounds, rising: of a series those in the decades around `wanted`.
    fn values(&self, wanted: f64) -> Vec<f64> {
        let mut values = match &self.source {
            Source::Series(series) => {
                let decade = wanted.log10().floor() as i32;
                series.values(decade - DECADES, decade + DECADES)
            }
            Source::Stock(goods) => goods.iter().map(|g| g.component.value()).collect(),
        };
        values.dedup();
        values.retain(|v| *v >= self.bounds.0 * 0.999 && *v <= self.bounds.1 * 1.001);
        values
    }

    fn by_miss(&self, values: &[f64], wanted: f64) -> Vec<f64> {
        let miss = |v: f64| Choice::single(v).miss(wanted);
        let mut sorted = values.to_vec();
        sorted.sort_by(|a, b| miss(*a).total_cmp(&miss(*b)));
        sorted
    }

    /// Every good of this value by itself.
    fn singles(&self, value: f64) -> Vec<Pick> {
        let pick = |good| Pick { choice: Choice::single(value), goods: vec![good] };
        self.goods(value).into_iter().map(pick).collect()
    }

    fn goods(&self, value: f64) -> Vec<Good> {
        match &self.source {
            Source::Series(_) => {
                vec![Good { component: self.exact.resized(value), article: None }]
            }
            Source::Stock(goods) => {
                goods.iter().filter(|g| g.component.value() == value).cloned().collect()
            }
        }
    }

    /// The best pair where pairs are allowed and the single part misses by enough.
    fn pair_for(&self, values: &[f64], wanted: f64, single: Option<&Choice>) -> Option<Choice> {
        let percent = self.pairs_above_percent?;
        if single.is_some_and(|s| s.error_percent(wanted).abs() <= percent) {
            return None;
        }
        preferred::best_pair_of(values, wanted, adds(&self.exact))
    }

    /// The pair with the cheapest goods of its values.
    fn pick_of_pair(&self, choice: Choice) -> Option<Pick> {
        let (second, _) = choice.second?;
        let good = |value| self.goods(value).into_iter().next();
        Some(Pick { choice, goods: vec![good(choice.first)?, good(second)?] })
    }
}

/// The allowed articles of a kind, rising in value, of equal ones the cheapest first; of those that are
/// the same to the circuit only the cheapest.
fn stocked(
    articles: &[Arc<Article>],
    exact: &Component,
    pieces: f64,
    allowed: impl Fn(&Article) -> bool,
) -> Vec<Good> {
    let price = |a: &Article| a.price_at(pieces).unwrap_or(f64::INFINITY);
    let mut same: Vec<&Arc<Article>> =
        articles.iter().filter(|a| a.component.letter() == exact.letter() && allowed(a)).collect();
    same.sort_by(|a, b| {
        let by_value = a.component.value().total_cmp(&b.component.value());
        by_value.then(price(a).total_cmp(&price(b)))
    });
    let mut goods: Vec<Good> = Vec::with_capacity(same.len());
    for article in same {
        if goods.iter().all(|g| g.component != article.component) {
            goods.push(Good { component: article.component, article: Some(Arc::clone(article)) });
        }
    }
    goods
}
