//! The parts list: what goes on the board and what comes along, for one panel and for a run.

use super::choice::ChosenPart;
use super::need::Need;
use super::shelf::Good;
use super::study::Study;
use crate::circuit::network::Component;
use crate::circuit::preferred::Connection;
use crate::circuit::winding::recipe::Recipe;
use crate::design::{Article, Design, Mounted, Run};
use std::sync::Arc;

/// One line: a part at its place, or something that comes along.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Reference names ("L1", "C2a"); empty for what comes along.
    pub reference: String,
    /// What it is.
    pub item: Item,
    /// How many a panel needs, in `unit`.
    pub per_panel: f64,
    /// What it is counted in.
    pub unit: String,
    /// For the run with spares; whole pieces.
    pub for_run: f64,
    /// Price of one, where known.
    pub price: Option<f64>,
    /// What a part of the crossover has to stand.
    pub need: Option<Need>,
    /// How a coil is wound that is.
    pub recipe: Option<Recipe>,
}

impl Line {
    /// Price of the run's, where known.
    pub fn price_of_run(&self) -> Option<f64> {
        self.price.map(|price| price * self.for_run)
    }

    /// The article of a stock that the line is for.
    pub fn article(&self) -> Option<&Article> {
        match &self.item {
            Item::Part { article, .. } => article.as_deref(),
            Item::Named(_) => None,
        }
    }
}

/// What a line is about.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// A part of the crossover.
    Part {
        /// As computed.
        exact: f64,
        /// As bought.
        bought: Component,
        /// Bought (whole pair where it is one) over exact − 1, %.
        error_percent: f64,
        /// How it stands to the other part of its pair.
        paired: Option<Connection>,
        /// The article of the stock that it is.
        article: Option<Arc<Article>>,
    },
    /// Anything else, by name.
    Named(String),
}

/// Lines to order together: one article, or one kind and value.
#[derive(Debug, Clone, PartialEq)]
pub struct Order {
    /// The part.
    pub bought: Component,
    /// The article of the stock that it is.
    pub article: Option<Arc<Article>>,
    /// How it is wound, where it is.
    pub recipe: Option<Recipe>,
    /// The most that one of them has to stand.
    pub need: Option<Need>,
    /// Price of one, where known.
    pub price: Option<f64>,
    /// References that use it.
    pub references: Vec<String>,
    /// How many a panel needs.
    pub per_panel: f64,
    /// For the run with spares.
    pub for_run: f64,
}

impl Order {
    /// The article and how many pieces of it there are, where that is not enough.
    pub fn short(&self) -> Option<(&Article, u32)> {
        let article = self.article.as_deref()?;
        let there = article.in_stock?;
        (f64::from(there) < self.for_run).then_some((article, there))
    }
}

/// The whole list.
#[derive(Debug, Clone, PartialEq)]
pub struct PartsList {
    /// Panels to build.
    pub units: u32,
    /// Spares on top, %.
    pub spares_percent: f64,
    /// Currency of the prices, where there are any.
    pub currency: Option<String>,
    /// The stock that parts were chosen from.
    pub stock: Option<String>,
    /// Every line.
    pub lines: Vec<Line>,
    /// Crossover parts of one value together.
    pub orders: Vec<Order>,
}

impl PartsList {
    /// The list for `units` panels of a study.
    pub fn of(study: &Study, units: u32) -> Self {
        let design = &study.design;
        let run = Run { units, ..design.run };
        let mut lines = crossover_lines(study, &run);
        let orders = orders(&lines, &run);
        quantity_prices(&mut lines, &orders);
        lines.extend(driver_lines(design, &run));
        lines.extend(design.purchase.extras.iter().map(|extra| Line {
            reference: String::new(),
            item: Item::Named(extra.name.clone()),
            per_panel: extra.per_panel,
            unit: extra.unit.clone(),
            for_run: run.needs(extra.per_panel, extra.unit == "piece"),
            price: extra.price,
            need: None,
            recipe: None,
        }));
        Self {
            units,
            spares_percent: run.spares_percent,
            currency: design.purchase.currency.clone(),
            stock: design.stock.as_ref().map(|s| s.name.clone()),
            lines,
            orders,
        }
    }

    /// Cost of one panel's lines that have a price, and how many lines have none.
    pub fn cost_per_panel(&self) -> (f64, usize) {
        self.cost(|line| line.per_panel)
    }

    /// Cost of the run with spares, and how many lines have no price.
    pub fn cost_of_run(&self) -> (f64, usize) {
        self.cost(|line| line.for_run)
    }

    fn cost(&self, amount: impl Fn(&Line) -> f64) -> (f64, usize) {
        let priced = self.lines.iter().filter_map(|l| l.price.map(|p| p * amount(l)));
        (priced.sum(), self.lines.iter().filter(|l| l.price.is_none()).count())
    }
}

/// Parts of every side; once, with their number, where all sides have the same network.
fn crossover_lines(study: &Study, run: &Run) -> Vec<Line> {
    let Some(first) = study.sides.first() else { return Vec::new() };
    let same = study.sides.iter().all(|s| s.chosen.network == first.chosen.network);
    let sides = if same { &study.sides[..1] } else { &study.sides[..] };
    let each = if same { study.sides.len() as f64 } else { 1.0 };
    let mut lines = Vec::new();
    for side in sides {
        let prefix = if same { String::new() } else { format!("{} ", side.name) };
        for part in &side.chosen.parts {
            lines.extend(part_lines(study, part, &prefix, each, run));
        }
    }
    lines
}

fn part_lines(study: &Study, part: &ChosenPart, prefix: &str, each: f64, run: &Run) -> Vec<Line> {
    let line = |(name, good): &(String, Good)| Line {
        reference: format!("{prefix}{name}"),
        item: Item::Part {
            exact: part.exact.value(),
            bought: good.component,
            error_percent: part.error_percent(),
            paired: part.choice.second.map(|(_, connection)| connection),
            article: good.article.clone(),
        },
        per_panel: each,
        unit: "piece".into(),
        for_run: run.needs(each, true),
        // What a bought coil costs says nothing of one that is wound.
        price: match part.recipe {
            Some(_) => None,
            None => study.design.purchase.prices.of(&good.component),
        },
        need: hardest(study, name, &good.component),
        recipe: part.recipe,
    };
    part.bought.iter().map(line).collect()
}

/// What the part `name` has to stand, on the side where that is most.
fn hardest(study: &Study, name: &str, component: &Component) -> Option<Need> {
    let sides = study.sides.iter().filter_map(|side| side.ratings.of_part(name));
    let same = sides.filter(|rating| rating.component == *component);
    same.map(|rating| rating.need).reduce(Need::harder)
}

/// The prices of articles hang on how many are ordered for all their places together.
fn quantity_prices(lines: &mut [Line], orders: &[Order]) {
    for line in lines {
        let Item::Part { article: Some(article), .. } = &line.item else { continue };
        let order = orders.iter().find(|o| o.article.as_ref() == Some(article));
        line.price = order.and_then(|o| article.price_at(o.for_run)).or(line.price);
    }
}

/// Drivers, one line for each kind.
fn driver_lines(design: &Design, run: &Run) -> Vec<Line> {
    let all: Vec<&Mounted> =
        design.sides.iter().flat_map(|s| [&s.drivers.woofer, &s.drivers.tweeter]).collect();
    let mut lines: Vec<Line> = Vec::new();
    for (k, mounted) in all.iter().enumerate() {
        // One kind: the same name at the same price.
        let same = |m: &&&Mounted| {
            m.driver.name == mounted.driver.name && m.driver.price == mounted.driver.price
        };
        if all[..k].iter().any(|m| same(&m)) {
            continue;
        }
        let per_panel = all.iter().filter(same).count() as f64;
        lines.push(Line {
            reference: String::new(),
            item: Item::Named(format!("driver {}", mounted.driver.name)),
            per_panel,
            unit: "piece".into(),
            for_run: run.needs(per_panel, true),
            price: mounted.driver.price.as_ref().map(|p| p.amount),
            need: None,
            recipe: None,
        });
    }
    lines
}

fn orders(lines: &[Line], run: &Run) -> Vec<Order> {
    let mut orders: Vec<Order> = Vec::new();
    for line in lines {
        let Item::Part { bought, article, .. } = &line.item else { continue };
        let same = |o: &&mut Order| {
            o.bought == *bought && o.article == *article && o.recipe == line.recipe
        };
        match orders.iter_mut().find(same) {
            Some(order) => {
                order.need = match (order.need, line.need) {
                    (Some(a), Some(b)) => Some(a.harder(b)),
                    (a, b) => a.or(b),
                };
                order.references.push(line.reference.clone());
                order.per_panel += line.per_panel;
            }
            None => orders.push(Order {
                bought: *bought,
                article: article.clone(),
                recipe: line.recipe,
                need: line.need,
                price: line.price,
                references: vec![line.reference.clone()],
                per_panel: line.per_panel,
                for_run: 0.0,
            }),
        }
    }
    for order in &mut orders {
        order.for_run = run.needs(order.per_panel, true);
        let of_article = order.article.as_ref().and_then(|a| a.price_at(order.for_run));
        order.price = of_article.or(order.price);
    }
    orders.sort_by(|a, b| {
        let key = |o: &Order| (o.bought.letter(), o.bought.value());
        let ((ka, va), (kb, vb)) = (key(a), key(b));
        ka.cmp(&kb).then(va.total_cmp(&vb))
    });
    orders
}
