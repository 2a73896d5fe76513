//! What was measured of a driver, brought to one form, and how it joins the model.
//!
//! Effects that a curve already holds are never applied again: [`Condition`] says which.

use super::air::Air;
use super::driver::Driver;
use super::piston;
use crate::grid::{Flow, Grid, Impedance, Spectrum, Transfer};
use crate::signal::curve::{Curve, CurveError};
use crate::signal::interpolate::Outside;
use num_complex::Complex64;
use std::f64::consts::TAU;
use std::ops::Range;

/// How a curve was measured, and so what is in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Condition {
    /// Driver in free air: no cavity.
    FreeAir,
    /// Driver on a large baffle, rear open: half space, no cavity.
    HalfSpace,
    /// Microphone at the cone, driver in its panel: the cavity is in it, edges and room are not.
    NearField,
    /// Driver in this panel, microphone in front: cavity and edges are in it.
    InThisPanel,
}

impl Condition {
    /// Whether the edges of the panel are in the curve, and what its sheets send out.
    pub fn holds_edges(self) -> bool {
        self == Self::InThisPanel
    }

    /// Whether the cavity behind the driver is in the curve.
    pub fn holds_cavity(self) -> bool {
        matches!(self, Self::NearField | Self::InThisPanel)
    }
}

/// A measured impedance, Ω, with phase.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredImpedance {
    /// The curve.
    pub curve: Curve,
    /// Free air or in this panel.
    pub condition: Condition,
}

/// A measured response at 1 m for 1 V at the terminals, Pa/V in half space, with phase and without
/// the time of flight.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredResponse {
    /// The curve.
    pub curve: Curve,
    /// How it was measured.
    pub condition: Condition,
    /// Angle off the driver's axis, degrees, 0 to 90.
    pub angle_deg: f64,
    /// Below this it is a near field brought to the far one's level, Hz: the slope of the edges is
    /// not in it there. `None` for a curve that was not joined.
    pub near_below_hz: Option<f64>,
}

impl MeasuredResponse {
    /// What the panel's edges and sheets (`panel`, over the grid) still have to add to the curve:
    /// all of it, nothing, or below the join what they do over what they do there.
    fn lacks(&self, panel: &Transfer) -> Vec<Complex64> {
        let one = Complex64::new(1.0, 0.0);
        if !self.condition.holds_edges() {
            return panel.values().to_vec();
        }
        let hz = panel.grid().frequency_hz();
        let join = self.near_below_hz.map_or(0, |at| hz.partition_point(|f| *f < at));
        let there = panel.values().get(join).or(panel.values().last()).copied().unwrap_or(one);
        let below = panel.values()[..join].iter().map(|e| e / there);
        below.chain(std::iter::repeat_n(one, hz.len() - join)).collect()
    }
}

/// Everything measured of a driver.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Measured {
    /// Its impedance.
    pub impedance: Option<MeasuredImpedance>,
    /// Its responses, by rising angle, all of one condition but for what was spliced.
    pub responses: Vec<MeasuredResponse>,
}

/// Width over which a measured curve gives way to the model at each end of its range, octaves.
pub const SPLICE_OCTAVES: f64 = 1.0 / 3.0;

/// The impedance of a driver in its load from what was measured: in this panel as it is; in free
/// air with the load added to the mechanical impedance that the curve shows. `model` is the model's
/// own in the load, `load_mechanical` Sd² Za in N·s/m. The model takes over outside the measured
/// range.
///
/// # Errors
/// A curve that cannot be interpolated.
pub fn impedance(
    measured: &MeasuredImpedance,
    driver: &Driver,
    load_mechanical: &[Complex64],
    model: &Impedance,
) -> Result<Impedance, CurveError> {
    let grid = model.grid();
    let sampled = measured.curve.complex_on(grid, Outside::Hold)?;
    let values: Vec<Complex64> = if measured.condition.holds_cavity() {
        sampled.values
    } else {
        let points = grid.omega().zip(sampled.values).zip(load_mechanical);
        points.map(|((w, z), load)| loaded(driver, w, z, *load)).collect()
    };
    let share = shares(grid, &sampled.covered);
    let joined = values.iter().zip(model.values()).zip(&share);
    let values = joined.map(|((own, model), share)| own * share + model * (1.0 - share)).collect();
    Ok(Spectrum::from_values(grid, values))
}

/// A free-air impedance with a mechanical load put on the cone. The motional part is what exceeds
/// the blocked coil; far above the resonance it drowns in the coil, so that the curve is left as it
/// is there (faded from 32 to 128 times the resonance).
fn loaded(driver: &Driver, omega: f64, z: Complex64, load: Complex64) -> Complex64 {
    let blocked = driver.blocked_impedance(omega);
    let square = driver.motor.bl_t_m.powi(2);
    let octaves = (omega / TAU / driver.motor.fs_hz()).log2();
    let share = ((7.0 - octaves) / 2.0).clamp(0.0, 1.0);
    let motional = z - blocked;
    if share == 0.0 || motional.norm() < 1e-9 {
        return z;
    }
    let with_load = blocked + square / (square / motional + load);
    with_load * share + z * (1.0 - share)
}

/// Pressure at 1 m per volt without the time of flight, at `angle_deg` off axis, from measured
/// responses; `model` is the model's own there, `cavity` the model's flow in its load over that in
/// free air, applied only where the curve does not hold the cavity, and `panel` what edges and
/// sheets make of it, where it does not hold those. `None` without responses.
///
/// Between two measured angles level and phase are interpolated; outside them the piston's
/// directivity relative to the nearest measured angle is used.
///
/// # Errors
/// A curve that cannot be interpolated.
pub fn pressure_at_1m(
    measured: &Measured,
    driver: &Driver,
    air: &Air,
    angle_deg: f64,
    model: &[Complex64],
    cavity: &Flow,
    panel: &Transfer,
) -> Result<Option<Vec<Complex64>>, CurveError> {
    let Some((below, above, share)) = around(&measured.responses, angle_deg) else {
        return Ok(None);
    };
    let grid = cavity.grid();
    let first = below.curve.complex_on(grid, Outside::Hold)?;
    let second = above.curve.complex_on(grid, Outside::Hold)?;
    let covered =
        first.covered.start.max(second.covered.start)..first.covered.end.min(second.covered.end);
    let radius_m = driver.motor.radius_m();
    let beam = |w: f64, degrees: f64| {
        piston::directivity(w / air.c_m_per_s * radius_m * degrees.to_radians().sin())
    };
    let edged = below.lacks(panel);
    let heard: Vec<Complex64> = grid
        .omega()
        .enumerate()
        .map(|(i, w)| {
            let between = mixed(first.values[i], second.values[i], share);
            let nearest = angle_deg.clamp(below.angle_deg, above.angle_deg);
            let narrower = if (nearest - angle_deg).abs() < 0.05 {
                1.0
            } else {
                beam(w, angle_deg) / floor(beam(w, nearest))
            };
            let one = Complex64::new(1.0, 0.0);
            let loaded = if below.condition.holds_cavity() { one } else { cavity.values()[i] };
            between * narrower * loaded * edged[i]
        })
        .collect();
    let shares = shares(grid, &covered);
    let joined = heard.iter().zip(model).zip(&shares);
    Ok(Some(joined.map(|((own, model), share)| mixed(*model, *own, *share)).collect()))
}

/// A directivity kept away from its nulls, where a ratio means nothing.
fn floor(directivity: f64) -> f64 {
    if directivity.abs() < 0.1 { 0.1 } else { directivity }
}

/// The measured angles on both sides of `angle_deg`, and how far it is from the first to the
/// second, 0 to 1.
fn around(
    responses: &[MeasuredResponse],
    angle_deg: f64,
) -> Option<(&MeasuredResponse, &MeasuredResponse, f64)> {
    let after = responses.iter().position(|r| r.angle_deg >= angle_deg);
    let (below, above) = match after {
        None => (responses.last()?, responses.last()?),
        Some(0) => (&responses[0], &responses[0]),
        Some(i) => (&responses[i - 1], &responses[i]),
    };
    let span = above.angle_deg - below.angle_deg;
    let share = if span > 0.0 { (angle_deg - below.angle_deg) / span } else { 0.0 };
    Some((below, above, share))
}

/// From `a` to `b` in level and phase; the phase goes the short way round.
fn mixed(a: Complex64, b: Complex64, share: f64) -> Complex64 {
    if share <= 0.0 || b.norm() == 0.0 {
        return a;
    }
    if share >= 1.0 || a.norm() == 0.0 {
        return b;
    }
    let step = b / a;
    a * Complex64::from_polar(step.norm().powf(share), step.arg() * share)
}

/// How much of a measured curve counts at each grid point: all inside its range, nothing outside,
/// a raised cosine over [`SPLICE_OCTAVES`] at each end that lies inside the grid.
fn shares(grid: &Grid, covered: &Range<usize>) -> Vec<f64> {
    if covered.is_empty() {
        return vec![0.0; grid.len()];
    }
    let hz = grid.frequency_hz();
    let (from, to) = (hz[covered.start], hz[covered.end - 1]);
    let rise = |octaves: f64| {
        let x = (octaves / SPLICE_OCTAVES).clamp(0.0, 1.0);
        0.5 - 0.5 * (std::f64::consts::PI * x).cos()
    };
    let share = |(i, f): (usize, &f64)| {
        if !covered.contains(&i) {
            return 0.0;
        }
        let low = if covered.start == 0 { 1.0 } else { rise((f / from).log2()) };
        let high = if covered.end == hz.len() { 1.0 } else { rise((to / f).log2()) };
        low * high
    };
    hz.iter().enumerate().map(share).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn below_its_join_a_near_field_gets_the_slope_of_the_edges_and_nothing_above() {
        let grid = Grid::log(20.0, 2000.0, 81).unwrap();
        let panel: Transfer = Spectrum::from_fn(&grid, |w| Complex64::new(1.0 + w / 5000.0, 0.3));
        let curve = Curve {
            frequency_hz: grid.frequency_hz().to_vec(),
            magnitude: vec![1.0; grid.len()],
            phase_deg: None,
        };
        let response = |near_below_hz| MeasuredResponse {
            curve: curve.clone(),
            condition: Condition::InThisPanel,
            angle_deg: 0.0,
            near_below_hz,
        };
        let one = Complex64::new(1.0, 0.0);
        assert!(response(None).lacks(&panel).iter().all(|e| *e == one));
        let join = 40;
        let at_hz = grid.frequency_hz()[join];
        let lacks = response(Some(at_hz)).lacks(&panel);
        assert!(lacks[join..].iter().all(|e| *e == one));
        for (got, e) in lacks[..join].iter().zip(panel.values()) {
            assert!((got * panel.values()[join] - e).norm() < 1e-12);
        }
    }
}
