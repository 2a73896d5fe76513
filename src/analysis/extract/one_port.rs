//! Correction of an impedance measured with a series resistor.
//!
//! The ratio m of the voltage behind the resistor R to that before it is, for any linear wiring
//! with any leads, input resistances and channel gains, a bilinear function of the impedance Z at
//! the terminals: m = (aZ + b)/(cZ + 1). Three known terminations fix a, b and c, as in the
//! calibration of one-port network analysers (R. A. Hackborn, "An automatic network analyzer
//! system", Microwave Journal 11, May 1968, pp. 45-52). With a short circuit (m = s), an open
//! circuit (m = o) and a known resistor R₀ (m = k):
//!
//! Z = R₀ (m − s)(o − k) / ((k − s)(o − m))
//!
//! in which the series resistor no longer appears. With fewer takes the wiring is modelled as
//! m = g (Z + Z₁)/(Z + Z₁ + R): g the ratio of the channels' gains, Z₁ the leads.

use num_complex::Complex64;

/// The series resistor and what was measured for known terminations, at the frequencies of the
/// curve.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Wiring {
    /// The series resistor R, Ω.
    pub resistor_ohm: f64,
    /// m with the terminals joined.
    pub short: Option<Vec<Complex64>>,
    /// m with nothing at the terminals.
    pub open: Option<Vec<Complex64>>,
    /// A resistor's value, Ω, and m with it at the terminals.
    pub known: Option<(f64, Vec<Complex64>)>,
}

impl Wiring {
    /// The impedance at the terminals for each measured ratio. Not finite where the takes
    /// contradict one another.
    pub fn impedance(&self, measured: &[Complex64]) -> Vec<Complex64> {
        measured.iter().enumerate().map(|(k, m)| self.at(k, *m)).collect()
    }

    fn at(&self, k: usize, m: Complex64) -> Complex64 {
        let resistor = Complex64::from(self.resistor_ohm);
        let of = |take: &Option<Vec<Complex64>>| take.as_ref().and_then(|t| t.get(k).copied());
        let known = self.known.as_ref().and_then(|(ohm, t)| Some((*ohm, *t.get(k)?)));
        // What stands at the terminals, leads included, for a gain and a resistor.
        let behind = |m: Complex64, gain: Complex64, r: Complex64| r * m / (gain - m);
        let one = Complex64::ONE;
        let (gain, leads, r) = match (of(&self.short), of(&self.open), known) {
            (Some(s), Some(o), Some((ohm, k))) => {
                return ohm * (m - s) * (o - k) / ((k - s) * (o - m));
            }
            (None, None, None) => (one, Complex64::ZERO, resistor),
            (None, Some(o), None) => (o, Complex64::ZERO, resistor),
            (Some(s), None, None) => (one, behind(s, one, resistor), resistor),
            (None, None, Some((ohm, k))) => (k * (ohm + resistor) / ohm, Complex64::ZERO, resistor),
            (Some(s), Some(o), None) => (o, behind(s, o, resistor), resistor),
            (None, Some(o), Some((ohm, k))) => {
                (o, Complex64::ZERO, resistor * ohm / behind(k, o, resistor))
            }
            (Some(s), None, Some((ohm, k))) => {
                let leads = leads_of(s / k, ohm, self.resistor_ohm);
                (k * (ohm + leads + resistor) / (ohm + leads), leads, resistor)
            }
        };
        behind(m, gain, r) - leads
    }

    /// What these takes leave uncorrected, one phrase each.
    pub fn uncorrected(&self) -> Vec<&'static str> {
        let (short, open, known) =
            (self.short.is_some(), self.open.is_some(), self.known.is_some());
        if short && open && known {
            return vec!["the known resistor's own tolerance and inductance"];
        }
        let mut left = Vec::new();
        if !short {
            left.push("the resistance of leads and contacts");
        }
        if !open && !known {
            left.push("the difference between the channels' gains");
        }
        if !(open && known) {
            left.push("the series resistor's tolerance");
        }
        left.push("the input resistance of the sound card");
        left
    }
}

/// The leads Z₁ from ρ = s/k by (1 − ρ)(Z₁² + (R₀ + R) Z₁) = ρ R R₀; the root that goes to zero
/// with ρ.
fn leads_of(rho: Complex64, known_ohm: f64, resistor_ohm: f64) -> Complex64 {
    let sum = known_ohm + resistor_ohm;
    let right = rho * known_ohm * resistor_ohm / (1.0 - rho);
    (Complex64::from(sum * sum) + 4.0 * right).sqrt() / 2.0 - sum / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    const R: f64 = 10.0;
    const KNOWN: f64 = 8.2;

    fn c(re: f64, im: f64) -> Complex64 {
        Complex64::new(re, im)
    }

    /// Series resistor `r`, leads, an input of the sound card behind them, gains that differ.
    fn ratio(z: Complex64, gain: Complex64, leads: Complex64, input: f64, r: f64) -> Complex64 {
        let seen = 1.0 / (1.0 / (z + leads) + 1.0 / input);
        gain * seen / (seen + r)
    }

    fn wiring(taken: [bool; 3], measure: impl Fn(Complex64) -> Complex64) -> Wiring {
        let one = |wanted: bool, z: f64| wanted.then(|| vec![measure(c(z, 0.0))]);
        Wiring {
            resistor_ohm: R,
            short: one(taken[0], 0.0),
            open: one(taken[1], 1e15),
            known: one(taken[2], KNOWN).map(|m| (KNOWN, m)),
        }
    }

    #[test]
    fn three_takes_correct_whatever_is_linear() {
        let measure = |z| ratio(z, c(1.03, 0.02), c(0.07, 0.01), 900.0, 10.4);
        for z in [c(3.0, 0.0), c(6.0, 25.0), c(40.0, -30.0), c(0.2, 0.1)] {
            let found = wiring([true; 3], measure).impedance(&[measure(z)])[0];
            assert!((found - z).norm() < 1e-9 * z.norm(), "{z}: {found}");
        }
    }

    #[test]
    fn fewer_takes_correct_what_they_can() {
        let g = c(1.03, 0.01);
        let (leads, none) = (c(0.05, 0.01), Complex64::ZERO);
        for (taken, gain, leads, r) in [
            ([false, false, false], Complex64::ONE, none, R),
            ([true, false, false], Complex64::ONE, leads, R),
            ([false, true, false], g, none, R),
            ([false, false, true], g, none, R),
            ([true, true, false], g, leads, R),
            ([false, true, true], g, none, 10.3),
            ([true, false, true], g, leads, R),
        ] {
            let measure = |z| ratio(z, gain, leads, 1e15, r);
            let z = c(7.0, 12.0);
            let found = wiring(taken, measure).impedance(&[measure(z)])[0];
            assert!((found - z).norm() < 1e-6, "{taken:?}: {found}");
        }
    }

    #[test]
    fn what_is_left_is_told() {
        let told = |taken| wiring(taken, |z| z).uncorrected().join("; ");
        assert!(told([false; 3]).contains("leads") && told([false; 3]).contains("gains"));
        assert!(!told([true, true, false]).contains("leads"));
        assert!(told([true; 3]).starts_with("the known resistor"));
    }
}
