//! How the edges of a plate are held. No edge moves; it may turn freely, not at all, or against a
//! spring.

/// How an edge is held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fixing {
    /// Free to turn (simply supported).
    Supported,
    /// Turns against a spring: moment per metre of edge over the angle, N·m/m per rad. Zero is
    /// [`Fixing::Supported`], without limit [`Fixing::Clamped`].
    Elastic {
        /// The spring, N.
        stiffness_n: f64,
    },
    /// Cannot turn.
    Clamped,
}

impl Fixing {
    /// From the ratio of the edge's spring to the plate's own stiffness, k·L/D, over the span
    /// `span_m` (m) from this edge to the other with bending stiffness `stiffness_n_m` (N·m).
    /// About 6 lies halfway between supported and clamped in the first frequency.
    pub fn of_ratio(ratio: f64, span_m: f64, stiffness_n_m: f64) -> Self {
        if ratio == f64::INFINITY {
            return Self::Clamped;
        }
        Self::Elastic { stiffness_n: ratio.max(0.0) * stiffness_n_m / span_m }
    }

    /// The spring, N; `None` for an edge that cannot turn.
    pub(super) fn spring_n(self) -> Option<f64> {
        match self {
            Self::Supported => Some(0.0),
            Self::Elastic { stiffness_n } if stiffness_n.is_finite() => Some(stiffness_n.max(0.0)),
            Self::Elastic { .. } | Self::Clamped => None,
        }
    }

    /// Whether the edge turns freely.
    pub(super) fn is_free_to_turn(self) -> bool {
        self.spring_n() == Some(0.0)
    }
}

/// The four edges of a plate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Edges {
    /// The edges at the low and the high end of x.
    pub x: [Fixing; 2],
    /// The edges at the low and the high end of y.
    pub y: [Fixing; 2],
}

impl Edges {
    /// All four edges alike.
    pub fn all(fixing: Fixing) -> Self {
        Self { x: [fixing; 2], y: [fixing; 2] }
    }
}
