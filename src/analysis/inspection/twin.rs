//! One side of a unit as numbers that can be moved: impedance at its terminals and level at a
//! seat, with their derivatives, for any fault.
//!
//! The acoustic load is computed once; depth and fill move it along their slopes, a leak or a
//! missing fill puts another in its place.

use super::fault::Fault;
use super::measuring::Measuring;
use super::parameters::{self, GAIN, KELVIN, LEADS, LEVEL, OF_SWEEP};
use crate::analysis::acoustics::Acoustics;
use crate::analysis::in_loads::InLoads;
use crate::analysis::side::SideModel;
use crate::analysis::spread::Spread;
use crate::analysis::study::StudyError;
use crate::circuit::ladder::Polarity;
use crate::circuit::load::Load;
use crate::circuit::network::{Component, Network, Node};
use crate::circuit::sensitivity::Sensitivity;
use crate::circuit::solve::{self, SolveError};
use crate::design::{Design, Way, Ways};
use crate::grid::{Grid, Impedance, Spectrum};
use crate::model::heat::COPPER_PER_K;
use crate::model::shared_air::AirMatrix;
use num_complex::Complex64;
use std::sync::Arc;

mod cavity;
mod pair;
mod point;
mod way;

use cavity::{CavityStates, Inside};
use pair::{Pair, PairUnit};
use point::Point;
use way::WayTwin;

/// Resistors beside the drivers that do nothing but have derivatives, Ω.
const PROBE_OHM: f64 = 1e9;
/// Impedance of a driver that is not there, Ω.
const GONE_OHM: f64 = 1e6;
/// Quantities of drivers and cavity: six logarithms of either driver, depth, fill, and the copper's K.
const OF_DRIVERS: usize = 15;

/// A side that can be spoilt and moved.
#[derive(Debug, Clone)]
pub struct Twin {
    /// The frequency axis.
    pub grid: Arc<Grid>,
    /// Its name.
    pub name: String,
    /// The network as bought, then a probe beside each driver, then those between their nodes where
    /// they share air.
    network: Network,
    /// How many of the network's parts are its own.
    own_parts: usize,
    ways: Ways<WayTwin>,
    /// Pressure on either cone over the other's flow into the air that they share, Pa·s/m³; `None`
    /// where they share none.
    between: Option<Vec<Complex64>>,
    air: Vec<Inside>,
    depth_slope: Vec<AirMatrix>,
    fill_slope: Vec<AirMatrix>,
    tweeter_sign: f64,
    drive_v: f64,
    output_ohm: f64,
    /// One standard deviation of everything that may differ without being a fault: gain (ln),
    /// leads (Ω), copper (K), level (ln), then ln of each part, of Mms, Cms, Rms, Bl, Re, Le of woofer
    /// and tweeter, of the cavity's depth and of the fill's effect.
    pub deviations: Vec<f64>,
    /// The faults that are told apart.
    pub faults: Vec<Fault>,
}

/// What a side shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// Logarithm of the impedance at the fixture's terminals, Ω.
    pub ln_z: Vec<Complex64>,
    /// Logarithm of the sound pressure at the first seat, Pa.
    pub ln_p: Vec<f64>,
}

/// What it shows, and how that moves with each quantity: `[f * quantities + q]`.
#[derive(Debug, Clone)]
pub struct Slopes {
    /// What it shows.
    pub answer: Answer,
    /// Of ln Z.
    pub z_by: Vec<Complex64>,
    /// Of ln p.
    pub p_by: Vec<f64>,
}

/// A side with its quantities put in, ready to be solved.
struct Wired {
    network: Network,
    load: Load,
    drivers: Drivers,
}

/// The drivers of a side, each by itself or both in one air.
enum Drivers {
    /// Each by itself, and +1 or −1 as the tweeter is connected.
    Apart(Ways<way::Moved>, f64),
    /// At each frequency both and their slopes.
    Together(Vec<(Pair, [Pair; OF_DRIVERS])>),
}

impl Twin {
    /// The twin of side `index` of `design`, whose units scatter as `spread` says and are swept as
    /// `measuring` says.
    ///
    /// # Errors
    /// A side that cannot be simulated, or coupled coils.
    pub fn new(
        design: &Design,
        spread: &Spread,
        index: usize,
        measuring: &Measuring,
        grid: &Arc<Grid>,
    ) -> Result<Self, StudyError> {
        let (side, bought) = (&design.sides[index], &spread.networks[index]);
        if !bought.couplings.is_empty() {
            return Err(SolveError::Coupled.into());
        }
        let model = SideModel::new(design, side, grid)?;
        let acoustics = Acoustics::of(design, side, grid);
        let in_loads = InLoads::of(side, &acoustics, grid);
        let heard = model.seats().next().map(|(_, ways)| in_loads.heard_alone(ways));
        let twin = |way: Way| {
            WayTwin::new(
                &side.drivers.of(way).driver,
                acoustics.load.of(way),
                in_loads.drivers.of(way),
                model.impedance.of(way),
                heard.as_ref().map(|ways| ways.of(way)),
            )
        };
        let ways = Ways { woofer: twin(Way::Woofer), tweeter: twin(Way::Tweeter) };
        let network = probed(bought, acoustics.between.is_some());
        let faults = Fault::all(design, side, bought);
        let cavity = CavityStates::of(design, side, grid, &faults);
        Ok(Self {
            grid: Arc::clone(grid),
            name: side.name.clone(),
            network,
            own_parts: bought.parts.len(),
            ways,
            between: acoustics.between.as_ref().map(|z| z.values().to_vec()),
            air: cavity.air,
            depth_slope: cavity.depth_slope,
            fill_slope: cavity.fill_slope,
            tweeter_sign: if spread.polarity[index] == Polarity::Inverted { -1.0 } else { 1.0 },
            drive_v: design.drive_v,
            output_ohm: design.amplifier.output_ohm,
            deviations: parameters::deviations(spread, index, measuring),
            faults,
        })
    }

    /// The parts of its network.
    pub fn parts(&self) -> &[crate::circuit::network::Part] {
        &self.network.parts[..self.own_parts]
    }

    /// What a nominal unit with `fault` shows.
    ///
    /// # Errors
    /// A network that cannot be solved.
    pub fn nominal(&self, fault: &Fault) -> Result<Answer, SolveError> {
        self.answer(fault, &vec![0.0; self.deviations.len()])
    }

    /// Share of the nominal impedance at each frequency that grows with the temperature of
    /// copper: d ln|Z| / d ln R.
    pub fn copper_share(&self) -> Result<Vec<f64>, SolveError> {
        let slopes = self.slopes(&Fault::None, &vec![0.0; self.deviations.len()])?;
        let rows = slopes.z_by.chunks_exact(self.deviations.len());
        Ok(rows.map(|row| row[KELVIN].re / COPPER_PER_K).collect())
    }

    fn wired(&self, fault: &Fault, at: &[f64]) -> Wired {
        let n = self.parts().len();
        let of_parts = &at[OF_SWEEP..OF_SWEEP + n];
        let rest = &at[OF_SWEEP + n..];
        let mut network = self.network.clone();
        fault.spoil(&mut network.parts[..n]);
        let hot = 1.0 + COPPER_PER_K * at[KELVIN];
        for (part, ln) in network.parts.iter_mut().zip(of_parts) {
            let moved = part.component.with_value(part.component.value() * ln.exp());
            part.component = match moved {
                Component::Inductor { dcr_ohm, .. } => moved.with_loss(dcr_ohm * hot),
                other => other,
            };
        }
        let reversed = if *fault == Fault::Reversed { -1.0 } else { 1.0 };
        let sign = self.tweeter_sign * reversed;
        let state = self.air.iter().find(|a| a.fault == *fault);
        let (load, drivers) = match &self.between {
            None => self.apart(fault, state, rest, hot, sign),
            Some(between) => {
                let gone = if let Fault::DriverOpen(way) = *fault { Some(way) } else { None };
                let unit = PairUnit { twin: self, between, state, gone, sign };
                self.together(&unit, rest, at[KELVIN])
            }
        };
        Wired { network, load, drivers }
    }

    /// Each driver by itself.
    fn apart(
        &self,
        fault: &Fault,
        state: Option<&Inside>,
        rest: &[f64],
        hot: f64,
        sign: f64,
    ) -> (Load, Drivers) {
        let more = |f: usize| {
            let moved =
                self.depth_slope[f].own[0] * rest[12] + self.fill_slope[f].own[0] * rest[13];
            moved + state.map_or(Complex64::default(), |s| s.more[f].own[0])
        };
        let mut ways = Ways {
            woofer: self.ways.woofer.moved(&self.grid, &rest[..6], hot, more),
            tweeter: self
                .ways
                .tweeter
                .moved(&self.grid, &rest[6..12], hot, |_| Complex64::default()),
        };
        if let Some(state) = state {
            let pressure = ways.woofer.pressure.iter_mut();
            pressure.zip(&state.heard).for_each(|(p, heard)| *p *= heard[0]);
        }
        if let Fault::DriverOpen(way) = *fault {
            ways.of_mut(way).take_away(GONE_OHM);
        }
        let z = ways.map(|w| -> Impedance { Spectrum::from_values(&self.grid, w.z.clone()) });
        let load = Load::diagonal(&self.grid, &[Some(&z.woofer), Some(&z.tweeter)]);
        (load, Drivers::Apart(ways, sign))
    }

    /// Both in one air.
    fn together(&self, unit: &PairUnit<'_>, rest: &[f64], kelvin: f64) -> (Load, Drivers) {
        let mut at = [0.0; OF_DRIVERS];
        at[..OF_DRIVERS - 1].copy_from_slice(&rest[..OF_DRIVERS - 1]);
        at[OF_DRIVERS - 1] = kelvin;
        let points = self.grid.omega().enumerate();
        let both: Vec<_> =
            points.map(|(f, w)| (unit.at(f, w, &at), unit.slopes(f, w, &at))).collect();
        let admittance = both.iter().flat_map(|(pair, _)| {
            let [woofer, tweeter, across] = pair.y;
            [woofer, across, across, tweeter]
        });
        (Load::admittances(&self.grid, 2, admittance.collect()), Drivers::Together(both))
    }

    /// What a unit with `fault` shows whose quantities are `at`.
    ///
    /// # Errors
    /// A network that cannot be solved.
    pub fn answer(&self, fault: &Fault, at: &[f64]) -> Result<Answer, SolveError> {
        let wired = self.wired(fault, at);
        let solution = solve::solve(&wired.network, &self.grid, &wired.load)?;
        let port = |p: usize| solution.between(wired.network.ports[p].nodes);
        let (woofer, tweeter) = (port(0), port(1));
        let impedance = solution.input_impedance();
        let (mut ln_z, mut ln_p) = (Vec::new(), Vec::new());
        for (f, z) in impedance.values().iter().enumerate() {
            ln_z.push((z + at[LEADS]).ln() + at[GAIN]);
            let p = wired.pressure(f, woofer.values()[f], tweeter.values()[f]);
            ln_p.push(self.ln_level(p, *z) + at[LEVEL]);
        }
        Ok(Answer { ln_z, ln_p })
    }

    fn ln_level(&self, pressure: Complex64, z: Complex64) -> f64 {
        let through = self.drive_v * z / (z + self.output_ohm);
        (pressure * through).norm().max(1e-12).ln()
    }

    /// As [`Twin::answer`], with its slopes.
    ///
    /// # Errors
    /// A network that cannot be solved.
    pub fn slopes(&self, fault: &Fault, at: &[f64]) -> Result<Slopes, SolveError> {
        let wired = self.wired(fault, at);
        let flat = vec![0.0; wired.network.parts.len()];
        let s = Sensitivity::of(&wired.network, &self.grid, &wired.load, &flat)?;
        let count = self.deviations.len();
        let mut out = Slopes {
            answer: Answer { ln_z: Vec::new(), ln_p: Vec::new() },
            z_by: Vec::with_capacity(self.grid.len() * count),
            p_by: Vec::with_capacity(self.grid.len() * count),
        };
        for (f, omega) in self.grid.omega().enumerate() {
            let z = s.admittance[f].inv();
            let point = Point { wired: &wired, s: &s, f, omega };
            let (p, by) = point.slopes(self, z);
            let whole = z + at[LEADS];
            out.answer.ln_z.push(whole.ln() + at[GAIN]);
            out.answer.ln_p.push(self.ln_level(p, z) + at[LEVEL]);
            // The amplifier's own resistance takes its share of the voltage.
            let taken = self.output_ohm / (z * (z + self.output_ohm));
            let level = |(q, dp): (usize, &Complex64)| match q {
                LEADS => 0.0,
                _ => (dp / p + by.z[q] * taken).re,
            };
            out.p_by.extend(by.p.iter().enumerate().map(level));
            out.z_by.extend(by.z.into_iter().enumerate().map(|(q, dz)| match q {
                GAIN => Complex64::new(1.0, 0.0),
                _ => dz / whole,
            }));
        }
        Ok(out)
    }
}

impl Wired {
    /// Pressure at the seat per volt at either port at grid point `f`, Pa/V.
    fn heard(&self, f: usize) -> [Complex64; 2] {
        match &self.drivers {
            Drivers::Apart(ways, sign) => {
                [ways.woofer.pressure[f], ways.tweeter.pressure[f] * sign]
            }
            Drivers::Together(both) => both[f].0.heard,
        }
    }

    fn pressure(&self, f: usize, woofer: Complex64, tweeter: Complex64) -> Complex64 {
        let [low, high] = self.heard(f);
        woofer * low + tweeter * high
    }
}

/// `bought` with probes: one beside each driver, and where both share air one between each of the
/// first's nodes and each of the second's that are not the same.
fn probed(bought: &Network, shared: bool) -> Network {
    let mut network = bought.clone();
    let probe = Component::Resistor { ohm: PROBE_OHM };
    for port in &bought.ports {
        network.add(format!("probe of the {}", port.name), probe, port.nodes);
    }
    for (name, nodes, _) in across(bought).filter(|_| shared) {
        network.add(name, probe, nodes);
    }
    network
}

/// The admittances that are a current into either port per volt at the other: name, nodes, sign.
fn across(bought: &Network) -> impl Iterator<Item = (&'static str, [Node; 2], f64)> {
    let [first, second] = [0, 1].map(|port| bought.ports[port].nodes);
    let all = [
        ("probe of first and first", [first[0], second[0]], -1.0),
        ("probe of first and second", [first[0], second[1]], 1.0),
        ("probe of second and first", [first[1], second[0]], 1.0),
        ("probe of second and second", [first[1], second[1]], -1.0),
    ];
    all.into_iter().filter(|(_, nodes, _)| nodes[0] != nodes[1])
}
