//! What the search over topologies found, and what taking parts out saves.

use super::compare_doc::CompareDoc;
use super::json::SCHEMA_VERSION;
use super::parts_doc::money;
use super::table::{Gives, lines, plain_table, right_align};
use crate::analysis::compare::Outcome;
use crate::analysis::cost_down::Saving;
use crate::analysis::explore::merit::{Candidate, Merit};
use crate::units;
use serde::Serialize;

/// The document of `explore --json`.
#[derive(Debug, Clone, Serialize)]
pub struct ExploreDoc {
    #[serde(flatten)]
    candidates: CompareDoc,
    /// Deviation from the target over one band for all, one a variant.
    band_rms_db: Vec<f64>,
    /// Difference between the seats over that band.
    band_spread_db: Vec<f64>,
    /// Heat in the tweeter relative to bw1 at the explored design's frequency.
    tweeter_heat_db: Vec<f64>,
    seed: u64,
    /// Whether Ctrl-C ended the search before all candidates were tuned.
    interrupted: bool,
}

impl ExploreDoc {
    /// The document of the designs that none beats.
    pub fn new(candidates: &[Candidate], seed: u64, interrupted: bool) -> Self {
        let each = |of: fn(&Merit) -> f64| candidates.iter().map(|c| of(&c.merit)).collect();
        Self {
            candidates: CompareDoc::new(&outcomes(candidates)),
            band_rms_db: each(|m| m.rms_db),
            band_spread_db: each(|m| m.spread_db),
            tweeter_heat_db: each(|m| m.heat_db),
            seed,
            interrupted,
        }
    }
}

/// The outcomes of some candidates.
pub fn outcomes(candidates: &[Candidate]) -> Vec<Outcome> {
    candidates.iter().map(|c| c.outcome.clone()).collect()
}

/// The document of `explore --cost-down --json`.
#[derive(Debug, Clone, Serialize)]
pub struct CostDownDoc {
    schema_version: u32,
    seed: u64,
    interrupted: bool,
    savings: Vec<SavingDoc>,
}

#[derive(Debug, Clone, Serialize)]
struct SavingDoc {
    #[serde(rename = "ref")]
    reference: String,
    how: &'static str,
    fit: bool,
    deviation_rms_db: f64,
    lowest_impedance_ohm: f64,
    tweeter_heat_re_bw1_db: f64,
    part_count: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    saved_per_panel: Option<f64>,
}

impl CostDownDoc {
    /// The document of some savings, the design as it is first.
    pub fn new(savings: &[Saving], seed: u64, interrupted: bool) -> Self {
        let document = |s: &Saving| SavingDoc {
            reference: s.reference.clone(),
            how: s.how,
            fit: !s.candidate.outcome.study.is_unfit(),
            deviation_rms_db: s.candidate.merit.rms_db,
            lowest_impedance_ohm: s.candidate.outcome.lowest_ohm,
            tweeter_heat_re_bw1_db: s.candidate.outcome.tweeter_heat_db,
            part_count: s.candidate.outcome.parts,
            saved_per_panel: saved(savings, s),
        };
        let savings = savings.iter().map(document).collect();
        Self { schema_version: SCHEMA_VERSION, seed, interrupted, savings }
    }
}

fn saved(savings: &[Saving], saving: &Saving) -> Option<f64> {
    Some(savings.first()?.candidate.outcome.cost? - saving.candidate.outcome.cost?)
}

/// The candidates for people, in lines of `width` characters.
pub fn text(candidates: &[Candidate], interrupted: bool, width: u16) -> String {
    if candidates.is_empty() && interrupted {
        return format!("  No candidate yet.\n{STOPPED}");
    }
    if candidates.is_empty() {
        return "  No candidate keeps all limits: loosen [target], the amplifier's lowest load, or the run's window.\n".into();
    }
    let mut table = plain_table();
    table.set_header(["orders, frequency", "rms", "lowest", "heat", "seats", "parts", "cost"]);
    for candidate in candidates {
        let outcome = &candidate.outcome;
        table.add_row([
            outcome.label.clone(),
            format!("{:.2} dB", candidate.merit.rms_db),
            units::ohms(outcome.lowest_ohm),
            format!("{:+.0} dB", candidate.merit.heat_db),
            format!("{:.1} dB", candidate.merit.spread_db),
            outcome.parts.to_string(),
            outcome.cost.map_or("?".into(), money),
        ]);
    }
    for index in 1..7 {
        right_align(&mut table, index);
    }
    let none = if interrupted { STOPPED } else { "  none of these is beaten in everything\n" };
    format!("{}\n{LEGEND}{none}", lines(table, width, Gives::First))
}

const LEGEND: &str = "  orders of low-pass and high-pass; flat: the woofer's coil flattened
  rms, seats: deviation from the design's target over its band, and how the seats differ there
  heat: the tweeter's at its resonance, dB relative to bw1 at the design's own frequency
";
const STOPPED: &str = "  stopped before all candidates were tuned: the best so far\n";

/// The savings for people, in lines of `width` characters.
pub fn savings_text(savings: &[Saving], interrupted: bool, width: u16) -> String {
    let mut table = plain_table();
    table.set_header(["", "rms", "lowest", "heat", "saves"]);
    for saving in savings {
        let outcome = &saving.candidate.outcome;
        let fit = if outcome.study.is_unfit() { " (unfit)" } else { "" };
        table.add_row([
            format!("{}{fit}", outcome.label),
            format!("{:.2} dB", saving.candidate.merit.rms_db),
            units::ohms(outcome.lowest_ohm),
            format!("{:+.0} dB", outcome.tweeter_heat_db),
            saved(savings, saving).map_or("?".into(), money),
        ]);
    }
    for index in 1..5 {
        right_align(&mut table, index);
    }
    let table = lines(table, width, Gives::First);
    if interrupted { format!("{table}\n{STOPPED}") } else { table }
}
