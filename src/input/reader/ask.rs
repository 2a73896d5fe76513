//! The questions that can be asked of a section, one type of answer each.
//!
//! Of each kind there are up to three: the plain one requires the key, `optional_` gives `None`
//! where it is left out, `_or` a default. A fault is recorded and answered by a stand-in, `None` or
//! the default.

use std::fmt::Display;
use std::ops::RangeInclusive;
use std::str::FromStr;

use toml::de::DeValue;

use super::bounds::Bounds;
use super::section::{Ask, Section};
use super::value::{Found, Refusal};
use crate::units::plain;

impl<'d> Section<'d> {
    /// A required number.
    pub fn number(&mut self, key: &str, bounds: Bounds) -> f64 {
        self.ask_number(key, bounds, true).unwrap_or_else(|| bounds.typical())
    }

    /// A number with a default.
    pub fn number_or(&mut self, key: &str, bounds: Bounds, default: f64) -> f64 {
        self.optional_number(key, bounds).unwrap_or(default)
    }

    /// A number that may be left out.
    pub fn optional_number(&mut self, key: &str, bounds: Bounds) -> Option<f64> {
        self.ask_number(key, bounds, false)
    }

    fn ask_number(&mut self, key: &str, bounds: Bounds, required: bool) -> Option<f64> {
        let example = bounds.typical().to_string();
        let ask = Ask { unit: bounds.unit(), ..ask(key, &example, &bounds.to_string(), required) };
        self.read(ask, |found| found.number(&bounds))
    }

    /// A required whole number.
    pub fn integer(&mut self, key: &str, range: RangeInclusive<u32>) -> u32 {
        let stand_in = *range.start();
        self.ask_integer(key, range, true).unwrap_or(stand_in)
    }

    /// A whole number with a default.
    pub fn integer_or(&mut self, key: &str, range: RangeInclusive<u32>, default: u32) -> u32 {
        self.optional_integer(key, range).unwrap_or(default)
    }

    /// A whole number that may be left out.
    pub fn optional_integer(&mut self, key: &str, range: RangeInclusive<u32>) -> Option<u32> {
        self.ask_integer(key, range, false)
    }

    fn ask_integer(
        &mut self,
        key: &str,
        range: RangeInclusive<u32>,
        required: bool,
    ) -> Option<u32> {
        let expected = format!("a whole number from {} to {}", range.start(), range.end());
        let ask = ask(key, &range.start().to_string(), &expected, required);
        self.read(ask, |found| found.integer(&range))
    }

    /// A required text that is not blank.
    pub fn text(&mut self, key: &str) -> String {
        self.ask_text(key, true).unwrap_or_default()
    }

    /// A text with a default.
    pub fn text_or(&mut self, key: &str, default: &str) -> String {
        self.optional_text(key).unwrap_or_else(|| default.into())
    }

    /// A text that may be left out.
    pub fn optional_text(&mut self, key: &str) -> Option<String> {
        self.ask_text(key, false)
    }

    fn ask_text(&mut self, key: &str, required: bool) -> Option<String> {
        self.read(ask(key, "\"...\"", "text in double quotes", required), |found| found.text())
    }

    /// True or false, with a default.
    pub fn flag_or(&mut self, key: &str, default: bool) -> bool {
        self.read(ask(key, "true", "true or false", false), |found| found.flag()).unwrap_or(default)
    }

    /// One of a few words, required; the first one stands in for a fault.
    pub fn choice<T: Clone, const N: usize>(&mut self, key: &str, options: &[(&str, T); N]) -> T {
        const { assert!(N > 0, "a choice needs at least one option") }
        self.required_choice(key, options).unwrap_or_else(|| options[0].1.clone())
    }

    /// One of a few words, with a default.
    pub fn choice_or<T: Clone>(&mut self, key: &str, options: &[(&str, T)], default: T) -> T {
        self.optional_choice(key, options).unwrap_or(default)
    }

    /// One of a few words, or left out.
    pub fn optional_choice<T: Clone>(&mut self, key: &str, options: &[(&str, T)]) -> Option<T> {
        self.ask_choice(key, options, false)
    }

    /// One of a few words, required, with `None` for a fault: for a list whose length is only known
    /// at run time.
    pub fn required_choice<T: Clone>(&mut self, key: &str, options: &[(&str, T)]) -> Option<T> {
        self.ask_choice(key, options, true)
    }

    fn ask_choice<T: Clone>(
        &mut self,
        key: &str,
        options: &[(&str, T)],
        required: bool,
    ) -> Option<T> {
        let words: Vec<String> = options.iter().map(|(word, _)| format!("\"{word}\"")).collect();
        let example = words.first().map_or("\"...\"", String::as_str);
        self.read(ask(key, example, &words.join(", "), required), |found| found.choice(options))
    }

    /// A required text that a type of the caller's parses; the error of that type becomes the
    /// message after "found text ...". `None` stands for a fault.
    pub fn parsed<T: FromStr<Err: Display>>(&mut self, key: &str, example: &str) -> Option<T> {
        self.ask_parsed(key, example, true)
    }

    /// Like [`Section::parsed`], but the key may be left out.
    pub fn optional_parsed<T: FromStr<Err: Display>>(
        &mut self,
        key: &str,
        example: &str,
    ) -> Option<T> {
        self.ask_parsed(key, example, false)
    }

    fn ask_parsed<T: FromStr<Err: Display>>(
        &mut self,
        key: &str,
        example: &str,
        required: bool,
    ) -> Option<T> {
        let example = format!("\"{example}\"");
        let parse = |text: &str| text.parse::<T>().map_err(|error| error.to_string());
        self.read(ask(key, &example, "text in double quotes", required), |found| {
            found.parsed(parse)
        })
    }

    /// A required list of exactly `N` numbers.
    pub fn point<const N: usize>(&mut self, key: &str, bounds: Bounds) -> [f64; N] {
        self.ask_point(key, bounds, true).unwrap_or([bounds.typical(); N])
    }

    /// A list of exactly `N` numbers, with a default.
    pub fn point_or<const N: usize>(
        &mut self,
        key: &str,
        bounds: Bounds,
        default: [f64; N],
    ) -> [f64; N] {
        self.optional_point(key, bounds).unwrap_or(default)
    }

    /// A list of exactly `N` numbers that may be left out.
    pub fn optional_point<const N: usize>(
        &mut self,
        key: &str,
        bounds: Bounds,
    ) -> Option<[f64; N]> {
        self.ask_point(key, bounds, false)
    }

    fn ask_point<const N: usize>(
        &mut self,
        key: &str,
        bounds: Bounds,
        required: bool,
    ) -> Option<[f64; N]> {
        // Rising, so that a pair of bounds written like this is one.
        let rising = (1..=N).map(|k| plain(bounds.typical() * k as f64));
        let example = format!("[{}]", rising.collect::<Vec<_>>().join(", "));
        let expected = format!("a list of {N}, each {bounds}");
        let ask = Ask { unit: bounds.unit(), ..ask(key, &example, &expected, required) };
        let numbers = self.list(ask, Some(N), &expected, &example, |found| found.number(&bounds));
        numbers.and_then(|numbers| numbers.try_into().ok())
    }

    /// A list of numbers of any length; empty where it is left out.
    pub fn numbers(&mut self, key: &str, bounds: Bounds) -> Vec<f64> {
        let typical = bounds.typical();
        let example = format!("[{typical}, {typical}]");
        let expected = format!("a list, each {bounds}");
        let ask = Ask { unit: bounds.unit(), ..ask(key, &example, &expected, false) };
        self.list(ask, None, &expected, &example, |found| found.number(&bounds)).unwrap_or_default()
    }

    /// A required list of exactly `N` texts.
    pub fn names<const N: usize>(&mut self, key: &str, example: [&str; N]) -> Option<[String; N]> {
        let example = format!("[{}]", example.map(|name| format!("\"{name}\"")).join(", "));
        let expected = format!("a list of {N} texts in double quotes");
        let ask = ask(key, &example, &expected, true);
        let texts = self.list(ask, Some(N), &expected, &example, |found| found.text());
        texts.and_then(|texts| texts.try_into().ok())
    }

    /// A list of texts of any length; empty where it is left out.
    pub fn texts(&mut self, key: &str) -> Vec<String> {
        let (example, expected) = ("[\"...\", \"...\"]", "a list of texts in double quotes");
        let ask = ask(key, example, expected, false);
        self.list(ask, None, expected, example, |found| found.text()).unwrap_or_default()
    }

    /// A number that holds from so many pieces on: one alone, or a list of `[from, number]` that
    /// rises in `from`; empty where it is left out.
    pub fn steps(&mut self, key: &str, bounds: Bounds) -> Vec<(u32, f64)> {
        let example = "[[1, 0.85], [100, 0.62]]";
        let expected = format!("{bounds}, or a list of [from so many, number]");
        let question = || ask(key, example, &expected, false);
        let one = self.read(question(), |found| match found.value {
            DeValue::Array(_) => Ok(None),
            _ => found.number(&bounds).map(Some),
        });
        match one {
            None => return Vec::new(),
            Some(Some(number)) => return vec![(1, number)],
            Some(None) => {}
        }
        let step = |found: Found<'_, 'd>| {
            let items = found.items(Some(2), "[from so many, number]", "[100, 0.62]")?;
            let at = |n: usize| Found { value: items[n].1, ..found };
            Ok((at(0).integer(&(1..=1_000_000))?, at(1).number(&bounds)?))
        };
        let steps = self.list(question(), None, &expected, example, step).unwrap_or_default();
        if steps.windows(2).any(|pair| pair[0].0 >= pair[1].0) {
            self.refuse(key, "the steps do not rise", "write the smallest quantity first");
        }
        steps
    }

    /// A required table. A missing one is reported once, and not its keys.
    pub fn section(&mut self, key: &str) -> Section<'d> {
        self.ask_section(key, true).unwrap_or_else(|| self.child(None, self.span(), key))
    }

    /// A table that may be left out.
    pub fn optional_section(&mut self, key: &str) -> Option<Section<'d>> {
        self.ask_section(key, false)
    }

    fn ask_section(&mut self, key: &str, required: bool) -> Option<Section<'d>> {
        let header = format!("[{}]", self.header_of(key));
        let line = if self.is_inline() { format!("{key} = {{ ... }}") } else { header.clone() };
        let ask = Ask { line, ..ask(key, "", "a table", required) };
        let table = self.read(ask, |found| found.table(&header))?;
        let span = self.span_of(key).unwrap_or_default();
        Some(self.child(Some(table), span, key))
    }

    /// A list of tables, `[[key]]`; empty where it is left out. Each reports its own keys.
    pub fn sections(&mut self, key: &str) -> Vec<Section<'d>> {
        let header = format!("[[{}]]", self.header_of(key));
        let ask = Ask { line: header.clone(), ..ask(key, "", "a list of tables", false) };
        let tables = self.read(ask, |found| found.tables(&header)).unwrap_or_default();
        let mut sections = Vec::with_capacity(tables.len());
        for (n, (span, value)) in tables.into_iter().enumerate() {
            let place = format!("{key}[{}]", n + 1);
            let table = self.take(key, &place, span.clone(), value, |found| found.table(&header));
            sections.push(self.child(table, span, &place));
        }
        sections
    }

    fn list<T>(
        &mut self,
        ask: Ask<'_>,
        count: Option<usize>,
        expected: &str,
        example: &str,
        each: impl Fn(Found<'_, 'd>) -> Result<T, Refusal>,
    ) -> Option<Vec<T>> {
        let key = ask.key;
        let items = self.read(ask, |found| found.items(count, expected, example))?;
        let mut all = Vec::with_capacity(items.len());
        let mut sound = true;
        for (n, (span, value)) in items.into_iter().enumerate() {
            let item = self.take(key, &format!("{key}[{}]", n + 1), span, value, &each);
            sound &= item.is_some();
            all.extend(item);
        }
        sound.then_some(all)
    }
}

/// A question for a key without a unit.
fn ask<'a>(key: &'a str, example: &str, expected: &str, required: bool) -> Ask<'a> {
    Ask { key, line: format!("{key} = {example}"), expected: expected.into(), unit: "", required }
}
