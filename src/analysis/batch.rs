//! Many units of a design at once: the exact circuit and drivers of each, and the acoustics to
//! second order around nominal, several units side by side.

pub mod surrogate;
mod unit_lanes;

use super::spread::Spread;
use super::study::StudyError;
use crate::circuit::ladder::Polarity;
use crate::circuit::lanes::{Complex, LANES, Real, decibels, each};
use crate::circuit::network::{Component, Network};
use crate::circuit::plan::{Branches, Plan, Work};
use crate::design::{Design, Ways};
use crate::grid::Grid;
use crate::model::heat::COPPER_PER_K;
use std::sync::Arc;
use surrogate::{AXES, DriverPoint, Expansion, Surrogate};
use unit_lanes::SideLanes;

/// What years or a choice of parts put on top of every unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shift {
    /// Factor on the effect of the fill.
    pub fill: f64,
    /// Factor on the compliance of both drivers.
    pub cms: f64,
}

impl Shift {
    /// Nothing.
    pub const NONE: Self = Self { fill: 1.0, cms: 1.0 };
}

/// A design made ready for many units.
#[derive(Debug, Clone)]
pub struct Batch {
    /// The axis.
    pub grid: Arc<Grid>,
    /// What scatters.
    pub spread: Arc<Spread>,
    /// On top of every unit.
    pub shift: Shift,
    sides: Vec<BatchSide>,
    output_ohm: f64,
    seats: usize,
    vectors: pulp::Arch,
}

#[derive(Debug, Clone)]
struct BatchSide {
    plan: Plan,
    network: Network,
    surrogate: Arc<Surrogate>,
    motors: Ways<crate::model::driver::Motor>,
    sign: f64,
    /// Squared pressure of the design: `[f * seats + seat]`, per volt.
    reference: Arc<Vec<f64>>,
    /// Index of the side's first factor.
    start: usize,
}

/// Levels and impedance of several units.
#[derive(Debug, Clone)]
pub struct Levels {
    /// Level over that of the design, dB: `[(side * seats + seat) * points + f]`.
    pub over_design_db: Vec<Real>,
    /// Lowest impedance of each side, Ω.
    pub lowest_ohm: Vec<Real>,
}

/// Room for the work on several units.
#[derive(Debug, Clone)]
pub struct Scratch {
    work: Vec<Work>,
    /// The result.
    pub levels: Levels,
}

impl Batch {
    /// Makes `design` ready over `grid`.
    ///
    /// # Errors
    /// A side that cannot be simulated, coupled coils.
    pub fn of(design: &Design, grid: &Arc<Grid>) -> Result<Self, StudyError> {
        let spread = Arc::new(Spread::of(design)?);
        let step = steps(design);
        let seats = design.listeners.len();
        let mut sides = Vec::with_capacity(design.sides.len());
        for (index, side) in design.sides.iter().enumerate() {
            let inverted = spread.polarity[index] == Polarity::Inverted;
            sides.push(BatchSide {
                plan: match side.shares_air() {
                    true => Plan::of_pair(&spread.networks[index])?,
                    false => Plan::of(&spread.networks[index])?,
                },
                network: spread.networks[index].clone(),
                surrogate: Arc::new(Surrogate::of(design, index, grid, step)?),
                motors: side.drivers.map(|m| m.driver.motor),
                sign: if inverted { -1.0 } else { 1.0 },
                reference: Arc::new(vec![1.0; seats * grid.len()]),
                start: spread.start_of(index),
            });
        }
        let output_ohm = design.amplifier.output_ohm;
        let grid = Arc::clone(grid);
        let (shift, vectors) = (Shift::NONE, pulp::Arch::new());
        let mut batch = Self { grid, spread, shift, sides, output_ohm, seats, vectors };
        batch.lay_reference();
        Ok(batch)
    }

    /// Puts the levels of a nominal unit where those of all units are compared with.
    fn lay_reference(&mut self) {
        let mut scratch = self.scratch();
        let nominal = self.nominal_values();
        self.simulate(&[&nominal[..]; LANES], &mut scratch);
        let points = self.grid.len();
        for (s, side) in self.sides.iter_mut().enumerate() {
            let level = |f: usize, seat: usize| {
                let row = (s * self.seats + seat) * points + f;
                let before = side.reference[f * self.seats + seat];
                before * 10f64.powf(scratch.levels.over_design_db[row][0] / 10.0)
            };
            let squares = (0..points).flat_map(|f| (0..self.seats).map(move |seat| (f, seat)));
            side.reference = Arc::new(squares.map(|(f, seat)| level(f, seat)).collect());
        }
    }

    /// The same with other parts in a side's network, of the same layout; levels stay over those of
    /// the design.
    #[must_use]
    pub fn with_networks(&self, networks: &[Network]) -> Self {
        let mut other = self.clone();
        for (side, network) in other.sides.iter_mut().zip(networks) {
            side.network = network.clone();
        }
        other
    }

    /// The same as a design of its own: levels are over those of its own nominal unit.
    #[must_use]
    pub fn as_design(mut self) -> Self {
        self.lay_reference();
        self
    }

    /// The networks of the sides as they are for a nominal unit.
    pub fn networks(&self) -> Vec<Network> {
        self.sides.iter().map(|s| s.network.clone()).collect()
    }

    /// Level of the design at each seat of each side, dB, one row a side and seat; the zero is any.
    pub fn design_levels_db(&self) -> Vec<Vec<f64>> {
        let points = self.grid.len();
        let level = |side: &BatchSide, seat: usize| {
            let at = |f: usize| 10.0 * side.reference[f * self.seats + seat].log10();
            (0..points).map(at).collect()
        };
        let seats = |side| (0..self.seats).map(move |seat| level(side, seat));
        self.sides.iter().flat_map(seats).collect()
    }

    /// The same with another spread of the same factors.
    #[must_use]
    pub fn with_spread(&self, spread: Arc<Spread>) -> Self {
        Self { spread, ..self.clone() }
    }

    /// Seats that hear each side.
    pub fn seats(&self) -> usize {
        self.seats
    }

    /// Sides of a unit.
    pub fn side_count(&self) -> usize {
        self.sides.len()
    }

    /// Values of the factors of a unit like the design.
    pub fn nominal_values(&self) -> Vec<f64> {
        let mut values = vec![0.0; self.spread.factors.len()];
        let scores = values.clone();
        self.spread.values(&self.spread.nominal_lot(), &scores, &mut values);
        values
    }

    /// Room for the work.
    pub fn scratch(&self) -> Scratch {
        let rows = self.sides.len() * self.seats * self.grid.len();
        Scratch {
            work: self.sides.iter().map(|s| s.plan.work()).collect(),
            levels: Levels {
                over_design_db: vec![[0.0; LANES]; rows],
                lowest_ohm: vec![[0.0; LANES]; self.sides.len()],
            },
        }
    }

    /// Levels and impedance of the units with these values of their factors, left in `scratch`.
    pub fn simulate(&self, values: &[&[f64]; LANES], scratch: &mut Scratch) {
        for index in 0..self.sides.len() {
            self.side(index, values, scratch);
        }
    }

    fn side(&self, index: usize, values: &[&[f64]; LANES], scratch: &mut Scratch) {
        let side = &self.sides[index];
        let lanes = SideLanes::of(side, values, self.shift);
        let hot = each(|l| 1.0 + COPPER_PER_K * lanes.moved[AXES - 1][l]);
        let branches = side.plan.values(|part, lane| {
            let whole = side.network.parts[part].component;
            let moved = whole.with_value(whole.value() * values[lane][side.start + part]);
            match moved {
                Component::Inductor { dcr_ohm, .. } => moved.with_loss(dcr_ohm * hot[lane]),
                other => other,
            }
        });
        let points = self.grid.len();
        let rows = index * self.seats * points..(index + 1) * self.seats * points;
        let job = SideJob {
            side,
            lanes: &lanes,
            branches: &branches,
            omega: self.grid.frequency_hz(),
            output_ohm: self.output_ohm,
            seats: self.seats,
        };
        let (work, levels) = (&mut scratch.work[index], &mut scratch.levels.over_design_db[rows]);
        // The widest vectors that the machine has; the sums are the same with any.
        let most = self.vectors.dispatch(Sweep { job, work, levels });
        scratch.levels.lowest_ohm[index] = each(|l| 1.0 / most[l].sqrt());
    }
}

/// Steps of the expansion: the limits of the scatter, so that it is best where units are.
fn steps(design: &Design) -> [f64; AXES] {
    let spreads = &design.production.spreads;
    let share = |percent: f64, least: f64| (percent / 100.0).max(least);
    [
        share(spreads.cavity.limit_percent, 0.01),
        share(spreads.fill.limit_percent, 0.05),
        spreads.temperature_k.max(1.0),
    ]
}

/// One side of several units, over the whole grid.
struct SideJob<'b> {
    side: &'b BatchSide,
    lanes: &'b SideLanes,
    branches: &'b Branches,
    omega: &'b [f64],
    output_ohm: f64,
    seats: usize,
}

/// A job with room for its results. It is no closure: only what is inlined whole is compiled for
/// the vectors at hand.
struct Sweep<'b> {
    job: SideJob<'b>,
    work: &'b mut Work,
    levels: &'b mut [Real],
}

impl pulp::NullaryFnOnce for Sweep<'_> {
    type Output = Real;

    #[inline(always)]
    fn call(self) -> Real {
        self.job.sweep(self.work, self.levels)
    }
}

impl SideJob<'_> {
    /// Fills the levels; the largest squared admittance of all frequencies is returned, S².
    #[inline(always)]
    fn sweep(&self, work: &mut Work, levels: &mut [Real]) -> Real {
        let mut most = [0.0; LANES];
        for (f, hz) in self.omega.iter().enumerate() {
            let here = self.at(f, std::f64::consts::TAU * hz, work, levels);
            most = each(|l| if here[l] > most[l] { here[l] } else { most[l] });
        }
        most
    }

    #[inline(always)]
    fn at(&self, f: usize, omega: f64, work: &mut Work, levels: &mut [Real]) -> Real {
        let point = &self.side.surrogate.points[f];
        let moved = &self.lanes.moved;
        let [low, high] = match self.side.surrogate.between.get(f) {
            None => self.apart(omega, point, work),
            Some(between) => self.together(omega, point, between, work),
        };
        // What the amplifier's own resistance takes away.
        let drop = work.admittance.times_one(self.output_ohm, 0.0);
        let rest = Complex { re: each(|l| 1.0 + drop.re[l]), im: drop.im }.norm_sqr();
        let points = self.omega.len();
        for seat in 0..self.seats {
            let heard = point.woofer.heard[seat].at(moved).times(&low);
            let sum = heard.plus(&point.tweeter.heard[seat].at(moved).times(&high));
            let reference = self.side.reference[f * self.seats + seat];
            let square = sum.norm_sqr();
            levels[seat * points + f] = decibels(&each(|l| square[l] / (rest[l] * reference)));
        }
        work.admittance.norm_sqr()
    }

    /// Flows of the cones, the tweeter's as it is connected, m³/s per volt; the circuit is left in
    /// `work`.
    #[inline(always)]
    fn apart(&self, omega: f64, point: &Ways<DriverPoint>, work: &mut Work) -> [Complex; 2] {
        let (drivers, moved) = (&self.lanes.drivers, &self.lanes.moved);
        let woofer = drivers.woofer.at(omega, &point.woofer, moved);
        let tweeter = drivers.tweeter.at(omega, &point.tweeter, moved);
        let loads = [woofer.admittance, tweeter.admittance];
        self.side.plan.solve(omega, self.branches, &loads, work);
        let low = self.side.plan.at_port(0, work).times(&woofer.flow);
        let high = self.side.plan.at_port(1, work).times(&tweeter.flow);
        [low, high.times_one(self.side.sign, 0.0)]
    }

    /// The same with both cones in one air.
    #[inline(always)]
    fn together(
        &self,
        omega: f64,
        point: &Ways<DriverPoint>,
        between: &Expansion,
        work: &mut Work,
    ) -> [Complex; 2] {
        let pair = self.lanes.drivers.at(omega, point, between, &self.lanes.moved);
        let [woofer, tweeter, across] = pair.admittances;
        let across = across.times_one(self.side.sign, 0.0);
        self.side.plan.solve(omega, self.branches, &[woofer, tweeter, across], work);
        let at_tweeter = self.side.plan.at_port(1, work).times_one(self.side.sign, 0.0);
        pair.flows(&[self.side.plan.at_port(0, work), at_tweeter])
    }
}
