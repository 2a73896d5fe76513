//! One table of a file: what was asked of it, and what is left over when it is closed.

use std::cell::Cell;
use std::ops::Range;

use toml::de::{DeTable, DeValue};

use super::document::Document;
use super::keys::{self, Likeness};
use super::value::{Found, Refusal};
use crate::input::fault::Fault;

/// One table of a file, or the stand-in for a table that is missing.
///
/// When it is dropped it reports every key that was never asked for, and every required key that is
/// missing. To stop reading half-way without these reports, use [`Section::leave`].
#[derive(Debug)]
pub struct Section<'d> {
    document: &'d Document<'d>,
    table: Option<&'d DeTable<'d>>,
    header: Range<usize>,
    path: String,
    known: Vec<Known>,
    faulty: Cell<bool>,
}

/// A key that was asked for.
#[derive(Debug)]
struct Known {
    key: String,
    /// How it is written: `depth_mm = 40`, `[woofer]`.
    line: String,
    /// What it holds, for the reader of a message.
    expected: String,
    unit: String,
    state: State,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum State {
    Read,
    Refused,
    Missing,
    LeftOut,
}

/// A question for a key.
#[derive(Debug)]
pub(super) struct Ask<'a> {
    pub key: &'a str,
    /// How the key is written.
    pub line: String,
    /// What it holds.
    pub expected: String,
    pub unit: &'a str,
    pub required: bool,
}

impl<'d> Section<'d> {
    pub(super) fn root(document: &'d Document<'d>, table: &'d DeTable<'d>) -> Section<'d> {
        let first_line = document.text().lines().next().unwrap_or_default().trim_end().len();
        Section::new(document, Some(table), 0..first_line, String::new())
    }

    /// `None` stands for a table that is missing: it answers every question with a stand-in and
    /// reports nothing.
    pub(super) fn child(
        &self,
        table: Option<&'d DeTable<'d>>,
        header: Range<usize>,
        place: &str,
    ) -> Section<'d> {
        Section::new(self.document, table, header, self.path_to(place))
    }

    fn new(
        document: &'d Document<'d>,
        table: Option<&'d DeTable<'d>>,
        header: Range<usize>,
        path: String,
    ) -> Section<'d> {
        Section { document, table, header, path, known: Vec::new(), faulty: Cell::new(false) }
    }

    /// Where the table is, tables of a list counted from 1: `side[1].woofer`; empty for the whole
    /// file.
    pub fn path(&self) -> &str {
        &self.path
    }

    /// The span of a key's value; of a table's header if the value is a table. `None` if the key is
    /// not there.
    pub fn span_of(&self, key: &str) -> Option<Range<usize>> {
        self.table?.get(key).map(|value| value.span())
    }

    /// The span of the table's header, or of the first line of the file.
    pub fn span(&self) -> Range<usize> {
        self.header.clone()
    }

    /// Whether the file has the key. This alone does not count as asking for it.
    pub fn has(&self, key: &str) -> bool {
        self.table.is_some_and(|table| table.contains_key(key))
    }

    /// Whether the table holds keys that nobody asked for yet. Once all is asked, they are slips, and
    /// what seems to be missing may be among them.
    pub fn has_unasked(&self) -> bool {
        let asked = |key: &str| self.known.iter().any(|known| known.key == key);
        self.table.is_some_and(|table| table.keys().any(|key| !asked(key.get_ref())))
    }

    /// Whether all that was read from this table so far (tables inside it left aside) is genuine: a
    /// check across keys on stand-ins would only produce noise.
    pub fn is_sound(&self) -> bool {
        let missing = self.known.iter().any(|known| known.state == State::Missing);
        self.table.is_some() && !missing && !self.faulty.get()
    }

    /// Refuses a key for a reason of the caller's own, with the caret at its value, or at the
    /// table's header if the key was left out. Silent if the key is missing or already refused: the
    /// caller only saw a stand-in.
    pub fn refuse(&self, key: &str, message: &str, help: &str) {
        let stand_in = |known: &Known| {
            known.key == key && matches!(known.state, State::Missing | State::Refused)
        };
        if self.table.is_none() || self.known.iter().any(stand_in) {
            return;
        }
        let span = self.span_of(key).unwrap_or(self.header.clone());
        self.report(Fault::at(span, format!("`{}`: {message}", self.path_to(key))).help(help));
    }

    /// Closes the section without asking for the rest of its keys.
    pub fn leave(mut self) {
        self.table = None;
    }

    /// Whether the table is written in braces on the line of its key.
    pub(super) fn is_inline(&self) -> bool {
        self.document.raw(self.header.clone()).starts_with('{')
    }

    /// The header of a table inside this one: TOML names the last table of a list, without a
    /// number.
    pub(super) fn header_of(&self, key: &str) -> String {
        let path = self.path_to(key);
        let parts = path.split('.').map(|part| part.split('[').next().unwrap_or(part));
        parts.collect::<Vec<_>>().join(".")
    }

    pub(super) fn path_to(&self, place: &str) -> String {
        if self.path.is_empty() { place.into() } else { format!("{}.{place}", self.path) }
    }

    /// The value of a key; the question is remembered.
    fn ask(&mut self, ask: Ask<'_>) -> Option<(Range<usize>, &'d DeValue<'d>)> {
        let table = self.table?;
        let value = table.get(ask.key).map(|value| (value.span(), value.get_ref()));
        let state = match value {
            Some(_) => State::Read,
            None if ask.required => State::Missing,
            None => State::LeftOut,
        };
        match self.known.iter_mut().find(|known| known.key == ask.key) {
            Some(known) if state == State::Missing => known.state = state,
            Some(_) => {}
            None => self.known.push(Known {
                key: ask.key.into(),
                line: ask.line,
                expected: ask.expected,
                unit: ask.unit.into(),
                state,
            }),
        }
        value
    }

    /// Asks for a key and parses what is there; a refusal is recorded.
    pub(super) fn read<T>(
        &mut self,
        ask: Ask<'_>,
        parse: impl FnOnce(Found<'_, 'd>) -> Result<T, Refusal>,
    ) -> Option<T> {
        let key = ask.key;
        let (span, value) = self.ask(ask)?;
        self.take(key, key, span, value, parse)
    }

    /// Parses a value that stands at a place, the key itself or an item such as `seat_mm[2]`; a
    /// refusal is recorded.
    pub(super) fn take<T>(
        &mut self,
        key: &str,
        place: &str,
        span: Range<usize>,
        value: &'d DeValue<'d>,
        parse: impl FnOnce(Found<'_, 'd>) -> Result<T, Refusal>,
    ) -> Option<T> {
        let raw = self.document.raw(span.clone());
        let name = if place == key { key } else { "" };
        let refusal = match parse(Found { key: name, value, raw }) {
            Ok(value) => return Some(value),
            Err(refusal) => refusal,
        };
        if let Some(known) = self.known.iter_mut().find(|known| known.key == key) {
            known.state = State::Refused;
        }
        let message = format!("`{}`: {}", self.path_to(place), refusal.message);
        self.report(Fault::at(span, message).label(refusal.label).help(refusal.help));
        None
    }

    fn report(&self, fault: Fault) {
        self.faulty.set(true);
        self.document.fault(fault);
    }

    /// Counts the keys of the header as asked for.
    pub(super) fn know_header(&mut self) {
        for key in ["slabtone", "kind"] {
            let (line, expected) = (String::new(), String::new());
            self.ask(Ask { key, line, expected, unit: "", required: false });
        }
    }

    /// Closes after the header alone: the other keys were not asked for yet and are not unknown.
    pub(super) fn close_header(mut self) {
        self.close(true);
    }

    fn close(&mut self, header_only: bool) {
        let Some(table) = self.table else { return };
        let is_known = |key: &str| self.known.iter().any(|known| known.key == key);
        let mut unknown: Vec<_> =
            table.iter().filter(|(key, _)| !is_known(key.get_ref())).collect();
        unknown.sort_by_key(|(key, _)| key.span().start);
        let mut listed = header_only;
        for (key, value) in unknown {
            let found = if value.get_ref().is_table() { "table" } else { "key" };
            let what =
                format!("unknown {found} `{}`{}", key.get_ref().escape_debug(), self.place());
            let fault = Fault::at(key.span(), what);
            match self.guess(key.get_ref(), header_only) {
                Some((known, likeness)) => {
                    known.state = State::Refused;
                    let fault = known.suggest(fault, likeness);
                    self.report(fault);
                }
                None if header_only => {}
                None => {
                    let fault = fault.label("not among the keys of this table");
                    self.report(if listed { fault } else { fault.help(self.known_keys()) });
                    listed = true;
                }
            }
        }
        self.report_missing();
        self.table = None;
    }

    /// The key that is not in the table and resembles an unknown one; a missing one is preferred.
    fn guess(&mut self, unknown: &str, only_missing: bool) -> Option<(&mut Known, Likeness)> {
        let states =
            if only_missing { &[State::Missing][..] } else { &[State::Missing, State::LeftOut] };
        let found = states.iter().find_map(|state| {
            let places: Vec<usize> =
                (0..self.known.len()).filter(|n| self.known[*n].state == *state).collect();
            let words = places.iter().map(|n| self.known[*n].key.as_str());
            keys::guess(unknown, words).map(|(n, likeness)| (places[n], likeness))
        });
        found.map(|(n, likeness)| (&mut self.known[n], likeness))
    }

    fn known_keys(&self) -> String {
        let names: Vec<String> =
            self.known.iter().map(|known| format!("`{}`", known.key)).collect();
        match names.len() {
            0 => "this table has no keys".into(),
            _ => format!("known keys: {}", names.join(", ")),
        }
    }

    /// All missing keys of a table are one fault, and its help can be copied into the file.
    fn report_missing(&self) {
        let missing: Vec<&Known> =
            self.known.iter().filter(|known| known.state == State::Missing).collect();
        let names: Vec<String> = missing.iter().map(|known| format!("`{}`", known.key)).collect();
        let verb = if names.len() == 1 { "is" } else { "are" };
        let Some((last, rest)) = names.split_last() else { return };
        let list =
            if rest.is_empty() { last.clone() } else { format!("{} and {last}", rest.join(", ")) };
        let (tables, plain): (Vec<&Known>, Vec<&Known>) =
            missing.iter().partition(|known| known.line.starts_with('['));
        let width = plain.iter().map(|known| known.line.chars().count()).max().unwrap_or_default();
        let lines = plain
            .iter()
            .chain(&tables)
            .map(|known| format!("\n{:width$}  # {}", known.line, known.expected));
        let help = format!("write for example{}", lines.collect::<String>());
        let fault =
            Fault::at(self.header.clone(), format!("{list} {verb} missing{}", self.place()));
        let label = if self.path.is_empty() { "in this file" } else { "in this table" };
        self.report(fault.label(label).help(help));
    }

    fn place(&self) -> String {
        if self.path.is_empty() { String::new() } else { format!(" in `{}`", self.path) }
    }
}

impl Known {
    fn suggest(&self, fault: Fault, likeness: Likeness) -> Fault {
        let Known { key, unit, .. } = self;
        let unit = if unit.is_empty() { keys::unit_of(key) } else { unit };
        match likeness {
            Likeness::Spelling => fault.label(format!("did you mean `{key}`?")),
            Likeness::Unit => fault.label(format!("expected `{key}`, in {unit}")).help(format!(
                "the unit is part of the key: give the value in {unit} and write `{key} = ...`"
            )),
        }
    }
}

impl Drop for Section<'_> {
    fn drop(&mut self) {
        self.close(false);
    }
}
