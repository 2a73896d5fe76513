//! The yield of a run: document, text and tables.

use super::json::SCHEMA_VERSION;
use super::parts_doc::money;
use super::table::{Gives, lines, plain_table, right_align};
use crate::analysis::yields::Drawn;
use crate::analysis::yields::accept::Cause;
use crate::analysis::yields::classes::Aim;
use crate::analysis::yields::whole::{Answer, Choice};
use crate::design::Design;
use crate::units;
use serde::Serialize;
use std::fmt::Write;

/// Shares of runs whose number of good units is told.
const RUNS: [f64; 3] = [0.05, 0.5, 0.95];

/// The document of `yield --json`.
#[derive(Debug, Clone, Serialize)]
pub struct YieldDoc {
    schema_version: u32,
    seed: u64,
    interrupted: bool,
    units_of_run: u32,
    design_is_good: bool,
    fresh: DrawnDoc,
    aged: DrawnDoc,
    frequency_hz: Vec<f64>,
    bands: Vec<BandDoc>,
    #[serde(skip_serializing_if = "Option::is_none")]
    deciding: Option<Vec<SourceDoc>>,
    tighter: Vec<TighterDoc>,
    #[serde(skip_serializing_if = "Option::is_none")]
    choice: Option<ChoiceDoc>,
}

#[derive(Debug, Clone, Serialize)]
struct DrawnDoc {
    draws: u64,
    per_lot: u32,
    good_share: f64,
    interval_95: [f64; 2],
    alike_within_lots: f64,
    /// Good units that 5, 50 and 95 % of runs have at most.
    good_units_of_run: [u32; 3],
    fails: Vec<CauseDoc>,
    /// Largest departure from the middle line, dB.
    deviation_median_db: f64,
    deviation_p95_db: f64,
    deviation_db: Vec<f64>,
    deviation_units: Vec<u64>,
    worst_unit: u64,
    worst_used: f64,
}

#[derive(Debug, Clone, Serialize)]
struct CauseDoc {
    cause: &'static str,
    units: u64,
    for_this_alone: u64,
}

#[derive(Debug, Clone, Serialize)]
struct BandDoc {
    side: String,
    listener: String,
    p5_db: Vec<f64>,
    median_db: Vec<f64>,
    p95_db: Vec<f64>,
    lowest_db: Vec<f64>,
    highest_db: Vec<f64>,
    worst_unit_db: Vec<f64>,
}

#[derive(Debug, Clone, Serialize)]
struct SourceDoc {
    source: String,
    first: f64,
    first_error: f64,
    total: f64,
    total_error: f64,
}

#[derive(Debug, Clone, Serialize)]
struct TighterDoc {
    #[serde(rename = "ref")]
    reference: String,
    from_percent: f64,
    to_percent: f64,
    costs_per_panel: f64,
    good_share_before: f64,
    good_share: f64,
}

#[derive(Debug, Clone, Serialize)]
struct ChoiceDoc {
    reached: bool,
    cost_before: f64,
    cost: f64,
    good_share_before: f64,
    good_share: f64,
    parts: Vec<PickDoc>,
}

#[derive(Debug, Clone, Serialize)]
struct PickDoc {
    #[serde(rename = "ref")]
    reference: String,
    tolerance_percent: f64,
    price: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    code: Option<String>,
}

impl YieldDoc {
    /// The document of an answer.
    pub fn new(design: &Design, answer: &Answer, seed: u64, interrupted: bool) -> Self {
        let units = design.run.units;
        let sources = answer.deciding.as_ref().map(|d| {
            let source = |s: &crate::analysis::yields::deciding::Source| SourceDoc {
                source: s.name.clone(),
                first: s.share.first,
                first_error: s.share.first_error,
                total: s.share.total,
                total_error: s.share.total_error,
            };
            d.sources.iter().map(source).collect()
        });
        let tighter = answer.tighter.iter().map(|t| TighterDoc {
            reference: t.reference.clone(),
            from_percent: t.from_percent,
            to_percent: t.to_percent,
            costs_per_panel: t.costs,
            good_share_before: t.good_before,
            good_share: t.good,
        });
        Self {
            schema_version: SCHEMA_VERSION,
            seed,
            interrupted,
            units_of_run: units,
            design_is_good: answer.nominal.good(0),
            fresh: drawn(&answer.fresh, units),
            aged: drawn(&answer.aged, units),
            frequency_hz: answer.line.batch.grid.frequency_hz().to_vec(),
            bands: bands(design, answer),
            deciding: sources,
            tighter: tighter.collect(),
            choice: answer.choice.as_ref().map(|c| choice(answer, c)),
        }
    }
}

fn drawn(drawn: &Drawn, units: u32) -> DrawnDoc {
    let (tally, good) = (&drawn.tally, &drawn.good);
    let bins = tally.deviations(5);
    let cause = |(k, cause): (usize, &Cause)| CauseDoc {
        cause: cause.words(),
        units: tally.causes[k],
        for_this_alone: tally.only[k],
    };
    DrawnDoc {
        draws: tally.units,
        per_lot: drawn.per_lot,
        good_share: good.mean,
        interval_95: [good.interval.0, good.interval.1],
        alike_within_lots: good.alike,
        good_units_of_run: RUNS.map(|p| good.run_quantile(units, p)),
        fails: Cause::ALL.iter().enumerate().map(cause).collect(),
        deviation_median_db: tally.deviation_quantile_db(0.5),
        deviation_p95_db: tally.deviation_quantile_db(0.95),
        deviation_db: bins.iter().map(|b| b.0).collect(),
        deviation_units: bins.iter().map(|b| b.1).collect(),
        worst_unit: tally.worst.1,
        worst_used: tally.worst.0,
    }
}

fn bands(design: &Design, answer: &Answer) -> Vec<BandDoc> {
    let points = answer.line.batch.grid.len();
    let tally = &answer.fresh.tally;
    let mut bands = Vec::new();
    for (s, side) in design.sides.iter().enumerate() {
        for (l, listener) in design.listeners.iter().enumerate() {
            let row = s * design.listeners.len() + l;
            let rows = row * points..(row + 1) * points;
            let at = |p: f64| rows.clone().map(|r| tally.row_quantile_db(r, p)).collect();
            let extremes = &tally.extremes[rows.clone()];
            bands.push(BandDoc {
                side: side.name.clone(),
                listener: listener.name.clone(),
                p5_db: at(0.05),
                median_db: at(0.5),
                p95_db: at(0.95),
                lowest_db: extremes.iter().map(|e| e.0).collect(),
                highest_db: extremes.iter().map(|e| e.1).collect(),
                worst_unit_db: answer.worst_db[row].clone(),
            });
        }
    }
    bands
}

fn choice(answer: &Answer, choice: &Choice) -> ChoiceDoc {
    let pick = |(place, pick): (&crate::analysis::yields::classes::Place, &usize)| {
        let offer = &place.offers[*pick];
        PickDoc {
            reference: place.reference.clone(),
            tolerance_percent: offer.percent,
            price: offer.price,
            code: offer.code.clone(),
        }
    };
    ChoiceDoc {
        reached: reached(choice),
        cost_before: choice.before.cost,
        cost: choice.bill.cost,
        good_share_before: choice.before.good,
        good_share: choice.bill.good,
        parts: answer.places.iter().zip(&choice.bill.picks).map(pick).collect(),
    }
}

fn reached(choice: &Choice) -> bool {
    match choice.aim {
        Aim::Reach(share) => choice.bill.good >= share,
        Aim::Budget(most) => choice.bill.cost <= most + 1e-9,
    }
}

/// A share as a percentage of three digits.
pub fn percent(share: f64) -> String {
    format!("{:.1} %", 100.0 * share)
}

/// The answer for people, in lines of `width` characters.
pub fn text(design: &Design, answer: &Answer, seed: u64, interrupted: bool, width: u16) -> String {
    let (mut out, fresh, units) = (String::new(), &answer.fresh, design.run.units);
    let good = &fresh.good;
    let [few, middle, many] = RUNS.map(|p| good.run_quantile(units, p));
    // Writing to a text cannot fail.
    let _ = writeln!(
        out,
        "  {} of units are good ({} to {} with 95 % confidence; {} drawn, seed {seed})",
        percent(good.mean),
        percent(good.interval.0),
        percent(good.interval.1),
        fresh.tally.units
    );
    let _ = writeln!(
        out,
        "  of a run of {units} out of one lot: {middle} good, {few} to {many} in nine of ten runs"
    );
    let _ = writeln!(out, "  after years: {} good", percent(answer.aged.good.mean));
    if !answer.nominal.good(0) {
        out.push_str("  the design itself does not keep what a unit has to keep: tune it first\n");
    }
    out.push_str(&causes(fresh, width));
    out.push_str(&sources(answer, width));
    for t in &answer.tighter {
        out.push_str(&format!("  {}\n", sentence(design, t)));
    }
    if let Some(choice) = &answer.choice {
        out.push_str(&chosen(design, answer, choice, width));
    }
    if interrupted {
        out.push_str("  stopped before all units were drawn: what was drawn so far\n");
    }
    out
}

fn currency(design: &Design) -> &str {
    design.purchase.currency.as_deref().unwrap_or("")
}

/// "C1 from 10 % to 5 % costs 2.34 EUR a panel more and moves the yield from 85.0 % to 91.2 %".
pub fn sentence(design: &Design, t: &crate::analysis::yields::whole::Tighter) -> String {
    format!(
        "tighter {} from {} % to {} % costs {} {} a panel and moves the yield from {} to {}",
        t.reference,
        units::significant(t.from_percent, 3),
        units::significant(t.to_percent, 3),
        money(t.costs),
        currency(design),
        percent(t.good_before),
        percent(t.good)
    )
}

fn causes(drawn: &Drawn, width: u16) -> String {
    let tally = &drawn.tally;
    if tally.causes.iter().all(|n| *n == 0) {
        return String::new();
    }
    let mut table = plain_table();
    table.set_header(["not good because", "units", "for this alone"]);
    for (k, cause) in Cause::ALL.iter().enumerate().filter(|(k, _)| tally.causes[*k] > 0) {
        let share = |n: u64| percent(n as f64 / tally.units as f64);
        table.add_row([cause.words().to_owned(), share(tally.causes[k]), share(tally.only[k])]);
    }
    (1..3).for_each(|index| right_align(&mut table, index));
    format!("\n{}\n", lines(table, width, Gives::First))
}

fn sources(answer: &Answer, width: u16) -> String {
    let Some(deciding) = &answer.deciding else { return String::new() };
    let mut table = plain_table();
    table.set_header(["what decides", "by itself", "with others"]);
    for source in deciding.sources.iter().take(8).filter(|s| s.share.total > 0.005) {
        let share = |s: f64| format!("{:.0} %", 100.0 * s.max(0.0));
        table.add_row([source.name.clone(), share(source.share.first), share(source.share.total)]);
    }
    (1..3).for_each(|index| right_align(&mut table, index));
    format!("{}\n", lines(table, width, Gives::First))
}

fn chosen(design: &Design, answer: &Answer, choice: &Choice, width: u16) -> String {
    let money_of = |amount: f64| format!("{} {}", money(amount), currency(design));
    let bill = &choice.bill;
    let found = match (choice.aim, reached(choice)) {
        (Aim::Reach(share), true) => format!("cheapest parts found for {}", percent(share)),
        (Aim::Reach(share), false) => {
            format!("{} cannot be reached with these parts; the best found", percent(share))
        }
        (Aim::Budget(most), true) => format!("best parts found for {}", money_of(most)),
        (Aim::Budget(most), false) => {
            format!("even the cheapest parts cost more than {}", money_of(most))
        }
    };
    let mut table = plain_table();
    table.set_header(["part", "tolerance", "price", "code"]);
    for (place, pick) in answer.places.iter().zip(&bill.picks) {
        let offer = &place.offers[*pick];
        table.add_row([
            place.reference.clone(),
            format!("{} %", units::significant(offer.percent, 3)),
            money(offer.price),
            offer.code.clone().unwrap_or_default(),
        ]);
    }
    (1..3).for_each(|index| right_align(&mut table, index));
    format!(
        "\n  {found}: {} of units good, {} a panel (as designed {}, {})\n{}",
        percent(bill.good),
        money_of(bill.cost),
        percent(choice.before.good),
        money_of(choice.before.cost),
        lines(table, width, Gives::Last)
    )
}
