//! Stock files: `kind = "stock"`, the parts that a maker or dealer sells.

use super::fault::InputError;
use super::purchase_section::PRICE;
use super::reader::{Bounds, Document, Section};
use crate::circuit::network::Component;
use crate::design::{Article, Kinds, Rating};

/// A sound stock file.
#[derive(Debug, Clone, PartialEq)]
pub struct StockFile {
    /// What it is called.
    pub name: String,
    /// Currency of its prices.
    pub currency: Option<String>,
    /// All parts, in the order of the file: resistors, coils, capacitors.
    pub articles: Vec<Article>,
}

impl StockFile {
    /// How many of each kind there are.
    pub fn counts(&self) -> Kinds<usize> {
        let count =
            |letter| self.articles.iter().filter(|a| a.component.letter() == letter).count();
        Kinds { resistor: count('R'), inductor: count('L'), capacitor: count('C') }
    }
}

/// Reads a stock from `text`, which stands in `file`.
///
/// # Errors
/// Everything wrong with the text.
pub fn parse(file: &str, text: &str) -> Result<StockFile, InputError> {
    let document = Document::parse(file, text, &["stock"])?;
    let stock = read(&mut document.root());
    document.finish()?;
    Ok(stock)
}

type Value = fn(&mut Section<'_>) -> (Component, Option<Rating>);

fn read(root: &mut Section<'_>) -> StockFile {
    let name = root.text("name");
    let currency = root.optional_text("currency");
    let mut articles: Vec<Article> = Vec::new();
    let kinds: [(&str, Value); 3] =
        [("resistor", resistor), ("inductor", inductor), ("capacitor", capacitor)];
    for (kind, value) in kinds {
        for section in &mut root.sections(kind) {
            let article = article(section, value);
            if articles.iter().any(|a| a.code == article.code) {
                let help = "an order code names one part: give each its own";
                section.refuse("code", "used by another part", help);
            }
            if !article.prices.is_empty() && currency.is_none() {
                let help = "write it once for all prices, at the top: currency = \"EUR\"";
                section.refuse("price", "a price without a currency", help);
            }
            prices(section, &article, currency.as_deref());
            articles.push(article);
        }
    }
    let any = kinds.iter().any(|(kind, _)| root.has(kind));
    if !any && !root.has_unasked() {
        let help = "add tables [[inductor]], [[capacitor]] and [[resistor]], one for each part";
        root.refuse("inductor", "the stock has no part", help);
    }
    StockFile { name, currency, articles }
}

/// Prices that fall as more are taken, all in one currency.
fn prices(section: &mut Section<'_>, article: &Article, currency: Option<&str>) {
    if let Some(own) = section.optional_text("currency")
        && currency.is_some_and(|c| c != own)
    {
        let message = format!("priced in {own}, the stock in {}", currency.unwrap_or_default());
        section.refuse("currency", &message, "bring all prices to one currency");
    }
    let rises = article.prices.windows(2).find(|pair| pair[1].1 > pair[0].1);
    if let Some([(few, low), (many, high)]) = rises.map(|p| [p[0], p[1]]) {
        let message = format!("the price breaks cross: {many} cost {high} each, {few} only {low}");
        section.refuse("price", &message, "one of more pieces costs no more than one of fewer");
    }
}

fn article(section: &mut Section<'_>, value: Value) -> Article {
    let code = section.text("code");
    let (component, rating) = value(section);
    let percent = Bounds::positive(50.0, "%");
    let height = Bounds::positive(500.0, "mm");
    Article {
        code,
        component,
        rating,
        family: section.text("family"),
        tolerance_percent: section.optional_number("tolerance_percent", percent),
        saturation_a: (component.letter() == 'L')
            .then(|| section.optional_number("saturation_a", Bounds::positive(1000.0, "A")))
            .flatten(),
        ripple_a: (component.letter() == 'C')
            .then(|| section.optional_number("ripple_a", Bounds::positive(1000.0, "A")))
            .flatten(),
        package: section.optional_text("package"),
        prices: section.steps("price", PRICE),
        height_m: section.optional_number("height_mm", height).map(|mm| mm * 1e-3),
        in_stock: section.optional_integer("in_stock", 0..=1_000_000_000),
    }
}

const LOSS: Bounds = Bounds::new(0.0, 100.0, "ohm");

fn resistor(section: &mut Section<'_>) -> (Component, Option<Rating>) {
    let ohm = section.number("value_ohm", Bounds::new(1e-3, 1e6, "ohm"));
    let rating = section.optional_number("power_w", Bounds::positive(1000.0, "W"));
    (Component::Resistor { ohm }, rating.map(Rating::PowerW))
}

fn inductor(section: &mut Section<'_>) -> (Component, Option<Rating>) {
    let henry = section.number("value_mh", Bounds::new(1e-4, 1e3, "mH")) * 1e-3;
    let dcr_ohm = section.number("dcr_ohm", LOSS);
    let rating = section.optional_number("current_a", Bounds::positive(1000.0, "A"));
    (Component::Inductor { henry, dcr_ohm }, rating.map(Rating::CurrentA))
}

fn capacitor(section: &mut Section<'_>) -> (Component, Option<Rating>) {
    let farad = section.number("value_uf", Bounds::new(1e-4, 1e5, "uF")) * 1e-6;
    let esr_ohm = section.number_or("esr_ohm", LOSS, 0.0);
    let rating = section.optional_number("voltage_v", Bounds::positive(10_000.0, "V"));
    (Component::Capacitor { farad, esr_ohm }, rating.map(Rating::VoltageV))
}
