//! Axes: range, scale and grid lines.

/// How values spread along an axis.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    /// Equal ratios take equal lengths.
    Log,
    /// Equal differences take equal lengths.
    Linear,
}

/// One axis of a figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// Name with unit, such as `Level (dB re 20 µPa)`.
    pub label: String,
    /// Value at the left or lower end.
    pub min: f64,
    /// Value at the right or upper end.
    pub max: f64,
    /// How values spread in between.
    pub scale: Scale,
    /// Values with a strong grid line and a number.
    pub bold: Vec<f64>,
    /// Values with a faint grid line.
    pub light: Vec<f64>,
}

impl Axis {
    /// Frequency in Hz on a logarithmic scale, numbered 20, 50, 100 … 20k.
    pub fn frequency(min_hz: f64, max_hz: f64) -> Axis {
        Axis::log("Frequency (Hz)", min_hz, max_hz)
    }

    /// A logarithmic axis numbered at 1, 2 and 5 times powers of ten, closer where the
    /// range is short.
    pub fn log(label: impl Into<String>, min: f64, max: f64) -> Axis {
        let (min, max) = usable(min, max, Scale::Log);
        let coarse = multiples(min, max, &[1.0, 2.0, 5.0]);
        let fine = multiples(min, max, &[1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0]);
        let bold = match (coarse.len(), fine.len()) {
            (4.., _) => coarse,
            (_, 3..) => fine,
            _ => steps(min, max, nice_step(max - min, 5.0)),
        };
        let light = multiples(min, max, &[1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0]);
        Axis { label: label.into(), min, max, scale: Scale::Log, bold, light }
    }

    /// Levels in dB, with grid steps chosen among those usual for decibels.
    pub fn level_db(label: impl Into<String>, min: f64, max: f64) -> Axis {
        let (min, max) = usable(min, max, Scale::Linear);
        let (bold, light) = match max - min {
            span if span <= 2.5 => (0.5, 0.1),
            span if span <= 6.0 => (1.0, 0.5),
            span if span <= 12.0 => (2.0, 1.0),
            span if span <= 30.0 => (5.0, 1.0),
            span if span <= 60.0 => (10.0, 5.0),
            span if span <= 120.0 => (20.0, 10.0),
            _ => return Axis::linear(label, min, max),
        };
        Axis::stepped(label, min, max, bold, light)
    }

    /// Impedance magnitude in Ω on a linear scale.
    pub fn ohm(min: f64, max: f64) -> Axis {
        Axis::linear("Impedance (Ω)", min, max)
    }

    /// Impedance magnitude in Ω on a logarithmic scale.
    pub fn ohm_log(min: f64, max: f64) -> Axis {
        Axis::log("Impedance (Ω)", min, max)
    }

    /// Phase from −180° to 180°, in quarter turns.
    pub fn phase_deg() -> Axis {
        Axis::stepped("Phase (°)", -180.0, 180.0, 90.0, 45.0)
    }

    /// A linear axis with about five numbers at round values.
    pub fn linear(label: impl Into<String>, min: f64, max: f64) -> Axis {
        let (min, max) = usable(min, max, Scale::Linear);
        let bold = nice_step(max - min, 5.0);
        Axis::stepped(label, min, max, bold, bold / 2.0)
    }

    /// A linear axis with grid lines at multiples of `bold` and `light`. A step that is
    /// not positive, or gives more than 400 lines, gives none.
    pub fn stepped(label: impl Into<String>, min: f64, max: f64, bold: f64, light: f64) -> Axis {
        let (min, max) = usable(min, max, Scale::Linear);
        Axis {
            label: label.into(),
            min,
            max,
            scale: Scale::Linear,
            bold: steps(min, max, bold),
            light: steps(min, max, light),
        }
    }

    /// Place of `value` along the axis: 0 at `min`, 1 at `max`, not limited to these; not
    /// finite where the scale has no place for it.
    pub fn place(&self, value: f64) -> f64 {
        match self.scale {
            Scale::Linear => (value - self.min) / (self.max - self.min),
            Scale::Log => (value / self.min).ln() / (self.max / self.min).ln(),
        }
    }

    /// Whether `value` lies on the axis, ends included even where they are rounded.
    pub fn holds(&self, value: f64) -> bool {
        let slack = 1e-9 * (self.max - self.min);
        (self.min - slack..=self.max + slack).contains(&value)
    }

    /// The number written at a grid line: `−20`, `0.5`; on logarithmic axes `2k` for 2000.
    pub fn number(&self, value: f64) -> String {
        match self.scale {
            Scale::Log if value >= 1e6 => plain(value / 1e6) + "M",
            Scale::Log if value >= 1e3 => plain(value / 1e3) + "k",
            _ => plain(value),
        }
    }

    /// This axis if its range can be drawn, otherwise one of the same label that can.
    pub(super) fn safe(&self) -> Axis {
        if usable(self.min, self.max, self.scale) == (self.min, self.max) {
            return self.clone();
        }
        match self.scale {
            Scale::Log => Axis::log(self.label.as_str(), self.min, self.max),
            Scale::Linear => Axis::linear(self.label.as_str(), self.min, self.max),
        }
    }
}

/// The range itself where it can be drawn, otherwise a replacement.
fn usable(min: f64, max: f64, scale: Scale) -> (f64, f64) {
    let good = |min: f64, max: f64| {
        let span = max - min;
        span.is_finite() && span > 1e-9 * min.abs().max(max.abs()) && span > 1e-100
    };
    match scale {
        Scale::Log if good(min, max) && min > 1e-100 && max < 1e100 => (min, max),
        Scale::Log => (20.0, 20_000.0),
        Scale::Linear if good(min, max) => (min, max),
        Scale::Linear if min == max && good(min - 1.0, max + 1.0) => (min - 1.0, max + 1.0),
        Scale::Linear => (0.0, 1.0),
    }
}

/// The step of 1, 2 or 5 times a power of ten that divides `span` into at most `count`.
fn nice_step(span: f64, count: f64) -> f64 {
    let raw = span / count;
    let power = 10f64.powf(raw.log10().floor());
    [1.0, 2.0, 5.0]
        .map(|m| m * power)
        .into_iter()
        .find(|&s| s >= raw * 0.999)
        .unwrap_or(10.0 * power)
}

/// Multiples of `step` in the range, or none if they are unreasonably many.
fn steps(min: f64, max: f64, step: f64) -> Vec<f64> {
    let (first, last) = ((min / step - 1e-6).ceil(), (max / step + 1e-6).floor());
    if !(step > 0.0 && step.is_finite() && last - first <= 400.0) {
        return Vec::new();
    }
    let count = (last - first).max(-1.0) as i64;
    (0..=count).map(|k| (first + k as f64) * step).collect()
}

/// `factors` times all powers of ten, as far as they lie in the range.
fn multiples(min: f64, max: f64, factors: &[f64]) -> Vec<f64> {
    let decades = min.log10().floor() as i32..=max.log10().floor() as i32;
    let inside = |v: &f64| (min * (1.0 - 1e-9)..=max * (1.0 + 1e-9)).contains(v);
    decades.flat_map(|d| factors.iter().map(move |f| f * 10f64.powi(d))).filter(inside).collect()
}

/// At most six decimals, no idle zeros, a true minus sign.
fn plain(value: f64) -> String {
    let size = value.abs();
    let digits = if (1e-4..1e9).contains(&size) || size == 0.0 {
        let fixed = format!("{size:.6}");
        fixed.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        format!("{size:.3e}")
    };
    if value < 0.0 && digits != "0" { format!("−{digits}") } else { digits }
}
