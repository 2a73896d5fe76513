//! `report.html`: one file that opens offline and prints on A4, made of the same results as the
//! JSON document, which it carries inside.

use super::json::NotFinite;
use super::parts_doc::OrderTexts;
use super::study_doc::StudyDoc;
use super::wiring::{self, Wire};
use super::{
    amplifier_text, assembly_text, cautions, diagram, figures, json, panel_figure, parts_doc,
    ratings_doc, summary,
};
use crate::analysis::assembly::Assembly;
use crate::analysis::clearance;
use crate::analysis::finding::{Finding, Severity};
use crate::analysis::limits::{SideLimits, Travel};
use crate::analysis::parts_list::{Line, PartsList};
use crate::analysis::study::{SideStudy, Study};
use crate::design::Way;
use crate::picture;
use crate::units;
use askama::Template;

/// A file that the design was read from, as the page shows it.
#[derive(Debug, Clone)]
pub struct Shown {
    /// Its name.
    pub name: String,
    /// Its text.
    pub text: String,
}

/// Why there is no page.
#[derive(Debug, thiserror::Error)]
pub enum PageError {
    /// A result that must not be shown.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    /// The template could not be filled.
    #[error("the report could not be laid out: {0}")]
    Layout(#[from] askama::Error),
}

#[derive(Template)]
#[template(path = "report.html")]
struct Page<'a> {
    name: &'a str,
    crossover: String,
    /// Class and words of the verdict at the top.
    badge: (&'static str, &'static str),
    verdicts: Vec<Verdict>,
    findings: Vec<Told<'a>>,
    /// The panel to scale, as SVG.
    panel: String,
    sides: Vec<SidePart>,
    units: u32,
    lines: Vec<LinePart>,
    orders: Vec<OrderTexts>,
    parts_sentences: Vec<String>,
    /// The circuits, one for each side that differs, as SVG.
    circuits: Vec<String>,
    wires: Vec<Wire>,
    amplifier: Vec<Fact>,
    assembly: Vec<Built>,
    cautions: Vec<String>,
    sources: &'a [Shown],
    version: &'static str,
    data: String,
}

struct Verdict {
    what: String,
    found: String,
    limit: String,
    verdict: &'static str,
    class: &'static str,
}

struct Told<'a> {
    word: &'static str,
    class: &'static str,
    subject: &'a str,
    text: &'a str,
}

struct Fact {
    what: String,
    found: String,
}

struct SidePart {
    names: String,
    facts: Vec<Fact>,
    pictures: Vec<String>,
    ratings_heading: String,
    ratings: Vec<[String; 6]>,
}

struct Built {
    names: String,
    stages: Vec<assembly_text::Stage>,
}

struct LinePart {
    reference: String,
    item: String,
    exact: String,
    chosen: String,
    error: String,
    per_panel: String,
    for_run: String,
    price: String,
}

/// The page of a study, its parts list, its assembly sheets, and the files it came from.
///
/// # Errors
/// A number that is not finite, or a template that cannot be filled.
pub fn html(
    study: &Study,
    list: &PartsList,
    assemblies: &[Assembly],
    sources: &[Shown],
) -> Result<String, PageError> {
    let distinct = study.distinct_sides();
    let page = Page {
        name: &study.design.name,
        crossover: summary::crossover(study),
        badge: badge(study),
        verdicts: distinct
            .iter()
            .flat_map(|(names, s)| {
                let limits = verdicts(names, &s.limits).into_iter().chain(noise(names, s));
                limits.chain(amplified(study, s, names)).collect::<Vec<_>>()
            })
            .collect(),
        findings: study.findings.iter().map(told).collect(),
        panel: picture::drawing_svg(&panel_figure::figure(
            &study.design,
            &clearance::rib_lines(&study.design),
        )),
        sides: distinct.iter().map(|(names, side)| side_part(study, side, names)).collect(),
        units: list.units,
        lines: list.lines.iter().map(line_part).collect(),
        orders: list.orders.iter().map(parts_doc::order_texts).collect(),
        parts_sentences: parts_doc::sentences(list),
        circuits: distinct
            .iter()
            .map(|(n, s)| picture::schematic_svg(&diagram::of_side(study, s, n)))
            .collect(),
        wires: wiring::wires(study),
        amplifier: amplifier_text::facts(study)
            .into_iter()
            .map(|[what, found]| Fact { what, found })
            .collect(),
        assembly: assemblies
            .iter()
            .map(|a| Built { names: a.names.clone(), stages: assembly_text::stages(study, a) })
            .collect(),
        cautions: cautions::for_building(study),
        sources,
        version: env!("CARGO_PKG_VERSION"),
        // Inside a script element "<" could end it or open a comment; JSON may write it so.
        data: json::compact(&StudyDoc::new(study))?.replace('<', "\\u003c"),
    };
    Ok(page.render()?)
}

fn badge(study: &Study) -> (&'static str, &'static str) {
    match study.findings.iter().map(|f| f.severity).max() {
        Some(Severity::Unfit) => ("bad", "not fit as it stands"),
        Some(Severity::Caution) => ("care", "within its limits, with care"),
        _ => ("good", "within its limits"),
    }
}

fn verdicts(names: &str, limits: &SideLimits) -> Vec<Verdict> {
    let mut rows = vec![Verdict {
        what: format!("{names}: lowest impedance"),
        found: format!(
            "{} at {}",
            units::ohms(limits.lowest_ohm),
            units::hertz(limits.lowest_at_hz)
        ),
        limit: format!("{} or more", units::ohms(limits.allowed_ohm)),
        ..verdict(limits.lowest_ohm >= limits.allowed_ohm)
    }];
    for seat in &limits.window {
        let d = &seat.deviation;
        rows.push(Verdict {
            what: format!("{names}: response at {}", seat.seat),
            found: format!("{:+.1} and {:+.1} dB against its mean", d.above.0, d.below.0),
            limit: format!(
                "{:+.1} to {:+.1} dB, {} to {}",
                seat.window.plus_db,
                -seat.window.minus_db,
                units::hertz(seat.window.from_hz),
                units::hertz(seat.window.to_hz)
            ),
            ..verdict(seat.inside)
        });
    }
    rows.push(travel(&format!("{names}: woofer travel"), &limits.travel.woofer));
    rows.push(travel(&format!("{names}: tweeter travel"), &limits.travel.tweeter));
    rows
}

fn verdict(good: bool) -> Verdict {
    let (verdict, class) = if good { ("within", "good") } else { ("missed", "bad") };
    Verdict { what: String::new(), found: String::new(), limit: String::new(), verdict, class }
}

/// Travel beyond Xmax is a matter of the signal, so it asks for care rather than failing.
fn travel(what: &str, travel: &Travel) -> Verdict {
    let (verdict, class) = match travel.beyond_up_to_hz {
        None => ("within", "good"),
        Some(_) => ("care", "care"),
    };
    Verdict {
        what: what.to_owned(),
        found: format!(
            "{:.2} mm peak at {} with the amplifier's rated sine",
            travel.peak_m * 1e3,
            units::hertz(travel.at_hz)
        ),
        limit: format!("Xmax {:.1} mm", travel.xmax_m * 1e3),
        verdict,
        class,
    }
}

/// Programme noise at the amplifier's rated power: what each driver gets.
fn noise<'a>(names: &'a str, side: &'a SideStudy) -> impl Iterator<Item = Verdict> + 'a {
    Way::BOTH.into_iter().map(move |way| {
        let load = side.drive.noise.drivers.of(way);
        let within = load.power_w <= load.rated_w && load.peak_m <= load.xmax_m;
        let (verdict, class) = if within { ("within", "good") } else { ("care", "care") };
        Verdict {
            what: format!("{names}: programme noise in the {}", way.word()),
            found: format!(
                "{} W, {} mm at the peaks, with the amplifier at its rated power",
                units::significant(load.power_w, 2),
                units::significant(load.peak_m * 1e3, 2)
            ),
            limit: format!(
                "{} W, Xmax {:.1} mm",
                units::significant(load.rated_w, 3),
                load.xmax_m * 1e3
            ),
            verdict,
            class,
        }
    })
}

/// The amplifier's worst corner and the slab's warmth.
fn amplified(study: &Study, side: &SideStudy, names: &str) -> Vec<Verdict> {
    let Some(amplifier) = &study.amplifier else { return Vec::new() };
    let rows = amplifier_text::verdicts(names, &side.name, amplifier, side.limits.allowed_ohm);
    let row = |(what, found, limit, within): (String, String, String, Option<bool>)| {
        let care = Verdict { verdict: "care", class: "care", ..verdict(true) };
        Verdict { what, found, limit, ..within.map_or(care, verdict) }
    };
    rows.into_iter().map(row).collect()
}

fn told(finding: &Finding) -> Told<'_> {
    let class = match finding.severity {
        Severity::Unfit => "bad",
        Severity::Caution => "care",
        Severity::Note => "",
    };
    let word = finding.severity.word();
    Told { word, class, subject: &finding.subject, text: &finding.text }
}

fn side_part(study: &Study, side: &SideStudy, names: &str) -> SidePart {
    let facts = summary::facts(side).into_iter().map(|[what, found]| Fact { what, found });
    let pictures = figures::all(study, side, names);
    SidePart {
        names: names.to_owned(),
        facts: facts.collect(),
        ratings_heading: ratings_doc::heading(&side.ratings),
        ratings: ratings_doc::rows(&side.ratings),
        pictures: pictures.iter().map(|(_, figure)| picture::svg(figure)).collect(),
    }
}

fn line_part(line: &Line) -> LinePart {
    let texts = parts_doc::texts(line);
    LinePart {
        reference: line.reference.clone(),
        item: parts_doc::item(line),
        exact: texts.exact,
        chosen: texts.chosen,
        error: texts.error,
        per_panel: parts_doc::counted(line.per_panel, &line.unit),
        for_run: parts_doc::counted(line.for_run, &line.unit),
        price: line.price.map_or(String::new(), parts_doc::money),
    }
}
