//! Slopes of what a side shows at one frequency, from the adjoint network.

use super::pair::Pair;
use super::way::{Moved, OF_WAY};
use super::{Drivers, KELVIN, LEADS, LEVEL, OF_DRIVERS, OF_SWEEP, PROBE_OHM, Twin, Wired, across};
use crate::circuit::network::Component;
use crate::circuit::sensitivity::Sensitivity;
use crate::design::Ways;
use crate::model::heat::COPPER_PER_K;
use num_complex::Complex64;

/// One frequency of a solved side.
pub(super) struct Point<'a> {
    pub(super) wired: &'a Wired,
    pub(super) s: &'a Sensitivity,
    pub(super) f: usize,
    pub(super) omega: f64,
}

/// Slopes of impedance (Ω) and pressure (Pa/V) by each quantity.
pub(super) struct By {
    pub(super) z: Vec<Complex64>,
    pub(super) p: Vec<Complex64>,
}

impl Point<'_> {
    /// By ln(value) of part `k`: input current (S) and pressure.
    fn by_part(&self, k: usize) -> (Complex64, Complex64) {
        let (s, f) = (self.s, self.f);
        let heard = |p: usize| s.by_part[(f * s.ports + p) * s.parts + k] * self.heard(p);
        (s.admittance_by_part[f * s.parts + k], heard(0) + heard(1))
    }

    fn volts(&self, port: usize) -> Complex64 {
        self.s.voltage[self.f * self.s.ports + port]
    }

    fn heard(&self, port: usize) -> Complex64 {
        self.wired.heard(self.f)[port]
    }

    /// Pressure and slopes at the input impedance `z` (Ω).
    pub(super) fn slopes(&self, twin: &Twin, z: Complex64) -> (Complex64, By) {
        let n = twin.own_parts;
        let pressure = self.volts(0) * self.heard(0) + self.volts(1) * self.heard(1);
        let none = vec![Complex64::default(); twin.deviations.len()];
        let mut by = By { z: none.clone(), p: none };
        by.z[LEADS] = Complex64::new(1.0, 0.0);
        by.p[LEVEL] = pressure;
        for k in 0..n {
            let (current, p) = self.by_part(k);
            (by.z[OF_SWEEP + k], by.p[OF_SWEEP + k]) = (-current * z * z, p);
            if let Component::Inductor { henry, dcr_ohm } = self.wired.network.parts[k].component {
                let share = COPPER_PER_K * dcr_ohm / Complex64::new(0.0, self.omega * henry);
                by.z[KELVIN] -= current * z * z * share;
                by.p[KELVIN] += p * share;
            }
        }
        let quantity = |q: usize| if q == OF_DRIVERS - 1 { KELVIN } else { OF_SWEEP + n + q };
        match &self.wired.drivers {
            Drivers::Together(both) => {
                for (q, slope) in both[self.f].1.iter().enumerate() {
                    self.by_pair(twin, n, z, slope, quantity(q), &mut by);
                }
            }
            Drivers::Apart(ways, _) => self.by_each(twin, n, z, ways, &mut by),
        }
        (pressure, by)
    }

    fn by_each(&self, twin: &Twin, n: usize, z: Complex64, ways: &Ways<Moved>, by: &mut By) {
        for (port, way) in [&ways.woofer, &ways.tweeter].iter().enumerate() {
            let first = OF_SWEEP + n + 6 * port;
            let load = way.by[self.f][OF_WAY - 1];
            for e in 0..6 {
                self.by_driver(port, n, z, way.by[self.f][e], way.z[self.f], first + e, by);
            }
            self.by_driver(port, n, z, way.by[self.f][6], way.z[self.f], KELVIN, by);
            if port == 0 {
                let at = OF_SWEEP + n + 12;
                let slopes = [&twin.depth_slope, &twin.fill_slope];
                for (q, slope) in slopes.iter().enumerate() {
                    let slope = slope[self.f].own[0];
                    let moved = (load.0 * slope, load.1 * slope);
                    self.by_driver(port, n, z, moved, way.z[self.f], at + q, by);
                }
            }
        }
    }

    /// Adds what `slope` of both drivers in one air does, to quantity `q`.
    fn by_pair(&self, twin: &Twin, n: usize, z: Complex64, slope: &Pair, q: usize, by: &mut By) {
        let own = [(n, slope.y[0]), (n + 1, slope.y[1])];
        let across = across(&twin.network).enumerate();
        let across = across.map(|(k, (_, _, sign))| (n + 2 + k, slope.y[2] * sign));
        for (probe, siemens) in own.into_iter().chain(across) {
            let (current, p) = self.by_part(probe);
            by.z[q] += current * PROBE_OHM * siemens * z * z;
            by.p[q] -= p * PROBE_OHM * siemens;
        }
        by.p[q] += self.volts(0) * slope.heard[0] + self.volts(1) * slope.heard[1];
    }

    /// Adds what `moved` (impedance in Ω, ln velocity) of the driver on `port` does, to quantity
    /// `q`. By the admittance beside the driver is −R times by ln R of its probe.
    #[allow(clippy::too_many_arguments)]
    fn by_driver(
        &self,
        port: usize,
        n: usize,
        z: Complex64,
        moved: (Complex64, Complex64),
        driver: Complex64,
        q: usize,
        by: &mut By,
    ) {
        let (current, p) = self.by_part(n + port);
        let siemens = -moved.0 / (driver * driver);
        by.z[q] += current * PROBE_OHM * siemens * z * z;
        by.p[q] += self.volts(port) * self.heard(port) * moved.1 - p * PROBE_OHM * siemens;
    }
}
