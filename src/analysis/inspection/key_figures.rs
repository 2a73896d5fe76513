//! The few numbers of a sweep that a batch is followed by.

/// How many there are.
pub const COUNT: usize = 4;

/// Names and units of the key figures, in their order.
pub const NAMES: [(&str, &str); COUNT] =
    [("resonance_hz", "Hz"), ("resonance_ohm", "Ω"), ("lowest_ohm", "Ω"), ("low_end_ohm", "Ω")];

/// Key figures of an impedance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KeyFigures {
    /// Where the impedance peaks at low frequencies, Hz.
    pub resonance_hz: f64,
    /// How high, Ω.
    pub resonance_ohm: f64,
    /// Lowest magnitude above that, Ω.
    pub lowest_ohm: f64,
    /// At the lowest frequency of the axis, Ω: close to the resistance at DC.
    pub low_end_ohm: f64,
}

impl KeyFigures {
    /// From the logarithm of the magnitude (Ω) at rising frequencies: the highest place below
    /// 500 Hz by a parabola over the logarithm of frequency, and the lowest value above it.
    pub fn of(hz: &[f64], ln_ohm: &[f64]) -> Self {
        const HIGHEST_HZ: f64 = 500.0;
        let low = hz.partition_point(|f| *f < HIGHEST_HZ).clamp(1, ln_ohm.len().max(1));
        let order = |a: &usize, b: &usize| ln_ohm[*a].total_cmp(&ln_ohm[*b]);
        let peak = (0..low).max_by(order).unwrap_or(0);
        let (resonance_hz, ln_peak) = summit(hz, ln_ohm, peak);
        let lowest = ln_ohm[peak..].iter().copied().fold(f64::INFINITY, f64::min);
        Self {
            resonance_hz,
            resonance_ohm: ln_peak.exp(),
            lowest_ohm: lowest.exp(),
            low_end_ohm: ln_ohm[0].exp(),
        }
    }

    /// In the order of [`NAMES`].
    pub fn values(&self) -> [f64; COUNT] {
        [self.resonance_hz, self.resonance_ohm, self.lowest_ohm, self.low_end_ohm]
    }
}

/// Top of the parabola through a point and its neighbours on an even axis.
fn summit(hz: &[f64], y: &[f64], at: usize) -> (f64, f64) {
    if at == 0 || at + 1 >= y.len() {
        return (hz[at], y[at]);
    }
    let (before, after) = (y[at - 1] - y[at], y[at + 1] - y[at]);
    let bend = before + after;
    if bend >= 0.0 {
        return (hz[at], y[at]);
    }
    let shift = (0.5 * (before - after) / bend).clamp(-0.5, 0.5);
    let step = if shift < 0.0 { hz[at] / hz[at - 1] } else { hz[at + 1] / hz[at] };
    (hz[at] * step.powf(shift), y[at] - 0.125 * (after - before).powi(2) / bend)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_peak_between_points_is_found() {
        let hz: Vec<f64> = (0..100).map(|k| 20.0 * 1.07f64.powi(k)).collect();
        let ln = |f: &f64| 3.0 - (f / 123.0).ln().powi(2);
        let found = KeyFigures::of(&hz, &hz.iter().map(ln).collect::<Vec<_>>());
        assert!((found.resonance_hz / 123.0 - 1.0).abs() < 1e-6, "{found:?}");
        assert!((found.resonance_ohm.ln() - 3.0).abs() < 1e-6);
    }
}
