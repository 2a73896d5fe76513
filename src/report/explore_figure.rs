//! The trade between price and deviation.

use crate::analysis::explore::merit::{Candidate, Merit};
use crate::picture::{Axis, Figure, Ink, Mark, Panel};

/// Price against deviation, one dot a candidate. `None` for no candidate.
pub fn figure(candidates: &[Candidate]) -> Option<Figure> {
    let first = candidates.first()?;
    let priced = candidates.iter().all(|c| c.outcome.cost.is_some());
    let merits: Vec<Merit> = candidates.iter().map(|c| c.merit).collect();
    let most = |of: fn(&Merit) -> f64| merits.iter().map(of).fold(0.0, f64::max);
    let least = merits.iter().map(|m| m.price).fold(f64::INFINITY, f64::min);
    let label = match (&first.design.purchase.currency, priced) {
        (Some(currency), true) => format!("Crossover parts of a panel ({currency})"),
        _ => "Parts of one side".to_owned(),
    };
    let (from, to) = (0.9 * least, 1.1 * most(|m| m.price));
    let mut panel =
        Panel::new(Axis::linear("Deviation (dB rms)", 0.0, 1.2 * most(|m| m.rms_db).max(0.1)));
    for (candidate, merit) in candidates.iter().zip(&merits) {
        panel.marks.push(Mark {
            text: candidate.outcome.label.clone(),
            x: merit.price,
            y: merit.rms_db,
            ink: Ink::Order((candidate.outcome.parts % 7) as u8),
            solid: true,
        });
    }
    let mut figure = Figure::new(
        "What a flatter response costs",
        format!("{}, designs that no other beats in everything", first.design.name),
        Axis::linear(label, from, to),
    );
    figure.description = "Deviation against price, one dot a design.".into();
    figure.panels = vec![panel];
    Some(figure)
}
