//! What a design says of parts and purchase: `[parts]`, `[[extra]]`.

use super::companions::Companions;
use super::reader::{Bounds, Section};
use super::stock_section;
use crate::circuit::preferred::Series;
use crate::circuit::rules;
use crate::design::{Extra, Kinds, PartsRules, Purchase, Side, Stock, Values};

pub(super) const PRICE: Bounds = Bounds::new(0.0, 1e6, "");

/// What a design says of parts.
pub(super) struct Bought {
    /// Series, pairs, losses.
    pub(super) rules: PartsRules,
    /// Prices and what comes along.
    pub(super) purchase: Purchase,
    /// What parts are chosen from.
    pub(super) stock: Option<Stock>,
}

impl Bought {
    /// Whether every part that may be chosen has a price.
    pub(super) fn all_priced(&self) -> bool {
        let stated = self.purchase.prices;
        match &self.stock {
            None => {
                [stated.resistor, stated.inductor, stated.capacitor].iter().all(Option::is_some)
            }
            Some(stock) => stock
                .articles
                .iter()
                .all(|a| !a.prices.is_empty() || stated.of(&a.component).is_some()),
        }
    }
}

/// What `[parts]` and `[[extra]]` say; `sides` for the drivers' prices.
pub(super) fn read(
    root: &mut Section<'_>,
    sides: Option<&[Side]>,
    companions: &mut Companions<'_>,
) -> Bought {
    let mut section = root.optional_section("parts");
    let rules = section.as_mut().map_or_else(default_rules, rules_of);
    let currency = section.as_mut().and_then(|s| s.optional_text("currency"));
    let prices = section.as_mut().map_or_else(Kinds::default, |s| prices(s, currency.is_some()));
    let extras = extras(root, currency.is_some());
    if let (Some(currency), Some(sides)) = (&currency, sides) {
        one_currency(section.as_ref(), currency, sides);
    }
    let currency = currency.or_else(|| of_the_drivers(root, sides));
    let stock =
        section.as_mut().and_then(|s| stock_section::read(s, companions, currency.as_deref()));
    let currency = currency.or_else(|| stock.as_ref().and_then(|s| s.currency.clone()));
    Bought { rules, purchase: Purchase { currency, prices, extras }, stock }
}

fn default_rules() -> PartsRules {
    let series = Kinds { resistor: Series::E24, inductor: Series::E24, capacitor: Series::E24 };
    PartsRules {
        series,
        pairs_above_percent: None,
        values: Values::Exact,
        coil_dcr_at_1mh_ohm: 0.0,
        capacitor_esr_ohm: 0.0,
        ambient_c: rules::USUAL_AMBIENT_C,
    }
}

fn rules_of(section: &mut Section<'_>) -> PartsRules {
    let loss = Bounds::new(0.0, 20.0, "ohm");
    let all = section.choice_or("series", &Series::ALL, Series::E24);
    let series = Kinds {
        resistor: section.choice_or("resistor_series", &Series::ALL, all),
        inductor: section.choice_or("inductor_series", &Series::ALL, all),
        capacitor: section.choice_or("capacitor_series", &Series::ALL, all),
    };
    let words = [("exact", Values::Exact), ("chosen", Values::Chosen)];
    PartsRules {
        series,
        pairs_above_percent: section
            .optional_number("pairs_above_percent", Bounds::new(0.0, 100.0, "%")),
        values: section.choice_or("values", &words, Values::Exact),
        coil_dcr_at_1mh_ohm: section.number_or("coil_dcr_at_1mh_ohm", loss, 0.0),
        capacitor_esr_ohm: section.number_or("capacitor_esr_ohm", loss, 0.0),
        ambient_c: section.number_or(
            "ambient_c",
            Bounds::new(-20.0, 100.0, "C"),
            rules::USUAL_AMBIENT_C,
        ),
    }
}

fn prices(section: &mut Section<'_>, with_currency: bool) -> Kinds<Option<f64>> {
    let mut price = |key: &str| {
        let price = section.optional_number(key, PRICE);
        price.inspect(|_| needs_currency(section, key, with_currency))
    };
    Kinds {
        resistor: price("resistor_price"),
        inductor: price("inductor_price"),
        capacitor: price("capacitor_price"),
    }
}

fn needs_currency(section: &Section<'_>, key: &str, with_currency: bool) {
    if !with_currency {
        let help = "write it once for all prices, in [parts]: currency = \"EUR\"";
        section.refuse(key, "a price without a currency", help);
    }
}

fn extras(root: &mut Section<'_>, with_currency: bool) -> Vec<Extra> {
    let mut sections = root.sections("extra");
    let read = |section: &mut Section<'_>| {
        let price = section.optional_number("price", PRICE);
        if price.is_some() {
            needs_currency(section, "price", with_currency);
        }
        Extra {
            name: section.text("name"),
            per_panel: section.number_or("per_panel", Bounds::positive(1e5, ""), 1.0),
            unit: section.text_or("unit", "piece"),
            price,
        }
    };
    sections.iter_mut().map(read).collect()
}

/// Refuses drivers priced in another currency than the design's.
fn one_currency(section: Option<&Section<'_>>, currency: &str, sides: &[Side]) {
    let other = driver_currencies(sides).find(|c| c != currency);
    if let (Some(section), Some(other)) = (section, other) {
        let message = format!("found \"{currency}\", but a driver is priced in {other}");
        section.refuse("currency", &message, "bring all prices to one currency");
    }
}

/// The drivers' own currency where the design states none and they agree.
fn of_the_drivers(root: &Section<'_>, sides: Option<&[Side]>) -> Option<String> {
    let sides = sides?;
    let first = driver_currencies(sides).next()?;
    if driver_currencies(sides).any(|c| c != first) {
        let help = "bring the prices in the driver files to one currency";
        root.refuse("side", "drivers are priced in different currencies", help);
    }
    Some(first)
}

fn driver_currencies(sides: &[Side]) -> impl Iterator<Item = String> + '_ {
    let drivers = sides.iter().flat_map(|s| [&s.drivers.woofer, &s.drivers.tweeter]);
    drivers.filter_map(|m| m.driver.price.as_ref().map(|p| p.currency.clone()))
}
