//! Spoilt texts: whatever stands in a file, the answer is a result or a message.

use crate::tried;
use proptest::prelude::*;
use slabtone::analysis::study::Study;
use slabtone::grid::Grid;
use slabtone::input::fault::InputError;
use slabtone::input::files::{DEMO, EMBEDDED, Embedded, Files};
use slabtone::input::{design_file, driver_file};
use slabtone::report::json;
use slabtone::report::study_doc::StudyDoc;
use std::path::Path;

/// What a slip, a foreign notation or malice may leave in a file.
const SCRAPS: &[&str] = &[
    "nan",
    "-inf",
    "0",
    "-0.0",
    "1e999",
    "-1e-300",
    "0x7fffffffffffffff",
    "1_000",
    "12:30:00",
    "1979-05-27T07:32:00Z",
    "\"",
    "\"\"\"",
    "'''",
    "\\",
    "[",
    "[[",
    "]",
    "]]",
    "{",
    "}",
    "=",
    ",",
    ".",
    "#",
    "\n",
    "\r",
    "\0",
    "\u{feff}",
    "é",
    "\u{1f50a}",
    "\u{202e}",
    "true",
    "[]",
    "{}",
    "\"\\u0000\"",
    "[[side]]\n",
    "[side.cavity]\n",
    "[[crossover.part]]\n",
    "[crossover.ports]\n",
    "ref = \"L1\"\n",
    "between = [\"amp+\", \"amp-\"]\n",
    "mirror_of = \"left\"\n",
    "a.b.c = 1\n",
];

#[derive(Debug, Clone)]
enum Spoil {
    /// A scrap in the middle of anything.
    Insert(prop::sample::Index, &'static str),
    /// A scrap in the place of the value of a line.
    Value(prop::sample::Index, &'static str),
    /// A number in the place of the value of a line.
    Number(prop::sample::Index, f64),
    /// Bytes taken out.
    Cut(prop::sample::Index, usize),
    /// A line again, further down.
    Repeat(prop::sample::Index, prop::sample::Index),
    /// A line gone.
    Drop(prop::sample::Index),
}

fn spoil() -> impl Strategy<Value = Spoil> {
    let place = any::<prop::sample::Index>;
    let scrap = || prop::sample::select(SCRAPS);
    prop_oneof![
        (place(), scrap()).prop_map(|(at, scrap)| Spoil::Insert(at, scrap)),
        (place(), scrap()).prop_map(|(at, scrap)| Spoil::Value(at, scrap)),
        (place(), -1e4..1e4f64).prop_map(|(at, number)| Spoil::Number(at, number)),
        (place(), prop::num::f64::ANY).prop_map(|(at, number)| Spoil::Number(at, number)),
        (place(), 1..30usize).prop_map(|(at, bytes)| Spoil::Cut(at, bytes)),
        (place(), place()).prop_map(|(from, to)| Spoil::Repeat(from, to)),
        place().prop_map(Spoil::Drop),
    ]
}

fn spoilt(text: &str, spoil: &Spoil) -> String {
    let lines: Vec<&str> = text.lines().collect();
    let with = |at: usize, line: String| {
        let mut lines: Vec<String> = lines.iter().map(|line| (*line).to_owned()).collect();
        lines[at] = line;
        lines.join("\n")
    };
    let value = |at: &prop::sample::Index, value: &str| {
        let at = at.index(lines.len().max(1));
        let Some(line) = lines.get(at) else { return text.to_owned() };
        let key = line.split('=').next().unwrap_or_default();
        with(at, format!("{key}= {value}"))
    };
    match spoil {
        Spoil::Insert(at, scrap) => {
            let at = text.floor_char_boundary(at.index(text.len() + 1));
            format!("{}{scrap}{}", &text[..at], &text[at..])
        }
        Spoil::Value(at, scrap) => value(at, scrap),
        Spoil::Number(at, number) => value(at, &number.to_string()),
        Spoil::Cut(at, bytes) => {
            let at = at.index(text.len() + 1);
            let (from, to) = (text.floor_char_boundary(at), text.floor_char_boundary(at + bytes));
            format!("{}{}", &text[..from], &text[to..])
        }
        Spoil::Repeat(_, _) | Spoil::Drop(_) if lines.is_empty() => text.to_owned(),
        Spoil::Repeat(from, to) => {
            let line = lines[from.index(lines.len())];
            let to = to.index(lines.len());
            with(to, format!("{}\n{line}", lines[to]))
        }
        Spoil::Drop(at) => with(at.index(lines.len()), String::new()),
    }
}

/// The program's own files with one of them replaced.
struct Replaced<'t> {
    path: &'t str,
    text: &'t str,
}

impl Files for Replaced<'_> {
    fn read(&self, path: &Path) -> Result<String, InputError> {
        if path.ends_with(self.path) { Ok(self.text.to_owned()) } else { Embedded.read(path) }
    }
}

/// A refusal shows itself, at a place that is in the text.
fn is_shown(error: &InputError) -> Result<(), TestCaseError> {
    prop_assert!(!error.faults.is_empty());
    prop_assert!(error.faults.iter().all(|f| f.message != "the file was refused without a reason"));
    prop_assert!(error.render(true).contains("error"));
    for fault in &error.faults {
        if let Some((line, column)) = error.position(fault) {
            prop_assert!(line <= error.text.matches('\n').count() + 1 && column >= 1);
        }
    }
    Ok(())
}

/// Reads a design with one file replaced; what is read must be computed, finite and printed.
fn try_design(path: &str, text: &str) -> Result<(), TestCaseError> {
    let refused = match design_file::load(&Replaced { path, text }, Path::new(DEMO)) {
        Ok(design) => {
            let study = Study::new(design, &Grid::audible(9).unwrap());
            if let Ok(study) = study {
                let document = json::text(&StudyDoc::new(&study));
                prop_assert!(document.is_ok(), "{}\n{text}", document.unwrap_err());
            }
            return Ok(());
        }
        Err(refused) => refused,
    };
    prop_assert!(!refused.files.is_empty());
    refused.files.iter().try_for_each(is_shown)
}

proptest! {
    #![proptest_config(tried(160))]

    #[test]
    fn a_spoilt_design_is_computed_or_refused_with_a_message(
        spoils in prop::collection::vec(spoil(), 1..6),
    ) {
        let good = Embedded.read(Path::new(DEMO)).unwrap();
        let text = spoils.iter().fold(good, |text, spoil| spoilt(&text, spoil));
        try_design(DEMO, &text)?;
    }

    #[test]
    fn a_spoilt_network_is_computed_or_refused_with_a_message(
        spoils in prop::collection::vec(spoil(), 1..4),
    ) {
        const NETWORK: &str = include_str!("../../examples/study-desk.toml");
        let at = NETWORK.find("[crossover]").unwrap();
        let rest = spoils.iter().fold(NETWORK[at..].to_owned(), |text, spoil| spoilt(&text, spoil));
        try_design(DEMO, &format!("{}{rest}", &NETWORK[..at]))?;
    }

    #[test]
    fn a_spoilt_driver_is_computed_or_refused_with_a_message(
        which in 1..EMBEDDED.len(), spoils in prop::collection::vec(spoil(), 1..4),
    ) {
        let (path, good) = EMBEDDED[which];
        let text = spoils.iter().fold(good.to_owned(), |text, spoil| spoilt(&text, spoil));
        if let Err(error) = driver_file::parse(&slabtone::input::files::Disk, std::path::Path::new(path), &text) {
            error.files.iter().try_for_each(is_shown)?;
        }
        try_design(path, &text)?;
    }

    #[test]
    fn any_text_is_no_reason_to_fall_over(text in "\\PC{0,60}") {
        for text in [text.clone(), format!("slabtone = 1\nkind = \"design\"\n{text}")] {
            try_design(DEMO, &text)?;
        }
    }
}
