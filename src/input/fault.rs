//! What can be wrong with an input file, and how it is shown: file, line, caret, what was found,
//! what to do next.

use std::fmt;
use std::ops::Range;

use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet, normalize_untrusted_str};

/// Faults shown before the rest is only counted.
const SHOWN: usize = 25;

/// One thing that is wrong with a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The whole fault in one sentence: where, what was found, what was expected.
    pub message: String,
    /// Bytes of [`InputError::text`] that the caret points at; `None` where the whole file is
    /// meant.
    pub span: Option<Range<usize>>,
    /// A few words beside the caret; may be empty.
    pub label: String,
    /// The next step.
    pub help: Option<String>,
}

impl Fault {
    /// A fault at a place in the text.
    pub fn at(span: Range<usize>, message: impl Into<String>) -> Fault {
        Fault { span: Some(span), ..Fault::whole(message) }
    }

    /// A fault of the file as a whole.
    pub fn whole(message: impl Into<String>) -> Fault {
        Fault { message: message.into(), span: None, label: String::new(), help: None }
    }

    /// The same fault with a few words beside its caret.
    pub fn label(self, label: impl Into<String>) -> Fault {
        Fault { label: label.into(), ..self }
    }

    /// The same fault with a next step; an empty one counts as none.
    pub fn help(self, help: impl Into<String>) -> Fault {
        Fault { help: Some(help.into()).filter(|help| !help.is_empty()), ..self }
    }
}

/// All that is wrong with one file, in the order of its lines.
///
/// `Display` gives the plain text of [`InputError::render`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InputError {
    /// The file as the user named it.
    pub file: String,
    /// Its text; empty where it could not be read.
    pub text: String,
    /// The faults, sorted by place, never empty.
    pub faults: Vec<Fault>,
    /// The disk or the system failed; nobody can blame the text.
    pub machine: bool,
}

impl InputError {
    /// Gathers faults: sorts them by place and removes repetitions.
    pub fn new(file: &str, text: &str, mut faults: Vec<Fault>) -> InputError {
        if faults.is_empty() {
            faults.push(Fault::whole("the file was refused without a reason"));
        }
        faults.sort_by_key(|fault| fault.span.as_ref().map(|span| (span.start, span.end)));
        let mut kept: Vec<Fault> = Vec::with_capacity(faults.len());
        for fault in faults {
            let same = |other: &&Fault| other.span == fault.span;
            if !kept.iter().rev().take_while(same).any(|other| other.message == fault.message) {
                kept.push(fault);
            }
        }
        InputError { file: file.into(), text: text.into(), faults: kept, machine: false }
    }

    /// The text for a terminal, with colours or without; no newline at the end.
    pub fn render(&self, color: bool) -> String {
        let renderer = if color { Renderer::styled() } else { Renderer::plain() };
        let renderer = renderer.decor_style(DecorStyle::Ascii);
        let shown = self.faults.iter().take(SHOWN);
        let mut parts: Vec<String> = shown.map(|fault| self.render_one(fault, &renderer)).collect();
        let file = normalize_untrusted_str(&self.file);
        match self.faults.len() {
            0 | 1 => {}
            all @ 2..=SHOWN => parts.push(format!("{file}: {all} faults")),
            all => parts.push(format!("{file}: {all} faults, the first {SHOWN} are shown")),
        }
        parts.join("\n\n")
    }

    /// One fault: only its line goes to the renderer, so that a long file costs no more than a
    /// short one.
    fn render_one(&self, fault: &Fault, renderer: &Renderer) -> String {
        let title = match fault.span.is_some() || fault.message.contains(&self.file) {
            true => Level::ERROR.primary_title(&fault.message),
            false => Level::ERROR.primary_title(format!("{}: {}", self.file, fault.message)),
        };
        let help =
            fault.help.as_deref().map(|help| Level::HELP.message(normalize_untrusted_str(help)));
        let group = match &fault.span {
            None => Group::with_title(title),
            Some(span) => {
                let line = Line::around(&self.text, span);
                let caret = AnnotationKind::Primary.span(line.caret);
                let label = Some(fault.label.as_str()).filter(|label| !label.is_empty());
                let snippet = Snippet::source(line.text).line_start(line.number).path(&self.file);
                title.element(snippet.annotation(caret.label(label)))
            }
        };
        renderer.render(&[group.elements(help)])
    }

    /// Line and column, both counted from 1 and the column in characters, of a fault; `None` for
    /// the whole file.
    pub fn position(&self, fault: &Fault) -> Option<(usize, usize)> {
        let line = Line::around(&self.text, fault.span.as_ref()?);
        Some((line.number, line.text[..line.caret.start].chars().count() + 1))
    }
}

impl std::error::Error for InputError {}

impl fmt::Display for InputError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.render(false))
    }
}

/// The line a span begins in, and the part of the span inside it.
struct Line<'t> {
    number: usize,
    text: &'t str,
    caret: Range<usize>,
}

impl<'t> Line<'t> {
    /// Accepts any span: one that is outside the text, backwards or inside a character is moved to
    /// the nearest place.
    fn around(text: &'t str, span: &Range<usize>) -> Line<'t> {
        let start = text.floor_char_boundary(span.start);
        let first = text[..start].rfind('\n').map_or(0, |newline| newline + 1);
        let line = text[first..].split('\n').next().unwrap_or_default();
        let line = line.strip_suffix('\r').unwrap_or(line);
        let start = (start - first).min(line.len());
        let end = line.floor_char_boundary(span.end.saturating_sub(first));
        let number = text[..first].matches('\n').count() + 1;
        Line { number, text: line, caret: start..end.max(start) }
    }
}

/// Everything wrong with a file and those it names.
#[derive(Debug, Clone, PartialEq)]
pub struct Refused {
    /// One entry a file, the naming one's first where it has faults.
    pub files: Vec<InputError>,
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let texts: Vec<String> = self.files.iter().map(|e| e.to_string()).collect();
        f.write_str(&texts.join("\n\n"))
    }
}

impl std::error::Error for Refused {}

impl From<InputError> for Refused {
    fn from(error: InputError) -> Self {
        Self { files: vec![error] }
    }
}
