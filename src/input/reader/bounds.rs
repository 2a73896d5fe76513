//! The limits of a number.

use std::fmt;

/// Physical limits of a number and its unit. `Display` gives "a number from 5 to 400 mm".
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    low: f64,
    high: f64,
    unit: &'static str,
    low_excluded: bool,
}

impl Bounds {
    /// Both limits belong to the range. The unit may be empty.
    pub const fn new(low: f64, high: f64, unit: &'static str) -> Bounds {
        Bounds { low, high, unit, low_excluded: false }
    }

    /// Above zero, up to and including `high`.
    pub const fn positive(high: f64, unit: &'static str) -> Bounds {
        Bounds { low: 0.0, high, unit, low_excluded: true }
    }

    /// The same distance to both sides of zero, limits included.
    pub const fn symmetric(high: f64, unit: &'static str) -> Bounds {
        Bounds::new(-high, high, unit)
    }

    /// The unit, or an empty text.
    pub const fn unit(&self) -> &'static str {
        self.unit
    }

    /// Whether a number lies within the limits; never true of NaN.
    pub fn contains(&self, value: f64) -> bool {
        let above = if self.low_excluded { value > self.low } else { value >= self.low };
        above && value <= self.high
    }

    /// What is wrong with a number outside: "above 400 mm".
    pub(super) fn complaint(&self, value: f64) -> String {
        let unit = self.suffix();
        match value > self.high {
            true => format!("above {}{unit}", self.high),
            false if self.low_excluded => "not above 0".into(),
            false => format!("below {}{unit}", self.low),
        }
    }

    /// A round number within the limits, to show how the key is written and to stand in for a
    /// faulty one.
    pub(super) fn typical(&self) -> f64 {
        let middle = if self.low > 0.0 {
            (self.low * self.high).sqrt()
        } else if self.low_excluded {
            self.high / 10.0
        } else if self.low < 0.0 && self.high > 0.0 {
            0.0
        } else {
            (self.low + self.high) / 2.0
        };
        // One significant digit, as long as that stays inside.
        let round = format!("{middle:.0e}").parse().unwrap_or(middle);
        [round, middle, self.high]
            .into_iter()
            .find(|value| self.contains(*value))
            .unwrap_or(self.high)
    }

    fn suffix(&self) -> String {
        if self.unit.is_empty() { String::new() } else { format!(" {}", self.unit) }
    }
}

impl fmt::Display for Bounds {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Bounds { low, high, .. } = self;
        match self.low_excluded {
            true => write!(f, "a number above {low}, at most {high}{}", self.suffix()),
            false => write!(f, "a number from {low} to {high}{}", self.suffix()),
        }
    }
}
