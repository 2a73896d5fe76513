//! Tuned values as a document and as text.

use super::compare_doc::{self, CompareDoc};
use super::quantity;
use super::table::{Gives, lines, plain_table, right_align};
use crate::analysis::compare::Outcome;
use crate::analysis::tune::Tuned;
use crate::circuit::network::{Network, Part};
use crate::design::{Crossover, Topology};
use serde::Serialize;
use std::fmt::Write;

/// The document of `tune --json`.
#[derive(Debug, Clone, Serialize)]
pub struct TuneDoc {
    #[serde(flatten)]
    outcomes: CompareDoc,
    seed: u64,
    /// Whether Ctrl-C ended the search: the best so far, not what the seed leads to.
    interrupted: bool,
    cost_before: f64,
    cost_best: f64,
    cost_preferred: f64,
    parts: Vec<PartDoc>,
    /// Deviation from the target over its band: before, continuous, preferred, dB rms.
    target_rms_db: [f64; 3],
    binding: Vec<String>,
    missed: Vec<String>,
}

#[derive(Debug, Clone, Serialize)]
struct PartDoc {
    #[serde(rename = "ref")]
    reference: String,
    kind: &'static str,
    /// Continuous optimum, SI; absent for the second part of a pair.
    #[serde(skip_serializing_if = "Option::is_none")]
    best: Option<f64>,
    preferred: f64,
    nodes: [String; 2],
    /// Deviation from the target with it 10 % off, dB rms.
    #[serde(skip_serializing_if = "Option::is_none")]
    ten_percent_off_rms_db: Option<f64>,
}

impl TuneDoc {
    /// The document; `outcomes` are those before, with best and with preferred values.
    pub fn new(tuned: &Tuned, outcomes: &[Outcome], seed: u64, interrupted: bool) -> Self {
        let parts = network(&tuned.chosen.crossover).map_or(Vec::new(), |chosen| {
            chosen.parts.iter().map(|part| document(tuned, chosen, part)).collect()
        });
        Self {
            outcomes: CompareDoc::new(outcomes),
            seed,
            interrupted,
            cost_before: tuned.costs[0],
            cost_best: tuned.costs[1],
            cost_preferred: tuned.costs[2],
            parts,
            target_rms_db: tuned.target_rms_db,
            binding: tuned.binding.clone(),
            missed: tuned.missed.clone(),
        }
    }
}

fn document(tuned: &Tuned, chosen: &Network, part: &Part) -> PartDoc {
    PartDoc {
        reference: part.reference.clone(),
        kind: part.component.kind(),
        best: exact_part(tuned, &part.reference).map(|p| p.component.value()),
        preferred: part.component.value(),
        nodes: part.nodes.map(|n| chosen.name(n).to_owned()),
        ten_percent_off_rms_db: ten_percent_db(tuned, &part.reference),
    }
}

fn network(crossover: &Crossover) -> Option<&Network> {
    match &crossover.topology {
        Topology::Listed(network) => Some(network),
        Topology::Textbook { .. } => None,
    }
}

fn exact_part<'t>(tuned: &'t Tuned, reference: &str) -> Option<&'t Part> {
    network(&tuned.exact.crossover)?.parts.iter().find(|p| p.reference == reference)
}

fn ten_percent_db(tuned: &Tuned, reference: &str) -> Option<f64> {
    tuned.sensitivity.iter().find(|(name, _)| name == reference).map(|(_, db)| *db)
}

/// The result for people, in lines of `width` characters.
pub fn text(
    tuned: &Tuned,
    outcomes: &[Outcome],
    seed: u64,
    interrupted: bool,
    width: u16,
) -> String {
    let mut out = compare_doc::text(outcomes, width);
    let mut table = plain_table();
    table.set_header(["part", "continuous", "preferred", "rms 10 % off", "between"]);
    if let Some(chosen) = network(&tuned.chosen.crossover) {
        for part in &chosen.parts {
            let best = exact_part(tuned, &part.reference);
            let [from, to] = part.nodes.map(|n| chosen.name(n).to_owned());
            let off = ten_percent_db(tuned, &part.reference);
            table.add_row([
                part.reference.clone(),
                best.map_or(String::new(), |p| quantity::part(&p.component, 3)),
                quantity::part(&part.component, 3),
                off.map_or(String::new(), |db| format!("{db:.2} dB")),
                format!("{from} to {to}"),
            ]);
        }
    }
    for index in [1, 2, 3] {
        right_align(&mut table, index);
    }
    let _ = write!(out, "\n{}\n", lines(table, width, Gives::Last));
    let [before, best, preferred] = tuned.target_rms_db;
    let _ = writeln!(
        out,
        "  deviation from the target over its band: {before:.2} before, {best:.2} continuous, {preferred:.2} dB rms preferred"
    );
    for sentence in &tuned.missed {
        let _ = writeln!(out, "  missed: {sentence}");
    }
    for sentence in &tuned.binding {
        let _ = writeln!(out, "  {sentence}");
    }
    let last = match interrupted {
        true => "stopped before the search was done: the best so far".to_owned(),
        false => format!("seed {seed}: the same seed gives the same values"),
    };
    let _ = writeln!(out, "  {last}");
    out
}
