//! The air behind the cone in a unit: its load as it is with a fault, and how it moves with depth and
//! fill.

use super::Fault;
use crate::analysis::acoustics::Acoustics;
use crate::analysis::spread::filled;
use crate::design::{Design, Side, Way};
use crate::grid::Grid;
use crate::model::fill::Fill;
use crate::model::shared_air::AirMatrix;
use num_complex::Complex64;
use std::sync::Arc;

/// Relative step of the slopes of the load.
const STEP: f64 = 0.02;

/// Another state of the cavity.
#[derive(Debug, Clone)]
pub(super) struct Inside {
    pub(super) fault: Fault,
    /// Loads on woofer and tweeter, and between them, beyond the usual.
    pub(super) more: Vec<AirMatrix>,
    /// Flow of each cone that a listener counts, over the usual.
    pub(super) heard: Vec<[Complex64; 2]>,
}

/// The states that faults put the cavity in, and the slopes of its load.
pub(super) struct CavityStates {
    pub(super) air: Vec<Inside>,
    pub(super) depth_slope: Vec<AirMatrix>,
    pub(super) fill_slope: Vec<AirMatrix>,
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
            (air(&acoustics), acoustics.front.clone())
        };
        let (usual, usual_flow) = changed(&|_| {});
        let beyond = |moved: Vec<AirMatrix>, share: f64| -> Vec<AirMatrix> {
            let pairs = moved.iter().zip(&usual);
            pairs.map(|(moved, usual)| moved.plus(usual, -1.0).times(share)).collect()
        };
        let slope = |change: &dyn Fn(&mut Side)| beyond(changed(change).0, 1.0 / STEP.ln_1p());
        let state = |fault: &Fault| {
            let (load, flow) = match *fault {
                Fault::Leak(ql) => changed(&|s| s.cavity.leak_ql = Some(ql)),
                Fault::NoFill => changed(&|s| s.cavity.fill = Fill::Empty),
                _ => return None,
            };
            let over = |way: Way| flow.of(way).map_with(usual_flow.of(way), |a, b| a / b);
            let (woofer, tweeter) = (over(Way::Woofer), over(Way::Tweeter));
            let heard = woofer.values().iter().zip(tweeter.values()).map(|(w, t)| [*w, *t]);
            Some(Inside { fault: *fault, more: beyond(load, 1.0), heard: heard.collect() })
        };
        Self {
            air: faults.iter().filter_map(state).collect(),
            depth_slope: slope(&|s| s.cavity.depth_m *= 1.0 + STEP),
            fill_slope: slope(&|s| s.cavity.fill = filled(s.cavity.fill, 1.0 + STEP)),
        }
    }
}

/// The air of both cones at each point.
fn air(acoustics: &Acoustics) -> Vec<AirMatrix> {
    let load = &acoustics.load;
    let own = load.woofer.values().iter().zip(load.tweeter.values());
    let between =
        |f: usize| acoustics.between.as_ref().map_or_else(Complex64::default, |z| z.values()[f]);
    let all = own.enumerate();
    all.map(|(f, (w, t))| AirMatrix { own: [*w, *t], between: between(f) }).collect()
}
