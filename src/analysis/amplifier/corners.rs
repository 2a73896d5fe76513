//! Worst corners: every part at an end of its tolerance, electrolytic capacitors new and aged, coils
//! cold and hot.
//!
//! Which ends are worst follows from exact derivatives (the adjoint network): for the lowest
//! impedance at each frequency near it, for each part's stress where that is largest. Every such
//! corner is then solved exactly over the whole axis, and the lowest one improved by turning single
//! parts round until nothing lowers it any more. Not all 2ⁿ corners are tried: what is found is a
//! corner that is reached, and with few parts the worst (compared with all of them in the tests).

use super::stress::{Largest, Stress};
use crate::analysis::choice::Chosen;
use crate::analysis::terminals::Terminals;
use crate::circuit::load::Load;
use crate::circuit::network::{Component, Network};
use crate::circuit::sensitivity::Sensitivity;
use crate::circuit::solve::SolveError;
use crate::design::{Article, Rating, Ways};
use crate::grid::Grid;
use crate::model::heat;
use num_complex::Complex64;
use std::collections::BTreeSet;
use std::sync::Arc;

/// Tolerance of a part that no article states, %: usual classes (common practice, no source).
pub const USUAL_PERCENT: f64 = 5.0;
/// What a bipolar electrolytic loses of its capacitance in its life, %, and how its series
/// resistance grows (usual end-of-life limits; common practice, no source).
pub const AGED_LOSS_PERCENT: f64 = 20.0;
/// The growth of its series resistance.
pub const AGED_ESR: f64 = 2.0;
/// A coil of the crossover when hot, °C (common practice, no source).
pub const HOT_COIL_C: f64 = 60.0;
/// Corners are sought at frequencies where the impedance is within this of its lowest.
const NEAR_LOWEST: f64 = 1.3;

/// What a part may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leeway {
    /// Largest deviation of its value, as a share of it.
    pub tolerance: f64,
    /// Whether it ages as a bipolar electrolytic does.
    pub ages: bool,
    /// What it stands, where that is known.
    pub rating: Option<Rating>,
}

/// Leeways of the parts of `network`, as bought where they are.
pub fn leeways(network: &Network, chosen: &Chosen) -> Vec<Leeway> {
    let article_of = |reference: &str| -> Option<Arc<Article>> {
        chosen.parts.iter().find_map(|part| {
            let own = part.bought.iter().find(|(name, _)| name == reference);
            let whole = part.bought.first().filter(|_| part.reference == reference);
            own.or(whole).and_then(|(_, good)| good.article.clone())
        })
    };
    let leeway = |reference: &str| {
        let article = article_of(reference);
        let percent = article.as_ref().and_then(|a| a.tolerance_percent).unwrap_or(USUAL_PERCENT);
        Leeway {
            tolerance: percent / 100.0,
            ages: article.as_ref().is_some_and(|a| a.family.contains("electrolytic")),
            rating: article.as_ref().and_then(|a| a.rating),
        }
    };
    network.parts.iter().map(|part| leeway(&part.reference)).collect()
}

/// A part's stress, nominal and in its worst corner.
#[derive(Debug, Clone, PartialEq)]
pub struct Borne {
    /// Reference name.
    pub reference: String,
    /// V peak for a capacitor, A rms for a coil, both under the sine that clips; W for a resistor
    /// under the programme noise that just fits.
    pub nominal: f64,
    /// In the worst corner.
    pub worst: f64,
    /// What the article stands, in the same unit.
    pub rating: Option<f64>,
}

/// The worst of all corners.
#[derive(Debug, Clone, PartialEq)]
pub struct Corners {
    /// Lowest impedance with nominal parts, Ω.
    pub nominal: Largest,
    /// Lowest impedance of any corner, Ω.
    pub lowest: Largest,
    /// Parts at their upper and at their lower end there.
    pub ends: (Vec<String>, Vec<String>),
    /// Whether that is with aged capacitors, and with hot coils.
    pub state: State,
    /// Corners that were solved.
    pub tried: usize,
    /// The parts' stress.
    pub borne: Vec<Borne>,
}

/// Age and warmth of a corner.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct State {
    /// Electrolytic capacitors at the end of their life.
    pub aged: bool,
    /// Coils and voice coils hot.
    pub hot: bool,
}

/// What corners are sought for.
pub struct Case<'a> {
    /// The parts.
    pub network: &'a Network,
    /// What each of them may be.
    pub leeways: &'a [Leeway],
    /// The drivers as connected, cold.
    pub drivers: &'a Terminals,
    /// What the hot voice coils have more, Ω.
    pub added_ohm: Ways<f64>,
    /// Sine at the source, V rms.
    pub sine_v: f64,
    /// Mean square of the noise that each grid point stands for, V².
    pub noise_v2: &'a [f64],
}

/// Which end each part is at: up, or down.
type Ends = Vec<bool>;

impl Corners {
    /// Seeks them.
    ///
    /// # Errors
    /// What the solver finds wrong with the network.
    pub fn of(case: &Case<'_>) -> Result<Self, SolveError> {
        let grid = case.drivers.grid();
        let cold = case.load(State::default())?;
        let nominal = Stress::of(case.network, grid, &cold, case.sine_v, case.noise_v2)?;
        let mut worst = Self::start(case, &nominal);
        let mut lowest_ends = None;
        for state in case.states() {
            let load = case.load(state)?;
            for ends in case.candidates(grid, &cold, &nominal) {
                worst.take(case, &load, &ends, state, &mut lowest_ends)?;
            }
        }
        if let Some((ends, state)) = lowest_ends {
            worst.improve(case, ends, state)?;
        }
        Ok(worst)
    }

    fn start(case: &Case<'_>, nominal: &Stress) -> Self {
        let parts = case.network.parts.iter().zip(case.leeways).enumerate();
        let borne = parts.map(|(k, (part, leeway))| {
            let value = measure(&part.component, nominal, k);
            let rating = leeway.rating.map(|rating| match rating {
                Rating::PowerW(r) | Rating::CurrentA(r) | Rating::VoltageV(r) => r,
            });
            Borne { reference: part.reference.clone(), nominal: value, worst: value, rating }
        });
        Self {
            nominal: nominal.lowest,
            lowest: nominal.lowest,
            ends: (Vec::new(), Vec::new()),
            state: State::default(),
            tried: 0,
            borne: borne.collect(),
        }
    }

    fn take(
        &mut self,
        case: &Case<'_>,
        load: &Load,
        ends: &Ends,
        state: State,
        lowest_ends: &mut Option<(Ends, State)>,
    ) -> Result<(), SolveError> {
        let corner = case.corner(ends, state);
        let grid = case.drivers.grid();
        let stress = Stress::of(&corner, grid, load, case.sine_v, case.noise_v2)?;
        self.tried += 1;
        for (k, (borne, part)) in self.borne.iter_mut().zip(&corner.parts).enumerate() {
            borne.worst = borne.worst.max(measure(&part.component, &stress, k));
        }
        if stress.lowest.value < self.lowest.value || lowest_ends.is_none() {
            if stress.lowest.value < self.lowest.value {
                self.lowest = stress.lowest;
            }
            self.state = state;
            self.ends = case.named(ends);
            *lowest_ends = Some((ends.clone(), state));
        }
        Ok(())
    }

    /// Turns single parts round while that lowers the impedance.
    fn improve(&mut self, case: &Case<'_>, ends: Ends, state: State) -> Result<(), SolveError> {
        let load = case.load(state)?;
        let mut best = Some((ends, state));
        let mut found_lower = true;
        while found_lower {
            found_lower = false;
            for k in 0..case.leeways.len() {
                let Some((ends, _)) = &best else { break };
                let mut turned = ends.clone();
                turned[k] = !turned[k];
                let before = self.lowest.value;
                self.take(case, &load, &turned, state, &mut best)?;
                found_lower |= self.lowest.value < before * (1.0 - 1e-9);
            }
        }
        Ok(())
    }
}

/// What counts of a part: V peak, A rms or W.
fn measure(component: &Component, stress: &Stress, k: usize) -> f64 {
    match component {
        Component::Resistor { .. } => stress.noise_w[k],
        Component::Inductor { .. } => stress.amperes[k].value,
        Component::Capacitor { .. } => stress.volts_peak[k].value,
    }
}

impl Case<'_> {
    fn states(&self) -> Vec<State> {
        let ages = self.leeways.iter().any(|l| l.ages);
        let all = [(false, false), (false, true), (true, false), (true, true)];
        let states = all.map(|(aged, hot)| State { aged, hot });
        states.into_iter().filter(|state| ages || !state.aged).collect()
    }

    fn load(&self, state: State) -> Result<Load, SolveError> {
        let hot = self.added_ohm.map(|ohm| if state.hot { *ohm } else { 0.0 });
        self.drivers.with_added(&hot).load()
    }

    /// The network at these ends and in this state.
    fn corner(&self, ends: &Ends, state: State) -> Network {
        let mut corner = self.network.clone();
        for ((part, leeway), up) in corner.parts.iter_mut().zip(self.leeways).zip(ends) {
            let mut value = part.component.value();
            value *= if *up { 1.0 + leeway.tolerance } else { 1.0 - leeway.tolerance };
            let mut loss_ohm = part.component.loss_ohm();
            if state.aged && leeway.ages {
                value *= 1.0 - AGED_LOSS_PERCENT / 100.0;
                loss_ohm *= AGED_ESR;
            }
            if state.hot && matches!(part.component, Component::Inductor { .. }) {
                loss_ohm *= heat::copper_ratio(HOT_COIL_C);
            }
            part.component = part.component.with_value(value).with_loss(loss_ohm);
        }
        corner
    }

    fn named(&self, ends: &Ends) -> (Vec<String>, Vec<String>) {
        let parts = self.network.parts.iter().map(|p| p.reference.clone()).zip(ends);
        let (up, down): (Vec<_>, Vec<_>) = parts.partition(|(_, up)| **up);
        let names = |list: Vec<(String, &bool)>| list.into_iter().map(|(name, _)| name).collect();
        (names(up), names(down))
    }

    /// Corners worth solving: by the derivatives, and all parts of a kind to one side.
    fn candidates(&self, grid: &Arc<Grid>, load: &Load, nominal: &Stress) -> BTreeSet<Ends> {
        let kinds = ['R', 'L', 'C'];
        let mut found: BTreeSet<Ends> = (0..8)
            .map(|bits: usize| {
                let parts = self.network.parts.iter();
                let place = |c: &Component| kinds.iter().position(|k| *k == c.letter());
                parts.map(|p| bits >> place(&p.component).unwrap_or(0) & 1 == 1).collect()
            })
            .collect();
        // Coupled coils have no derivatives here: the corners by kind must do.
        if let Ok(slopes) = self.slopes(grid, load) {
            let hz = grid.frequency_hz();
            for f in 0..hz.len() {
                let y = slopes.admittance[f];
                if y.norm() * NEAR_LOWEST * nominal.lowest.value >= 1.0 {
                    let by = &slopes.admittance_by_part[f * slopes.parts..][..slopes.parts];
                    // |Z| falls where |Y| rises.
                    found.insert(by.iter().map(|d| (d / y).re > 0.0).collect());
                }
            }
            for k in 0..self.network.parts.len() {
                let at_hz = self.hardest_hz(nominal, k);
                let f = hz.partition_point(|g| *g < at_hz).min(hz.len() - 1);
                found.insert(self.hardest_ends(&slopes, f, k, std::f64::consts::TAU * hz[f]));
            }
        }
        found
    }

    fn hardest_hz(&self, nominal: &Stress, k: usize) -> f64 {
        match self.network.parts[k].component {
            Component::Capacitor { .. } => nominal.volts_peak[k].at_hz,
            _ => nominal.amperes[k].at_hz,
        }
    }

    /// The network's derivatives with a further open port across each part.
    fn slopes(&self, grid: &Arc<Grid>, load: &Load) -> Result<Sensitivity, SolveError> {
        let mut probed = self.network.clone();
        for part in &self.network.parts {
            probed.add_port(format!("across {}", part.reference), part.nodes);
        }
        let ports = probed.ports.len();
        let wide = load.widened(grid, ports);
        Sensitivity::of(&probed, grid, &wide, &vec![0.0; self.network.parts.len()])
    }

    /// The ends that raise the stress of part `k` most at grid point `f`.
    fn hardest_ends(&self, slopes: &Sensitivity, f: usize, k: usize, omega: f64) -> Ends {
        let port = f * slopes.ports + self.network.ports.len() + k;
        let across = slopes.voltage[port];
        let component = self.network.parts[k].component;
        // Of ln|I| = ln|V| − ln|z| the part's own value takes a share of z.
        let own = match component {
            Component::Resistor { .. } => 0.5,
            Component::Inductor { henry, .. } => {
                (Complex64::new(0.0, omega * henry) / component.impedance(omega)).re
            }
            Component::Capacitor { .. } => 0.0,
        };
        let rises = |other: usize| {
            let by_part = slopes.by_part[port * slopes.parts + other];
            let slope = if across.norm() > 0.0 { (by_part / across).re } else { 0.0 };
            slope - if other == k { own } else { 0.0 } > 0.0
        };
        (0..slopes.parts).map(rises).collect()
    }
}
