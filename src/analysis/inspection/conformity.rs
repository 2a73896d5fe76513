//! Conformity of a measured quantity with a tolerance, and guard bands.
//!
//! JCGM 106:2012, *Evaluation of measurement data: the role of measurement uncertainty in
//! conformity assessment* (clauses 7 and 8; from memory). The best estimate y of a quantity has the
//! standard uncertainty u; what is known of the quantity is a normal distribution.

use crate::analysis::chance::{normal_cdf, normal_quantile};

/// Permissible values; an open side is infinite.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance {
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
}

impl Tolerance {
    /// Probability that the quantity conforms, given its estimate `y` with standard uncertainty
    /// `u` (above 0): Φ((TU − y)/u) − Φ((TL − y)/u) (clause 7.4).
    pub fn conformance(&self, y: f64, u: f64) -> f64 {
        normal_cdf((self.high - y) / u) - normal_cdf((self.low - y) / u)
    }

    /// Guarded acceptance (clause 8.3.2): both limits moved inwards by the length `w` of the guard
    /// band; `None` where nothing is left between them. A negative `w` moves them outwards: guarded
    /// rejection.
    pub fn guarded(&self, w: f64) -> Option<Self> {
        let inner = Self { low: self.low + w, high: self.high - w };
        (inner.low < inner.high).then_some(inner)
    }

    /// Whether `y` lies within.
    pub fn holds(&self, y: f64) -> bool {
        (self.low..=self.high).contains(&y)
    }
}

/// Length of a guard band, w = r U with the expanded uncertainty U = 2u (clause 8.3.2; r = 1 is
/// that of ISO 14253-1).
pub fn guard_band(r: f64, u: f64) -> f64 {
    2.0 * r * u
}

/// Length of the one-sided guard band, in standard uncertainties, that leaves at least the
/// probability `conformance` at its edge.
pub fn guard_for(conformance: f64) -> f64 {
    normal_quantile(conformance)
}
