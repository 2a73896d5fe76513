//! Line by line through a Touchstone file.

use num_complex::Complex64;
use std::ops::Range;

use super::OnePort;
use super::option_line::{Options, Parameter, resistance};
use crate::input::curve_file::{MOST_FAULTS, NotNumber, number, quoted};
use crate::input::fault::Fault;
use crate::signal::curve::Curve;

/// What is known of a file so far.
#[derive(Default)]
struct Reading {
    options: Option<Options>,
    version_2: bool,
    /// A row that the `[Number of Frequencies]` promised, and where it did.
    promised: Option<(f64, Range<usize>)>,
    reference_ohm: Option<f64>,
    /// The next line holds the argument of `[Reference]`.
    awaits_reference: bool,
    in_information: bool,
    ended: bool,
    frequency_hz: Vec<f64>,
    ohm: Vec<Complex64>,
    at_dc_ohm: Option<Complex64>,
    /// The last frequency, Hz, and its line.
    before: Option<(f64, usize)>,
    rows: usize,
    faults: Vec<Fault>,
}

/// Reads a whole text.
///
/// # Errors
/// Its faults.
pub(super) fn read(text: &str) -> Result<OnePort, Vec<Fault>> {
    let mut reading = Reading::default();
    let mut start = 0;
    for (index, whole) in text.split('\n').enumerate() {
        let code = whole.split('!').next().unwrap_or_default();
        let line = code.trim();
        let at = start + code.len() - code.trim_start().len();
        start += whole.len() + 1;
        if line.is_empty() || reading.ended {
            continue;
        }
        reading.line(line, at..at + line.len(), index + 1);
        if reading.faults.len() >= MOST_FAULTS {
            let stop = format!("reading stopped at line {}: too many faults", index + 1);
            reading.faults.push(Fault::whole(stop));
            break;
        }
    }
    reading.finish()
}

impl Reading {
    fn line(&mut self, line: &str, at: Range<usize>, number: usize) {
        if let Some(rest) = line.strip_prefix('[') {
            self.keyword(rest, at);
        } else if self.in_information {
            // Free text, up to its end keyword.
        } else if let Some(rest) = line.strip_prefix('#') {
            // Option lines after the first are to be ignored.
            if self.options.is_none() {
                let read = Options::parse(rest).map_err(|message| {
                    let help = "write for example `# Hz Z RI R 1`";
                    self.faults.push(Fault::at(at, message).help(help));
                });
                self.options = Some(read.unwrap_or_default());
            }
        } else if self.awaits_reference {
            self.awaits_reference = false;
            self.reference(line, at);
        } else {
            self.row(line, at, number);
        }
    }

    fn keyword(&mut self, rest: &str, at: Range<usize>) {
        let (name, argument) = rest.split_once(']').unwrap_or((rest, ""));
        let argument = argument.trim();
        let name = name.split_whitespace().collect::<Vec<_>>().join(" ").to_ascii_lowercase();
        let refuse = |message: String| Fault::at(at.clone(), message);
        match name.as_str() {
            "version" => match argument.split('.').next() {
                Some("1") => {}
                Some("2") => self.version_2 = true,
                _ => self
                    .faults
                    .push(refuse(format!("found version {}, expected 1 or 2", quoted(argument)))),
            },
            "number of ports" if argument == "1" => {}
            "number of ports" => {
                let message = format!("found {} ports, expected 1", quoted(argument));
                self.faults.push(refuse(message));
            }
            "number of frequencies" => match argument.parse::<u32>() {
                Ok(count) => self.promised = Some((f64::from(count), at)),
                Err(_) => self.faults.push(refuse(format!(
                    "found {}, expected the number of frequencies",
                    quoted(argument)
                ))),
            },
            "reference" if argument.is_empty() => self.awaits_reference = true,
            "reference" => self.reference(argument, at),
            "begin information" => self.in_information = true,
            "end information" => self.in_information = false,
            "network data" => {}
            "matrix format" if argument.eq_ignore_ascii_case("full") => {}
            "end" => self.ended = true,
            _ if self.in_information => {}
            _ => {
                let message = format!("the keyword {} has no use here", quoted(&name));
                let help = "one port needs [Version], [Number of Ports], [Network Data] and [End]";
                self.faults.push(refuse(message).help(help));
            }
        }
    }

    fn reference(&mut self, text: &str, at: Range<usize>) {
        match resistance(text) {
            Ok(ohm) => self.reference_ohm = Some(ohm),
            Err(message) => self.faults.push(Fault::at(at, message)),
        }
    }

    fn row(&mut self, line: &str, at: Range<usize>, line_number: usize) {
        self.rows += 1;
        if self.options.is_none() {
            let message = "a row stands before the option line, expected a line that begins with #";
            let help = "write for example `# Hz Z RI R 1` above the first row";
            self.faults.push(Fault::at(at.clone(), message).help(help));
            self.options = Some(Options::default());
        }
        let words: Vec<&str> = line.split_whitespace().collect();
        let &[frequency, first, second] = words.as_slice() else {
            let found = match words.len() {
                9 => "9 numbers, a row of two ports".to_owned(),
                count => format!("{count} columns"),
            };
            let message = format!("found {found}, expected frequency and two numbers");
            return self.faults.push(Fault::at(at, message));
        };
        let mut values = [0.0; 3];
        for (value, word) in values.iter_mut().zip([frequency, first, second]) {
            match number(word, false) {
                Ok(read) => *value = read,
                Err(why) => {
                    let message = format!("found {}, expected a number", quoted(word));
                    return self.faults.push(Fault::at(at, message).label(label(why)));
                }
            }
        }
        self.values(values, at, line_number);
    }

    fn values(&mut self, [frequency, first, second]: [f64; 3], at: Range<usize>, line: usize) {
        let options = self.options();
        let hz = frequency * options.hz_per_unit;
        let is_dc = hz == 0.0 && self.before.is_none();
        let order = match self.before.replace((hz, line)) {
            Some((before, number)) if before == hz => {
                Some(format!("stands in line {number} already"))
            }
            Some((before, number)) if before > hz => {
                Some(format!("is below the {before} Hz of line {number}"))
            }
            _ if hz < 0.0 || !hz.is_finite() => Some("is no frequency".to_owned()),
            _ => None,
        };
        if let Some(wrong) = order {
            let help = "keep one row for each frequency, sorted by rising frequency";
            return self.faults.push(Fault::at(at, format!("{hz} Hz {wrong}")).help(help));
        }
        let Some(value) = options.value(first, second) else {
            return self.faults.push(Fault::at(at, "found a negative magnitude"));
        };
        let ohm = options.impedance(value, !self.version_2);
        let size = ohm.norm();
        if !(size.is_finite() && size > 0.0) {
            let what = if size == 0.0 { "zero" } else { "infinite" };
            let message = format!("the impedance at {hz} Hz comes out {what}");
            return self.faults.push(Fault::at(at, message).help("take this row out"));
        }
        if is_dc {
            self.at_dc_ohm = Some(ohm);
        } else {
            self.frequency_hz.push(hz);
            self.ohm.push(ohm);
        }
    }

    /// The options so far, with the resistance of `[Reference]` in the place of theirs.
    fn options(&self) -> Options {
        let mut options = self.options.unwrap_or_default();
        options.reference_ohm = self.reference_ohm.unwrap_or(options.reference_ohm);
        options
    }

    fn finish(mut self) -> Result<OnePort, Vec<Fault>> {
        if let Some((count, at)) = self.promised.take()
            && count != self.rows as f64
        {
            let message = format!("found {} rows, expected the {count} stated here", self.rows);
            self.faults.push(Fault::at(at, message));
        }
        if self.faults.is_empty() && self.frequency_hz.len() < 2 {
            let found = self.frequency_hz.len();
            let message = format!("found {found} rows above 0 Hz, expected at least 2");
            self.faults.push(Fault::whole(message));
        }
        if !self.faults.is_empty() {
            return Err(self.faults);
        }
        let options = self.options();
        let magnitude = self.ohm.iter().map(|z| z.norm()).collect();
        let phase_deg = self.ohm.iter().map(|z| z.arg().to_degrees()).collect();
        let impedance = Curve::new(self.frequency_hz, magnitude, Some(phase_deg))
            .map_err(|error| vec![Fault::whole(error.to_string())])?;
        Ok(OnePort {
            impedance,
            at_dc_ohm: self.at_dc_ohm,
            parameter: options.parameter,
            reference_ohm: options.reference_ohm,
            normalised: !self.version_2 && options.parameter != Parameter::Scattering,
        })
    }
}

fn label(why: NotNumber) -> &'static str {
    match why {
        NotNumber::Word => "",
        other => other.label(),
    }
}
