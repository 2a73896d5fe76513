//! How hot the voice coils get, and what that does to level and bass.
//!
//! A coil of Re + ΔR at a port of the network takes the current I/(1 + k ΔR), I being the cold one:
//! exact for any linear network, k from two solutions (Thévenin). Level goes with current. Each
//! coil is taken alone, the other one cold. Surroundings of 20 °C.

use super::cone_load::ConeLoad;
use super::finding::Finding;
use super::side::{SideModel, SideResponse};
use super::terminals::Terminals;
use crate::circuit::network::Network;
use crate::circuit::solve::SolveError;
use crate::design::{Amplifier, Design, Side, Way, Ways};
use crate::grid::Transfer;
use crate::model::closed_box::Alignment;
use crate::model::driver::Motor;
use crate::model::heat::{self, COPPER_PER_K, HeatPath, STATED_AT_C, USUAL_LIMIT_C};
use crate::signal::programme::Programme;
use num_complex::Complex64;

/// When the first of the two temperatures is told, s.
pub const MINUTE_S: f64 = 60.0;

/// A coil at some time under a signal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Warm {
    /// Temperature in surroundings of 20 °C, °C.
    pub coil_c: f64,
    /// Heat it then takes, W.
    pub power_w: f64,
    /// Its resistance, Ω.
    pub re_ohm: f64,
    /// Level against the cold coil, dB (power compression; at most 0 where Z is near Re).
    pub level_db: f64,
}

/// A coil under a steady signal from the amplifier's rated power.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Soak {
    /// After a minute: the coil has settled, the magnet hardly.
    pub minute: Warm,
    /// When all has settled.
    pub settled: Warm,
}

/// A driver's heat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heating {
    /// The way of the heat.
    pub path: HeatPath,
    /// Frequency at which a sine heats the coil most, Hz.
    pub sine_hz: f64,
    /// Under that sine at the amplifier's rated voltage.
    pub sine: Soak,
    /// Under programme noise of the rated power.
    pub noise: Soak,
    /// Qes with the coil settled under the noise.
    pub qes: f64,
    /// The woofer in its cavity with the coil settled under the noise.
    pub alignment: Option<Alignment>,
}

/// Both drivers' heat; `None` where a driver's thermal resistance is not known. `source_ohm` (Ω)
/// is what the woofer sees looking back.
///
/// # Errors
/// What the solver finds wrong with the network.
pub fn of(
    design: &Design,
    side: &Side,
    model: &SideModel,
    network: &Network,
    response: &SideResponse,
    source_ohm: f64,
) -> Result<Ways<Option<Heating>>, SolveError> {
    let mut both: Ways<Option<Heating>> = Ways::default();
    for way in Way::BOTH {
        let driver = &side.drivers.of(way).driver;
        let Some(path) = HeatPath::of(&driver.limits) else { continue };
        let coil = Coil::of(driver.motor.re_ohm, way, model, network, response)?;
        *both.of_mut(way) = coil.heating(&design.amplifier, path, &driver.motor, response);
    }
    if let Some(woofer) = &mut both.woofer {
        let motor = heat::hot(&side.drivers.woofer.driver.motor, woofer.noise.settled.rise_k());
        let rear = ConeLoad::of(design, side);
        woofer.alignment = Some(Alignment::of(&motor, |w| rear.at(w), source_ohm));
    }
    Ok(both)
}

impl Warm {
    /// Above the surroundings, K.
    pub fn rise_k(&self) -> f64 {
        self.coil_c - STATED_AT_C
    }
}

/// Current in a coil per volt of the source, cold, and what added resistance does to it.
struct Coil {
    re_ohm: f64,
    cold: Vec<Complex64>,
    /// k in I/(1 + k ΔR), 1/Ω.
    per_ohm: Vec<Complex64>,
}

impl Coil {
    fn of(
        re_ohm: f64,
        way: Way,
        model: &SideModel,
        network: &Network,
        response: &SideResponse,
    ) -> Result<Self, SolveError> {
        let added_ohm = 0.5 * re_ohm;
        let drivers = model.impedance.connected(response.polarity);
        let mut added = Ways::default();
        *added.of_mut(way) = added_ohm;
        let hot = drivers.with_added(&added);
        let (_, hot_v) = model.delivered(network, &hot)?;
        let current = |drivers: &Terminals, voltage: &Ways<Transfer>| -> Vec<Complex64> {
            std::mem::take(drivers.currents(voltage).of_mut(way))
        };
        let cold = current(&drivers, &response.voltage);
        let warm = current(&hot, &hot_v);
        let per_ohm = cold.iter().zip(&warm).map(|(cold, warm)| {
            if warm.norm() > 0.0 { (cold / warm - 1.0) / added_ohm } else { Complex64::default() }
        });
        Ok(Self { re_ohm, per_ohm: per_ohm.collect(), cold })
    }

    fn heating(
        &self,
        amplifier: &Amplifier,
        path: HeatPath,
        motor: &Motor,
        response: &SideResponse,
    ) -> Option<Heating> {
        let (grid, square) = (response.impedance.grid(), amplifier.rated_v().powi(2));
        let cut_hz = amplifier.cut_below_hz.unwrap_or(0.0);
        let hotter =
            |&a: &usize, &b: &usize| self.cold[a].norm_sqr().total_cmp(&self.cold[b].norm_sqr());
        let worst = grid.within(cut_hz, f64::INFINITY).max_by(hotter)?;
        let mut sine = vec![0.0; grid.len()];
        sine[worst] = square;
        let shares = Programme::iec_60268_1().shares(grid, cut_hz);
        let noise: Vec<f64> = shares.into_iter().map(|s| s * square).collect();
        let noise = self.soak(&path, &noise);
        Some(Heating {
            path,
            sine_hz: grid.frequency_hz()[worst],
            sine: self.soak(&path, &sine),
            qes: heat::hot(motor, noise.settled.rise_k()).qes(),
            noise,
            alignment: None,
        })
    }

    /// The coil under a signal of `square_v2` mean-square volts at each grid point.
    fn soak(&self, path: &HeatPath, square_v2: &[f64]) -> Soak {
        Soak {
            minute: self.warm(path.after_k_per_w(MINUTE_S), square_v2),
            settled: self.warm(path.total_k_per_w(), square_v2),
        }
    }

    fn warm(&self, k_per_w: f64, square_v2: &[f64]) -> Warm {
        let re_ohm = |rise_k: f64| self.re_ohm * (1.0 + COPPER_PER_K * rise_k);
        let current = |rise_k: f64| self.square_a2(re_ohm(rise_k) - self.re_ohm, square_v2);
        let power_w = |rise_k: f64| current(rise_k) * re_ohm(rise_k);
        let steady = heat::settled_rise_k(k_per_w, power_w);
        // A coil that gets nothing loses nothing.
        let cold = current(0.0);
        let level_db = if cold > 0.0 { 10.0 * (current(steady) / cold).log10() } else { 0.0 };
        Warm {
            coil_c: STATED_AT_C + steady,
            power_w: power_w(steady),
            re_ohm: re_ohm(steady),
            level_db,
        }
    }

    /// Mean-square current with `added_ohm` (Ω) on the coil, A².
    fn square_a2(&self, added_ohm: f64, square_v2: &[f64]) -> f64 {
        let each = self.cold.iter().zip(&self.per_ohm).zip(square_v2);
        let driven = each.filter(|(_, v2)| **v2 > 0.0);
        driven.map(|((i, k), v2)| v2 * (i / (1.0 + k * added_ohm)).norm_sqr()).sum()
    }
}

/// What the coils ask care for.
pub fn findings(side: &Side, heating: &Ways<Option<Heating>>) -> Vec<Finding> {
    let mut findings = Vec::new();
    for way in Way::BOTH {
        let subject = format!("{} {}", side.name, way.word());
        let Some(heating) = heating.of(way) else {
            findings.push(Finding::note(
                subject,
                "the driver file has no thermal_resistance_k_per_w: how hot the coil gets, and how much quieter then, is unknown",
            ));
            continue;
        };
        let hottest = heating.noise.settled;
        let open = "a closed slab with foam lets less heat out than the driver's own figure: take these as lower bounds";
        findings.push(if hottest.coil_c > USUAL_LIMIT_C {
            Finding::caution(
                subject,
                format!(
                    "its coil settles at {:.0} °C under programme noise of the amplifier's rated power, above the {USUAL_LIMIT_C:.0} °C that coils usually stand (common practice, no source); {open}",
                    hottest.coil_c
                ),
            )
        } else {
            Finding::note(
                subject,
                format!(
                    "its coil settles at {:.0} °C under programme noise of the amplifier's rated power; {open}",
                    hottest.coil_c
                ),
            )
        });
    }
    findings
}
