//! Modes of a plate as products of span functions.
//!
//! The bending energy of a rectangular orthotropic plate whose edges do not move is
//! ½∫(Dx w_xx² + Dy w_yy² + 2H w_xy²) dA: the Gaussian curvature integrates to nothing, so Poisson's
//! ratio enters through the stiffnesses alone (Timoshenko and Woinowsky-Krieger, ch. 11; Leissa,
//! NASA SP-160, ch. 9). In span functions Dx and Dy are diagonal and H holds products of their
//! slopes; between sines that is diagonal too, and the modes are exact.

use super::section::Section;
use super::span::Span;
use nalgebra::{DMatrix, SymmetricEigen};
use num_complex::Complex64;

/// A mode as the Ritz method gives it.
pub(super) struct RitzMode {
    /// Complex stiffness over mass, ω²(1 + jη), 1/s².
    pub stiffness: Complex64,
    /// √(∫|∇φ|²/∫φ²), 1/m.
    pub wavenumber_per_m: f64,
    /// Weights of Xᵢ(x) Yⱼ(y), a row per i, a column per j; the sum of their squares is 1.
    pub weights: DMatrix<f64>,
}

/// All modes that the spans can form, by rising frequency.
pub(super) fn modes(section: &Section, x: &Span, y: &Span) -> Vec<RitzMode> {
    let mut all = Vec::new();
    for rows in classes(x) {
        for columns in classes(y) {
            all.extend(block(section, x, y, &rows, &columns));
        }
    }
    all.sort_by(|a, b| a.stiffness.re.total_cmp(&b.stiffness.re));
    all
}

/// Functions of the span by class.
fn classes(span: &Span) -> Vec<Vec<usize>> {
    let count = span.class.iter().max().map_or(0, |last| last + 1);
    let of = |class: usize| (0..span.len()).filter(|&i| span.class[i] == class).collect();
    (0..count).map(of).collect()
}

/// Modes among the products of the functions `rows` along x and `columns` along y.
fn block(
    section: &Section,
    x: &Span,
    y: &Span,
    rows: &[usize],
    columns: &[usize],
) -> Vec<RitzMode> {
    let pairs: Vec<(usize, usize)> =
        rows.iter().flat_map(|&i| columns.iter().map(move |&j| (i, j))).collect();
    let (dx, dy, h) = (section.x_n_m.re, section.y_n_m.re, section.twist_n_m.re);
    let size = pairs.len();
    let mut matrix = DMatrix::zeros(size, size);
    for (q, &(k, l)) in pairs.iter().enumerate() {
        for (p, &(i, j)) in pairs.iter().enumerate() {
            matrix[(p, q)] = 2.0 * h * x.slope[(i, k)] * y.slope[(j, l)];
        }
        matrix[(q, q)] += dx * x.bending[k] + dy * y.bending[l];
    }
    let eigen = SymmetricEigen::new(matrix);
    let values = eigen.eigenvalues.iter().zip(eigen.eigenvectors.column_iter());
    values
        .map(|(&total, vector)| {
            let mut weights = DMatrix::zeros(x.len(), y.len());
            pairs.iter().zip(vector.iter()).for_each(|(&at, &weight)| weights[at] = weight);
            finish(section, x, y, weights, total)
        })
        .collect()
}

/// Loss by the shares of the bending energy, and the wavenumber. Springs at the edges lose as the
/// bending across them does.
fn finish(section: &Section, x: &Span, y: &Span, weights: DMatrix<f64>, total: f64) -> RitzMode {
    let (mut along_x, mut along_y, mut gradient) = (0.0, 0.0, 0.0);
    for (i, row) in weights.row_iter().enumerate() {
        along_x += x.bending[i] * row.norm_squared();
    }
    for (j, column) in weights.column_iter().enumerate() {
        along_y += y.bending[j] * column.norm_squared();
    }
    gradient += weights.dot(&(&x.slope * &weights)) + weights.dot(&(&weights * &y.slope));
    let twist = 0.5 * (total - section.x_n_m.re * along_x - section.y_n_m.re * along_y)
        / section.twist_n_m.re.max(f64::MIN_POSITIVE);
    let lost = section.x_n_m.im * along_x
        + section.y_n_m.im * along_y
        + 2.0 * section.twist_n_m.im * twist;
    RitzMode {
        stiffness: Complex64::new(total, lost.max(0.0)) / section.mass_kg_per_m2,
        wavenumber_per_m: gradient.max(0.0).sqrt(),
        weights,
    }
}
