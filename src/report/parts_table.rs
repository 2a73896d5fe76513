//! The parts list as tables of cells, and those as Markdown and as CSV of what to order.

use super::needs;
use super::parts_doc::{self, money};
use super::quantity;
use crate::analysis::parts_list::{Order, PartsList};
use crate::units;

/// One cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Text; empty where there is nothing to say.
    Text(String),
    /// A number.
    Number(f64),
    /// An amount of money.
    Money(f64),
}

/// A table with a title.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// What it is.
    pub title: &'static str,
    /// Names of its columns.
    pub header: Vec<String>,
    /// Its rows, each as long as the header.
    pub rows: Vec<Vec<Cell>>,
}

fn text(cell: impl Into<String>) -> Cell {
    Cell::Text(cell.into())
}

fn amount(value: Option<f64>) -> Cell {
    value.map_or(text(""), Cell::Money)
}

/// Every part at its place and what comes along.
pub fn places(list: &PartsList) -> Table {
    let row = |line: &crate::analysis::parts_list::Line| {
        let texts = parts_doc::texts(line);
        let article = line.article();
        let tolerance = article.and_then(|a| a.tolerance_percent);
        let each = |v: f64| line.price.map(|p| p * v);
        vec![
            text(line.reference.clone()),
            text(parts_doc::item(line)),
            text(texts.exact),
            text(texts.chosen),
            text(texts.error),
            text(tolerance.map_or(String::new(), |t| format!("±{t} %"))),
            text(line.need.as_ref().map_or(String::new(), needs::needed)),
            text(article.map_or(String::new(), needs::had)),
            text(article.map_or(String::new(), needs::size)),
            Cell::Number(line.per_panel),
            Cell::Number(line.for_run),
            text(line.unit.clone()),
            amount(line.price),
            amount(each(line.per_panel)),
            amount(line.price_of_run()),
        ]
    };
    let mut header: Vec<String> = [
        "ref",
        "item",
        "exact",
        "chosen",
        "error",
        "tolerance",
        "needs",
        "stands",
        "size",
        "a panel",
    ]
    .map(str::to_owned)
    .to_vec();
    header.push(format!("for {}", list.units));
    header.extend(["counted in", "each", "a panel's", "the run's"].map(str::to_owned));
    Table { title: "Parts", header, rows: list.lines.iter().map(row).collect() }
}

/// What to order, equal parts together.
pub fn orders(list: &PartsList) -> Table {
    let row = |order: &Order| {
        let article = order.article.as_deref();
        vec![
            text(article.map_or(String::new(), |a| a.code.clone())),
            text(parts_doc::order_texts(order).item),
            text(quantity::part(&order.bought, 3)),
            text(order.need.as_ref().map_or(String::new(), needs::needed)),
            text(article.map_or(String::new(), needs::had)),
            Cell::Number(order.per_panel),
            Cell::Number(order.for_run),
            amount(order.price),
            amount(order.price.map(|p| p * order.for_run)),
            text(order.references.join(", ")),
        ]
    };
    let header = ["code", "item", "value", "needs", "stands", "a panel"].map(str::to_owned);
    let mut header = header.to_vec();
    header.push(format!("for {}", list.units));
    header.extend(["each", "the run's", "for"].map(str::to_owned));
    Table { title: "To order", header, rows: list.orders.iter().map(row).collect() }
}

/// A cell for people.
fn shown(cell: &Cell) -> String {
    match cell {
        Cell::Text(text) => text.clone(),
        Cell::Number(value) => units::plain(*value),
        Cell::Money(value) => money(*value),
    }
}

/// The list in Markdown: both tables, then what they say in words.
pub fn markdown(list: &PartsList) -> String {
    let mut out = String::from("# Parts list\n");
    for table in [places(list), orders(list)] {
        let line = |cells: Vec<String>| {
            let cells: Vec<String> = cells.iter().map(|c| c.replace('|', "\\|")).collect();
            format!("| {} |\n", cells.join(" | "))
        };
        let dashes = |cell: Option<&Cell>| match cell {
            Some(Cell::Text(_)) | None => "---".to_owned(),
            Some(_) => "---:".to_owned(),
        };
        let first = table.rows.first();
        out.push_str(&format!("\n## {}\n\n", table.title));
        out.push_str(&line(table.header.clone()));
        let rule = (0..table.header.len()).map(|k| dashes(first.and_then(|row| row.get(k))));
        out.push_str(&line(rule.collect()));
        for row in &table.rows {
            out.push_str(&line(row.iter().map(shown).collect()));
        }
    }
    out.push('\n');
    for sentence in parts_doc::sentences(list) {
        out.push_str(&format!("- {sentence}\n"));
    }
    out
}

/// `orders.csv` (RFC 4180): what to order, equal parts together.
///
/// # Errors
/// Writing to memory does not fail in practice; the error is passed on.
pub fn orders_csv(list: &PartsList) -> Result<String, csv::Error> {
    let mut writer =
        csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    writer.write_record([
        "code",
        "item",
        "value_si",
        "needs",
        "stands",
        "per_panel",
        "for_run",
        "price_each",
        "price_for_run",
        "currency",
        "refs",
    ])?;
    for order in &list.orders {
        let article = order.article.as_deref();
        let number = |v: Option<f64>| v.map_or(String::new(), units::plain);
        writer.write_record([
            article.map_or(String::new(), |a| a.code.clone()),
            parts_doc::order_texts(order).item,
            units::plain(order.bought.value()),
            order.need.as_ref().map_or(String::new(), needs::needed),
            article.map_or(String::new(), needs::had),
            units::plain(order.per_panel),
            units::plain(order.for_run),
            number(order.price),
            order.price.map_or(String::new(), |p| money(p * order.for_run)),
            order.price.and(list.currency.clone()).unwrap_or_default(),
            order.references.join(", "),
        ])?;
    }
    let bytes = writer.into_inner().map_err(|e| csv::Error::from(e.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
