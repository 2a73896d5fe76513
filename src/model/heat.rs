//! The voice coil warms up: resistance against temperature, the way of the heat through two time
//! constants, and the temperature at which heat and loss agree.
//!
//! Sources: temperature coefficient of annealed copper, 0.00393/K at 20 °C (handbook value of
//! IEC 60028, from memory); lumped thermal circuit of coil and magnet (common practice, no source).

use super::driver::{Limits, Motor};

/// Temperature coefficient of a copper coil at 20 °C, 1/K.
pub const COPPER_PER_K: f64 = 0.00393;
/// Temperature at which Re is stated, °C.
pub const STATED_AT_C: f64 = 20.0;
/// A coil hotter than this is beyond what glue and former usually stand, °C (common practice, no
/// source).
pub const USUAL_LIMIT_C: f64 = 150.0;
/// No rise is told beyond this, K: the coil would be gone long before.
pub const LARGEST_RISE_K: f64 = 500.0;

/// Share of the thermal resistance between coil and magnet where the file does not say: the rest
/// is between magnet and air (common practice, no source).
const USUAL_COIL_SHARE: f64 = 0.4;
/// Time constant of a coil, s, where the file does not say (seconds; common practice, no source).
const USUAL_COIL_S: f64 = 5.0;
/// Time constant of a magnet, s, where the file does not say (10 to 30 minutes; common practice,
/// no source).
const USUAL_MAGNET_S: f64 = 1200.0;

/// Resistance of a copper coil at `temperature_c` (°C) over that at 20 °C: 1 + α (T − 20).
pub fn copper_ratio(temperature_c: f64) -> f64 {
    1.0 + COPPER_PER_K * (temperature_c - STATED_AT_C)
}

/// Steady rise (K) of a coil of `re_ohm` (Ω at 20 °C, in surroundings of 20 °C) under `drive_v`
/// (V rms) where its impedance is Re, over `k_per_w` (K/W). As Re rises the heat falls:
/// ΔT = Rth E²/(Re (1 + α ΔT)), hence ΔT = (√(1 + 4αb) − 1)/(2α), b = Rth E²/Re.
pub fn steady_rise_k(k_per_w: f64, drive_v: f64, re_ohm: f64) -> f64 {
    let b = k_per_w * drive_v.powi(2) / re_ohm;
    ((1.0 + 4.0 * COPPER_PER_K * b).sqrt() - 1.0) / (2.0 * COPPER_PER_K)
}

/// The motor with its coil `rise_k` (K) warmer than stated; Qes and Qts rise with Re.
pub fn hot(motor: &Motor, rise_k: f64) -> Motor {
    Motor { re_ohm: motor.re_ohm * (1.0 + COPPER_PER_K * rise_k), ..*motor }
}

/// The way of the heat: from coil to magnet, and from magnet to the surroundings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeatPath {
    /// Coil to magnet, K/W.
    pub coil_k_per_w: f64,
    /// Magnet to surroundings, K/W.
    pub magnet_k_per_w: f64,
    /// Time constant of the coil, s.
    pub coil_s: f64,
    /// Time constant of the magnet, s.
    pub magnet_s: f64,
    /// Whether the split or a time constant is a habit rather than the driver's own.
    pub is_habit: bool,
}

impl HeatPath {
    /// The path that a driver file states; `None` without a thermal resistance, which no habit can
    /// stand for. Split and time constants that it leaves out take the usual ones.
    pub fn of(limits: &Limits) -> Option<Self> {
        let total = limits.thermal_resistance_k_per_w?;
        let (coil, coil_s, magnet_s) =
            (limits.coil_to_magnet_k_per_w, limits.coil_time_s, limits.magnet_time_s);
        let coil_k_per_w = coil.map_or(USUAL_COIL_SHARE * total, |k| k.min(total));
        Some(Self {
            coil_k_per_w,
            magnet_k_per_w: total - coil_k_per_w,
            coil_s: coil_s.unwrap_or(USUAL_COIL_S),
            magnet_s: magnet_s.unwrap_or(USUAL_MAGNET_S),
            is_habit: coil.is_none() || coil_s.is_none() || magnet_s.is_none(),
        })
    }

    /// Coil to surroundings, K/W.
    pub fn total_k_per_w(&self) -> f64 {
        self.coil_k_per_w + self.magnet_k_per_w
    }

    /// Rise of the coil per watt of steady heat `time_s` (s) after it sets in, K/W:
    /// Rc (1 − e^{−t/τc}) + Rm (1 − e^{−t/τm}), the two stages taken as separate since the
    /// magnet is so much slower.
    pub fn after_k_per_w(&self, time_s: f64) -> f64 {
        let stage = |k: f64, tau_s: f64| -k * (-time_s / tau_s).exp_m1();
        stage(self.coil_k_per_w, self.coil_s) + stage(self.magnet_k_per_w, self.magnet_s)
    }
}

/// The rise (K) at which the heat that a coil then takes, `power_w(rise)` (W), is carried off over
/// `k_per_w` (K/W): the root of ΔT = Rth P(ΔT) by bisection, held at [`LARGEST_RISE_K`] where a
/// source that hardly feels the coil would run away.
pub fn settled_rise_k(k_per_w: f64, power_w: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (0.0, LARGEST_RISE_K);
    // 500 K / 2^36 is 10 nK.
    for _ in 0..36 {
        let middle = 0.5 * (low + high);
        if middle < k_per_w * power_w(middle) { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn limits() -> Limits {
        Limits {
            xmax_m: 1e-3,
            noise_power_w: 20.0,
            thermal_resistance_k_per_w: Some(8.0),
            coil_to_magnet_k_per_w: Some(3.0),
            coil_time_s: Some(4.0),
            magnet_time_s: None,
        }
    }

    #[test]
    fn the_search_finds_what_the_formula_gives() {
        let found = settled_rise_k(8.0, |rise| 100.0 / (3.6 * copper_ratio(20.0 + rise)));
        assert_relative_eq!(found, steady_rise_k(8.0, 10.0, 3.6), max_relative = 1e-9);
    }

    #[test]
    fn heat_without_end_stops_at_the_largest_rise() {
        let found = settled_rise_k(8.0, |_| 1e9);
        assert_relative_eq!(found, LARGEST_RISE_K, max_relative = 1e-6);
    }

    #[test]
    fn the_coil_comes_first_and_the_magnet_much_later() {
        let path = HeatPath::of(&limits()).unwrap();
        assert!(path.is_habit, "the magnet's time is a habit");
        assert_eq!(path.after_k_per_w(0.0), 0.0);
        assert_relative_eq!(path.after_k_per_w(4.0), 3.0 * 0.632, max_relative = 0.02);
        assert_relative_eq!(path.after_k_per_w(1e6), path.total_k_per_w());
        assert!(HeatPath::of(&Limits { thermal_resistance_k_per_w: None, ..limits() }).is_none());
    }
}
