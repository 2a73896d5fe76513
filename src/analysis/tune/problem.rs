//! The cost of a set of part values, as residuals in dB with their exact derivatives.
//!
//! Residuals, each weighted by the square root of its share: the sum's level against its target at
//! every seat; each way's level against its acoustic slope, where that is above −24 dB; the power
//! response, if asked for; what the impedance lacks to its lowest bound; what the parts lose beyond
//! their bound. The level reference is the sum's own mean at each seat, so that nothing is gained
//! by being loud. The cost is half the sum of squares; `rms` of the sum alone is a *deviation* as
//! defined in [`super::super::deviation`], over the target's band.

use super::view::View;
use crate::circuit::network::{Component, Network};
use crate::circuit::sensitivity::Sensitivity;
use crate::circuit::solve::SolveError;
use crate::design::{Target, Ways};
use crate::grid::Grid;
use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;
use std::sync::Arc;

/// dB per unit of the natural logarithm of an amplitude.
const DB: f64 = 8.685_889_638_065_037;
/// A way's slope counts where its target is above this, dB.
const WAY_FLOOR_DB: f64 = -24.0;
/// Weight of one dB that the impedance lacks, against one dB of the sum.
pub const IMPEDANCE_WEIGHT: f64 = 12.0;
/// The impedance is kept this factor above its bound, so that a penalty does not end just below.
const IMPEDANCE_MARGIN: f64 = 1.01;
/// Weight of a per cent of lost power beyond the bound.
const LOSS_WEIGHT: f64 = 0.3;

/// Everything that stays the same while values move.
#[derive(Debug, Clone)]
pub struct Problem {
    /// Frequencies that are judged.
    pub grid: Arc<Grid>,
    /// The sides, with their seats.
    pub views: Vec<View>,
    /// The target.
    pub target: Target,
    /// +1 or −1: polarity of the tweeter.
    pub sign: f64,
    /// The network whose values move; its last part is the amplifier's output where there is one.
    pub network: Network,
    /// The network as the design has it, without that output.
    pub bare: Network,
    /// Resistance of that output, Ω.
    pub output_ohm: f64,
    /// Indices of the parts that move.
    pub free: Vec<usize>,
    /// Weight of one dB that the impedance lacks; [`IMPEDANCE_WEIGHT`] but while a search begins.
    pub impedance_weight: f64,
    /// How each part's loss follows its value.
    pub loss_follows: Vec<f64>,
    /// Target of each way at the grid's points, dB below its passband.
    pub ways_db: Ways<Vec<f64>>,
    /// Index range of the band in which the sum counts.
    pub band: std::ops::Range<usize>,
}

/// Residuals, and their derivatives by the logarithm of each free value.
#[derive(Debug, Clone)]
pub struct Residuals {
    /// One value a residual.
    pub values: DVector<f64>,
    /// One row a residual, one column a free part.
    pub slopes: DMatrix<f64>,
}

impl Residuals {
    /// Half the sum of squares.
    pub fn cost(&self) -> f64 {
        0.5 * self.values.norm_squared()
    }
}

impl Problem {
    /// The network with the free parts at these values (SI).
    pub fn with_values(&self, values: &[f64]) -> Network {
        let mut network = self.network.clone();
        for (&part, &value) in self.free.iter().zip(values) {
            network.parts[part].component = network.parts[part].component.resized(value);
        }
        network
    }

    /// The network with these parts in the place of the free ones.
    pub fn with_parts(&self, parts: &[Component]) -> Network {
        let mut network = self.network.clone();
        for (&part, &component) in self.free.iter().zip(parts) {
            network.parts[part].component = component;
        }
        network
    }

    /// Deviation of the sum through a network (driven by the amplifier's output, as
    /// [`Self::network`]) from its target over the band, by the seats' shares and over all sides, dB
    /// rms.
    ///
    /// # Errors
    /// What the solver finds.
    pub fn sum_rms_db(&self, network: &Network) -> Result<f64, SolveError> {
        let mut square = 0.0;
        for view in &self.views {
            let s = Sensitivity::of(network, &self.grid, &view.load, &[])?;
            for seat in &view.seats {
                let levels = self.band.clone().map(|f| self.level(&s, &seat.paths, f, [1.0, 1.0]));
                let sums = self.tilted(levels.collect());
                let mean = Row::mean(&sums).value;
                let total: f64 = sums.iter().map(|r| (r.value - mean).powi(2)).sum();
                square += seat.share * total / sums.len() as f64;
            }
        }
        Ok(DB * (square / self.views.len() as f64).sqrt())
    }

    /// Residuals and derivatives at these values (SI).
    ///
    /// # Errors
    /// What the solver finds.
    pub fn residuals(&self, values: &[f64]) -> Result<Residuals, SolveError> {
        self.residuals_through(&self.with_values(values))
    }

    /// Residuals and derivatives through a network with other values and losses of the free parts.
    ///
    /// # Errors
    /// What the solver finds.
    pub fn residuals_through(&self, network: &Network) -> Result<Residuals, SolveError> {
        let mut rows = Rows::new(self.free.len());
        let views = self.views.len() as f64;
        for view in &self.views {
            let s = Sensitivity::of(network, &self.grid, &view.load, &self.loss_follows)?;
            for seat in &view.seats {
                let share = seat.share / views;
                let levels = self.band.clone().map(|f| self.level(&s, &seat.paths, f, [1.0, 1.0]));
                let sums = self.tilted(levels.collect());
                let mean = Row::mean(&sums);
                let weight = DB * (share / sums.len() as f64).sqrt();
                rows.extend(sums.iter().map(|row| row.less(&mean).times(weight)));
                self.way_rows(&s, &seat.paths, &mean, share, &mut rows);
            }
            self.power_rows(&s, view, views, &mut rows);
            self.impedance_rows(&s, views, &mut rows);
        }
        if let Some(bound) = self.target.loss_percent {
            self.loss_row(network, bound, &mut rows)?;
        }
        Ok(rows.finish())
    }

    /// Log-level of a pressure (neper) and its derivatives at grid point `f`.
    fn level(
        &self,
        s: &Sensitivity,
        paths: &Ways<Vec<Complex64>>,
        f: usize,
        ways: [f64; 2],
    ) -> Row {
        let gains = [paths.woofer[f] * ways[0], paths.tweeter[f] * (ways[1] * self.sign)];
        let at = |p: usize| f * s.ports + p;
        let pressure: Complex64 = (0..2).map(|p| gains[p] * s.voltage[at(p)]).sum();
        let slope = |k: &usize| {
            let dp: Complex64 = (0..2).map(|p| gains[p] * s.by_part[at(p) * s.parts + k]).sum();
            (dp / pressure).re
        };
        // An exact null has no level; a floor of −200 dB keeps it finite.
        let size = pressure.norm().max(1e-10 * gains[0].norm().max(gains[1].norm()));
        Row { value: size.ln(), slopes: self.free.iter().map(slope).collect() }
    }

    /// Takes the tilt out, so that the target is level.
    fn tilted(&self, mut levels: Vec<Row>) -> Vec<Row> {
        let per_octave = self.target.tilt_db_per_octave / DB;
        for (row, f) in levels.iter_mut().zip(self.band.clone()) {
            row.value -= per_octave * (self.grid.frequency_hz()[f] / self.target.at_hz).log2();
        }
        levels
    }

    /// Each way against its acoustic slope, from the sum's mean level downwards.
    fn way_rows(
        &self,
        s: &Sensitivity,
        paths: &Ways<Vec<Complex64>>,
        mean: &Row,
        share: f64,
        rows: &mut Rows,
    ) {
        if self.target.ways_weight == 0.0 {
            return;
        }
        let targets = [&self.ways_db.woofer, &self.ways_db.tweeter];
        for (way, target) in targets.iter().enumerate() {
            let only = if way == 0 { [1.0, 0.0] } else { [0.0, 1.0] };
            let counted: Vec<usize> =
                self.band.clone().filter(|&f| target[f] > WAY_FLOOR_DB).collect();
            let share = self.target.ways_weight * share / (2.0 * counted.len().max(1) as f64);
            for f in counted {
                let mut row = self.level(s, paths, f, only).less(mean);
                let octaves = (self.grid.frequency_hz()[f] / self.target.at_hz).log2();
                row.value -= (target[f] + self.target.tilt_db_per_octave * octaves) / DB;
                // Deep in the stop band a dB matters less than near the top.
                let fade = 10f64.powf(target[f] / 40.0);
                rows.push(row.times(DB * share.sqrt() * fade));
            }
        }
    }

    /// The power response, if it counts, against its own mean.
    fn power_rows(&self, s: &Sensitivity, view: &View, views: f64, rows: &mut Rows) {
        if self.target.power_weight == 0.0 || view.directions.is_empty() {
            return;
        }
        let power = |f: usize| -> Row {
            let mut total = Row { value: 0.0, slopes: vec![0.0; self.free.len()] };
            for direction in &view.directions {
                let level = self.level(s, &direction.paths, f, [1.0, 1.0]);
                let part = direction.share * (2.0 * level.value).exp();
                total.value += part;
                for (sum, slope) in total.slopes.iter_mut().zip(&level.slopes) {
                    *sum += 2.0 * part * slope;
                }
            }
            let slopes = total.slopes.iter().map(|d| 0.5 * d / total.value).collect();
            Row { value: 0.5 * total.value.ln(), slopes }
        };
        let levels: Vec<Row> = self.tilted(self.band.clone().map(power).collect());
        let mean = Row::mean(&levels);
        let weight = DB * (self.target.power_weight / (views * levels.len() as f64)).sqrt();
        rows.extend(levels.iter().map(|row| row.less(&mean).times(weight)));
    }

    /// What the impedance at the amplifier's terminals lacks to its bound, dB.
    fn impedance_rows(&self, s: &Sensitivity, views: f64, rows: &mut Rows) {
        let weight = self.impedance_weight * DB / (views * self.grid.len() as f64).sqrt();
        for f in 0..self.grid.len() {
            let whole = s.admittance[f].inv();
            let z = whole - self.output_ohm;
            let lack = (IMPEDANCE_MARGIN * self.target.lowest_ohm / z.norm()).ln();
            if lack <= 0.0 {
                // The number of residuals must not change on the way.
                rows.push(Row::zero(self.free.len()));
                continue;
            }
            let slope = |k: &usize| {
                let dz = -whole * whole * s.admittance_by_part[f * s.parts + k];
                -(dz / z).re
            };
            let slopes = self.free.iter().map(slope).collect();
            rows.push(Row { value: lack, slopes }.times(weight));
        }
    }

    /// What the parts lose beyond the bound, %, with derivatives by difference.
    fn loss_row(&self, network: &Network, bound: f64, rows: &mut Rows) -> Result<(), SolveError> {
        const STEP: f64 = 1e-4;
        let beyond = self.loss_percent(network)? - bound;
        if beyond <= 0.0 {
            rows.push(Row::zero(self.free.len()));
            return Ok(());
        }
        let mut slopes = Vec::with_capacity(self.free.len());
        for &part in &self.free {
            let mut moved = network.clone();
            let component = &mut moved.parts[part].component;
            *component = component.resized(component.value() * STEP.exp());
            slopes.push((self.loss_percent(&moved)? - bound - beyond) / STEP);
        }
        rows.push(Row { value: beyond, slopes }.times(LOSS_WEIGHT));
        Ok(())
    }

    /// Share of the input power that the parts of a network turn into heat, %, averaged over the band's points
    /// and the sides.
    ///
    /// # Errors
    /// What the solver finds.
    pub fn loss_percent(&self, network: &Network) -> Result<f64, SolveError> {
        let mut total = 0.0;
        for view in &self.views {
            let s = Sensitivity::of(network, &self.grid, &view.load, &[])?;
            for f in self.band.clone() {
                // The amplifier's output is no part of the crossover.
                let input = s.admittance[f].re - s.admittance[f].norm_sqr() * self.output_ohm;
                let delivered = view.load.power_w(f, &s.voltage[f * s.ports..][..s.ports]);
                total += 1.0 - delivered / input;
            }
        }
        Ok(100.0 * total / (self.views.len() * self.band.len()) as f64)
    }
}

/// A quantity and its derivatives.
#[derive(Debug, Clone)]
struct Row {
    value: f64,
    slopes: Vec<f64>,
}

impl Row {
    fn zero(slopes: usize) -> Self {
        Self { value: 0.0, slopes: vec![0.0; slopes] }
    }

    fn mean(rows: &[Self]) -> Self {
        let count = rows.len().max(1) as f64;
        let parts = rows.first().map_or(0, |r| r.slopes.len());
        let slope = |k: usize| rows.iter().map(|r| r.slopes[k]).sum::<f64>() / count;
        Self {
            value: rows.iter().map(|r| r.value).sum::<f64>() / count,
            slopes: (0..parts).map(slope).collect(),
        }
    }

    fn less(&self, other: &Self) -> Self {
        let slopes = self.slopes.iter().zip(&other.slopes).map(|(a, b)| a - b).collect();
        Self { value: self.value - other.value, slopes }
    }

    fn times(mut self, factor: f64) -> Self {
        self.value *= factor;
        self.slopes.iter_mut().for_each(|s| *s *= factor);
        self
    }
}

/// Rows gathered into a vector and a matrix.
struct Rows {
    columns: usize,
    values: Vec<f64>,
    slopes: Vec<f64>,
}

impl Rows {
    fn new(columns: usize) -> Self {
        Self { columns, values: Vec::new(), slopes: Vec::new() }
    }

    fn push(&mut self, row: Row) {
        self.values.push(row.value);
        self.slopes.extend(row.slopes);
    }

    fn extend(&mut self, rows: impl Iterator<Item = Row>) {
        rows.for_each(|row| self.push(row));
    }

    fn finish(self) -> Residuals {
        let count = self.values.len();
        Residuals {
            values: DVector::from_vec(self.values),
            slopes: DMatrix::from_row_slice(count, self.columns, &self.slopes),
        }
    }
}
