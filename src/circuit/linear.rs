//! Small dense complex linear systems: elimination with partial pivoting in place.

use num_complex::Complex64;

/// The matrix is singular to working precision; `column` is the unknown it leaves open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Singular {
    /// Index of the unknown.
    pub column: usize,
}

/// A pivot below this share of the largest entry of its column counts as zero.
const SMALLEST_PIVOT: f64 = 1e-14;

/// Solves A X = B in place: `a` is n×n, `b` is n×m, both row-major; X replaces B, A is destroyed.
///
/// # Errors
/// [`Singular`] when a pivot vanishes against its column's scale.
pub fn solve(a: &mut [Complex64], b: &mut [Complex64], n: usize, m: usize) -> Result<(), Singular> {
    for col in 0..n {
        let scale = (0..n).map(|row| a[row * n + col].norm_sqr()).fold(0.0, f64::max);
        let pivot = best_row(a, n, col);
        let size = a[pivot * n + col].norm_sqr();
        if size.is_nan() || size <= scale * SMALLEST_PIVOT.powi(2) {
            return Err(Singular { column: col });
        }
        swap_rows(a, n, col, pivot);
        swap_rows(b, m, col, pivot);
        let inverse = a[col * n + col].inv();
        for row in col + 1..n {
            let factor = a[row * n + col] * inverse;
            if factor == Complex64::default() {
                continue;
            }
            for k in col + 1..n {
                let step = factor * a[col * n + k];
                a[row * n + k] -= step;
            }
            for k in 0..m {
                let step = factor * b[col * m + k];
                b[row * m + k] -= step;
            }
        }
    }
    substitute_back(a, b, n, m);
    Ok(())
}

/// The inverse of an n×n matrix, row-major.
///
/// # Errors
/// [`Singular`] when there is none.
pub fn inverse(mut a: Vec<Complex64>, n: usize) -> Result<Vec<Complex64>, Singular> {
    let mut unit = vec![Complex64::default(); n * n];
    for i in 0..n {
        unit[i * n + i] = Complex64::new(1.0, 0.0);
    }
    solve(&mut a, &mut unit, n, n)?;
    Ok(unit)
}

fn best_row(a: &[Complex64], n: usize, col: usize) -> usize {
    (col..n)
        .max_by(|&p, &q| a[p * n + col].norm_sqr().total_cmp(&a[q * n + col].norm_sqr()))
        .unwrap_or(col)
}

fn swap_rows(a: &mut [Complex64], width: usize, i: usize, j: usize) {
    if i != j {
        for k in 0..width {
            a.swap(i * width + k, j * width + k);
        }
    }
}

fn substitute_back(a: &[Complex64], b: &mut [Complex64], n: usize, m: usize) {
    for row in (0..n).rev() {
        let inverse = a[row * n + row].inv();
        for k in 0..m {
            let known: Complex64 = (row + 1..n).map(|j| a[row * n + j] * b[j * m + k]).sum();
            b[row * m + k] = (b[row * m + k] - known) * inverse;
        }
    }
}
