//! Functions across one span of a plate, from edge to edge: zero at both ends, orthonormal, and
//! with diagonal bending energy. Products of two such sets carry the plate's modes.
//!
//! Between edges that turn freely they are sines. Otherwise they are the bending shapes of a beam
//! with those ends among all polynomials of a degree: the second derivatives are Legendre
//! polynomials, so that a clamped end only leaves functions out, and a spring only adds to the two
//! functions that turn at the ends. Polynomials, unlike the beam's exact shapes, converge
//! exponentially in a plate as well (p-version Ritz method, e.g. Leissa 1973, *J. Sound Vib.* 31,
//! 257, on the slower convergence of beam shapes).

use super::edge::Fixing;
use super::gauss;
use nalgebra::{Cholesky, DMatrix, DVector, SymmetricEigen};
use std::f64::consts::PI;

/// The functions of a span.
#[derive(Debug, Clone)]
pub(super) struct Span {
    /// From edge to edge, m.
    pub length_m: f64,
    /// ∫X″² dx with the springs at the ends, over D, 1/m⁴; rising.
    pub bending: Vec<f64>,
    /// ∫Xᵢ′Xⱼ′ dx, 1/m².
    pub slope: DMatrix<f64>,
    /// Functions with the same number may have slopes in common, others have none.
    pub class: Vec<usize>,
    shape: Shape,
}

#[derive(Debug, Clone)]
enum Shape {
    Sines,
    /// A column per function, a row per polynomial of [`polynomials`].
    Polynomials(DMatrix<f64>),
}

impl Span {
    /// `count` functions between edges held as `ends` in a plate of bending stiffness
    /// `stiffness_n_m` (N·m) along the span.
    pub fn new(length_m: f64, ends: [Fixing; 2], stiffness_n_m: f64, count: usize) -> Self {
        if ends.iter().all(|end| end.is_free_to_turn()) {
            return Self::of_sines(length_m, count);
        }
        let springs = ends.map(|end| end.spring_n().map(|k| 0.5 * k * length_m / stiffness_n_m));
        let basis = Basis::new(count, springs);
        let mut functions = basis.functions(springs[0] == springs[1]);
        functions.sort_by(|a, b| a.bending.total_cmp(&b.bending));
        let half = 0.5 * length_m;
        let columns: Vec<DVector<f64>> =
            functions.iter().map(|f| &f.weights / half.sqrt()).collect();
        let weights = DMatrix::from_columns(&columns);
        let slope = weights.transpose() * &basis.slope * &weights / half;
        Self {
            length_m,
            bending: functions.iter().map(|f| f.bending / half.powi(4)).collect(),
            slope,
            class: functions.iter().map(|f| f.class).collect(),
            shape: Shape::Polynomials(weights),
        }
    }

    /// √(2/L) sin(mπx/L), m from 1 to `count`: exact.
    fn of_sines(length_m: f64, count: usize) -> Self {
        let wavenumber = |i: usize| (i + 1) as f64 * PI / length_m;
        let slopes = DVector::from_fn(count, |i, _| wavenumber(i).powi(2));
        Self {
            length_m,
            bending: (0..count).map(|i| wavenumber(i).powi(4)).collect(),
            slope: DMatrix::from_diagonal(&slopes),
            class: (0..count).collect(),
            shape: Shape::Sines,
        }
    }

    /// How many functions there are.
    pub fn len(&self) -> usize {
        self.bending.len()
    }

    /// Every function at `x_m` from the low edge, 1/√m.
    pub fn at(&self, x_m: f64) -> Vec<f64> {
        match &self.shape {
            Shape::Sines => (1..=self.len())
                .map(|m| (2.0 / self.length_m).sqrt() * (m as f64 * PI * x_m / self.length_m).sin())
                .collect(),
            Shape::Polynomials(weights) => {
                let values = polynomials(weights.nrows(), 2.0 * x_m / self.length_m - 1.0);
                weights.tr_mul(&DVector::from_vec(values)).as_slice().to_vec()
            }
        }
    }

    /// ∫Xᵢ cos(lπ(x + `start_m`)/`wall_m`) dx for l below `count`, √m: a row per function, a column
    /// per l. By quadrature to the last digits.
    pub fn cosines(&self, start_m: f64, wall_m: f64, count: usize) -> DMatrix<f64> {
        let waves = (count as f64 * self.length_m / wall_m).ceil() as usize;
        let rule = gauss::nodes_along(24 + 2 * (self.len() + waves), self.length_m);
        let mut functions = DMatrix::zeros(self.len(), rule.len());
        let mut cosines = DMatrix::zeros(rule.len(), count);
        for (k, &(x, weight)) in rule.iter().enumerate() {
            functions.set_column(k, &(DVector::from_vec(self.at(x)) * weight));
            for l in 0..count {
                cosines[(k, l)] = (l as f64 * PI * (x + start_m) / wall_m).cos();
            }
        }
        functions * cosines
    }
}

/// Polynomials on (−1, 1) with zero ends, their energies, and which combinations the ends allow.
struct Basis {
    mass: DMatrix<f64>,
    slope: DMatrix<f64>,
    bending: DMatrix<f64>,
    springs: [Option<f64>; 2],
}

/// A bending shape on (−1, 1).
struct Function {
    weights: DVector<f64>,
    bending: f64,
    class: usize,
}

/// Slopes of the two polynomials that turn at the ends, at −1 and at +1.
const TURNING: [[f64; 2]; 2] = [
    [-std::f64::consts::FRAC_1_SQRT_2, 0.408_248_290_463_863],
    [std::f64::consts::FRAC_1_SQRT_2, 0.408_248_290_463_863],
];

impl Basis {
    fn new(count: usize, springs: [Option<f64>; 2]) -> Self {
        let size = count + springs.iter().filter(|s| s.is_none()).count();
        let (mut mass, mut slope) = (DMatrix::zeros(size, size), DMatrix::zeros(size, size));
        for (x, weight) in gauss::nodes(size + 6) {
            let values = DVector::from_vec(polynomials(size, x));
            let slopes = DVector::from_vec(slopes(size, x));
            mass.ger(weight, &values, &values, 1.0);
            slope.ger(weight, &slopes, &slopes, 1.0);
        }
        let mut bending = DMatrix::identity(size, size);
        for (spring, turn) in springs.iter().zip(TURNING) {
            for (i, j) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
                bending[(i, j)] += spring.unwrap_or(0.0) * turn[i] * turn[j];
            }
        }
        Self { mass, slope, bending, springs }
    }

    /// The shapes, each set of one symmetry apart where the ends are `alike`.
    fn functions(&self, alike: bool) -> Vec<Function> {
        let size = self.mass.nrows();
        let unit = |k: usize| DVector::from_fn(size, |i, _| f64::from(u8::from(i == k)));
        let mut open: Vec<DVector<f64>> = match self.springs {
            [None, None] => Vec::new(),
            [Some(_), Some(_)] => vec![unit(0), unit(1)],
            [low, _] => {
                let turn = TURNING[usize::from(low.is_some())];
                vec![(unit(0) * turn[1] - unit(1) * turn[0]).normalize()]
            }
        };
        open.extend((2..size).map(unit));
        if !alike {
            return self.shapes(&open, 0);
        }
        let odd = |v: &DVector<f64>| v.iamax() % 2;
        let (odds, evens): (Vec<_>, Vec<_>) = open.into_iter().partition(|v| odd(v) == 1);
        let mut all = self.shapes(&evens, 0);
        all.extend(self.shapes(&odds, 1));
        all
    }

    /// Bending shapes among the combinations of `open`: B v = λ M v with vᵀMv = 1.
    fn shapes(&self, open: &[DVector<f64>], class: usize) -> Vec<Function> {
        if open.is_empty() {
            return Vec::new();
        }
        let open = DMatrix::from_columns(open);
        let bending = open.transpose() * &self.bending * &open;
        let mass = open.transpose() * &self.mass * &open;
        // The bending matrix is the identity plus springs, so this cannot fail.
        let Some(factor) = Cholesky::new(bending) else { return Vec::new() };
        let factor = factor.l();
        let solve = |m: &DMatrix<f64>| factor.solve_lower_triangular(m);
        let Some(scaled) = solve(&mass).and_then(|half| solve(&half.transpose())) else {
            return Vec::new();
        };
        let eigen = SymmetricEigen::new(scaled);
        let weights = factor.tr_solve_lower_triangular(&eigen.eigenvectors);
        let Some(weights) = weights.map(|w| &open * w) else { return Vec::new() };
        let pairs = eigen.eigenvalues.iter().zip(weights.column_iter());
        pairs
            .map(|(&compliance, v)| Function {
                weights: v / compliance.sqrt(),
                bending: 1.0 / compliance,
                class,
            })
            .collect()
    }
}

/// `count` polynomials with zero ends at `x` whose second derivatives are the orthonormal Legendre
/// polynomials. All but the first two have zero slope at the ends.
fn polynomials(count: usize, x: f64) -> Vec<f64> {
    let p = gauss::legendre(count + 2, x);
    (0..count)
        .map(|n| {
            let k = n as f64;
            let twice = match n {
                0 => 0.5 * (x * x - 1.0),
                1 => (x * x - 1.0) * x / 6.0,
                _ => {
                    let up = (p[n + 2] - p[n]) / (2.0 * k + 3.0);
                    let down = (p[n] - p[n - 2]) / (2.0 * k - 1.0);
                    (up - down) / (2.0 * k + 1.0)
                }
            };
            twice * (k + 0.5).sqrt()
        })
        .collect()
}

/// Slopes of [`polynomials`].
fn slopes(count: usize, x: f64) -> Vec<f64> {
    let p = gauss::legendre(count + 1, x);
    (0..count)
        .map(|n| {
            let k = n as f64;
            let once = match n {
                0 => x,
                1 => 0.5 * x * x - 1.0 / 6.0,
                _ => (p[n + 1] - p[n - 1]) / (2.0 * k + 1.0),
            };
            once * (k + 0.5).sqrt()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn first_roots(ends: [Fixing; 2]) -> Vec<f64> {
        let span = Span::new(2.0, ends, 3.0, 14);
        span.bending.iter().take(3).map(|b| b.powf(0.25) * 2.0).collect()
    }

    /// Roots βL of beams (Blevins, *Formulas for Natural Frequency and Mode Shape*, table 8-1,
    /// from memory; each solves its characteristic equation).
    #[test]
    fn beams_have_the_roots_of_their_characteristic_equations() {
        use Fixing::{Clamped, Elastic, Supported};
        for root in first_roots([Clamped, Clamped]) {
            assert_relative_eq!(root.cos() * root.cosh(), 1.0, epsilon = 1e-5 * root.cosh());
        }
        for (got, want) in first_roots([Clamped, Supported]).iter().zip([3.926_602, 7.068_583]) {
            assert_relative_eq!(*got, want, max_relative = 1e-6);
        }
        // tan βL − tanh βL = −2 (D/kL) ... for one spring: k L/D (tanh − tan) = 2 βL tan tanh.
        let (k, length, d) = (6.0, 2.0, 3.0);
        for b in first_roots([Supported, Elastic { stiffness_n: k }]) {
            let (t, th) = (b.tan(), b.tanh());
            assert_relative_eq!(k * length / d * (t - th), -2.0 * b * t * th, max_relative = 1e-5);
        }
    }

    #[test]
    fn functions_are_orthonormal_and_their_overlaps_with_cosines_are_the_closed_form() {
        let span = Span::new(0.38, [Fixing::Supported; 2], 1.0, 12);
        let overlap = span.cosines(0.0, 0.38, 20);
        for m in 1..=12usize {
            for l in 0..20usize {
                let (mf, lf) = (m as f64, l as f64);
                let closed = if (m + l) % 2 == 1 {
                    2.0 * 0.38 / PI * mf / (mf * mf - lf * lf) * (2.0 / 0.38f64).sqrt()
                } else {
                    0.0
                };
                assert_relative_eq!(overlap[(m - 1, l)], closed, epsilon = 1e-13);
            }
        }
        let ends = [Fixing::Clamped, Fixing::Elastic { stiffness_n: 4.0 }];
        let span = Span::new(0.3, ends, 2.0, 10);
        let mut product = DMatrix::zeros(10, 10);
        for (x, weight) in gauss::nodes_along(40, 0.3) {
            let v = DVector::from_vec(span.at(x));
            product.ger(weight, &v, &v, 1.0);
        }
        assert!((product - DMatrix::identity(10, 10)).amax() < 1e-9);
    }
}
