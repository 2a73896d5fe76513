//! Wires and fuses as they are sold.

use super::wire::RESISTIVITY_OHM_M;

/// Cross-section (mm²) and largest resistance at 20 °C (Ω/km) of plain copper conductors, solid or
/// stranded (classes 1 and 2) and flexible (class 5): IEC 60228, read in two tables that restate it.
pub const IEC_60228: [(f64, f64, f64); 6] = [
    (0.5, 36.0, 39.0),
    (0.75, 24.5, 26.0),
    (1.0, 18.1, 19.5),
    (1.5, 12.1, 13.3),
    (2.5, 7.41, 7.98),
    (4.0, 4.61, 4.95),
];

/// Rated currents of miniature fuse links, A: the R10 steps of IEC 60127 (from memory).
pub const IEC_60127_A: [f64; 17] =
    [0.25, 0.315, 0.4, 0.5, 0.63, 0.8, 1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0];

/// Flexible conductors may have this much more resistance than their cross-section alone where
/// [`IEC_60228`] does not list it: the most that it allows there.
const MOST_OVER_NOMINAL: f64 = 1.16;

/// Largest resistance of a flexible conductor of `area_m2` (m²) at 20 °C, Ω/m.
pub fn flexible_ohm_per_m(area_m2: f64) -> f64 {
    let listed = IEC_60228.iter().find(|(mm2, ..)| (mm2 * 1e-6 / area_m2 - 1.0).abs() < 1e-3);
    listed.map_or(MOST_OVER_NOMINAL * RESISTIVITY_OHM_M / area_m2, |(_, _, ohm)| ohm * 1e-3)
}

/// Resistance there and back of a flexible two-wire cable `length_m` (m) long, Ω.
pub fn loop_ohm(length_m: f64, area_m2: f64) -> f64 {
    2.0 * length_m * flexible_ohm_per_m(area_m2)
}

/// The thinnest listed conductor (m²) for which `fits` holds; `None` where none does.
pub fn thinnest_m2(fits: impl Fn(f64) -> bool) -> Option<f64> {
    IEC_60228.iter().map(|(mm2, ..)| mm2 * 1e-6).find(|area| fits(*area))
}

/// The smallest fuse of at least `current_a` (A); `None` beyond 10 A.
pub fn fuse_a(current_a: f64) -> Option<f64> {
    IEC_60127_A.into_iter().find(|rated| *rated >= current_a * (1.0 - 1e-9))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cable_counts_both_ways_and_a_fuse_is_the_next_above() {
        assert!((loop_ohm(1.0, 0.75e-6) - 0.052).abs() < 1e-12);
        // Not in the list: dearer than the copper alone, cheaper than the next thinner.
        let between = flexible_ohm_per_m(1.2e-6);
        assert!(between > RESISTIVITY_OHM_M / 1.2e-6 && between < flexible_ohm_per_m(1.0e-6));
        assert_eq!((fuse_a(1.01), fuse_a(2.0), fuse_a(11.0)), (Some(1.25), Some(2.0), None));
    }
}
