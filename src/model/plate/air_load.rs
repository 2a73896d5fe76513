//! Mass of the outside air that moves with a plate in a large baffle.

use super::edge::{Edges, Fixing};
use super::gauss;
use crate::model::air::Air;
use std::f64::consts::{FRAC_PI_2, PI};

/// First shape across a span, near enough for the air: half a sine between edges that turn, its
/// square between clamped ones.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FirstShape {
    /// sin(πx/L).
    Sine,
    /// sin²(πx/L).
    SineSquared,
}

impl FirstShape {
    /// |∫X e^{−jκx} dx|²/∫X² dx over a span of `length_m`, m.
    fn spectrum(self, kappa: f64, length_m: f64) -> f64 {
        let (half, step) = (0.5 * kappa * length_m, PI / length_m);
        match self {
            // 2(π/L) cos(κL/2)/((π/L)² − κ²), with the limit L/2 where κ = π/L.
            Self::Sine => {
                let below = step - kappa;
                let part =
                    if below.abs() < 1e-6 * step { 0.5 * length_m } else { half.cos() / below };
                (2.0 * step * part / (step + kappa)).powi(2) / (0.5 * length_m)
            }
            // Half the box less its two neighbours: L/2·(s(h) + ½ s(h−π) + ½ s(h+π)).
            Self::SineSquared => {
                let s = |z: f64| if z.abs() < 1e-9 { 1.0 } else { z.sin() / z };
                let sum = s(half) + 0.5 * s(half - PI) + 0.5 * s(half + PI);
                (0.5 * length_m * sum).powi(2) / (0.375 * length_m)
            }
        }
    }
}

/// Mass per area that the air on one side adds to a first mode of shape `x`·`y` over `sides_m`,
/// kg/m²: ρ∫∫φφ′/(2πr)/∫φ², incompressible, in a rigid baffle (Rayleigh 1896, *The Theory of
/// Sound*, § 278 and § 302), as an integral over wavenumbers.
pub fn first_mode_kg_per_m2(sides_m: [f64; 2], x: FirstShape, y: FirstShape, air: &Air) -> f64 {
    let [a, b] = sides_m;
    let angles = gauss::nodes_along(60, FRAC_PI_2);
    // The spectra ripple with κL/2 and fall as κ⁻⁴ or faster: panels of about half a ripple, as
    // far as 30 waves across the smaller side.
    let panel = PI / a.max(b);
    let panels = (60.0 * PI / a.min(b) / panel).ceil() as usize;
    let rule = gauss::nodes_along(8, panel);
    let mut sum = 0.0;
    for (angle, turn) in angles {
        for start in 0..panels {
            for &(kappa, weight) in &rule {
                let kappa = kappa + start as f64 * panel;
                let across = y.spectrum(kappa * angle.sin(), b);
                sum += turn * weight * x.spectrum(kappa * angle.cos(), a) * across;
            }
        }
    }
    // Four quadrants of ρ/(4π²)∫∫|Φ|²/κ d²κ, in polar coordinates.
    air.rho_kg_per_m3 * sum / (PI * PI)
}

/// Mass per area on the first mode of a plate of `sides_m` held at its `edges`, one side, kg/m².
/// A pair of edges of which either is clamped takes the squared sine; a spring lies between.
pub fn of_edges(sides_m: [f64; 2], edges: &Edges, stiffness_n_m: [f64; 2], air: &Air) -> f64 {
    let held = |axis: usize, pair: [Fixing; 2]| {
        let share = |fixing: Fixing| match fixing.spring_n() {
            // Half way where the spring is 6 times the span's own stiffness.
            Some(spring) => {
                let ratio = spring * sides_m[axis] / stiffness_n_m[axis];
                ratio / (ratio + 6.0)
            }
            None => 1.0,
        };
        0.5 * (share(pair[0]) + share(pair[1]))
    };
    let of = |x, y| first_mode_kg_per_m2(sides_m, x, y, air);
    let clamped = 0.5 * (held(0, edges.x) + held(1, edges.y));
    let free = if clamped < 1.0 { of(FirstShape::Sine, FirstShape::Sine) } else { 0.0 };
    let tight =
        if clamped > 0.0 { of(FirstShape::SineSquared, FirstShape::SineSquared) } else { 0.0 };
    free * (1.0 - clamped) + tight * clamped
}
