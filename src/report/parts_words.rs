//! What the parts list says in words.

use super::needs;
use super::parts_doc::money;
use crate::analysis::parts_list::PartsList;
use crate::units;

/// What the list says in words: the rule, spares, costs and what has no price.
pub fn sentences(list: &PartsList) -> Vec<String> {
    let mut sentences = vec![
        match &list.stock {
            Some(stock) => format!("Chosen parts are the nearest by ratio in the stock `{stock}`."),
            None => "Chosen values are the nearest of their IEC 60063 series by ratio.".to_owned(),
        },
        format!(
            "Quantities for {} panels with {} % spares, rounded up to whole pieces.",
            list.units,
            units::plain(list.spares_percent)
        ),
    ];
    sentences.extend(list.orders.iter().filter_map(|order| {
        let recipe = needs::recipe(order.recipe.as_ref()?);
        Some(format!("To wind for {}: {recipe}.", order.references.join(", ")))
    }));
    sentences.extend(list.orders.iter().filter_map(|order| {
        let (article, there) = order.short()?;
        let needed = units::plain(order.for_run);
        Some(format!("Of {} only {there} are in stock, {needed} are needed.", article.code))
    }));
    let (panel, missing) = list.cost_per_panel();
    let (run, _) = list.cost_of_run();
    let total = list.lines.len();
    match &list.currency {
        Some(currency) if missing < total => sentences.push(format!(
            "{} {currency} a panel, {} {currency} for the run{}.",
            money(panel),
            money(run),
            if missing == 0 {
                String::new()
            } else {
                format!(", without the {missing} of {total} lines that have no price")
            }
        )),
        _ => sentences.push("No prices are stated, so there is no cost.".into()),
    }
    sentences
}
