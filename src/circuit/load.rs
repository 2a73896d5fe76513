//! What a network feeds: an N-port impedance matrix per frequency. Usually diagonal, one driver a
//! port; two drivers that share air are not.

use super::linear::{self, Singular};
use crate::grid::{Grid, Impedance};
use num_complex::Complex64;
use std::sync::Arc;

/// An N-port load on a grid, kept as admittance so that an unplugged port is simply zero.
#[derive(Debug, Clone)]
pub struct Load {
    ports: usize,
    /// `ports`×`ports` siemens per frequency, row-major.
    admittance: Vec<Complex64>,
}

impl Load {
    /// One impedance a port; `None` leaves the port open (a driver unplugged).
    ///
    /// # Panics
    /// If an impedance lives on another grid than `grid`: a programming error.
    pub fn diagonal(grid: &Arc<Grid>, ports: &[Option<&Impedance>]) -> Self {
        let n = ports.len();
        let mut admittance = vec![Complex64::default(); grid.len() * n * n];
        for (port, impedance) in ports.iter().enumerate() {
            let Some(impedance) = impedance else { continue };
            assert_eq!(impedance.values().len(), grid.len(), "one grid for load and network");
            for (f, z) in impedance.values().iter().enumerate() {
                admittance[(f * n + port) * n + port] = z.inv();
            }
        }
        Self { ports: n, admittance }
    }

    /// A full impedance matrix per frequency: `ohm` holds `ports`×`ports` values (Ω, row-major)
    /// for each point of the grid in turn.
    ///
    /// # Errors
    /// A matrix that has no inverse, with the index of the frequency.
    ///
    /// # Panics
    /// If the number of values does not fit the grid: a programming error.
    pub fn coupled(
        grid: &Grid,
        ports: usize,
        ohm: &[Complex64],
    ) -> Result<Self, (usize, Singular)> {
        assert_eq!(ohm.len(), grid.len() * ports * ports, "one matrix per frequency");
        let mut admittance = Vec::with_capacity(ohm.len());
        for (f, matrix) in ohm.chunks_exact(ports * ports).enumerate() {
            let inverse = linear::inverse(matrix.to_vec(), ports).map_err(|s| (f, s))?;
            admittance.extend(inverse);
        }
        Ok(Self { ports, admittance })
    }

    /// A full admittance matrix per frequency: `siemens` holds `ports`×`ports` values (row-major) for
    /// each point of the grid in turn.
    ///
    /// # Panics
    /// If the number of values does not fit the grid: a programming error.
    pub fn admittances(grid: &Grid, ports: usize, siemens: Vec<Complex64>) -> Self {
        assert_eq!(siemens.len(), grid.len() * ports * ports, "one matrix per frequency");
        Self { ports, admittance: siemens }
    }

    /// The same load with further ports, which are open, up to `ports` of them in all.
    pub fn widened(&self, grid: &Grid, ports: usize) -> Self {
        let (old, new) = (self.ports, ports.max(self.ports));
        let mut admittance = vec![Complex64::default(); grid.len() * new * new];
        for f in 0..grid.len() {
            for row in 0..old {
                let from = (f * old + row) * old;
                let to = (f * new + row) * new;
                admittance[to..to + old].copy_from_slice(&self.admittance[from..from + old]);
            }
        }
        Self { ports: new, admittance }
    }

    /// Power that all ports take together with these voltages (V rms) across them at grid point
    /// `f`, W.
    pub fn power_w(&self, f: usize, volts: &[Complex64]) -> f64 {
        let mut total = 0.0;
        for (row, v) in volts.iter().enumerate() {
            total += v.norm_sqr() * self.admittance(f, row, row).re;
            for (col, other) in volts.iter().enumerate().skip(row + 1) {
                total += 2.0 * self.admittance(f, row, col).re * (v * other.conj()).re;
            }
        }
        total
    }

    /// Number of ports.
    pub fn ports(&self) -> usize {
        self.ports
    }

    /// Admittance between ports `row` and `col` at grid point `f`, S.
    pub fn admittance(&self, f: usize, row: usize, col: usize) -> Complex64 {
        self.admittance[(f * self.ports + row) * self.ports + col]
    }
}
