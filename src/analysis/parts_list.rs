//! The parts list: what goes on the board and what comes along, for one panel and for a run.

use super::choice::ChosenPart;
use super::study::Study;
use crate::circuit::network::Component;
use crate::circuit::preferred::Connection;
use crate::design::{Design, Mounted};

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
    },
    /// Anything else, by name.
    Named(String),
}

/// Lines to order together: one kind and value.
#[derive(Debug, Clone, PartialEq)]
pub struct Order {
    /// The part.
    pub bought: Component,
    /// References that use it.
    pub references: Vec<String>,
    /// How many a panel needs.
    pub per_panel: f64,
    /// For the run with spares.
    pub for_run: f64,
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
    /// Every line.
    pub lines: Vec<Line>,
    /// Crossover parts of one value together.
    pub orders: Vec<Order>,
}

impl PartsList {
    /// The list for `units` panels of a study.
    pub fn of(study: &Study, units: u32) -> Self {
        let design = &study.design;
        let spares_percent = design.run.spares_percent;
        let amount = Amount { units, spares_percent };
        let mut lines = crossover_lines(study, &amount);
        lines.extend(driver_lines(design, &amount));
        lines.extend(design.purchase.extras.iter().map(|extra| Line {
            reference: String::new(),
            item: Item::Named(extra.name.clone()),
            per_panel: extra.per_panel,
            unit: extra.unit.clone(),
            for_run: amount.for_run(extra.per_panel, extra.unit == "piece"),
            price: extra.price,
        }));
        let orders = orders(&lines, &amount);
        Self { units, spares_percent, currency: design.purchase.currency.clone(), lines, orders }
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

/// How many panels are built, with how many spare parts.
struct Amount {
    units: u32,
    spares_percent: f64,
}

impl Amount {
    /// Enough for all panels with spares; pieces are whole.
    fn for_run(&self, per_panel: f64, pieces: bool) -> f64 {
        let needed = per_panel * f64::from(self.units) * (1.0 + self.spares_percent / 100.0);
        // 309.0000001 is 309: products of decimals are not exact.
        // … and 17.304 m are not 17.304000000000002.
        if pieces { (needed - 1e-9).ceil() } else { (needed * 1e9).round() / 1e9 }
    }
}

/// Parts of every side; once, with their number, where all sides have the same network.
fn crossover_lines(study: &Study, amount: &Amount) -> Vec<Line> {
    let Some(first) = study.sides.first() else { return Vec::new() };
    let same = study.sides.iter().all(|s| s.chosen.network == first.chosen.network);
    let sides = if same { &study.sides[..1] } else { &study.sides[..] };
    let each = if same { study.sides.len() as f64 } else { 1.0 };
    let mut lines = Vec::new();
    for side in sides {
        let prefix = if same { String::new() } else { format!("{} ", side.name) };
        for part in &side.chosen.parts {
            lines.extend(part_lines(study, part, &prefix, each, amount));
        }
    }
    lines
}

fn part_lines(
    study: &Study,
    part: &ChosenPart,
    prefix: &str,
    each: f64,
    amount: &Amount,
) -> Vec<Line> {
    let line = |(name, bought): &(String, Component)| Line {
        reference: format!("{prefix}{name}"),
        item: Item::Part {
            exact: part.exact.value(),
            bought: *bought,
            error_percent: part.error_percent(),
            paired: part.choice.second.map(|(_, connection)| connection),
        },
        per_panel: each,
        unit: "piece".into(),
        for_run: amount.for_run(each, true),
        price: study.design.purchase.prices.of(bought),
    };
    part.bought.iter().map(line).collect()
}

/// Drivers, one line for each kind.
fn driver_lines(design: &Design, amount: &Amount) -> Vec<Line> {
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
            for_run: amount.for_run(per_panel, true),
            price: mounted.driver.price.as_ref().map(|p| p.amount),
        });
    }
    lines
}

fn orders(lines: &[Line], amount: &Amount) -> Vec<Order> {
    let mut orders: Vec<Order> = Vec::new();
    for line in lines {
        let Item::Part { bought, .. } = line.item else { continue };
        match orders.iter_mut().find(|o| o.bought == bought) {
            Some(order) => {
                order.references.push(line.reference.clone());
                order.per_panel += line.per_panel;
            }
            None => orders.push(Order {
                bought,
                references: vec![line.reference.clone()],
                per_panel: line.per_panel,
                for_run: 0.0,
            }),
        }
    }
    for order in &mut orders {
        order.for_run = amount.for_run(order.per_panel, true);
    }
    orders.sort_by(|a, b| {
        let key = |o: &Order| (o.bought.letter(), o.bought.value());
        let ((ka, va), (kb, vb)) = (key(a), key(b));
        ka.cmp(&kb).then(va.total_cmp(&vb))
    });
    orders
}
