//! Where to begin: the resonance in a measured magnitude.

use super::model::Shape;
use super::solve::Sounding;
use crate::signal::curve::Curve;

/// A resonance must stand out of both its sides by this much, ln: 8 %.
const STANDS_OUT: f64 = 0.077;

/// The resonance of a curve, roughly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Peak {
    /// Index of the highest point.
    pub(super) index: usize,
    /// Its frequency, Hz.
    pub(super) hz: f64,
    /// Its magnitude, Ω.
    pub(super) ohm: f64,
}

/// The point that stands highest above both its sides; `None` where none does. The rise of the
/// coil at the upper end does not count, since nothing falls behind it.
pub(super) fn peak(curve: &Curve) -> Option<Peak> {
    let calm = calm(&curve.magnitude);
    let lowest = |values: &mut dyn Iterator<Item = f64>| -> Vec<f64> {
        let mut so_far = f64::INFINITY;
        values
            .map(|v| {
                so_far = so_far.min(v);
                so_far
            })
            .collect()
    };
    let before = lowest(&mut calm.iter().copied());
    let mut after = lowest(&mut calm.iter().rev().copied());
    after.reverse();
    let height = |i: &usize| calm[*i] - before[*i].max(after[*i]);
    let best = (0..calm.len()).max_by(|a, b| height(a).total_cmp(&height(b)))?;
    // The median has shifted the top by a point at most.
    let near = best.saturating_sub(1)..(best + 2).min(calm.len());
    let index = near.max_by(|a, b| curve.magnitude[*a].total_cmp(&curve.magnitude[*b]))?;
    let (hz, ohm) = (curve.frequency_hz[index], curve.magnitude[index]);
    (height(&best) > STANDS_OUT).then_some(Peak { index, hz, ohm })
}

/// ln of the magnitude, each point the median of itself and its neighbours.
fn calm(magnitude: &[f64]) -> Vec<f64> {
    let ln: Vec<f64> = magnitude.iter().map(|m| m.ln()).collect();
    let median = |i: usize| {
        let (a, b, c) = (ln[i.saturating_sub(1)], ln[i], ln[(i + 1).min(ln.len() - 1)]);
        a.min(b).max(a.max(b).min(c))
    };
    // Only noise makes a curve of a few points wiggle: they are too precious to smooth.
    if ln.len() < 30 { ln } else { (0..ln.len()).map(median).collect() }
}

/// Where ln|Z| crosses `level` on the way down from the peak to the left and to the right, Hz.
pub(super) fn flanks(curve: &Curve, peak: Peak, level_ohm: f64) -> (Option<f64>, Option<f64>) {
    let (hz, ohm) = (&curve.frequency_hz, &curve.magnitude);
    let crossing = |outer: usize, inner: usize| {
        let share = (level_ohm / ohm[outer]).ln() / (ohm[inner] / ohm[outer]).ln();
        hz[outer] * (hz[inner] / hz[outer]).powf(share)
    };
    let left = (0..peak.index).rev().find(|&i| ohm[i] <= level_ohm).map(|i| crossing(i, i + 1));
    let right = (peak.index + 1..ohm.len()).find(|&i| ohm[i] <= level_ohm);
    (left, right.map(|i| crossing(i, i - 1)))
}

/// ln of Re, ωs, Qms and Qes, by the three-frequency method on the raw curve.
pub(super) fn resonator(curve: &Curve, peak: Peak, re_ohm: Option<f64>) -> [f64; 4] {
    let lowest = curve.magnitude.iter().copied().fold(f64::INFINITY, f64::min);
    let re = re_ohm.unwrap_or(0.98 * lowest).min(0.95 * peak.ohm);
    let r0 = peak.ohm / re;
    let width = match flanks(curve, peak, re * r0.sqrt()) {
        (Some(left), Some(right)) => right - left,
        (Some(left), None) => peak.hz * peak.hz / left - left,
        (None, Some(right)) => right - peak.hz * peak.hz / right,
        (None, None) => 0.5 * peak.hz,
    };
    let qms = (peak.hz * r0.sqrt() / width.max(1e-3 * peak.hz)).clamp(0.2, 50.0);
    let omega = std::f64::consts::TAU * peak.hz;
    [re.ln(), omega.ln(), qms.ln(), (qms / (r0 - 1.0)).ln()]
}

/// Starting vectors of a whole model; `mms_kg` where it is weighed.
pub(super) fn starts(
    shape: Shape,
    resonator: [f64; 4],
    top: &Sounding,
    mms_kg: Option<f64>,
) -> Vec<Vec<f64>> {
    let (Some(&omega), Some(&ln_z)) = (top.omega.last(), top.ln_z.last()) else {
        return Vec::new();
    };
    let re = resonator[0].exp();
    let coil = match top.has_phase {
        true => (ln_z.exp() - re).norm(),
        false => ((2.0 * ln_z.re).exp() - re * re).max(0.0).sqrt(),
    };
    let whole = |coil: Vec<f64>| resonator.into_iter().chain(coil).chain(mms_kg.map(f64::ln));
    let coils = shape.coil_starts(coil.max(0.02 * re), omega);
    coils.into_iter().map(|coil| whole(coil).collect()).collect()
}
