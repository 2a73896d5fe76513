//! What `[parts]` says of a stock: which file, and what of it may be used.

use super::companions::Companions;
use super::files::{Embedded, Files, GENERIC_STOCK};
use super::reader::{Bounds, Section};
use super::stock_file::{self, StockFile};
use crate::design::{Article, Stock};
use std::path::Path;
use std::sync::Arc;

/// A value of the network that the stock misses by more is told, %, unless the design says
/// otherwise.
const WITHIN_PERCENT: f64 = 10.0;

/// The name of the parts table inside the program.
const GENERIC: &str = "generic";

/// The kinds of parts with their letters.
const KINDS: [(&str, char); 3] = [("resistor", 'R'), ("inductor", 'L'), ("capacitor", 'C')];

/// The stock that the design names, less what it does not allow; `currency` is that of its other
/// prices.
pub(super) fn read(
    section: &mut Section<'_>,
    companions: &mut Companions<'_>,
    currency: Option<&str>,
) -> Option<Stock> {
    let named = section.optional_text("stock");
    let within = section.optional_number("stock_within_percent", Bounds::positive(100.0, "%"));
    let height_mm = section.optional_number("max_height_mm", Bounds::positive(500.0, "mm"));
    let families = KINDS.map(|(kind, _)| section.texts(&format!("{kind}_families")));
    let Some(named) = named else {
        for key in ["stock_within_percent", "max_height_mm"]
            .map(str::to_owned)
            .into_iter()
            .chain(KINDS.map(|(kind, _)| format!("{kind}_families")))
        {
            if section.has(&key) && !section.has("stock") {
                let help = "name the stock too: stock = \"stock/shelf.toml\"";
                section.refuse(&key, "says what may be used of a stock, but there is none", help);
            }
        }
        return None;
    };
    let (name, text) = match named.as_str() {
        GENERIC => (GENERIC.to_owned(), Embedded.read(Path::new(GENERIC_STOCK)).ok()?),
        _ => {
            let (path, text) = companions.text(section, "stock", &named)?;
            (path.display().to_string(), text)
        }
    };
    let file = match stock_file::parse(&name, &text) {
        Ok(file) => file,
        Err(error) => {
            companions.refuse(vec![error]);
            return None;
        }
    };
    companions.keep(&named, text);
    if let (Some(own), Some(other)) = (&file.currency, currency)
        && own != other
    {
        let message = format!("priced in {own}, but other prices are in {other}");
        section.refuse("stock", &message, "bring all prices to one currency");
    }
    Some(Stock {
        articles: allowed(section, &file, height_mm, &families),
        name: file.name,
        file: named,
        currency: file.currency,
        within_percent: within.unwrap_or(WITHIN_PERCENT),
    })
}

/// The articles that are there, low enough, and of the families asked for. A kind of which nothing
/// is left is a fault of the key that took the last.
fn allowed(
    section: &Section<'_>,
    file: &StockFile,
    height_mm: Option<f64>,
    families: &[Vec<String>; 3],
) -> Vec<Arc<Article>> {
    let mut allowed = Vec::new();
    for ((kind, letter), families) in KINDS.into_iter().zip(families) {
        let all = || file.articles.iter().filter(move |a| a.component.letter() == letter);
        let key = format!("{kind}_families");
        unknown_families(section, &key, kind, all(), families);
        let there: Vec<&Article> = all().filter(|a| a.in_stock != Some(0)).collect();
        let fits = |a: &&&Article| families.is_empty() || families.contains(&a.family);
        let of_family: Vec<&Article> = there.iter().filter(fits).copied().collect();
        let low = |a: &&&Article| {
            height_mm.is_none_or(|most| a.height_m.is_some_and(|h| h * 1e3 <= most * (1.0 + 1e-9)))
        };
        let kept: Vec<&Article> = of_family.iter().filter(low).copied().collect();
        if let Some(most) = height_mm.filter(|_| kept.is_empty() && !of_family.is_empty()) {
            let heights = of_family.iter().filter_map(|a| a.height_m);
            let lowest = heights.min_by(f64::total_cmp);
            let lowest = lowest.map_or("none states its height".to_owned(), |h| {
                format!("the lowest is {} mm", crate::units::significant(h * 1e3, 3))
            });
            let message = format!("no {kind} that may be used is {most} mm high or less");
            section.refuse("max_height_mm", &message, &lowest);
        }
        allowed.extend(kept.into_iter().cloned().map(Arc::new));
    }
    allowed
}

fn unknown_families<'a>(
    section: &Section<'_>,
    key: &str,
    kind: &str,
    articles: impl Iterator<Item = &'a Article>,
    families: &[String],
) {
    let mut known: Vec<&str> = articles.map(|a| a.family.as_str()).collect();
    known.sort_unstable();
    known.dedup();
    let Some(stranger) = families.iter().find(|f| !known.contains(&f.as_str())) else { return };
    let listed: Vec<String> = known.iter().map(|f| format!("\"{f}\"")).collect();
    let help = match listed.is_empty() {
        true => format!("the stock has no {kind} at all"),
        false => format!("the stock's {kind}s are {}", listed.join(", ")),
    };
    section.refuse(key, &format!("no {kind} in the stock is of the family `{stranger}`"), &help);
}
