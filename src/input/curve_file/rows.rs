//! The rows of a curve file, and what is wrong with them.

use std::ops::Range;

use super::layout::{Layout, Line, Separator};
use super::number::{NotNumber, number, quoted};
use super::{MOST_FAULTS, MagnitudeUnit};
use crate::input::fault::Fault;

/// Largest phase that is taken for one, degrees.
const LARGEST_DEG: f64 = 1e7;

/// Sound columns; as many values in each.
pub(super) struct Columns {
    pub frequency_hz: Vec<f64>,
    pub magnitude: Vec<f64>,
    pub phase_deg: Option<Vec<f64>>,
}

/// The third column of a row, and its place.
type Third = (Result<f64, NotNumber>, Range<usize>);

/// A number's place and line, for messages.
type Place = (Range<usize>, usize);

/// Rows as they are read; faults pile up. Values of rows with a fault are not kept.
pub(super) struct Rows<'a, 't> {
    layout: &'a Layout,
    unit: MagnitudeUnit,
    frequency_hz: Vec<f64>,
    magnitude: Vec<f64>,
    thirds: Vec<Third>,
    faults: Vec<Fault>,
    /// Faults of order: row by row, unless every row is below the one before it.
    disorder: Vec<Fault>,
    falling: usize,
    steps: usize,
    /// The last frequency that was a number, and its line.
    before: Option<(f64, usize)>,
    /// First number with a decimal point, and with a decimal comma.
    point: Option<Place>,
    comma: Option<Place>,
    first: &'a Line<'t>,
    columns: usize,
}

impl<'a, 't> Rows<'a, 't> {
    /// Reads lines, of which there is at least one, until there are too many faults.
    pub(super) fn read(layout: &'a Layout, lines: &'a [Line<'t>], unit: MagnitudeUnit) -> Self {
        let first = &lines[0];
        let mut rows = Self {
            layout,
            unit,
            frequency_hz: Vec::with_capacity(lines.len()),
            magnitude: Vec::with_capacity(lines.len()),
            thirds: Vec::with_capacity(lines.len()),
            faults: Vec::new(),
            disorder: Vec::new(),
            falling: 0,
            steps: 0,
            before: None,
            point: None,
            comma: None,
            first,
            columns: layout.fields(first.text).len(),
        };
        for line in lines {
            rows.row(line);
            if rows.faults.len() >= MOST_FAULTS {
                let stop = format!("reading stopped at line {}: too many faults", line.number);
                rows.faults.push(Fault::whole(stop));
                break;
            }
        }
        rows
    }

    /// Whether a number had a decimal comma.
    pub(super) fn decimal_comma(&self) -> bool {
        self.comma.is_some()
    }

    fn row(&mut self, line: &Line<'t>) {
        let fields = self.layout.fields(line.text);
        if fields.len() < 2 {
            let help = "a line that is not a row begins with `#`";
            let fault =
                Fault::at(line.span(), "found one column, expected frequency and magnitude");
            return self.faults.push(fault.label("one column").help(help));
        }
        if self.layout.separator == Separator::Comma && fields.len() != self.columns {
            let (first, expected) = (self.first.number, self.columns);
            let message = format!("found {} columns, line {first} has {expected}", fields.len());
            let help = "give every row as many columns; a comma cannot be a decimal mark where commas part the columns";
            return self.faults.push(Fault::at(line.span(), message).help(help));
        }
        let frequency = self.frequency(line, &fields[0]);
        let magnitude = self.magnitude(line, &fields[1]);
        let third = fields.get(2).cloned().unwrap_or(line.text.len()..line.text.len());
        let phase = self.number(line, &third);
        if let (Some(frequency), Some(magnitude)) = (frequency, magnitude) {
            self.frequency_hz.push(frequency);
            self.magnitude.push(magnitude);
            self.thirds.push((phase, shifted(line, &third)));
        }
    }

    fn number(&mut self, line: &Line<'t>, at: &Range<usize>) -> Result<f64, NotNumber> {
        let text = &line.text[at.clone()];
        let in_quotes = line.text[..at.start].ends_with('"');
        let value = number(text, in_quotes || self.layout.separator != Separator::Comma)?;
        let mark = if text.contains(',') {
            &mut self.comma
        } else if text.contains('.') {
            &mut self.point
        } else {
            return Ok(value);
        };
        mark.get_or_insert_with(|| (shifted(line, at), line.number));
        Ok(value)
    }

    fn refuse(
        &mut self,
        line: &Line<'t>,
        at: &Range<usize>,
        expected: &str,
        label: &str,
        help: &str,
    ) {
        let found = match &line.text[at.clone()] {
            "" => "nothing".to_owned(),
            text => quoted(text),
        };
        let fault = Fault::at(shifted(line, at), format!("found {found}, expected {expected}"));
        self.faults.push(fault.label(label).help(help));
    }

    fn frequency(&mut self, line: &Line<'t>, at: &Range<usize>) -> Option<f64> {
        let expected = "a frequency above 0 Hz";
        let value = match self.number(line, at) {
            Ok(value) if value > 0.0 => value,
            Ok(_) => {
                self.refuse(line, at, expected, "not above 0", "take this row out");
                return None;
            }
            Err(why) => {
                let help = "a line that is not a row begins with `#`";
                self.refuse(line, at, expected, why.label(), help);
                return None;
            }
        };
        if let Some((before_hz, before_line)) = self.before.replace((value, line.number)) {
            self.steps += 1;
            self.falling += usize::from(value < before_hz);
            let message = match value == before_hz {
                true => format!("{value} Hz stands in line {before_line} already"),
                false => format!("{value} Hz is below the {before_hz} Hz of line {before_line}"),
            };
            let help = "keep one row for each frequency, sorted by rising frequency";
            if value <= before_hz && self.disorder.len() < MOST_FAULTS {
                self.disorder.push(Fault::at(shifted(line, at), message).help(help));
            }
        }
        Some(value)
    }

    fn magnitude(&mut self, line: &Line<'t>, at: &Range<usize>) -> Option<f64> {
        let (unit, expected) = (self.unit, self.unit.expected());
        match self.number(line, at) {
            Ok(value) => {
                let linear = unit.linear(value);
                if linear.is_none() {
                    self.refuse(line, at, expected, "out of range", unit.help());
                }
                linear
            }
            Err(why) => {
                self.refuse(line, at, expected, why.label(), "");
                None
            }
        }
    }

    /// The columns, if nothing is wrong.
    pub(super) fn finish(mut self) -> Result<Columns, Vec<Fault>> {
        self.judge_order();
        self.judge_marks();
        let phase_deg = self.phases();
        let found = self.frequency_hz.len();
        if self.faults.is_empty() && found < 2 {
            let message = format!("found {found} row of numbers, expected at least 2");
            self.faults.push(Fault::at(self.first.span(), message));
        }
        if self.faults.is_empty() {
            let Self { frequency_hz, magnitude, .. } = self;
            return Ok(Columns { frequency_hz, magnitude, phase_deg });
        }
        Err(self.faults)
    }

    fn judge_order(&mut self) {
        if self.falling == self.steps && self.steps >= 2 {
            self.disorder.truncate(1);
            for fault in &mut self.disorder {
                fault.message = "the frequencies fall from row to row".to_owned();
                fault.help = Some("sort the rows by rising frequency".to_owned());
            }
        }
        self.faults.append(&mut self.disorder);
    }

    fn judge_marks(&mut self) {
        let (Some(point), Some(comma)) = (&self.point, &self.comma) else { return };
        let (odd, other, mark) = if point.1 <= comma.1 {
            (comma, point, "point, this one a comma")
        } else {
            (point, comma, "comma, this one a point")
        };
        let message = format!("the numbers of line {} have a decimal {mark}", other.1);
        let help = "write all numbers with the same decimal mark, and none between thousands";
        self.faults.push(Fault::at(odd.0.clone(), message).help(help));
    }

    /// The phases where every row has one; `None` where none has. Where only some have, those in
    /// the minority are faults.
    fn phases(&mut self) -> Option<Vec<f64>> {
        let is_phase = |third: &Third| matches!(third.0, Ok(_) | Err(NotNumber::Infinite));
        let with = self.thirds.iter().filter(|third| is_phase(third)).count();
        if with == 0 {
            return None;
        }
        let wanted = with * 2 >= self.thirds.len();
        for (value, at) in &self.thirds {
            let (message, label) = match value {
                Ok(_) if !wanted => ("a phase stands here, but in most rows none", ""),
                Err(NotNumber::Infinite) if !wanted => ("found a third column here only", ""),
                Ok(value) if value.abs() > LARGEST_DEG => {
                    ("expected a phase in degrees", "out of range")
                }
                Err(why) if wanted => {
                    ("expected a phase in degrees, as in other rows", why.label())
                }
                _ => continue,
            };
            if self.faults.len() >= MOST_FAULTS {
                break;
            }
            let help = "give every row a phase, or none";
            self.faults.push(Fault::at(at.clone(), message).label(label).help(help));
        }
        self.thirds.iter().map(|third| third.0.ok()).collect()
    }
}

/// A place in a line as a place in the file.
fn shifted(line: &Line<'_>, at: &Range<usize>) -> Range<usize> {
    line.start + at.start..line.start + at.end
}
