//! The air behind the cone in a unit: its load as it is with a fault, and how it moves with depth and
//! fill.

use super::Fault;
use crate::analysis::acoustics::Acoustics;
use crate::analysis::spread::filled;
use crate::design::{Design, Side};
use crate::grid::Grid;
use crate::model::fill::Fill;
use num_complex::Complex64;
use std::sync::Arc;

/// Relative step of the slopes of the load.
const STEP: f64 = 0.02;

/// Another state of the cavity.
#[derive(Debug, Clone)]
pub(super) struct Inside {
    pub(super) fault: Fault,
    /// Load on the cone beyond the usual, Pa·s/m³.
    pub(super) more: Vec<Complex64>,
    /// Flow that a listener counts, over the usual.
    pub(super) heard: Vec<Complex64>,
}

/// The states that faults put the cavity in, and the slopes of its load.
pub(super) struct CavityStates {
    pub(super) air: Vec<Inside>,
    pub(super) depth_slope: Vec<Complex64>,
    pub(super) fill_slope: Vec<Complex64>,
}

impl CavityStates {
    pub(super) fn of(design: &Design, side: &Side, grid: &Arc<Grid>, faults: &[Fault]) -> Self {
        // Nobody listens: what the panel's edges do is the same in every state.
        let mut deaf = design.clone();
        deaf.listeners.clear();
        let changed = |change: &dyn Fn(&mut Side)| {
            let mut other = side.clone();
            change(&mut other);
            let acoustics = Acoustics::of(&deaf, &other, grid);
            (acoustics.load.woofer.clone(), acoustics.front.woofer.clone())
        };
        let (usual, usual_flow) = changed(&|_| {});
        let slope = |change: &dyn Fn(&mut Side)| -> Vec<Complex64> {
            let moved = changed(change).0;
            moved.plus(&usual, -1.0).values().iter().map(|d| d / STEP.ln_1p()).collect()
        };
        let state = |fault: &Fault| {
            let (load, flow) = match *fault {
                Fault::Leak(ql) => changed(&|s| s.cavity.leak_ql = Some(ql)),
                Fault::NoFill => changed(&|s| s.cavity.fill = Fill::Empty),
                _ => return None,
            };
            let heard = flow.map_with(&usual_flow, |a, b| a / b).values().to_vec();
            Some(Inside { fault: *fault, more: load.plus(&usual, -1.0).values().to_vec(), heard })
        };
        Self {
            air: faults.iter().filter_map(state).collect(),
            depth_slope: slope(&|s| s.cavity.depth_m *= 1.0 + STEP),
            fill_slope: slope(&|s| s.cavity.fill = filled(s.cavity.fill, 1.0 + STEP)),
        }
    }
}
