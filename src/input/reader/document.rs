//! A whole file: its text, its table, and the faults found so far.

use std::cell::RefCell;
use std::ops::Range;

use toml::de::{DeTable, DeValue};

use super::section::{Ask, Section};
use super::syntax;
use crate::input::fault::{Fault, InputError};

/// The format version this program reads and writes: the value of the key `slabtone`.
pub const VERSION: u32 = 1;

/// A parsed file with a sound header. Faults pile up in it while its sections are read.
#[derive(Debug)]
pub struct Document<'t> {
    file: &'t str,
    text: &'t str,
    table: DeTable<'t>,
    kind: &'static str,
    faults: RefCell<Vec<Fault>>,
}

impl<'t> Document<'t> {
    /// Parses a text and checks its header: `slabtone = 1` and a `kind` among those given.
    ///
    /// # Errors
    /// All syntax faults; or, in a text without any, what is wrong with the header. A header that
    /// is wrong is the only thing reported, since nothing else in such a file can be judged.
    pub fn parse(
        file: &'t str,
        text: &'t str,
        kinds: &[&'static str],
    ) -> Result<Document<'t>, InputError> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let refused = |faults| InputError::new(file, text, faults);
        let table = syntax::parse(text).map_err(refused)?;
        let mut document = Document { file, text, table, kind: "", faults: RefCell::default() };
        let kind = document.header(kinds);
        match kind {
            Some(kind) if document.faults.borrow().is_empty() => document.kind = kind,
            _ => return Err(refused(document.faults.into_inner())),
        }
        Ok(document)
    }

    fn header(&self, kinds: &[&'static str]) -> Option<&'static str> {
        let mut header = Section::root(self, &self.table);
        let line = format!("slabtone = {VERSION}");
        let ask = Ask {
            key: "slabtone",
            line,
            expected: "the version of the format".into(),
            unit: "",
            required: true,
        };
        let version = header.read(ask, |found| found.version(VERSION));
        let options: Vec<_> = kinds.iter().map(|kind| (*kind, *kind)).collect();
        let kind = header.required_choice("kind", &options);
        header.close_header();
        version.and(kind)
    }

    /// The kind that the header states.
    pub fn kind(&self) -> &'static str {
        self.kind
    }

    /// The file as the user named it.
    pub fn file(&self) -> &'t str {
        self.file
    }

    /// The text, without a byte order mark; spans count its bytes.
    pub fn text(&self) -> &'t str {
        self.text
    }

    /// The table that the file as a whole is; its header is already read.
    pub fn root(&self) -> Section<'_> {
        let mut root = Section::root(self, &self.table);
        root.know_header();
        root
    }

    /// Records a fault of the caller's own, for checks across sections; see [`Section::span_of`]
    /// for spans.
    pub fn fault(&self, fault: Fault) {
        self.faults.borrow_mut().push(fault);
    }

    /// Whether no fault is known yet. Sections that are still open have not reported unknown and
    /// missing keys.
    pub fn is_sound(&self) -> bool {
        self.faults.borrow().is_empty()
    }

    /// Ends the reading. The borrow checker sees to it that every section is closed by now.
    ///
    /// # Errors
    /// All faults, if there are any.
    pub fn finish(self) -> Result<(), InputError> {
        let faults = self.faults.into_inner();
        if faults.is_empty() { Ok(()) } else { Err(InputError::new(self.file, self.text, faults)) }
    }

    /// The text of a span, as the user wrote it.
    pub(super) fn raw(&self, span: Range<usize>) -> &'t str {
        self.text.get(span).unwrap_or_default()
    }
}

/// The `kind` that a text states, whatever else may be wrong with it; `None` if it states none.
pub fn kind_of(text: &str) -> Option<String> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    match syntax::parse_leniently(text).get("kind")?.get_ref() {
        DeValue::String(kind) => Some(kind.to_string()),
        _ => None,
    }
}
