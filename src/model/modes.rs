//! Standing waves of a rectangular cavity with rigid walls.

use super::air::Air;

/// The lowest `count` mode frequencies of a cavity of `size_m`, Hz, rising:
/// (c/2) √((l/Lx)² + (m/Ly)² + (n/Lz)²) (Kinsler et al., *Fundamentals of Acoustics*, ch. 9).
pub fn rectangular_hz(size_m: [f64; 3], count: usize, air: &Air) -> Vec<f64> {
    // The `count` lowest modes have no index above `count`.
    let last = count as u32;
    let mut modes: Vec<f64> = (0..=last)
        .flat_map(|l| (0..=last).flat_map(move |m| (0..=last).map(move |n| [l, m, n])))
        .filter(|index| index != &[0, 0, 0])
        .map(|index| {
            let steps = index.iter().zip(size_m).map(|(&i, side)| (f64::from(i) / side).powi(2));
            0.5 * air.c_m_per_s * steps.sum::<f64>().sqrt()
        })
        .collect();
    modes.sort_by(f64::total_cmp);
    modes.truncate(count);
    modes
}
