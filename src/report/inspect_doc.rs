//! What an inspection found, as a document, as tables and as text.

use super::json::SCHEMA_VERSION;
use super::table::{Gives, lines, plain_table, right_align};
use crate::analysis::inspection::diagnose::{Opinion, Ranked};
use crate::analysis::inspection::examine::{Examined, FigureSummary, Inspector, SideSummary};
use crate::analysis::inspection::key_figures;
use crate::analysis::inspection::pairs::Pair;
use crate::analysis::inspection::rub::Rub;
use crate::units::{hertz, significant};
use serde::Serialize;
use std::collections::BTreeMap;
use std::fmt::Write;

/// A file that could not be used.
#[derive(Debug, Clone, Serialize)]
pub struct Unreadable {
    /// The file.
    pub file: String,
    /// Line of the first fault, where it has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<usize>,
    /// What is wrong.
    pub fault: String,
}

/// Everything that the documents tell.
#[derive(Debug, Clone, Copy)]
pub struct Batch<'a> {
    /// Name of the design.
    pub design: &'a str,
    /// The sides.
    pub inspectors: &'a [Inspector],
    /// The units in their order.
    pub units: &'a [Examined],
    /// Units of each side together.
    pub summaries: &'a [SideSummary],
    /// Left and right units that go together.
    pub pairs: &'a [Pair],
    /// Units whose distortion stands out of the batch.
    pub rubs: &'a [Rub],
    /// Files that could not be used.
    pub unreadable: &'a [Unreadable],
    /// Whether any response was measured.
    pub has_response: bool,
    /// Seed of the population behind the limits.
    pub seed: u64,
}

/// The document of `inspect --json`.
#[derive(Debug, Clone, Serialize)]
pub struct InspectDoc<'a> {
    schema_version: u32,
    design: &'a str,
    seed: u64,
    passed: usize,
    failed: usize,
    unreadable: &'a [Unreadable],
    causes: BTreeMap<String, usize>,
    units: Vec<UnitDoc<'a>>,
    sides: Vec<SideDoc<'a>>,
    pairs: Vec<PairDoc<'a>>,
}

#[derive(Debug, Clone, Serialize)]
struct UnitDoc<'a> {
    name: &'a str,
    side: &'a str,
    serial: f64,
    passes: bool,
    verdict: &'static str,
    causes: Vec<CauseDoc>,
    misfit: f64,
    outside_hz: &'a [f64],
    response_outside_hz: &'a [f64],
    #[serde(skip_serializing_if = "Option::is_none")]
    distortion_stands_out_at_hz: Option<f64>,
    key_figures: BTreeMap<&'static str, f64>,
}

#[derive(Debug, Clone, Serialize)]
struct CauseDoc {
    kind: &'static str,
    words: String,
    probability: f64,
}

#[derive(Debug, Clone, Serialize)]
struct SideDoc<'a> {
    side: &'a str,
    units: usize,
    passed: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    reference_unit: Option<&'a str>,
    key_figures: Vec<FigureDoc<'a>>,
}

#[derive(Debug, Clone, Serialize)]
struct FigureDoc<'a> {
    key: &'static str,
    low: f64,
    high: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    mean: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    deviation: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    cp: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    cpk: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    drift: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    drift_t: Option<f64>,
    outliers: Vec<&'a str>,
}

#[derive(Debug, Clone, Serialize)]
struct PairDoc<'a> {
    left: &'a str,
    right: &'a str,
    mismatch_db: f64,
}

/// The word for an opinion.
fn verdict(opinion: Opinion) -> &'static str {
    match opinion {
        Opinion::Good => "no_fault_seen",
        Opinion::Decided => "decided",
        Opinion::Undecided => "undecided",
        Opinion::Unexplained => "unexplained",
    }
}

impl<'a> Batch<'a> {
    fn side(&self, index: usize) -> &'a str {
        &self.inspectors[index].twin.name
    }

    fn words(&self, unit: &Examined, ranked: &Ranked) -> String {
        ranked.fault.words(self.inspectors[unit.side].twin.parts())
    }

    fn rub(&self, unit: usize) -> Option<f64> {
        self.rubs.iter().find(|r| r.unit == unit).map(|r| r.at_hz)
    }

    fn passed(&self) -> usize {
        self.units.iter().filter(|u| u.passes).count()
    }

    /// How many failed units have each first cause.
    fn causes(&self) -> BTreeMap<String, usize> {
        let mut causes = BTreeMap::new();
        for (k, unit) in self.units.iter().enumerate().filter(|(_, u)| !u.passes) {
            *causes.entry(self.told(k, unit).0).or_insert(0) += 1;
        }
        causes
    }

    /// What is told of a unit that failed: the cause in words and how sure it is.
    fn told(&self, index: usize, unit: &Examined) -> (String, String) {
        let first = unit.diagnosed.causes.first();
        let words =
            |r: &Ranked| format!("{} ({:.0} %)", self.words(unit, r), 100.0 * r.probability);
        match (unit.diagnosed.opinion, first) {
            (Opinion::Decided, Some(first)) => {
                let second = unit.diagnosed.causes.get(1).map_or(String::new(), words);
                (
                    self.words(unit, first),
                    format!("{:.0} %; then {second}", 100.0 * first.probability),
                )
            }
            (Opinion::Undecided, Some(_)) => {
                let shown: Vec<String> = unit.diagnosed.causes.iter().take(3).map(words).collect();
                ("undecidable from this sweep".into(), shown.join(", "))
            }
            (Opinion::Unexplained, Some(first)) => {
                ("no single fault explains it".into(), format!("nearest: {}", words(first)))
            }
            _ if self.rub(index).is_some() => {
                let hz = hertz(self.rub(index).unwrap_or_default());
                ("rub or rattle suspected".into(), format!("distortion stands out at {hz}"))
            }
            _ => ("outside the limits, no fault seen".into(), "scatter beyond the limits".into()),
        }
    }

    /// The document.
    pub fn document(&self) -> InspectDoc<'a> {
        let unit = |(k, u): (usize, &'a Examined)| UnitDoc {
            name: &u.name,
            side: self.side(u.side),
            serial: u.serial,
            passes: u.passes,
            verdict: verdict(u.diagnosed.opinion),
            causes: u.diagnosed.causes.iter().map(|r| self.cause(u, r)).collect(),
            misfit: u.diagnosed.misfit,
            outside_hz: &u.outside_hz,
            response_outside_hz: &u.response_outside_hz,
            distortion_stands_out_at_hz: self.rub(k),
            key_figures: key_figures::NAMES.iter().map(|n| n.0).zip(u.figures.values()).collect(),
        };
        let name = |k: usize| -> &'a str { &self.units[k].name };
        let side = |s: &'a SideSummary| SideDoc {
            side: self.side(s.side),
            units: s.units,
            passed: s.passed,
            reference_unit: s.reference.map(name),
            key_figures: s.figures.iter().map(|f| self.figure(f)).collect(),
        };
        let pair = |p: &Pair| PairDoc {
            left: name(p.left),
            right: name(p.right),
            mismatch_db: p.mismatch_db,
        };
        InspectDoc {
            schema_version: SCHEMA_VERSION,
            design: self.design,
            seed: self.seed,
            passed: self.passed(),
            failed: self.units.len() - self.passed(),
            unreadable: self.unreadable,
            causes: self.causes(),
            units: self.units.iter().enumerate().map(unit).collect(),
            sides: self.summaries.iter().map(side).collect(),
            pairs: self.pairs.iter().map(pair).collect(),
        }
    }

    fn cause(&self, unit: &Examined, ranked: &Ranked) -> CauseDoc {
        CauseDoc {
            kind: ranked.cause.kind(),
            words: self.words(unit, ranked),
            probability: ranked.probability,
        }
    }

    fn figure(&self, f: &FigureSummary) -> FigureDoc<'a> {
        FigureDoc {
            key: f.name,
            low: f.limits.low,
            high: f.limits.high,
            mean: f.capability.map(|c| c.mean),
            deviation: f.capability.map(|c| c.deviation),
            cp: f.capability.map(|c| c.cp),
            cpk: f.capability.map(|c| c.cpk),
            drift: f.drift.map(|d| d.whole),
            drift_t: f.drift.map(|d| d.t),
            outliers: f.outliers.iter().map(|k| self.units[*k].name.as_str()).collect(),
        }
    }

    /// One row a unit, as CSV (RFC 4180).
    ///
    /// # Errors
    /// None in practice: writing to memory.
    pub fn csv(&self) -> Result<String, csv::Error> {
        let head = "name,side,serial,passes,verdict,cause,probability,runner_up,runner_up_probability,misfit,outside_points,first_outside_hz";
        let mut rows = vec![head.split(',').map(str::to_owned).collect::<Vec<String>>()];
        rows[0].extend(key_figures::NAMES.iter().map(|n| n.0.to_owned()));
        for u in self.units {
            let ranked = |k: usize| {
                u.diagnosed.causes.get(k).map_or([String::new(), String::new()], |r| {
                    [self.words(u, r), format!("{:.4}", r.probability)]
                })
            };
            let first = u.outside_hz.first().map_or(String::new(), |hz| format!("{hz:.2}"));
            let mut row = vec![
                u.name.clone(),
                self.side(u.side).to_owned(),
                format!("{}", u.serial),
                if u.passes { "yes" } else { "no" }.to_owned(),
                verdict(u.diagnosed.opinion).to_owned(),
            ];
            row.extend(ranked(0));
            row.extend(ranked(1));
            row.extend([
                format!("{:.3}", u.diagnosed.misfit),
                u.outside_hz.len().to_string(),
                first,
            ]);
            row.extend(u.figures.values().map(|v| format!("{v:.4}")));
            rows.push(row);
        }
        written(&rows)
    }

    /// One row a pair, as CSV.
    ///
    /// # Errors
    /// None in practice: writing to memory.
    pub fn pairs_csv(&self) -> Result<String, csv::Error> {
        let mut rows = vec![["left", "right", "mismatch_db"].map(str::to_owned).to_vec()];
        for p in self.pairs {
            let name = |k: usize| self.units[k].name.clone();
            rows.push(vec![name(p.left), name(p.right), format!("{:.4}", p.mismatch_db)]);
        }
        written(&rows)
    }

    /// For people, in lines of at most `width`.
    pub fn text(&self, width: u16) -> String {
        let failed = self.units.len() - self.passed();
        let mut out = format!(
            "{}: {} units examined, {} passed, {failed} failed; {} files could not be used.\n",
            self.design,
            self.units.len(),
            self.passed(),
            self.unreadable.len()
        );
        if failed > 0 {
            out.push_str("\nFailed:\n");
            let mut table = plain_table();
            for (k, u) in self.units.iter().enumerate().filter(|(_, u)| !u.passes) {
                let (cause, sure) = self.told(k, u);
                table.add_row([u.name.clone(), cause, sure]);
            }
            out.push_str(&lines(table, width, Gives::Last));
            out.push_str("\nWhy:\n");
            for (cause, count) in self.causes() {
                let _ = writeln!(out, "  {count} x {cause}");
            }
        }
        for s in self.summaries {
            self.side_text(s, width, &mut out);
        }
        if !self.pairs.is_empty() {
            let worst = self.pairs.iter().map(|p| p.mismatch_db).fold(0.0, f64::max);
            let mean = self.pairs.iter().map(|p| p.mismatch_db).sum::<f64>();
            let _ = writeln!(
                out,
                "\n{} pairs of smallest mismatch: {:.2} dB on average, {worst:.2} dB at worst.",
                self.pairs.len(),
                mean / self.pairs.len() as f64
            );
        }
        if !self.has_response {
            out.push_str("\nNot to be seen in an impedance sweep: a reversed driver, a rub, a rattling sheet. Give response sweeps with --response and their distortion with --distortion.\n");
        }
        out
    }

    fn side_text(&self, s: &SideSummary, width: u16, out: &mut String) {
        let _ = writeln!(out, "\n{} side, {} of {} passed:", self.side(s.side), s.passed, s.units);
        let mut table = plain_table();
        table.set_header(["", "mean", "limits", "Cp", "Cpk", "drift", "outliers"]);
        for f in &s.figures {
            let Some(c) = f.capability else { continue };
            let digits = |v: f64| significant(v, 4);
            let drift = match f.drift.filter(|d| d.is_clear()) {
                Some(d) => {
                    format!("{}{}", if d.whole > 0.0 { "+" } else { "" }, significant(d.whole, 2))
                }
                None => "none".into(),
            };
            table.add_row([
                f.name.to_owned(),
                digits(c.mean),
                format!("{} to {} {}", digits(f.limits.low), digits(f.limits.high), f.unit),
                format!("{:.2}", c.cp),
                format!("{:.2}", c.cpk),
                drift,
                f.outliers.len().to_string(),
            ]);
        }
        (1..7).for_each(|k| right_align(&mut table, k));
        out.push_str(&lines(table, width, Gives::First));
        if let Some(reference) = s.reference {
            let _ = writeln!(out, "  nearest to the median: {}", self.units[reference].name);
        }
    }
}

fn written(rows: &[Vec<String>]) -> Result<String, csv::Error> {
    let mut out =
        csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    for row in rows {
        out.write_record(row)?;
    }
    let bytes = out.into_inner().map_err(|e| csv::Error::from(e.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
