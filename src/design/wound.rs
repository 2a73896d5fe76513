//! What a design says of single coils: how they are wound, and where they stand on the board.

use crate::circuit::mutual::Placement;
use crate::circuit::winding::recipe::Wish;

/// Which way a coil's axis points: x to the right on the board, y up on it, z out of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Axis {
    /// To the right.
    X,
    /// Up.
    Y,
    /// Out of the board: the coil lies flat.
    Z,
}

impl Axis {
    /// Of length 1.
    pub fn vector(self) -> [f64; 3] {
        match self {
            Self::X => [1.0, 0.0, 0.0],
            Self::Y => [0.0, 1.0, 0.0],
            Self::Z => [0.0, 0.0, 1.0],
        }
    }
}

/// How a coil comes about.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Make {
    /// Wound by the maker of the panels.
    Wound {
        /// Diameter of the bare wire, m.
        wire_m: f64,
        /// Largest axial length, m.
        height_m: f64,
        /// Diameter of the former, m, where it is given.
        inner_m: Option<f64>,
    },
    /// Bought; its winding has this outline.
    Bought {
        /// Inner diameter, m.
        inner_m: f64,
        /// Outer diameter, m.
        outer_m: f64,
        /// Axial length, m.
        height_m: f64,
    },
}

impl Make {
    /// What is wanted of the coil where it is wound, for `henry` (H).
    pub fn wish(&self, henry: f64) -> Option<Wish> {
        match *self {
            Self::Wound { wire_m, height_m, inner_m } => {
                Some(Wish { henry, wire_m, height_m, inner_m })
            }
            Self::Bought { .. } => None,
        }
    }
}

/// Where a coil stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stand {
    /// Its middle, m.
    pub at_m: [f64; 3],
    /// Direction of its axis.
    pub axis: Axis,
    /// Wound or connected the other way round.
    pub reversed: bool,
}

impl Stand {
    /// Where `other` stands as this coil sees it, this one's axis being z.
    pub fn sees(&self, other: &Self) -> Placement {
        let away = [0, 1, 2].map(|i| other.at_m[i] - self.at_m[i]);
        let sense = if self.reversed == other.reversed { 1.0 } else { -1.0 };
        // Axes changed in a circle keep right hands right.
        let turned = |[x, y, z]: [f64; 3]| match self.axis {
            Axis::X => [y, z, x],
            Axis::Y => [z, x, y],
            Axis::Z => [x, y, z],
        };
        Placement { centre_m: turned(away), axis: turned(other.axis.vector()).map(|a| a * sense) }
    }
}

/// A coil of the crossover that the design says more of.
#[derive(Debug, Clone, PartialEq)]
pub struct CoilRule {
    /// Its reference name in the network ("L1").
    pub reference: String,
    /// Wound or bought, with its size.
    pub make: Make,
    /// Its place, where its field is to count.
    pub stand: Option<Stand>,
}
