//! Faults of TOML itself, in words for somebody who does not know TOML.

use std::ops::Range;

use toml::de::{DeTable, Error};

use super::value::{leading_number, unit_help};
use crate::input::fault::Fault;

/// The table of a text, or its syntax faults: the first of each line, since the later ones are
/// mostly its echo.
pub(super) fn parse(text: &str) -> Result<DeTable<'_>, Vec<Fault>> {
    let (table, mut errors) = DeTable::parse_recoverable(text);
    if errors.is_empty() {
        return Ok(table.into_inner());
    }
    errors.extend(DeTable::parse_recoverable(&without_dead_ends(text, &errors)).1);
    errors.sort_by_key(|error| error.span().map(|span| (span.start, span.end)));
    errors.dedup_by_key(|error| error.span().map(|span| line_of(text, span.start).start));
    Err(errors.iter().map(|error| explain(text, error)).collect())
}

/// The text with blanks in place of the lines at which the parser stops, to find the faults
/// behind them. As many blanks as bytes: every span stays right.
fn without_dead_ends(text: &str, errors: &[Error]) -> String {
    let mut rest = text.to_owned();
    let stops = errors.iter().filter(|error| error.message().starts_with("key with no value"));
    for place in stops.filter_map(Error::span) {
        let line = line_of(&rest, place.start);
        rest.replace_range(line.clone(), &" ".repeat(line.len()));
    }
    rest
}

/// The text as far as it can be read, for questions that a fault elsewhere does not touch.
pub(super) fn parse_leniently(text: &str) -> DeTable<'_> {
    DeTable::parse_recoverable(text).0.into_inner()
}

/// The line around a place, without its end.
fn line_of(text: &str, place: usize) -> Range<usize> {
    let place = text.floor_char_boundary(place);
    let start = text[..place].rfind('\n').map_or(0, |newline| newline + 1);
    let end = text[start..].find('\n').map_or(text.len(), |newline| start + newline);
    start..end
}

fn explain(text: &str, error: &Error) -> Fault {
    let Some(span) = error.span() else {
        return Fault::whole(error.message());
    };
    let line = line_of(text, span.start);
    let here = text.get(span.clone()).unwrap_or_default();
    let before = text.get(line.start..span.start).unwrap_or_default();
    let after = text.get(span.end..line.end).unwrap_or_default();
    let key = before.split('=').next().unwrap_or_default().trim();
    let message = error.message();
    let at = |message: &str| Fault::at(span.clone(), message);
    if message.starts_with("string values must be quoted") {
        bare_value(span, key, here)
    } else if message.starts_with("duplicate key") {
        at(&format!("`{}` stands here for the second time", here.escape_debug()))
            .label("already given above")
            .help("keep one of the two; in a list of tables every header is `[[...]]`")
    } else if message.starts_with("invalid boolean") {
        at(&format!("found {}, expected true or false", here.escape_debug()))
            .help("write `true` or `false` in small letters; put text in double quotes")
    } else if let Some(fault) = foreign_habit(span.clone(), before, here, after) {
        fault
    } else if message.starts_with("key with no value") {
        at("found a key without a value")
            .label("expected `=` and a value")
            .help("write `key = value`")
    } else if message.starts_with("unexpected leading zero") {
        at("a number cannot begin with an extra 0").help("leave the leading 0 out")
    } else if message.starts_with("invalid mantissa") || message.starts_with("invalid fraction") {
        at("a decimal point needs a digit on both sides").help("write `0.5` or `5.0`")
    } else {
        at(&format!("not valid TOML: {message}")).label("here")
    }
}

/// A value that is neither a number, a quoted text, nor anything else.
fn bare_value(span: Range<usize>, key: &str, found: &str) -> Fault {
    if found.is_empty() {
        let fault = Fault::at(span, "the value is missing").label("expected a value");
        return fault.help("write a value after `=`, for example `= 12.5` or `= \"text\"`");
    }
    let what = format!("found {}, expected a number or a quoted text", found.escape_debug());
    let fault = Fault::at(span, what);
    if found.contains(['“', '”', '„', '«', '»', '‘', '’']) {
        return fault.label("curved quotes").help("use straight double quotes: `\"...\"`");
    }
    match leading_number(found) {
        Some((number, word)) if !word.is_empty() => {
            fault.label("more than a number").help(unit_help(key, &number, word))
        }
        _ => fault.label("text without quotes").help("put text in double quotes: `\"...\"`"),
    }
}

/// Habits of other notations: decimal comma, colon, slashes.
fn foreign_habit(span: Range<usize>, before: &str, here: &str, after: &str) -> Option<Fault> {
    let rest = format!("{here}{after}");
    let tail = rest.trim_start().strip_prefix(',').map(str::trim_start).unwrap_or_default();
    let digits = &tail[..tail.find(|c: char| !c.is_ascii_digit()).unwrap_or(tail.len())];
    if let Some((key, number)) = before.split_once('=')
        && let (key, number) = (key.trim(), number.trim())
        && number.parse::<f64>().is_ok()
        && !digits.is_empty()
    {
        let fault = Fault::at(span, format!("found {number},{digits}, expected one number"));
        let help = format!(
            "write a decimal point, `{key} = {number}.{digits}`, or a list, `[{number}, {digits}]`"
        );
        return Some(fault.label("a comma in a number").help(help));
    }
    let whole = format!("{before}{rest}");
    if whole.trim_start().starts_with(['/', ';', '%']) {
        let fault = Fault::at(span, "found a line that is neither a key nor a table");
        return Some(fault.help("a comment begins with `#`"));
    }
    if here == ":" {
        return Some(Fault::at(span, "found `:`, expected `=`").help("write `key = value`"));
    }
    None
}
