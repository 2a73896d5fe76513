//! Left and right units put together so that the mismatch of all pairs together is smallest: the
//! assignment problem (Kuhn 1955, *Naval Research Logistics Quarterly* 2, 83).

use pathfinding::kuhn_munkres::kuhn_munkres_min;
use pathfinding::matrix::Matrix;

/// Steps of a mismatch in the exact search, 1/dB.
const STEPS_PER_DB: f64 = 1e6;
/// Largest mismatch that is told apart, dB.
const MOST_DB: f64 = 1e6;

/// A pair by the indices of its members.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// Index among the left units.
    pub left: usize,
    /// Index among the right units.
    pub right: usize,
    /// How much the two differ, dB rms.
    pub mismatch_db: f64,
}

/// Pairs of smallest total mismatch, in the order of the left units; `mismatch_db[l][r]` is that
/// of each combination. Where there are more units of one kind, some stay without a partner.
pub fn matched(mismatch_db: &[Vec<f64>]) -> Vec<Pair> {
    let (rows, columns) = (mismatch_db.len(), mismatch_db.first().map_or(0, Vec::len));
    if rows == 0 || columns == 0 {
        return Vec::new();
    }
    let cost = |l: usize, r: usize| -> i64 {
        let db = mismatch_db[l][r];
        let db = if db.is_finite() { db.clamp(0.0, MOST_DB) } else { MOST_DB };
        (db * STEPS_PER_DB).round() as i64
    };
    // The search wants no more rows than columns.
    let upright = rows <= columns;
    let (n, m) = if upright { (rows, columns) } else { (columns, rows) };
    let weights = Matrix::from_fn(n, m, |(i, j)| if upright { cost(i, j) } else { cost(j, i) });
    let (_, partner) = kuhn_munkres_min(&weights);
    let pair = |(i, &j): (usize, &usize)| {
        let (left, right) = if upright { (i, j) } else { (j, i) };
        Pair { left, right, mismatch_db: mismatch_db[left][right] }
    };
    let mut pairs: Vec<Pair> = partner.iter().enumerate().map(pair).collect();
    pairs.sort_by_key(|p| p.left);
    pairs
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::chance::Chance;

    /// The smallest total over all ways to give each row a column of its own.
    fn by_trial(cost: &[Vec<f64>], row: usize, taken: &mut Vec<usize>) -> f64 {
        if row == cost.len() {
            return 0.0;
        }
        let mut best = f64::INFINITY;
        for column in 0..cost[row].len() {
            if !taken.contains(&column) {
                taken.push(column);
                best = best.min(cost[row][column] + by_trial(cost, row + 1, taken));
                taken.pop();
            }
        }
        best
    }

    #[test]
    fn no_other_pairing_is_better() {
        let chance = Chance::of(11);
        for trial in 0..200u64 {
            let (rows, columns) = (1 + trial as usize % 6, 1 + (trial as usize / 6) % 6);
            let own = chance.row(trial);
            let at = |l: usize, r: usize| own.uniform((l * 8 + r) as u64);
            let cost: Vec<Vec<f64>> =
                (0..rows).map(|l| (0..columns).map(|r| at(l, r)).collect()).collect();
            let pairs = matched(&cost);
            assert_eq!(pairs.len(), rows.min(columns));
            let total: f64 = pairs.iter().map(|p| p.mismatch_db).sum();
            let turned: Vec<Vec<f64>> =
                (0..columns).map(|r| (0..rows).map(|l| at(l, r)).collect()).collect();
            let least = if rows <= columns { &cost } else { &turned };
            let best = by_trial(least, 0, &mut Vec::new());
            assert!((total - best).abs() < 1e-5, "{total} {best}");
        }
        assert!(matched(&[]).is_empty());
    }
}
