//! One side of a panel: drivers in their loads, paths to the seats, and the response through any
//! network.
//!
//! What does not depend on the network is computed once ([`SideModel::new`]); a change of network
//! costs one nodal sweep ([`SideModel::through`]).

use super::acoustics::Acoustics;
use super::deviation::Deviation;
use super::hearing::Way;
use super::in_loads::InLoads;
use super::synthesis::{TWEETER, WOOFER};
use super::terminals::{Follows, Terminals};
use crate::circuit::flows::Flows;
use crate::circuit::ladder::Polarity;
use crate::circuit::load::Load;
use crate::circuit::network::{Component, Network, Node};
use crate::circuit::solve::{self, SolveError};
use crate::design::{AMP_HOT, AMP_RETURN, Design, PolarityRule, Side, Ways};
use crate::grid::{Grid, Impedance, Pressure, Sensitivity, Spectrum, Transfer};
use crate::model::driver::REFERENCE_PRESSURE_PA;
use crate::model::place::Point;
use crate::signal::curve::CurveError;
use num_complex::Complex64;
use std::sync::Arc;

/// The parts of a side that no crossover changes.
#[derive(Debug, Clone)]
pub struct SideModel {
    grid: Arc<Grid>,
    c_m_per_s: f64,
    drive_v: f64,
    at_hz: f64,
    /// What panel and room do, whatever the network.
    pub acoustics: Arc<Acoustics>,
    /// Electrical impedances of the drivers in their loads, Ω.
    pub impedance: Terminals,
    /// Cone displacement per volt at the terminals, m/V (rms over rms).
    displacement: Ways<Vec<f64>>,
    /// How each cone answers the other driver, where they share air.
    follows: Option<Follows>,
    seats: Vec<Seat>,
    /// The amplifier's output as a network with one port; `None` for a stiff source.
    source: Option<Network>,
}

/// A seat and how loud a volt at each driver is there, the other's terminals shorted.
#[derive(Debug, Clone)]
struct Seat {
    name: String,
    weight: f64,
    travel_m: f64,
    distance_m: Ways<f64>,
    sensitivity: Ways<Sensitivity>,
}

/// A side through its network.
#[derive(Debug, Clone)]
pub struct SideResponse {
    /// Polarity of the tweeter in the sums.
    pub polarity: Polarity,
    /// Impedance at the amplifier's terminals, without its own output resistance, Ω.
    pub impedance: Impedance,
    /// Voltage across each driver per volt of the source; polarity is not applied.
    pub voltage: Ways<Transfer>,
    /// At each seat.
    pub seats: Vec<SeatResponse>,
}

/// What arrives at a seat.
#[derive(Debug, Clone)]
pub struct SeatResponse {
    /// The listener's name.
    pub name: String,
    /// Weight in averages.
    pub weight: f64,
    /// From the panel's origin to the ear, m.
    pub travel_m: f64,
    /// From each driver's acoustic centre to the ear, m.
    pub distance_m: Ways<f64>,
    /// The woofer alone, Pa.
    pub woofer: Pressure,
    /// The tweeter alone, polarity applied, Pa.
    pub tweeter: Pressure,
    /// Both, Pa.
    pub sum: Pressure,
    /// Both with the tweeter the other way, Pa.
    pub inverted: Pressure,
    c_m_per_s: f64,
}

impl SeatResponse {
    /// Level of a pressure at this seat, dB re 20 µPa.
    pub fn level_db(pressure: &Pressure) -> Vec<f64> {
        pressure.level_db(REFERENCE_PRESSURE_PA)
    }

    /// `pressure` with the travel from the panel's origin to this seat taken out.
    pub fn excess(&self, pressure: &Pressure) -> Pressure {
        pressure.without_travel(self.travel_m, self.c_m_per_s)
    }

    /// How deep the ways cancel with the tweeter the other way, dB: level of the inverted sum
    /// under that of the sum (about −6 − phase agreement; strongly negative where they agree).
    pub fn agreement_db(&self) -> Vec<f64> {
        let pairs = self.inverted.values().iter().zip(self.sum.values());
        pairs.map(|(inverted, sum)| crate::grid::level_db(inverted.norm(), sum.norm())).collect()
    }
}

impl SideModel {
    /// Drivers of `side` in their acoustic loads and their paths to the design's listeners.
    ///
    /// # Errors
    /// A measured curve that cannot be interpolated.
    pub fn new(design: &Design, side: &Side, grid: &Arc<Grid>) -> Result<Self, CurveError> {
        let air = &design.air;
        let acoustics = Acoustics::of(design, side, grid);
        let in_loads = InLoads::of(side, &acoustics, grid);
        let drivers = &in_loads.drivers;
        let free = side.drivers.map(|m| m.driver.respond(grid, None));
        let origin = Point::default();
        let mut seats = Vec::with_capacity(design.listeners.len());
        for (listener, ear) in design.listeners.iter().zip(&acoustics.ears) {
            let ways = Ways {
                woofer: Way::of(&side.drivers.woofer, &drivers.woofer, &free.woofer),
                tweeter: Way::of(&side.drivers.tweeter, &drivers.tweeter, &free.tweeter),
            };
            let panel = |pick: fn(&Ways<Transfer>) -> &Transfer| {
                ear.paths.iter().map(move |p| (p.place, p.strength, pick(&p.panel)))
            };
            seats.push(Seat {
                name: listener.name.clone(),
                weight: listener.weight,
                travel_m: origin.distance_m(&listener.place),
                distance_m: side.drivers.map(|m| m.acoustic_centre().distance_m(&listener.place)),
                sensitivity: in_loads.heard(Ways {
                    woofer: ways.woofer.heard(
                        &acoustics.front.woofer,
                        panel(|w| &w.woofer),
                        air,
                    )?,
                    tweeter: ways.tweeter.heard(
                        &acoustics.front.tweeter,
                        panel(|w| &w.tweeter),
                        air,
                    )?,
                }),
            });
        }
        Ok(Self {
            grid: Arc::clone(grid),
            c_m_per_s: air.c_m_per_s,
            drive_v: design.drive_v,
            at_hz: design.crossover.at_hz,
            seats,
            displacement: in_loads.displacements(side),
            impedance: in_loads.terminals(side)?,
            follows: in_loads.follows,
            source: source_network(design.amplifier.output_ohm),
            acoustics,
        })
    }

    /// The side's response through `network` (ports: woofer, tweeter), the tweeter connected as
    /// `polarity` says.
    ///
    /// # Errors
    /// What the solver finds wrong with the network.
    pub fn through(
        &self,
        network: &Network,
        polarity: PolarityRule,
    ) -> Result<SideResponse, SolveError> {
        let normal = self.delivered(network, &self.impedance)?;
        // Drivers that share no air do not feel how the other is connected.
        let shared = self.impedance.mutual.is_some();
        let turned = || self.delivered(network, &self.impedance.connected(Polarity::Inverted));
        let inverted = shared.then(turned).transpose()?;
        let at = |polarity: Polarity| -> Vec<SeatResponse> {
            let turned = inverted.as_ref().unwrap_or(&normal);
            let (own, other) = match polarity {
                Polarity::Normal => (&normal.1, &turned.1),
                Polarity::Inverted => (&turned.1, &normal.1),
            };
            let other = shared.then_some(other);
            self.seats.iter().map(|seat| self.at_seat(seat, own, other, polarity)).collect()
        };
        let polarity = match polarity {
            PolarityRule::Fixed(polarity) => polarity,
            PolarityRule::Best => self.better_polarity(&at(Polarity::Normal)),
        };
        let seats = at(polarity);
        let (impedance, voltage) = match polarity {
            Polarity::Normal => normal,
            Polarity::Inverted => inverted.unwrap_or(normal),
        };
        Ok(SideResponse { polarity, impedance, voltage, seats })
    }

    /// Impedance at the amplifier's terminals (Ω), and voltage across each port per volt of the
    /// source, with `drivers` on the ports of `network`.
    ///
    /// # Errors
    /// What the solver finds wrong with the network.
    pub(super) fn delivered(
        &self,
        network: &Network,
        drivers: &Terminals,
    ) -> Result<(Impedance, Ways<Transfer>), SolveError> {
        let solution = solve::solve(network, &self.grid, &drivers.load()?)?;
        let impedance = solution.input_impedance();
        let at_port = |port: usize| solution.between(network.ports[port].nodes);
        let at_terminals = Ways { woofer: at_port(WOOFER), tweeter: at_port(TWEETER) };
        let Some(source) = &self.source else { return Ok((impedance, at_terminals)) };
        let load = Load::diagonal(&self.grid, &[Some(&impedance)]);
        let terminals = solve::solve(source, &self.grid, &load)?.between(source.ports[0].nodes);
        Ok((impedance, at_terminals.map(|v| terminals.then(v))))
    }

    /// What passes through every part of `network` and both drivers, per volt of the source, the
    /// tweeter connected as `polarity` says.
    ///
    /// # Errors
    /// What the solver finds wrong with the network.
    pub fn flows(&self, network: &Network, polarity: Polarity) -> Result<Flows, SolveError> {
        Flows::of(network, &self.grid, &self.impedance.connected(polarity).load()?)
    }

    /// Weight of each seat, and the pressure there per volt at each driver's terminals, the other's
    /// shorted.
    pub fn seats(&self) -> impl Iterator<Item = (f64, &Ways<Sensitivity>)> {
        self.seats.iter().map(|seat| (seat.weight, &seat.sensitivity))
    }

    /// Peak one-way excursion of each cone for `source_v` rms at the source, m, with `voltage` across
    /// the ports and the tweeter connected as `polarity` says.
    pub fn excursion_m(
        &self,
        voltage: &Ways<Transfer>,
        polarity: Polarity,
        source_v: f64,
    ) -> Ways<Vec<f64>> {
        let moving = self.follows.as_ref().map(|follows| follows.voltage(voltage, polarity));
        self.alone_m(moving.as_ref().unwrap_or(voltage), source_v)
    }

    /// The same of each cone by the voltage at its own terminals, the other driver's shorted.
    pub fn alone_m(&self, voltage: &Ways<Transfer>, source_v: f64) -> Ways<Vec<f64>> {
        let peak = |per_volt: &[f64], transfer: &Transfer| {
            let pairs = per_volt.iter().zip(transfer.values());
            pairs.map(|(x, h)| x * h.norm() * source_v * std::f64::consts::SQRT_2).collect()
        };
        Ways {
            woofer: peak(&self.displacement.woofer, &voltage.woofer),
            tweeter: peak(&self.displacement.tweeter, &voltage.tweeter),
        }
    }

    /// What arrives at a seat with the tweeter connected as `polarity` says and `own` across the
    /// ports; `other` is across them with it the other way, where that differs.
    fn at_seat(
        &self,
        seat: &Seat,
        own: &Ways<Transfer>,
        other: Option<&Ways<Transfer>>,
        polarity: Polarity,
    ) -> SeatResponse {
        let driven = |voltage: &Ways<Transfer>| Ways {
            woofer: seat.sensitivity.woofer.driven(&voltage.woofer, self.drive_v),
            tweeter: seat.sensitivity.tweeter.driven(&voltage.tweeter, self.drive_v),
        };
        let (here, turned) = (driven(own), other.map(driven));
        let turned = turned.as_ref().unwrap_or(&here);
        let sign = polarity.sign();
        SeatResponse {
            name: seat.name.clone(),
            weight: seat.weight,
            travel_m: seat.travel_m,
            distance_m: seat.distance_m,
            sum: here.woofer.plus(&here.tweeter, sign),
            inverted: turned.woofer.plus(&turned.tweeter, -sign),
            tweeter: here.tweeter.map(|_, p| p * sign),
            woofer: here.woofer,
            c_m_per_s: self.c_m_per_s,
        }
    }

    /// The polarity in which the ways add up more: higher mean level (dB, weighted over the seats)
    /// in the octave centred on the crossover. Where that is a draw within 0.25 dB, the one whose
    /// sum deviates less over the two octaves around it; normal where both are equal.
    fn better_polarity(&self, seats: &[SeatResponse]) -> Polarity {
        const DRAW_DB: f64 = 0.25;
        let weight: f64 = seats.iter().map(|s| s.weight).sum();
        let score = |octaves: f64, of: fn(&Deviation) -> f64, inverted: bool| -> f64 {
            let half = 2f64.powf(0.5 * octaves);
            let one = |seat: &SeatResponse| {
                let level =
                    SeatResponse::level_db(if inverted { &seat.inverted } else { &seat.sum });
                let band = (self.at_hz / half, self.at_hz * half);
                let deviation = Deviation::of(&self.grid, &level, band.0, band.1);
                deviation.map_or(0.0, |d| seat.weight * of(&d))
            };
            seats.iter().map(one).sum::<f64>() / weight
        };
        let louder = score(1.0, |d| d.mean_db, true) - score(1.0, |d| d.mean_db, false);
        let rougher =
            score(2.0, |d| d.rms_db.powi(2), true) - score(2.0, |d| d.rms_db.powi(2), false);
        let inverted = if louder.abs() > DRAW_DB { louder > 0.0 } else { rougher < 0.0 };
        if inverted { Polarity::Inverted } else { Polarity::Normal }
    }
}

/// The amplifier's output resistance between its stiff source and its terminals.
pub fn source_network(output_ohm: f64) -> Option<Network> {
    (output_ohm > 0.0).then(|| {
        let mut source = Network::new("source", AMP_RETURN);
        let terminal = source.node(AMP_HOT);
        let component = Component::Resistor { ohm: output_ohm };
        source.add("output", component, [Node::INPUT, terminal]);
        source.add_port("terminals", [terminal, Node::RETURN]);
        source
    })
}

/// Resistance that the woofer sees looking back into `network` and the amplifier at `at_hz`, Ω:
/// the real part of Thévenin's impedance, from the port's voltage open and loaded.
///
/// # Errors
/// What the solver finds wrong with the network.
pub fn woofer_source_ohm(
    network: &Network,
    output_ohm: f64,
    tweeter: &crate::model::driver::Driver,
    at_hz: f64,
) -> Result<f64, SolveError> {
    const PROBE_OHM: f64 = 8.0;
    let Ok(grid) = Grid::from_points(vec![at_hz]) else { return Ok(output_ohm) };
    let mut whole = network.clone();
    if output_ohm > 0.0 {
        prepend_source(&mut whole, output_ohm);
    }
    let tweeter = tweeter.respond(&grid, None).impedance;
    let probe: Impedance = Spectrum::from_fn(&grid, |_| Complex64::new(PROBE_OHM, 0.0));
    let at_woofer = |woofer: Option<&Impedance>| -> Result<Complex64, SolveError> {
        let load = Load::diagonal(&grid, &[woofer, Some(&tweeter)]);
        let solution = solve::solve(&whole, &grid, &load)?;
        Ok(solution.between(whole.ports[WOOFER].nodes).values()[0])
    };
    let (open, loaded) = (at_woofer(None)?, at_woofer(Some(&probe))?);
    Ok((PROBE_OHM * (open / loaded - 1.0)).re)
}

/// Puts a resistor between the source and what was the network's input, as its last part.
pub fn prepend_source(network: &mut Network, output_ohm: f64) {
    let terminal = network.node("source-side of the output");
    let swap = |node: Node| if node == Node::INPUT { terminal } else { node };
    for part in &mut network.parts {
        part.nodes = part.nodes.map(swap);
    }
    for port in &mut network.ports {
        port.nodes = port.nodes.map(swap);
    }
    network.add("output", Component::Resistor { ohm: output_ohm }, [Node::INPUT, terminal]);
}
