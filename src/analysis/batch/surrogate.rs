//! What depth, fill and temperature do to the acoustics of a side, to second order around nominal:
//! the load on each cone and what a seat hears of its flow. Everything else is exact.

use crate::analysis::acoustics::Acoustics;
use crate::analysis::in_loads::InLoads;
use crate::analysis::side::SideModel;
use crate::analysis::spread::{DriverUnit, SideUnit, Unit};
use crate::analysis::study::StudyError;
use crate::circuit::lanes::{Complex, Real, each};
use crate::design::{Design, Listener, Way, Ways};
use crate::grid::Grid;
use num_complex::Complex64;
use rayon::prelude::*;
use std::sync::Arc;

/// What is expanded: depth and fill as factors less one, temperature in K.
pub const AXES: usize = 3;

/// A complex number as a polynomial of the second order in each axis, without cross terms.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expansion {
    /// The nominal value.
    pub nominal: Complex64,
    /// First derivative along each axis.
    pub first: [Complex64; AXES],
    /// Half the second derivative along each axis.
    pub second: [Complex64; AXES],
}

impl Expansion {
    /// Through three values along each axis: at − `step`, nominal, and + `step`.
    fn through(nominal: Complex64, around: [[Complex64; 2]; AXES], step: [f64; AXES]) -> Self {
        let first = |k: usize| (around[k][1] - around[k][0]) / (2.0 * step[k]);
        let bend = |k: usize| around[k][1] + around[k][0] - 2.0 * nominal;
        let second = |k: usize| bend(k) / (2.0 * step[k] * step[k]);
        Self { nominal, first: [0, 1, 2].map(first), second: [0, 1, 2].map(second) }
    }

    /// The value at `moved` for every lane.
    #[inline(always)]
    pub fn at(&self, moved: &[Real; AXES]) -> Complex {
        let (a, b, n) = (&self.first, &self.second, &self.nominal);
        let sum = |part: fn(&Complex64) -> f64| {
            each(|l| {
                let term = |k: usize| moved[k][l] * (part(&a[k]) + moved[k][l] * part(&b[k]));
                part(n) + term(0) + term(1) + term(2)
            })
        };
        Complex { re: sum(|z| z.re), im: sum(|z| z.im) }
    }
}

/// One driver over the grid, at each point.
#[derive(Debug, Clone)]
pub struct DriverPoint {
    /// Acoustic load on the cone, Pa·s/m³.
    pub load: Expansion,
    /// The coil's inductive part, Ω.
    pub coil: Complex64,
    /// Measured impedance over the model's; 1 where none was measured.
    pub measured: Complex64,
    /// Pressure over cone flow at each seat, less the travel to it, Pa·s/m³.
    pub heard: Vec<Expansion>,
}

/// The acoustics of one side, expanded.
#[derive(Debug, Clone)]
pub struct Surrogate {
    /// One a grid point.
    pub points: Vec<Ways<DriverPoint>>,
    /// Pressure on either cone over the other's flow into the air that they share, Pa·s/m³, one a
    /// grid point; empty where they share none.
    pub between: Vec<Expansion>,
}

/// Load, flow and pressure of both ways in one state of the air and cavity.
struct State {
    load: Ways<Vec<Complex64>>,
    /// Between the cones; empty where they share no air.
    between: Vec<Complex64>,
    /// Measured over modelled impedance.
    measured: Ways<Vec<Complex64>>,
    /// One a seat.
    heard: Vec<Ways<Vec<Complex64>>>,
}

impl Surrogate {
    /// Expands side `index` of `design` over `grid` with these steps along the axes.
    ///
    /// # Errors
    /// A side that cannot be simulated.
    pub fn of(
        design: &Design,
        index: usize,
        grid: &Arc<Grid>,
        step: [f64; AXES],
    ) -> Result<Self, StudyError> {
        let mut moves = Vec::new();
        for axis in 0..AXES {
            for sign in [-1.0, 1.0] {
                let mut moved = [0.0; AXES];
                moved[axis] = sign * step[axis];
                moves.push(moved);
            }
        }
        // First nominal by itself: the others then find its edges made.
        let mut states = vec![State::of(design, index, grid, [0.0; AXES])?];
        let others = moves.par_iter().map(|moved| State::of(design, index, grid, *moved));
        states.extend(others.collect::<Result<Vec<_>, _>>()?);
        let expand = |pick: &dyn Fn(&State) -> Complex64| {
            let at = |k: usize| pick(&states[k]);
            Expansion::through(at(0), [[at(1), at(2)], [at(3), at(4)], [at(5), at(6)]], step)
        };
        let drivers = &design.sides[index].drivers;
        let point = |f: usize, omega: f64, way: Way| DriverPoint {
            load: expand(&|s| s.load.of(way)[f]),
            coil: drivers.of(way).driver.coil.impedance(omega),
            measured: states[0].measured.of(way)[f],
            heard: (0..states[0].heard.len())
                .map(|seat| expand(&|s| s.heard[seat].of(way)[f]))
                .collect(),
        };
        let both = |(f, omega)| Ways {
            woofer: point(f, omega, Way::Woofer),
            tweeter: point(f, omega, Way::Tweeter),
        };
        let shared = 0..states[0].between.len();
        Ok(Self {
            points: grid.omega().enumerate().map(both).collect(),
            between: shared.map(|f| expand(&|s| s.between[f])).collect(),
        })
    }
}

impl State {
    fn of(
        design: &Design,
        index: usize,
        grid: &Arc<Grid>,
        moved: [f64; AXES],
    ) -> Result<Self, StudyError> {
        let [depth, fill, warmer_k] = moved;
        let as_designed = SideUnit {
            parts: Vec::new(),
            drivers: Ways { woofer: DriverUnit::NOMINAL, tweeter: DriverUnit::NOMINAL },
            depth: 1.0 + depth,
            fill: 1.0 + fill,
        };
        let unit = Unit { sides: vec![as_designed; design.sides.len()], warmer_k };
        let design = unit.design(design);
        let side = &design.sides[index];
        let acoustics = Acoustics::of(&design, side, grid);
        let model = SideModel::new(&design, side, grid)?;
        let in_loads = InLoads::of(side, &acoustics, grid);
        let drivers = &in_loads.drivers;
        let over = |a: &[Complex64], b: &[Complex64]| -> Vec<Complex64> {
            a.iter().zip(b).map(|(a, b)| a / b).collect()
        };
        let measured =
            |way: Way| over(model.impedance.of(way).values(), drivers.of(way).impedance.values());
        let heard = model.seats().zip(&design.listeners).map(|((_, pressure), listener)| {
            let travel = travel(&design, side.drivers.woofer.acoustic_centre(), listener, grid);
            let own = in_loads.heard_alone(pressure);
            let of = |way: Way| {
                let per_flow = over(own.of(way).values(), drivers.of(way).flow.values());
                per_flow.iter().zip(&travel).map(|(h, t)| h * t).collect()
            };
            Ways { woofer: of(Way::Woofer), tweeter: of(Way::Tweeter) }
        });
        let heard = heard.collect();
        Ok(Self {
            load: acoustics.load.map(|z| z.values().to_vec()),
            between: acoustics.between.as_ref().map_or(Vec::new(), |z| z.values().to_vec()),
            measured: Ways { woofer: measured(Way::Woofer), tweeter: measured(Way::Tweeter) },
            heard,
        })
    }
}

/// e^{+jωd/c}: takes out the travel that both ways have in common, which turns quickly with the
/// temperature and is not heard.
fn travel(
    design: &Design,
    from: crate::model::place::Point,
    listener: &Listener,
    grid: &Arc<Grid>,
) -> Vec<Complex64> {
    let delay_s = from.distance_m(&listener.place) / design.air.c_m_per_s;
    grid.omega().map(|w| Complex64::from_polar(1.0, w * delay_s)).collect()
}
