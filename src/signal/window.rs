//! Time windows: what of an impulse response is looked at.

use std::f64::consts::PI;

/// A window around a moment: half a Hann window up, flat, half a Hann window down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// It begins this long before the moment, s.
    pub before_s: f64,
    /// Length of the rise, inside `before_s`, s.
    pub rise_s: f64,
    /// It ends this long after the moment, s.
    pub after_s: f64,
    /// Length of the fall, inside `after_s`, s.
    pub fall_s: f64,
}

impl Window {
    /// Weight at `t_s` seconds after the moment, 0 to 1.
    pub fn weight(&self, t_s: f64) -> f64 {
        let (from_start, to_end) = (t_s + self.before_s, self.after_s - t_s);
        if from_start < 0.0 || to_end < 0.0 {
            return 0.0;
        }
        half_hann(from_start, self.rise_s) * half_hann(to_end, self.fall_s)
    }

    /// Length from start to end, s.
    pub fn length_s(&self) -> f64 {
        self.before_s + self.after_s
    }
}

/// Rises from 0 at `at` = 0 to 1 at `at` = `length` as half a Hann window, and stays there.
pub fn half_hann(at: f64, length: f64) -> f64 {
    if at >= length { 1.0 } else { 0.5 - 0.5 * (PI * at.max(0.0) / length).cos() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_window_is_one_in_its_middle_half_on_its_slopes_and_nothing_outside() {
        let w = Window { before_s: 1.0, rise_s: 0.5, after_s: 4.0, fall_s: 1.0 };
        for (t, expected) in
            [(-1.1, 0.0), (-0.75, 0.5), (-0.5, 1.0), (0.0, 1.0), (3.0, 1.0), (3.5, 0.5), (4.1, 0.0)]
        {
            assert!((w.weight(t) - expected).abs() < 1e-12, "{t}");
        }
    }

    #[test]
    fn slopes_of_no_length_are_edges() {
        let w = Window { before_s: 0.0, rise_s: 0.0, after_s: 1.0, fall_s: 0.0 };
        assert_eq!([w.weight(0.0), w.weight(1.0), w.weight(-1e-9)], [1.0, 1.0, 0.0]);
    }
}
