//! A steady thermal network with conductances that hang on temperatures.

use super::AIR_W_PER_M_K;
use super::film::{self, Standing};
use nalgebra::{DMatrix, DVector};

/// Most rounds until films and temperatures agree.
const ROUNDS: usize = 200;
/// They agree when no temperature moves by more, K.
const AGREED_K: f64 = 1e-9;

/// How heat gets from one node to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Path {
    /// A conductance, W/K.
    Fixed(f64),
    /// Natural convection and radiation of a surface.
    Film {
        /// Its area, m².
        area_m2: f64,
        /// Its height (half its shorter edge where it lies), m.
        height_m: f64,
        /// Emissivity towards the other node, 0 for none.
        emissivity: f64,
        /// How it stands.
        standing: Standing,
        /// Where it lies: warm air leaves it freely.
        warm_below: bool,
        /// At least this much (conduction through still air), W/(m²·K).
        least_w_per_m2_k: f64,
    },
    /// Still air in a gap, and radiation across it.
    Gap {
        /// Area, m².
        area_m2: f64,
        /// Depth, m.
        gap_m: f64,
        /// Emissivity of the surface.
        emissivity: f64,
    },
}

impl Path {
    /// Conductance between two temperatures (°C), W/K.
    pub fn w_per_k(&self, a_c: f64, b_c: f64) -> f64 {
        match *self {
            Self::Fixed(w_per_k) => w_per_k,
            Self::Film {
                area_m2,
                height_m,
                emissivity,
                standing,
                warm_below,
                least_w_per_m2_k,
            } => {
                let convection = film::convection(standing, height_m, a_c, b_c, warm_below);
                let radiation = film::radiation(emissivity, a_c, b_c);
                area_m2 * (convection.max(least_w_per_m2_k) + radiation)
            }
            Self::Gap { area_m2, gap_m, emissivity } => {
                let radiation = film::radiation(emissivity, a_c, b_c);
                area_m2 * (AIR_W_PER_M_K / gap_m + radiation)
            }
        }
    }
}

/// A path between a node and another one, or the room.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Branch {
    /// From this node.
    pub from: usize,
    /// To this one; `None`: to the room.
    pub to: Option<usize>,
    /// By this way.
    pub path: Path,
}

/// The films found no temperatures that agree with them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the slab's temperatures do not settle")]
pub struct NotSettled;

/// Nodes, paths between them and to the room, and sources.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatNetwork {
    /// The paths.
    pub branches: Vec<Branch>,
    /// Heat put into each node, W.
    pub sources_w: Vec<f64>,
    /// The room, °C.
    pub room_c: f64,
}

impl HeatNetwork {
    /// `nodes` nodes without paths or sources.
    pub fn new(nodes: usize, room_c: f64) -> Self {
        Self { branches: Vec::new(), sources_w: vec![0.0; nodes], room_c }
    }

    /// A further node; its index.
    pub fn add_node(&mut self, source_w: f64) -> usize {
        self.sources_w.push(source_w);
        self.sources_w.len() - 1
    }

    /// Adds a path; `None` leads to the room.
    pub fn join(&mut self, from: usize, to: Option<usize>, path: Path) {
        self.branches.push(Branch { from, to, path });
    }

    /// Temperature of each node, °C: Newton's steps are not needed, films change slowly with
    /// temperature, and going half of each step keeps the rounds from swinging.
    ///
    /// # Errors
    /// [`NotSettled`] where no temperatures agree with the films, or a node has no way to the room.
    pub fn settle(&self) -> Result<Vec<f64>, NotSettled> {
        let mut warm = vec![self.room_c + 10.0; self.sources_w.len()];
        for _ in 0..ROUNDS {
            let next = self.solved(&warm)?;
            let moved = next.iter().zip(&warm).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            for (old, new) in warm.iter_mut().zip(next) {
                *old += if moved < AGREED_K { new - *old } else { 0.6 * (new - *old) };
            }
            if moved < AGREED_K {
                return Ok(warm);
            }
        }
        Err(NotSettled)
    }

    /// Heat that goes to the room at these temperatures, W.
    pub fn to_room_w(&self, warm_c: &[f64]) -> f64 {
        let away = self.branches.iter().filter(|b| b.to.is_none());
        away.map(|b| b.path.w_per_k(warm_c[b.from], self.room_c) * (warm_c[b.from] - self.room_c))
            .sum()
    }

    /// The linear network of the conductances at `warm` (°C).
    fn solved(&self, warm: &[f64]) -> Result<Vec<f64>, NotSettled> {
        let n = warm.len();
        let mut g = DMatrix::<f64>::zeros(n, n);
        let mut q = DVector::from_column_slice(&self.sources_w);
        for branch in &self.branches {
            let other_c = branch.to.map_or(self.room_c, |to| warm[to]);
            let w_per_k = branch.path.w_per_k(warm[branch.from], other_c);
            g[(branch.from, branch.from)] += w_per_k;
            match branch.to {
                Some(to) => {
                    g[(to, to)] += w_per_k;
                    g[(branch.from, to)] -= w_per_k;
                    g[(to, branch.from)] -= w_per_k;
                }
                None => q[branch.from] += w_per_k * self.room_c,
            }
        }
        let solved = g.lu().solve(&q).ok_or(NotSettled)?;
        let sound = solved.iter().all(|t| t.is_finite() && t.abs() < 1e5);
        if sound { Ok(solved.iter().copied().collect()) } else { Err(NotSettled) }
    }
}
