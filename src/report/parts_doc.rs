//! The parts list as a document, as CSV and as text.

use super::json::SCHEMA_VERSION;
pub use super::parts_words::sentences;

use super::needs::{self, NeedDoc, RecipeDoc, StandsDoc};
use super::quantity;
use super::table::{Gives, lines, plain_table, right_align};
use crate::analysis::need::Need;
use crate::analysis::parts_list::{Item, Line, Order, PartsList};
use crate::circuit::network::Component;
use crate::circuit::winding::recipe::Recipe;
use crate::design::Article;
use crate::units;
use serde::Serialize;
use std::sync::Arc;

/// The document of `parts --json`; values in ohm, henry, farad.
#[derive(Debug, Clone, Serialize)]
pub struct PartsDoc {
    schema_version: u32,
    units: u32,
    spares_percent: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    currency: Option<String>,
    lines: Vec<LineDoc>,
    orders: Vec<OrderDoc>,
    /// Of the lines that have a price.
    cost_per_panel: f64,
    cost_of_run: f64,
    lines_without_price: usize,
}

#[derive(Debug, Clone, Serialize)]
struct LineDoc {
    #[serde(rename = "ref")]
    reference: String,
    kind: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    exact: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    chosen: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    error_percent: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    paired: Option<&'static str>,
    per_panel: f64,
    for_run: f64,
    counted_in: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    code: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    family: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    price_each: Option<f64>,
    #[serde(flatten)]
    more: MoreDoc,
}

/// What a line or order has beyond its value.
#[derive(Debug, Clone, Serialize)]
struct MoreDoc {
    #[serde(skip_serializing_if = "Option::is_none")]
    price_for_run: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    needs: Option<NeedDoc>,
    #[serde(skip_serializing_if = "Option::is_none")]
    stands: Option<StandsDoc>,
    #[serde(skip_serializing_if = "Option::is_none")]
    tolerance_percent: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    package: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    height_m: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    to_wind: Option<RecipeDoc>,
}

impl MoreDoc {
    fn new(
        article: Option<&Article>,
        need: Option<&Need>,
        recipe: Option<&Recipe>,
        price_for_run: Option<f64>,
    ) -> Self {
        Self {
            price_for_run,
            needs: need.map(NeedDoc::new),
            stands: article.map(StandsDoc::new),
            tolerance_percent: article.and_then(|a| a.tolerance_percent),
            package: article.and_then(|a| a.package.clone()),
            height_m: article.and_then(|a| a.height_m).or(recipe.map(Recipe::height_m)),
            to_wind: recipe.map(RecipeDoc::new),
        }
    }
}

#[derive(Debug, Clone, Serialize)]
struct OrderDoc {
    kind: &'static str,
    value: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    code: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    family: Option<String>,
    refs: Vec<String>,
    per_panel: f64,
    for_run: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    price_each: Option<f64>,
    #[serde(flatten)]
    more: MoreDoc,
}

impl PartsDoc {
    /// The document of a list.
    pub fn new(list: &PartsList) -> Self {
        let (cost_per_panel, lines_without_price) = list.cost_per_panel();
        Self {
            schema_version: SCHEMA_VERSION,
            units: list.units,
            spares_percent: list.spares_percent,
            currency: list.currency.clone(),
            lines: list.lines.iter().map(line).collect(),
            orders: list.orders.iter().map(order).collect(),
            cost_per_panel,
            cost_of_run: list.cost_of_run().0,
            lines_without_price,
        }
    }
}

fn line(line: &Line) -> LineDoc {
    let article = line.article();
    let (kind, exact, chosen, error_percent, paired) = match &line.item {
        Item::Named(name) => (name.clone(), None, None, None, None),
        Item::Part { exact, bought, error_percent, paired, .. } => (
            bought.kind().to_owned(),
            Some(*exact),
            Some(bought.value()),
            Some(*error_percent),
            paired.map(quantity::connection),
        ),
    };
    LineDoc {
        reference: line.reference.clone(),
        kind,
        exact,
        chosen,
        error_percent,
        paired,
        per_panel: line.per_panel,
        for_run: line.for_run,
        counted_in: line.unit.clone(),
        code: article.map(|a| a.code.clone()),
        family: article.map(|a| a.family.clone()),
        price_each: line.price,
        more: MoreDoc::new(article, line.need.as_ref(), line.recipe.as_ref(), line.price_of_run()),
    }
}

fn order(order: &Order) -> OrderDoc {
    OrderDoc {
        kind: order.bought.kind(),
        value: order.bought.value(),
        code: order.article.as_ref().map(|a| a.code.clone()),
        family: order.article.as_ref().map(|a| a.family.clone()),
        refs: order.references.clone(),
        per_panel: order.per_panel,
        for_run: order.for_run,
        price_each: order.price,
        more: MoreDoc::new(
            order.article.as_deref(),
            order.need.as_ref(),
            order.recipe.as_ref(),
            order.price.map(|p| p * order.for_run),
        ),
    }
}

/// `parts.csv` (RFC 4180), one row a line; `chosen_si` in ohm, henry or farad.
///
/// # Errors
/// Writing to memory does not fail in practice; the error is passed on.
pub fn csv(list: &PartsList) -> Result<String, csv::Error> {
    let mut writer =
        csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    writer.write_record([
        "ref",
        "item",
        "exact",
        "chosen",
        "chosen_si",
        "error_percent",
        "paired",
        "per_panel",
        "for_run",
        "counted_in",
        "price_each",
        "price_per_panel",
        "currency",
        "code",
        "family",
        "tolerance_percent",
        "needs",
        "stands",
        "size",
        "price_for_run",
        "schema_version",
    ])?;
    for each in &list.lines {
        writer.write_record(row(each, list))?;
    }
    let bytes = writer.into_inner().map_err(|e| csv::Error::from(e.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn row(line: &Line, list: &PartsList) -> [String; 21] {
    let document = self::line(line);
    let texts = texts(line);
    let number = |v: Option<f64>| v.map_or(String::new(), units::plain);
    let priced = line.price.and(list.currency.clone());
    [
        document.reference,
        document.kind,
        texts.exact,
        texts.chosen,
        number(document.chosen),
        document.error_percent.map_or(String::new(), |e| format!("{e:.2}")),
        document.paired.unwrap_or_default().to_owned(),
        units::plain(document.per_panel),
        units::plain(document.for_run),
        document.counted_in,
        number(line.price),
        line.price.map_or(String::new(), |p| money(p * line.per_panel)),
        priced.unwrap_or_default(),
        document.code.unwrap_or_default(),
        document.family.unwrap_or_default(),
        number(document.more.tolerance_percent),
        line.need.as_ref().map_or(String::new(), needs::needed),
        line.article().map_or(String::new(), needs::had),
        line.article().map_or(String::new(), needs::size),
        line.price_of_run().map_or(String::new(), money),
        SCHEMA_VERSION.to_string(),
    ]
}

/// An amount of money with two decimals.
pub fn money(amount: f64) -> String {
    format!("{amount:.2}")
}

/// Exact value, chosen value and error of a line as people write them; empty for what is no part.
#[derive(Debug, Clone, Default)]
pub struct LineTexts {
    /// "0.889 mH".
    pub exact: String,
    /// "0.910 mH".
    pub chosen: String,
    /// "+2.4 %".
    pub error: String,
}

/// The texts of a line.
pub fn texts(line: &Line) -> LineTexts {
    let Item::Part { exact, bought, error_percent, .. } = &line.item else {
        return LineTexts::default();
    };
    LineTexts {
        exact: quantity::part(&bought.with_value(*exact), 4),
        chosen: quantity::part(bought, 3),
        error: format!("{error_percent:+.1} %"),
    }
}

/// Parts of one value together, as people write them.
#[derive(Debug, Clone)]
pub struct OrderTexts {
    /// "6.80 µF capacitor".
    pub item: String,
    /// What it has to stand, where it was computed.
    pub needs: String,
    /// Pieces a panel.
    pub per_panel: String,
    /// Pieces for the run.
    pub for_run: String,
    /// Price for the run, where one is stated.
    pub price: String,
    /// "C1, C4".
    pub references: String,
}

/// The texts of an order.
pub fn order_texts(order: &Order) -> OrderTexts {
    let value = quantity::part(&order.bought, 3);
    OrderTexts {
        item: match order.article.as_deref() {
            Some(article) => format!("{value} {}, {}", article.code, article.family),
            None => format!("{value} {}", kind(&order.bought, &order.article)),
        },
        needs: order.need.as_ref().map_or(String::new(), needs::needed),
        per_panel: units::plain(order.per_panel),
        for_run: units::plain(order.for_run),
        price: order.price.map_or(String::new(), |price| money(price * order.for_run)),
        references: order.references.join(", "),
    }
}

/// What a line is about, for people.
pub fn item(line: &Line) -> String {
    match &line.item {
        Item::Named(name) => name.clone(),
        Item::Part { bought, .. } if line.recipe.is_some() => format!("{}, to wind", bought.kind()),
        Item::Part { bought, paired, article, .. } => match paired {
            Some(connection) => {
                let connection = quantity::connection(*connection);
                format!("{} (pair in {connection})", kind(bought, article))
            }
            None => kind(bought, article),
        },
    }
}

/// "capacitor"; of a stock "capacitor RN-68, film".
fn kind(bought: &Component, article: &Option<Arc<Article>>) -> String {
    match article {
        Some(article) => format!("{} {}, {}", bought.kind(), article.code, article.family),
        None => bought.kind().to_owned(),
    }
}

/// The list for people, in lines of `width` characters.
pub fn text(list: &PartsList, width: u16) -> String {
    let mut table = plain_table();
    let run = format!("for {}", list.units);
    table.set_header(["ref", "exact", "to buy", "error", "a panel", run.as_str(), "each", "item"]);
    for line in &list.lines {
        let texts = texts(line);
        table.add_row([
            line.reference.clone(),
            texts.exact,
            texts.chosen,
            texts.error,
            counted(line.per_panel, &line.unit),
            counted(line.for_run, &line.unit),
            line.price.map_or(String::new(), money),
            item(line),
        ]);
    }
    for index in [1, 2, 3, 4, 5, 6] {
        right_align(&mut table, index);
    }
    let mut out = lines(table, width, Gives::Last);
    out.push('\n');
    let mut orders = plain_table();
    orders.set_header(["to order", "needs", "a panel", run.as_str(), "price", "for"]);
    for each in &list.orders {
        let OrderTexts { item, needs, per_panel, for_run, price, references } = order_texts(each);
        orders.add_row([item, needs, per_panel, for_run, price, references]);
    }
    for index in [2, 3, 4] {
        right_align(&mut orders, index);
    }
    out.push_str(&lines(orders, width, Gives::Last));
    out.push('\n');
    for sentence in sentences(list) {
        out.push_str(&format!("  {sentence}\n"));
    }
    out
}

/// An amount with what it is counted in; pieces are just numbers.
pub fn counted(amount: f64, unit: &str) -> String {
    let number = units::plain(amount);
    if unit == "piece" { number } else { format!("{number} {unit}") }
}
