//! How a file of columns is laid out: its comments, its header, and what parts its columns.

use std::ops::Range;

use super::number::{begins_like_one, number};
use crate::input::fault::Fault;

/// What parts the columns of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Separator {
    /// `20.0, 85.1`
    Comma,
    /// `20,0; 85,1`
    Semicolon,
    /// One tab, so that a column may be empty.
    Tab,
    /// Any number of spaces and tabs.
    Spaces,
}

/// A line that is neither blank nor a comment.
#[derive(Debug, Clone, Copy)]
pub(super) struct Line<'t> {
    /// Counted from 1.
    pub number: usize,
    /// Where its text begins in the file, bytes.
    pub start: usize,
    /// Without white space at its ends.
    pub text: &'t str,
}

impl Line<'_> {
    /// The whole line.
    pub(super) fn span(&self) -> Range<usize> {
        self.start..self.start + self.text.len()
    }
}

/// The lines of a text but for blank ones and comments.
pub(super) fn lines(text: &str) -> impl Iterator<Item = Line<'_>> {
    let mut start = 0;
    let all = text.split('\n').enumerate().map(move |(index, whole)| {
        let trimmed = whole.trim_start();
        let line = Line {
            number: index + 1,
            start: start + whole.len() - trimmed.len(),
            text: trimmed.trim_end(),
        };
        start += whole.len() + 1;
        line
    });
    all.filter(|line| !line.text.is_empty() && !is_comment(line.text))
}

fn is_comment(line: &str) -> bool {
    if let Some(rest) = line.strip_prefix('"') {
        let inside = rest.split('"').next().unwrap_or_default();
        return number(inside.trim(), true).is_err();
    }
    line.starts_with(['#', ';', '*', '%']) || line.starts_with("//")
}

/// Whether a line begins as a row of numbers does.
fn is_like_a_row(line: &str) -> bool {
    begins_like_one(line.strip_prefix('"').unwrap_or(line).trim_start())
}

/// What a line shows of the layout.
#[derive(Default)]
struct Signs {
    semicolon: bool,
    comma: bool,
    /// A comma next to white space, which no decimal comma is.
    loose_comma: bool,
    space: bool,
    tab: bool,
    /// A space that is not next to a tab.
    loose_space: bool,
    point: bool,
    quote: bool,
}

impl Signs {
    fn of(line: &str) -> Self {
        let bytes = line.as_bytes();
        let mut signs = Self::default();
        for (i, byte) in bytes.iter().enumerate() {
            let near = |what: &[u8]| {
                let before = i.checked_sub(1).and_then(|at| bytes.get(at));
                [before, bytes.get(i + 1)].into_iter().flatten().any(|b| what.contains(b))
            };
            match byte {
                b';' => signs.semicolon = true,
                b',' => {
                    signs.comma = true;
                    signs.loose_comma |= near(b" \t");
                }
                b'\t' => (signs.tab, signs.space) = (true, true),
                b' ' => {
                    signs.space = true;
                    signs.loose_space |= !near(b"\t");
                }
                b'.' => signs.point = true,
                b'"' => signs.quote = true,
                _ => {}
            }
        }
        signs
    }
}

/// The layout of a file.
#[derive(Debug, Clone, Copy)]
pub(super) struct Layout {
    pub separator: Separator,
}

impl Layout {
    /// The layout that most of the lines show that begin with a number.
    ///
    /// # Errors
    /// Commas could part columns or decimals: nowhere is there a decimal point, a quote, or white
    /// space beside a comma, and there are more than two numbers in a row.
    pub(super) fn find(lines: &[Line<'_>]) -> Result<Self, Box<Fault>> {
        let like_rows = || lines.iter().filter(|line| is_like_a_row(line.text));
        let signs: Vec<Signs> = like_rows().map(|line| Signs::of(line.text)).collect();
        let most = |test: fn(&Signs) -> bool| {
            signs.iter().filter(|signs| test(signs)).count() * 2 > signs.len()
        };
        let any = |test: fn(&Signs) -> bool| signs.iter().any(test);
        let separator = if most(|s| s.semicolon) {
            Separator::Semicolon
        } else if most(|s| s.loose_comma) {
            Separator::Comma
        } else if most(|s| s.comma && !s.space) {
            let long = like_rows().find(|line| line.text.matches(',').count() > 1);
            if let Some(line) = long.filter(|_| !any(|s| s.point || s.quote)) {
                return Err(Box::new(ambiguous(line)));
            }
            Separator::Comma
        } else if most(|s| s.tab && !s.loose_space) {
            Separator::Tab
        } else {
            Separator::Spaces
        };
        Ok(Self { separator })
    }

    /// The lines of the header, and the rows. A line before the first sound row belongs to the
    /// rows if it begins with a number and has as many columns: it is a row with a fault.
    pub(super) fn header<'a, 't>(&self, lines: &'a [Line<'t>]) -> (&'a [Line<'t>], &'a [Line<'t>]) {
        let sound = |line: &Line<'_>| {
            let fields = self.fields(line.text);
            let comma = self.separator != Separator::Comma;
            let good = |at: &Range<usize>| number(&line.text[at.clone()], comma).is_ok();
            fields.len() >= 2 && fields[..2].iter().all(good)
        };
        let first = lines.iter().position(sound);
        let columns = first.map(|first| self.fields(lines[first].text).len());
        let belongs = |line: &Line<'_>| {
            let count = self.fields(line.text).len();
            is_like_a_row(line.text) && columns.is_none_or(|columns| columns == count)
        };
        let end = first.unwrap_or(lines.len());
        lines.split_at(lines[..end].iter().position(belongs).unwrap_or(end))
    }

    /// Where the columns of a line stand in it, without white space and quotes; empty ones at the
    /// end are left out.
    pub(super) fn fields(&self, line: &str) -> Vec<Range<usize>> {
        let mut fields = Vec::with_capacity(4);
        let (mut start, mut in_quotes) = (0, false);
        for (at, c) in line.char_indices() {
            in_quotes ^= c == '"';
            if !in_quotes && self.parts(c) {
                fields.push(trimmed(line, start..at));
                start = at + c.len_utf8();
            }
        }
        fields.push(trimmed(line, start..line.len()));
        if self.separator == Separator::Spaces {
            fields.retain(|field| !field.is_empty());
        }
        while fields.last().is_some_and(Range::is_empty) {
            fields.pop();
        }
        fields
    }

    fn parts(&self, c: char) -> bool {
        match self.separator {
            Separator::Comma => c == ',',
            Separator::Semicolon => c == ';',
            Separator::Tab => c == '\t',
            Separator::Spaces => c.is_whitespace(),
        }
    }
}

/// A part of a line without white space at its ends, and without quotes around it.
fn trimmed(line: &str, at: Range<usize>) -> Range<usize> {
    let tight = |at: Range<usize>| {
        let text = &line[at.clone()];
        let start = at.start + text.len() - text.trim_start().len();
        start..start + text.trim().len()
    };
    let outer = tight(at);
    let text = &line[outer.clone()];
    if text.len() >= 2 && text.starts_with('"') && text.ends_with('"') {
        return tight(outer.start + 1..outer.end - 1);
    }
    outer
}

fn ambiguous(line: &Line<'_>) -> Fault {
    let message = "the commas can part columns or decimals, and no decimal point tells which";
    Fault::at(line.span(), message).label("columns or decimals?").help(
        "part the columns with semicolons or tabs, or write decimal points; white space after \
         each comma that parts columns also tells",
    )
}
