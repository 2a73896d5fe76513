//! One value as it stands in the file, turned into what was asked for, or into a sentence on why
//! that cannot be.

use std::ops::{Range, RangeInclusive};

use toml::de::{DeInteger, DeTable, DeValue};

use super::bounds::Bounds;
use super::keys;

/// Longest text in a file, characters: names and paths are short.
const LONGEST_TEXT: usize = 240;

/// Characters of the user's own text that a message repeats.
const QUOTED: usize = 40;

/// Why a value was refused; the reader adds the place.
#[derive(Debug)]
pub(super) struct Refusal {
    pub message: String,
    pub label: String,
    pub help: String,
}

/// A value, the text it was written as, and the key that holds it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Found<'k, 'd> {
    /// Empty for an item of a list, which has none of its own.
    pub key: &'k str,
    pub value: &'d DeValue<'d>,
    pub raw: &'d str,
}

/// The items of a list with their spans.
pub(super) type Items<'d> = Vec<(Range<usize>, &'d DeValue<'d>)>;

type Reading<T> = Result<T, Refusal>;

impl<'d> Found<'_, 'd> {
    /// The value in words: `text "5"`, `-3`, `a list of 2`.
    fn describe(&self) -> String {
        let short = |text: &str| match text.char_indices().nth(QUOTED) {
            Some((end, _)) => format!("{}...", &text[..end]),
            None => text.into(),
        };
        match self.value {
            DeValue::String(text) if text.is_empty() => "an empty text".into(),
            DeValue::String(text) => format!("text \"{}\"", short(text).escape_debug()),
            DeValue::Integer(_) | DeValue::Float(_) | DeValue::Boolean(_) => short(self.raw),
            DeValue::Datetime(_) => format!("the date or time {}", short(self.raw)),
            DeValue::Array(list) if list.is_empty() => "an empty list".into(),
            DeValue::Array(list) if list.iter().all(|item| item.get_ref().is_table()) => {
                if list.len() == 1 {
                    "a list of one table".into()
                } else {
                    format!("a list of {} tables", list.len())
                }
            }
            DeValue::Array(list) => format!("a list of {}", list.len()),
            DeValue::Table(_) => "a table".into(),
        }
    }

    fn refuse<T>(
        &self,
        expected: &str,
        label: impl Into<String>,
        help: impl Into<String>,
    ) -> Reading<T> {
        let message = format!("found {}, expected {expected}", self.describe());
        Err(Refusal { message, label: label.into(), help: help.into() })
    }

    /// How a value is written after this key.
    fn written(&self, value: &str) -> String {
        if self.key.is_empty() { format!("`{value}`") } else { format!("`{} = {value}`", self.key) }
    }

    /// A value of another type than expected, with the way to write it where that can be told.
    fn wrong_type<T>(&self, expected: &str, example: &str) -> Reading<T> {
        let text = self.value.as_str();
        let number = text.and_then(leading_number).filter(|_| example.parse::<f64>().is_ok());
        let help = match (self.value, number) {
            (_, Some((number, ""))) => {
                format!("write the number without quotes: {}", self.written(&number))
            }
            (_, Some((number, word))) => unit_help(self.key, &number, word),
            (DeValue::String(text), _)
                if matches!(text.as_ref(), "true" | "false") && example == "true" =>
            {
                format!("write it without quotes: {}", self.written(text))
            }
            (DeValue::Integer(_) | DeValue::Float(_) | DeValue::Boolean(_), _)
                if example == "\"...\"" =>
            {
                format!("put text in double quotes: {}", self.written(&format!("\"{}\"", self.raw)))
            }
            _ => format!("write for example {}", self.written(example)),
        };
        self.refuse(expected, "of the wrong type", help)
    }

    /// A finite number within the bounds; an integer is one too.
    pub(super) fn number(&self, bounds: &Bounds) -> Reading<f64> {
        let expected = bounds.to_string();
        let (value, digits) = match self.value {
            DeValue::Float(float) => (float.as_str().parse().ok(), float.as_str()),
            DeValue::Integer(integer) if integer.radix() == 10 => {
                (integer.as_str().parse().ok(), integer.as_str())
            }
            DeValue::Integer(integer) => {
                (whole(integer).map(|value| value as f64), integer.as_str())
            }
            _ => return self.wrong_type(&expected, &bounds.typical().to_string()),
        };
        let Some(value) = value.filter(|value: &f64| value.is_finite()) else {
            let named = digits.contains("inf") || digits.contains("nan");
            let label = if named { "not a finite number" } else { "too large for a number" };
            return self.refuse(&expected, label, "");
        };
        let mantissa = digits.split(['e', 'E']).next().unwrap_or_default();
        if value == 0.0 && mantissa.contains(|c: char| matches!(c, '1'..='9')) {
            return self.refuse(
                &expected,
                "too small to tell from 0",
                "write `0`, or a larger number",
            );
        }
        if value == 0.0 && value.is_sign_negative() {
            return self.refuse(&expected, "a zero has no sign", "write `0` without the minus");
        }
        if bounds.contains(value) {
            Ok(value)
        } else {
            self.refuse(&expected, bounds.complaint(value), "")
        }
    }

    /// A whole number within a range.
    pub(super) fn integer(&self, range: &RangeInclusive<u32>) -> Reading<u32> {
        let (low, high) = (range.start(), range.end());
        let expected = format!("a whole number from {low} to {high}");
        let value = match self.value {
            DeValue::Integer(integer) => whole(integer),
            DeValue::Float(float) => {
                let rounded = float.as_str().parse::<f64>().map(f64::round).ok();
                let good =
                    rounded.filter(|value| range.contains(&(*value as u32)) && *value >= 0.0);
                let help = good.map(|value| {
                    format!("write it without a decimal point, for example `{value:.0}`")
                });
                return self.refuse(&expected, "not a whole number", help.unwrap_or_default());
            }
            _ => return self.wrong_type(&expected, &low.to_string()),
        };
        match value
            .and_then(|value| u32::try_from(value).ok())
            .filter(|value| range.contains(value))
        {
            Some(value) => Ok(value),
            None if self.raw.starts_with('-')
                || value.is_some_and(|value| value < i128::from(*low)) =>
            {
                self.refuse(&expected, format!("below {low}"), "")
            }
            None => self.refuse(&expected, format!("above {high}"), ""),
        }
    }

    /// The version of the file format, which has to be the one that this program knows.
    pub(super) fn version(&self, known: u32) -> Reading<()> {
        let DeValue::Integer(integer) = self.value else {
            return self.wrong_type(&format!("format version {known}"), &known.to_string());
        };
        match whole(integer) {
            Some(version) if version == i128::from(known) => Ok(()),
            Some(version) if version > i128::from(known) => self.refuse(
                &format!("format version {known}"),
                "a newer format",
                "use a newer slabtone for this file",
            ),
            _ => self.refuse(
                &format!("format version {known}"),
                "no such format",
                format!("write {}", self.written(&known.to_string())),
            ),
        }
    }

    /// A text with something in it.
    pub(super) fn text(&self) -> Reading<String> {
        match self.value {
            DeValue::String(text) if text.trim().is_empty() => {
                self.refuse("some text", "nothing in it", "")
            }
            DeValue::String(text) if text.chars().any(char::is_control) => {
                self.refuse("text on one line", "a control character in it", "")
            }
            DeValue::String(text) if text.chars().count() > LONGEST_TEXT => {
                let found = format!("longer than {LONGEST_TEXT} characters");
                self.refuse("a short text", &found, "")
            }
            DeValue::String(text) => Ok(text.to_string()),
            _ => self.wrong_type("text in double quotes", "\"...\""),
        }
    }

    /// True or false.
    pub(super) fn flag(&self) -> Reading<bool> {
        self.value.as_bool().map_or_else(|| self.wrong_type("true or false", "true"), Ok)
    }

    /// One of a few words.
    pub(super) fn choice<T: Clone>(&self, options: &[(&str, T)]) -> Reading<T> {
        let words: Vec<&str> = options.iter().map(|(word, _)| *word).collect();
        let expected = alternatives(&words);
        let DeValue::String(text) = self.value else {
            return self.wrong_type(&expected, &format!("\"{}\"", words.first().unwrap_or(&"...")));
        };
        if let Some((_, value)) = options.iter().find(|(word, _)| *word == text.as_ref()) {
            return Ok(value.clone());
        }
        let near = keys::nearest(text, words.iter().copied());
        let label = near.map_or("none of these".into(), |word| format!("did you mean \"{word}\"?"));
        self.refuse(&expected, label, "")
    }

    /// A text that something else understands; its own error becomes the sentence.
    pub(super) fn parsed<T>(&self, parse: impl FnOnce(&str) -> Result<T, String>) -> Reading<T> {
        let text = self.text()?;
        parse(&text).map_err(|reason| Refusal {
            message: format!("found {}: {reason}", self.describe()),
            label: String::new(),
            help: String::new(),
        })
    }

    /// The items of a list, of a given length where one is asked for.
    pub(super) fn items(
        &self,
        count: Option<usize>,
        expected: &str,
        example: &str,
    ) -> Reading<Items<'d>> {
        match self.value {
            DeValue::Array(list) if count.is_none_or(|count| count == list.len()) => {
                Ok(list.iter().map(|item| (item.span(), item.get_ref())).collect())
            }
            DeValue::Array(list) => {
                let label = format!("{} instead of {}", list.len(), count.unwrap_or_default());
                self.refuse(expected, label, format!("write for example {}", self.written(example)))
            }
            DeValue::Table(_) => self.wrong_type(expected, example),
            _ if count.is_some() => self.wrong_type(expected, example),
            _ => {
                let list = self.written(&format!("[{}]", self.raw));
                self.refuse(expected, "not a list", format!("put it in brackets: {list}"))
            }
        }
    }

    /// A table, whose header in brackets is given for the message.
    pub(super) fn table(&self, header: &str) -> Reading<&'d DeTable<'d>> {
        match self.value {
            DeValue::Table(table) => Ok(table),
            DeValue::Array(_) => self.refuse(
                "one table",
                "a list",
                format!("write one table, with single brackets: `{header}`"),
            ),
            _ => self.refuse(
                "a table",
                "not a table",
                format!("write `{header}`, and its keys in the lines below"),
            ),
        }
    }

    /// A list of tables, whose header in brackets is given for the message. What its items are is
    /// not looked at.
    pub(super) fn tables(&self, header: &str) -> Reading<Items<'d>> {
        let help = match self.value {
            DeValue::Array(list) => {
                return Ok(list.iter().map(|item| (item.span(), item.get_ref())).collect());
            }
            DeValue::Table(_) => format!("write the header with double brackets: `{header}`"),
            _ => format!("write `{header}`, and its keys in the lines below, once for each"),
        };
        self.refuse("a list of tables", "not a list", help)
    }
}

/// `"bw1", "bw2" or "lr4"`.
fn alternatives(words: &[&str]) -> String {
    let quoted: Vec<String> = words.iter().map(|word| format!("\"{word}\"")).collect();
    match quoted.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
        None => "nothing".into(),
    }
}

/// The number a text begins with, in the form TOML wants, and the word that follows it.
pub(super) fn leading_number(text: &str) -> Option<(String, &str)> {
    let text = text.trim();
    let finite = |text: &str| text.parse::<f64>().ok().filter(|value| value.is_finite());
    let end = text.find(|c: char| !matches!(c, '0'..='9' | '.' | '-' | '+')).unwrap_or(text.len());
    let (number, rest) = if finite(text).is_some() { (text, "") } else { text.split_at(end) };
    if rest.starts_with(|c: char| c.is_ascii_punctuation() && c != '%') {
        return None;
    }
    let value = finite(number)?;
    let plain = value.to_string();
    Some((if plain.len() <= QUOTED { plain } else { format!("{value:e}") }, rest.trim()))
}

/// The next step for a number that has its unit behind it.
pub(super) fn unit_help(key: &str, number: &str, word: &str) -> String {
    let unit = keys::unit_of(key);
    let step = match unit {
        "" => format!("write the number without `{}`", word.escape_debug()),
        _ if unit.eq_ignore_ascii_case(word) => {
            format!("write the number alone, `{key} = {number}`")
        }
        _ => format!("write the number alone, in {unit}"),
    };
    format!("the unit is part of the key: {step}")
}

fn whole(integer: &DeInteger<'_>) -> Option<i128> {
    i128::from_str_radix(integer.as_str(), integer.radix()).ok()
}
