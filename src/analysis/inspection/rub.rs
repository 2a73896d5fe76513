//! Rub and rattle: distortion of a unit that stands out of its batch. An impedance sweep hardly
//! shows either.

use super::batch::median;

/// How far above the batch's median a unit's distortion stands out, dB, where its batch is tight.
const LEAST_DB: f64 = 10.0;
/// And over how many points in a row.
const RUN: usize = 3;

/// A unit whose distortion stands out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rub {
    /// Index of the unit.
    pub unit: usize,
    /// Where it stands out most, Hz.
    pub at_hz: f64,
    /// By how much there, dB.
    pub above_db: f64,
}

/// Units whose distortion (dB, on common frequencies) lies at three neighbouring frequencies more
/// than 10 dB, and more than six robust deviations, above the median of all. `of[k]` is the unit of
/// curve `k`. Fewer than five curves have no median worth the name.
pub fn standing_out(hz: &[f64], curves: &[Vec<f64>], of: &[usize]) -> Vec<Rub> {
    const FEWEST: usize = 5;
    const DEVIATIONS: f64 = 6.0;
    if curves.len() < FEWEST {
        return Vec::new();
    }
    let at = |f: usize| curves.iter().map(move |c| c[f]).collect::<Vec<f64>>();
    let middle: Vec<f64> = (0..hz.len()).map(|f| median(at(f))).collect();
    let spread = |f: usize| median(at(f).iter().map(|v| (v - middle[f]).abs()).collect()) / 0.6745;
    let least: Vec<f64> = (0..hz.len()).map(|f| LEAST_DB.max(DEVIATIONS * spread(f))).collect();
    let one = |(curve, unit): (&Vec<f64>, &usize)| {
        let above: Vec<f64> = curve.iter().zip(&middle).map(|(v, m)| v - m).collect();
        let stands: Vec<bool> = above.iter().zip(&least).map(|(a, l)| a > l).collect();
        let runs = stands.windows(RUN).enumerate().filter(|(_, w)| w.iter().all(|s| *s));
        let most = runs.map(|(f, _)| f + RUN / 2).max_by(|a, b| above[*a].total_cmp(&above[*b]))?;
        Some(Rub { unit: *unit, at_hz: hz[most], above_db: above[most] })
    };
    curves.iter().zip(of).filter_map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_rubbing_unit_stands_out_and_the_others_do_not() {
        let hz: Vec<f64> = (0..30).map(|k| 40.0 * 1.2f64.powi(k)).collect();
        let chance = crate::analysis::chance::Chance::of(9);
        let curve = |k: usize| -> Vec<f64> {
            let own = chance.row(k as u64);
            let rub = |f: usize| if k == 7 && (10..15).contains(&f) { 16.0 } else { 0.0 };
            (0..30).map(|f| -40.0 + 1.5 * own.normal(f as u64) + rub(f)).collect()
        };
        let curves: Vec<Vec<f64>> = (0..20).map(curve).collect();
        let of: Vec<usize> = (0..20).collect();
        let found = standing_out(&hz, &curves, &of);
        assert_eq!(found.len(), 1);
        assert!(found[0].unit == 7 && (hz[10]..=hz[14]).contains(&found[0].at_hz));
        assert!(standing_out(&hz, &curves[..4], &of[..4]).is_empty());
    }
}
