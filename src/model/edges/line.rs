//! What the four edges of the face send out in first order: the edge as a line of secondary
//! sources.
//!
//! Source: Svensson, Fred and Vanderkooy, *J. Acoust. Soc. Am.* 106 (1999) 2331, after Biot,
//! Tolstoy and Medwin. For a source on the face the four angle terms are two equal pairs. The
//! integral over the edge is written here over η, the hyperbolic angle of the kernel: with
//! u = asinh((z − z₀)/r) for source and listener, η = u_S + u_R exactly, dz/(m l) = dη/(m + l), and
//! (m + l)² = r_S² + r_R² + 2 r_S r_R cosh η + (z_S − z_R)². So nothing is singular at the feet of
//! the perpendiculars, and only |η| matters.
//!
//! First order only: every wave has met one edge. Within a few degrees of the plane of the face the
//! waves that have met two edges are as strong; the result is finite there but several decibels
//! uncertain.

use super::phasor;
use crate::model::place::Point;
use crate::model::quadrature::gauss_legendre;
use num_complex::Complex64;
use std::f64::consts::{PI, TAU};
use std::sync::LazyLock;

/// The wedge whose edge bends the sound.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wedge {
    /// The edge of a bare sheet, open by 360° (ν = 1/2).
    Sheet,
    /// The square edge of a slab, open by 270° (ν = 2/3).
    Square,
}

impl Wedge {
    /// ν = π/(angle of the open side).
    pub fn nu(self) -> f64 {
        match self {
            Self::Sheet => 1.0 / 2.0,
            Self::Square => 2.0 / 3.0,
        }
    }

    /// The angle of the open side, rad.
    fn open_rad(self) -> f64 {
        PI / self.nu()
    }
}

/// No distance from an edge is taken smaller than this, m: the kernel divides by it.
const NEAREST_M: f64 = 1e-7;
/// How near to the shadow boundary the kernel is evaluated, rad: there the pressure is half.
const NEAREST_RAD: f64 = 1e-7;
/// Phase over one panel of the quadrature, rad, and its extent in the stretched variable.
const PANEL_RAD: f64 = 12.0;
const PANEL_STRETCH: f64 = 1.0;

static RULE: LazyLock<Vec<(f64, f64)>> = LazyLock::new(|| gauss_legendre(12));

/// The sound of the four edges from one point on the face to one listener, as a sum of delayed
/// waves that is good up to one wavenumber.
#[derive(Debug, Clone)]
pub struct EdgeLine {
    excess_m: Vec<f64>,
    weight: Vec<f64>,
}

impl EdgeLine {
    /// The edges of a face `width_m` by `height_m` around the origin in z = 0, for a source on it
    /// and a listener anywhere outside, for wavenumbers to `k_max` (rad/m).
    ///
    /// A listener that an edge hides behind the side face (more than 270° round it) is put where
    /// it would just come into view.
    pub fn new(
        size_m: [f64; 2],
        source_m: [f64; 2],
        listener: &Point,
        wedge: Wedge,
        k_max: f64,
    ) -> Self {
        let direct_m = Point::new(source_m[0], source_m[1], 0.0).distance_m(listener);
        let mut line = Self { excess_m: Vec::new(), weight: Vec::new() };
        for (along, across) in [(0, 1), (1, 0)] {
            let listener_m = [listener.x_m, listener.y_m];
            for side in [-1.0, 1.0] {
                let inwards = |at: f64| size_m[across] / 2.0 - side * at;
                let half_m = size_m[along] / 2.0;
                let edge = Edge::new(
                    [-half_m, half_m],
                    (source_m[along], inwards(source_m[across])),
                    (listener_m[along], inwards(listener_m[across]), listener.z_m),
                    wedge,
                );
                edge.add_nodes(direct_m, k_max, &mut line);
            }
        }
        line
    }

    /// Pressure of the edges over that of a point source of the same flow in an infinite baffle
    /// at the same distance, e^{−jkr}/r taken out; `k` rad/m.
    pub fn at(&self, k: f64) -> Complex64 {
        phasor::sum(k, &self.excess_m, &self.weight)
    }
}

/// p/p∞ of a point source on a face, in first order, at wavenumber `k` (rad/m): the geometric term
/// (1 in front of the face, 0 behind) and the edges.
pub fn first_order(
    size_m: [f64; 2],
    source_m: [f64; 2],
    listener: &Point,
    wedge: Wedge,
    k: f64,
) -> Complex64 {
    geometric(listener) + EdgeLine::new(size_m, source_m, listener, wedge, k).at(k)
}

/// 1 where the face is seen, 0 behind its plane; the plane itself counts as in front.
pub(super) fn geometric(listener: &Point) -> f64 {
    if listener.z_m >= 0.0 { 1.0 } else { 0.0 }
}

/// Edge strength A of a source in the middle of a disc, heard on its axis: p/p∞ = 1 − A e^{−jkd},
/// d = √(R² + a²) + a − R. Every point of that edge has η = 0, so the integral is closed:
/// A = (ν/2)(R/l)[cot(ν(π+θ)/2) + cot(ν(π−θ)/2)], θ = π − atan(R/a).
pub fn disc_edge_strength(radius_m: f64, distance_m: f64, wedge: Wedge) -> f64 {
    let (nu, theta) = (wedge.nu(), PI - distance_m.atan2(radius_m));
    let cot = |angle: f64| 1.0 / (nu * angle / 2.0).tan();
    let edge_m = distance_m.hypot(radius_m);
    0.5 * nu * distance_m / edge_m * (cot(PI + theta) + cot(PI - theta))
}

/// One edge: the numbers that its integral needs.
struct Edge {
    wedge: Wedge,
    /// Angle of the listener round the edge, from the face, rad.
    theta: f64,
    /// (m + l)² = `squares` + `product` cosh η, m².
    squares: f64,
    product: f64,
    /// Hyperbolic angles of the two ends.
    ends: [f64; 2],
}

impl Edge {
    /// `ends` of the edge and places along it, m; the source is `source.1` inside the edge on the
    /// face, the listener `listener.1` inside and `listener.2` above.
    fn new(ends: [f64; 2], source: (f64, f64), listener: (f64, f64, f64), wedge: Wedge) -> Self {
        let r_source = source.1.max(NEAREST_M);
        let r_listener = listener.1.hypot(listener.2).max(NEAREST_M);
        let theta = listener.2.atan2(listener.1).rem_euclid(TAU);
        let apart = source.0 - listener.0;
        let eta =
            |z: f64| ((z - source.0) / r_source).asinh() + ((z - listener.0) / r_listener).asinh();
        Self {
            wedge,
            theta: theta.min(wedge.open_rad()),
            squares: r_source.powi(2) + r_listener.powi(2) + apart * apart,
            product: 2.0 * r_source * r_listener,
            ends: ends.map(eta),
        }
    }

    fn path_m(&self, eta: f64) -> f64 {
        (self.squares + self.product * eta.cosh()).sqrt()
    }

    /// Distance from the shadow boundary, rad, with its sign (positive where the source is seen).
    fn to_shadow(&self) -> f64 {
        let away = PI - self.theta;
        if away.abs() < NEAREST_RAD { NEAREST_RAD.copysign(away) } else { away }
    }

    /// β(π+θ) + β(π−θ) at η, β(φ) = sin νφ/(cosh νη − cos νφ), without the cancellation.
    fn beta(&self, eta: f64) -> f64 {
        let nu = self.wedge.nu();
        let sinh = (0.5 * nu * eta).sinh();
        let term = |phi: f64| {
            let half = 0.5 * nu * phi;
            (2.0 * half).sin() / (2.0 * (sinh * sinh + half.sin().powi(2)))
        };
        term(TAU - self.to_shadow()) + term(self.to_shadow())
    }

    /// The nodes of this edge, its weights with −ν r/(4π (m + l)) in them.
    fn add_nodes(&self, direct_m: f64, k_max: f64, line: &mut EdgeLine) {
        let [low, high] = self.ends;
        if low < 0.0 && high > 0.0 {
            self.add_span(0.0, -low, direct_m, k_max, line);
            self.add_span(0.0, high, direct_m, k_max, line);
        } else {
            let (near, far) = (low.abs().min(high.abs()), low.abs().max(high.abs()));
            self.add_span(near, far, direct_m, k_max, line);
        }
    }

    /// η = w sinh t, w the distance from the shadow boundary, keeps the peak of β at small η wide.
    fn add_span(&self, near: f64, far: f64, direct_m: f64, k_max: f64, line: &mut EdgeLine) {
        let width = self.to_shadow().abs().min(1.0);
        let scale = -self.wedge.nu() * direct_m / (4.0 * PI);
        let mut open = vec![((near / width).asinh(), (far / width).asinh())];
        while let Some((from, to)) = open.pop() {
            let path = |t: f64| self.path_m(width * t.sinh());
            if to - from > PANEL_STRETCH || k_max * (path(to) - path(from)) > PANEL_RAD {
                let middle = 0.5 * (from + to);
                open.extend([(middle, to), (from, middle)]);
                continue;
            }
            let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
            for (x, w) in RULE.iter() {
                let t = middle + half * x;
                let eta = width * t.sinh();
                let path_m = self.path_m(eta);
                let measure = w * half * width * t.cosh();
                line.excess_m.push(path_m - direct_m);
                line.weight.push(scale * measure * self.beta(eta) / path_m);
            }
        }
    }
}
