//! Preferred values (IEC 60063:2015): the series, the nearest value, two parts for one.
//!
//! *Nearest* is the value whose ratio to the wanted one is closest to 1 (equal percentage either
//! way). The other rule in use, smallest difference, is here too; its ties go to the larger value
//! and are found in integers, since binary fractions would break them at random.

/// Series of preferred values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Series {
    /// 6 values a decade, made for ±20 %.
    E6,
    /// 12 values a decade, made for ±10 %.
    E12,
    /// 24 values a decade, made for ±5 %.
    E24,
    /// 96 values a decade, made for ±1 %.
    E96,
}

const E6: [u16; 6] = [100, 150, 220, 330, 470, 680];
const E12: [u16; 12] = [100, 120, 150, 180, 220, 270, 330, 390, 470, 560, 680, 820];
const E24: [u16; 24] = [
    100, 110, 120, 130, 150, 160, 180, 200, 220, 240, 270, 300, 330, 360, 390, 430, 470, 510, 560,
    620, 680, 750, 820, 910,
];
const E96: [u16; 96] = [
    100, 102, 105, 107, 110, 113, 115, 118, 121, 124, 127, 130, 133, 137, 140, 143, 147, 150, 154,
    158, 162, 165, 169, 174, 178, 182, 187, 191, 196, 200, 205, 210, 215, 221, 226, 232, 237, 243,
    249, 255, 261, 267, 274, 280, 287, 294, 301, 309, 316, 324, 332, 340, 348, 357, 365, 374, 383,
    392, 402, 412, 422, 432, 442, 453, 464, 475, 487, 499, 511, 523, 536, 549, 562, 576, 590, 604,
    619, 634, 649, 665, 681, 698, 715, 732, 750, 768, 787, 806, 825, 845, 866, 887, 909, 931, 953,
    976,
];

/// A wanted value that has no preferred neighbour.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("a preferred value is positive and finite; found {0}")]
pub struct NoPreferred(pub f64);

/// Which of two neighbours is nearer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rule {
    /// The ratio closer to 1.
    Ratio,
    /// The smaller difference; a tie goes to the larger value.
    Difference,
}

impl Series {
    /// Every series with its name.
    pub const ALL: [(&'static str, Self); 4] =
        [("E6", Self::E6), ("E12", Self::E12), ("E24", Self::E24), ("E96", Self::E96)];

    /// Its name.
    pub fn name(self) -> &'static str {
        Self::ALL.iter().find(|(_, s)| *s == self).map_or("", |(name, _)| name)
    }

    /// The values of one decade times 100, rising.
    pub fn hundredths(self) -> &'static [u16] {
        match self {
            Self::E6 => &E6,
            Self::E12 => &E12,
            Self::E24 => &E24,
            Self::E96 => &E96,
        }
    }

    /// All values from 10^`low` up to just below 10^(`high` + 1), rising.
    pub fn values(self, low: i32, high: i32) -> Vec<f64> {
        let decade = |d: i32| self.hundredths().iter().map(move |&m| value(m, d));
        (low..=high).flat_map(decade).collect()
    }

    /// The preferred value nearest to `wanted`.
    ///
    /// # Errors
    /// `wanted` is not positive and finite.
    pub fn nearest(self, wanted: f64, rule: Rule) -> Result<f64, NoPreferred> {
        let (below, above) = self.neighbours(wanted)?;
        let take_above = match rule {
            Rule::Ratio => above / wanted < wanted / below,
            Rule::Difference => difference_goes_up(wanted, below, above),
        };
        Ok(if take_above { above } else { below })
    }

    /// The values on either side of `wanted` (both equal where it is one itself).
    fn neighbours(self, wanted: f64) -> Result<(f64, f64), NoPreferred> {
        if !(wanted.is_finite() && wanted > 0.0) {
            return Err(NoPreferred(wanted));
        }
        let decade = wanted.log10().floor() as i32;
        let near = self.values(decade - 1, decade + 1);
        let at = near.partition_point(|v| *v < wanted);
        let above = *near.get(at).ok_or(NoPreferred(wanted))?;
        let below = if above == wanted { above } else { near[at.max(1) - 1] };
        Ok((below, above))
    }
}

/// `hundredths`/100 · 10^`decade`, correctly rounded.
fn value(hundredths: u16, decade: i32) -> f64 {
    // The decimal text keeps 4.7e-6 the number that a reader of "4.7e-6" gets.
    format!("{hundredths}e{}", decade - 2).parse().unwrap_or(f64::NAN)
}

/// Whether `wanted` is at least as near to `above` as to `below`, decided on decimal digits.
fn difference_goes_up(wanted: f64, below: f64, above: f64) -> bool {
    let decimal = |v: f64| -> Option<(i128, i32)> {
        let text = format!("{v:e}");
        let (digits, exponent) = text.split_once('e')?;
        let decimals = digits.split_once('.').map_or(0, |(_, d)| d.len() as i32);
        Some((digits.replace('.', "").parse().ok()?, exponent.parse::<i32>().ok()? - decimals))
    };
    let exact = (decimal(wanted), decimal(below), decimal(above));
    let (Some(w), Some(b), Some(a)) = exact else { return above - wanted <= wanted - below };
    let lowest = w.1.min(b.1).min(a.1);
    let scaled =
        |(digits, e): (i128, i32)| digits.checked_mul(10i128.checked_pow((e - lowest) as u32)?);
    match (scaled(w), scaled(b), scaled(a)) {
        (Some(w), Some(b), Some(a)) => a - w <= w - b,
        _ => above - wanted <= wanted - below,
    }
}

/// How two parts stand to one another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Connection {
    /// One after the other.
    Series,
    /// Side by side.
    Parallel,
}

/// How two values of a kind of part add up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Adds {
    /// In series: resistors, and coils without coupling.
    InSeries,
    /// In parallel: capacitors.
    InParallel,
}

/// One part or two that stand for a wanted value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Choice {
    /// The first part.
    pub first: f64,
    /// The second part and how it is connected, where there are two.
    pub second: Option<(f64, Connection)>,
    /// What they come to.
    pub value: f64,
}

impl Choice {
    /// A single part.
    pub fn single(value: f64) -> Self {
        Self { first: value, second: None, value }
    }

    /// Value over `wanted` − 1, in percent.
    pub fn error_percent(&self, wanted: f64) -> f64 {
        100.0 * (self.value / wanted - 1.0)
    }

    /// |ln(value/wanted)|: what the ratio rule makes small.
    pub fn miss(&self, wanted: f64) -> f64 {
        (self.value / wanted).ln().abs()
    }
}

/// The best of all pairs of `series` values in the decades `low..=high` (a value may be used
/// twice), by ratio; the first found of equals. `None` only for an empty range of decades.
///
/// # Errors
/// `wanted` is not positive and finite.
pub fn best_pair(
    series: Series,
    wanted: f64,
    adds: Adds,
    low: i32,
    high: i32,
) -> Result<Option<Choice>, NoPreferred> {
    if !(wanted.is_finite() && wanted > 0.0) {
        return Err(NoPreferred(wanted));
    }
    Ok(best_pair_of(&series.values(low, high), wanted, adds))
}

/// The best of all pairs of rising `values`, as [`best_pair`] finds it for a positive finite
/// `wanted`; `None` if there are no values.
pub fn best_pair_of(values: &[f64], wanted: f64, adds: Adds) -> Option<Choice> {
    let mut best: Option<Choice> = None;
    for &a in values {
        for (connection, partner) in partners(a, wanted, adds) {
            let at = values.partition_point(|v| *v < partner);
            for &b in &values[at.saturating_sub(1)..values.len().min(at + 1)] {
                let choice = combined(a, b, connection, adds);
                if best.is_none_or(|found| choice.miss(wanted) < found.miss(wanted)) {
                    best = Some(choice);
                }
            }
        }
    }
    best
}

/// What would have to stand beside `a`, for each connection, to make `wanted` exactly; the one that
/// adds up comes first.
fn partners(a: f64, wanted: f64, adds: Adds) -> [(Connection, f64); 2] {
    let (adding, other) = match adds {
        Adds::InSeries => (Connection::Series, Connection::Parallel),
        Adds::InParallel => (Connection::Parallel, Connection::Series),
    };
    // Where `a` alone is too much or too little, the smallest or largest partner comes nearest.
    let rest = (wanted - a).max(0.0);
    let beside = if a > wanted { a * wanted / (a - wanted) } else { f64::INFINITY };
    [(adding, rest), (other, beside)]
}

fn combined(a: f64, b: f64, connection: Connection, adds: Adds) -> Choice {
    let sums = matches!(
        (connection, adds),
        (Connection::Series, Adds::InSeries) | (Connection::Parallel, Adds::InParallel)
    );
    let value = if sums { a + b } else { a * b / (a + b) };
    Choice { first: a.min(b), second: Some((a.max(b), connection)), value }
}

/// The nearest single part; or, where that misses by more than `pairs_above_percent` and a pair
/// within two decades around it is nearer, the best pair.
///
/// # Errors
/// `wanted` is not positive and finite.
pub fn choose(
    series: Series,
    wanted: f64,
    adds: Adds,
    pairs_above_percent: Option<f64>,
) -> Result<Choice, NoPreferred> {
    let single = Choice::single(series.nearest(wanted, Rule::Ratio)?);
    let Some(percent) = pairs_above_percent else { return Ok(single) };
    if single.error_percent(wanted).abs() <= percent {
        return Ok(single);
    }
    let decade = wanted.log10().floor() as i32;
    let pair = best_pair(series, wanted, adds, decade - 2, decade + 2)?;
    Ok(pair.filter(|p| p.miss(wanted) < single.miss(wanted)).unwrap_or(single))
}
