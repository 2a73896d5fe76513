//! Units that are not made by our model: suspensions that creep, resistances and losses of parts
//! that scatter by themselves, a cavity of its own, leads, a gain, temperature and noise of the
//! fixture, faults as they happen (a part is really gone).

use num_complex::Complex64;
use slabtone::analysis::acoustics::Acoustics;
use slabtone::analysis::chance::Chance;
use slabtone::analysis::inspection::fault::Fault;
use slabtone::analysis::spread::filled;
use slabtone::circuit::load::Load;
use slabtone::circuit::network::{Component, Network};
use slabtone::circuit::solve::solve;
use slabtone::design::{Design, Side, Way};
use slabtone::grid::{Grid, Impedance, Spectrum};
use slabtone::model::driver::Driver;
use slabtone::model::fill::Fill;
use std::sync::Arc;

const COPPER: f64 = 0.00393;
const LEADS_OHM: f64 = 0.05;
const NOISE: f64 = 0.01;
const GAIN: f64 = 0.01;
const KELVIN: f64 = 5.0;
/// Sizes of leaks.
const LEAKS: usize = 6;
/// How much softer a suspension is a decade lower, as a share (Knudsen and Jensen 1993, *J. Audio
/// Eng. Soc.* 41, 3, from memory: 0.05 to 0.15).
const CREEP: f64 = 0.1;

/// What differs in one unit; all zero is nominal.
#[derive(Debug, Clone, Copy)]
pub struct Fate {
    pub chance: Chance,
    /// 1 for a real unit, 0 for a nominal one on a perfect fixture.
    pub size: f64,
    /// Which of the cavities.
    pub cavity: usize,
}

impl Fate {
    fn even(&self, place: u64, limit: f64) -> f64 {
        self.size * limit * (2.0 * self.chance.uniform(place) - 1.0)
    }

    fn normal(&self, place: u64, sigma: f64) -> f64 {
        self.size * sigma * self.chance.normal(place)
    }
}

/// A side to make units of.
pub struct Maker {
    pub grid: Arc<Grid>,
    pub network: Network,
    side: Side,
    tweeter_load: Vec<Complex64>,
    /// Load (Pa·s/m³) of cavities with their fill, and without it.
    cavities: Vec<[Vec<Complex64>; 2]>,
    /// Of nominal cavities with leaks from large to small.
    leaks: Vec<Vec<Complex64>>,
}

impl Maker {
    pub fn new(design: &Design, network: &Network, grid: &Arc<Grid>, cavities: usize) -> Self {
        let side = design.sides[0].clone();
        let mut deaf = design.clone();
        deaf.listeners.clear();
        let loads = |side: &Side| Acoustics::of(&deaf, side, grid).load.clone();
        let woofer_load = |side: &Side| loads(side).woofer.values().to_vec();
        let chance = Chance::of(77);
        let cavity = |k: usize| {
            let size = if k == 0 { 0.0 } else { 1.0 };
            let depth = 1.0 + size * 0.02 * (2.0 * chance.uniform(2 * k as u64) - 1.0);
            let fill = 1.0 + size * 0.15 * (2.0 * chance.uniform(2 * k as u64 + 1) - 1.0);
            let mut own = side.clone();
            own.cavity.depth_m *= depth;
            own.cavity.fill = filled(own.cavity.fill, fill);
            let filled = woofer_load(&own);
            own.cavity.fill = Fill::Empty;
            [filled, woofer_load(&own)]
        };
        let leak = |k: usize| {
            let mut leaky = side.clone();
            leaky.cavity.leak_ql = Some(leak_ql((k as f64 + 0.5) / LEAKS as f64));
            woofer_load(&leaky)
        };
        Self {
            grid: Arc::clone(grid),
            network: network.clone(),
            tweeter_load: loads(&side).tweeter.values().to_vec(),
            cavities: (0..cavities).map(cavity).collect(),
            leaks: (0..LEAKS).map(leak).collect(),
            side,
        }
    }

    /// ln Z of a unit with `fault` as the fixture reads it; `size` is how large a leak or a
    /// resistance is, 0 to 1.
    pub fn sweep(&self, fate: &Fate, fault: &Fault, size: f64) -> Vec<Complex64> {
        let warm = fate.even(0, KELVIN);
        let mut network = self.network.clone();
        for (k, part) in network.parts.iter_mut().enumerate() {
            let at = 10 + 3 * k as u64;
            let right = match *fault {
                Fault::Wrong { part, value, .. } if part == k => {
                    part_of(&part_at(&self.network, k), value)
                }
                Fault::Swapped(a, b) if a == k => part_at(&self.network, b),
                Fault::Swapped(a, b) if b == k => part_at(&self.network, a),
                _ => part.component,
            };
            let loss = right.loss_ohm() * (1.0 + fate.even(at + 1, 0.05) + COPPER * warm);
            part.component = right.with_value(right.value() * (1.0 + fate.even(at, 0.05)));
            part.component = part.component.with_loss(loss);
        }
        let drivers = &self.side.drivers;
        let woofer_load = self.woofer_load(fate, fault, size);
        let woofer = self.driver(&drivers.woofer.driver, &woofer_load, fate, 200, warm);
        let tweeter = self.driver(&drivers.tweeter.driver, &self.tweeter_load, fate, 210, warm);
        let gone = |way| *fault == Fault::DriverOpen(way);
        let ports =
            [(!gone(Way::Woofer)).then_some(&woofer), (!gone(Way::Tweeter)).then_some(&tweeter)];
        let z = self.input(&network, fault, &Load::diagonal(&self.grid, &ports));
        let cable = if *fault == Fault::Cable { 0.3 + 1.2 * size } else { 0.0 };
        let leads = fate.size * LEADS_OHM + cable;
        let gain = 1.0 + fate.normal(1, GAIN);
        let read = |(f, z): (usize, &Complex64)| {
            let noise = |part: u64| fate.normal(1000 + 2 * f as u64 + part, NOISE);
            ((z + leads) * gain).ln() + Complex64::new(noise(0), noise(1))
        };
        z.values().iter().enumerate().map(read).collect()
    }

    fn woofer_load(&self, fate: &Fate, fault: &Fault, size: f64) -> Vec<Complex64> {
        let [filled, empty] = &self.cavities[fate.cavity];
        match fault {
            Fault::Leak(_) => self.leaks[((size * LEAKS as f64) as usize).min(LEAKS - 1)].clone(),
            Fault::NoFill => empty.clone(),
            _ => filled.clone(),
        }
    }

    fn input(&self, network: &Network, fault: &Fault, load: &Load) -> Impedance {
        let (cut, rest) = match *fault {
            Fault::Open(k) => (network.without(k).pruned(), Some((k, 1e7))),
            Fault::Short(k) => (network.bridged(k), Some((k, 1e-3))),
            _ => (network.clone(), None),
        };
        let solved = solve(&cut, &self.grid, load).or_else(|e| {
            // A driver that nothing feeds any more is no network.
            let (k, ohm) = rest.ok_or(e)?;
            let mut other = network.clone();
            other.parts[k].component = Component::Resistor { ohm };
            solve(&other, &self.grid, load)
        });
        solved.expect("a network with one fault is solved").input_impedance()
    }

    fn driver(
        &self,
        driver: &Driver,
        load: &[Complex64],
        fate: &Fate,
        at: u64,
        warm: f64,
    ) -> Impedance {
        let m = &driver.motor;
        let factor = |k: u64, sigma| fate.normal(at + k, sigma).exp();
        let (mms, cms) = (m.mms_kg * factor(0, 0.03), m.cms_m_per_n * factor(1, 0.11));
        let (rms, bl) = (m.rms_kg_per_s * factor(2, 0.15), m.bl_t_m * factor(3, 0.025));
        let re = m.re_ohm * factor(4, 0.025) * (1.0 + COPPER * warm);
        let le = factor(5, 0.05);
        let ws = 1.0 / (m.mms_kg * m.cms_m_per_n).sqrt();
        let creep = CREEP * fate.size;
        let one = |(w, za): (f64, &Complex64)| {
            let jw = Complex64::new(0.0, w);
            let soft = cms * (1.0 - creep * (jw / ws).ln() / std::f64::consts::LN_10);
            let zm = rms + jw * mms + 1.0 / (jw * soft) + za * m.sd_m2 * m.sd_m2;
            re + driver.coil.impedance(w) * le + bl * bl / zm
        };
        Spectrum::from_values(&self.grid, self.grid.omega().zip(load).map(one).collect())
    }
}

/// From a hole that can be heard to one that can hardly be measured.
pub fn leak_ql(size: f64) -> f64 {
    0.7 * (6.0f64 / 0.7).powf(size)
}

fn part_at(network: &Network, k: usize) -> Component {
    network.parts[k].component
}

fn part_of(component: &Component, value: f64) -> Component {
    component.resized(value)
}
