//! From the flow of a driver's cone to the pressure at a place, as measured where it was, else as
//! modelled.

use crate::design::Mounted;
use crate::grid::{Flow, Grid, Sensitivity, Spectrum, Transfer};
use crate::model::air::Air;
use crate::model::driver::{Driver, DriverResponse};
use crate::model::measured;
use crate::model::piston;
use crate::model::place::{self, Point};
use crate::signal::curve::CurveError;
use num_complex::Complex64;
use std::sync::Arc;

/// A driver at its place and how its cone moves per volt at its terminals.
#[derive(Debug, Clone, Copy)]
pub struct Way<'d> {
    mounted: &'d Mounted,
    /// In its load.
    loaded: &'d Flow,
    /// In free air.
    free: &'d Flow,
}

impl<'d> Way<'d> {
    /// The driver in its load, and in free air for curves that were measured there.
    pub fn of(mounted: &'d Mounted, loaded: &'d DriverResponse, free: &'d DriverResponse) -> Self {
        Self { mounted, loaded: &loaded.flow, free: &free.flow }
    }

    /// Pressure per volt at the terminals by all `paths` together, each with where it arrives, what
    /// share of it reflection leaves, and what the panel makes of it; `front` is the flow that
    /// leaves the driver's front over that of the cone.
    ///
    /// # Errors
    /// A measured curve that cannot be interpolated.
    pub fn heard<'p>(
        &self,
        front: &Transfer,
        paths: impl Iterator<Item = (Point, f64, &'p Transfer)>,
        air: &Air,
    ) -> Result<Sensitivity, CurveError> {
        let grid = self.loaded.grid();
        let out = self.loaded.map_with(front, |u, share| u * share);
        let mut total = vec![Complex64::default(); grid.len()];
        for (place, strength, panel) in paths {
            let arrived = self.by(&out, &place, panel, air)?;
            for (sum, p) in total.iter_mut().zip(arrived) {
                *sum += p * strength;
            }
        }
        Ok(Spectrum::from_values(grid, total))
    }

    /// What arrives by one path, Pa/V, from the acoustic centre.
    fn by(
        &self,
        out: &Flow,
        place: &Point,
        panel: &Transfer,
        air: &Air,
    ) -> Result<Vec<Complex64>, CurveError> {
        let grid = out.grid();
        let driver = &self.mounted.driver;
        let centre = self.mounted.acoustic_centre();
        let distance_m = centre.distance_m(place);
        // Behind the face there is no direct sound: what the edges send there starts along the face.
        let angle = centre.angle_off_axis_rad(place).min(std::f64::consts::FRAC_PI_2);
        // Both at 1 m and without the time of flight, so that measured and modelled are alike.
        let at_1m = self.at_1m(driver, out, angle, panel, air, grid)?;
        let travel = |w: f64| place::spherical_wave(w / air.c_m_per_s, distance_m);
        Ok(grid.omega().zip(at_1m).map(|(w, p)| p * travel(w)).collect())
    }

    fn at_1m(
        &self,
        driver: &Driver,
        out: &Flow,
        angle_rad: f64,
        panel: &Transfer,
        air: &Air,
        grid: &Arc<Grid>,
    ) -> Result<Vec<Complex64>, CurveError> {
        let radius_m = driver.motor.radius_m();
        let model: Vec<Complex64> = grid
            .omega()
            .zip(out.values())
            .zip(panel.values())
            .map(|((w, u), e)| u * e * piston::strength(w, air, radius_m, angle_rad.sin()))
            .collect();
        let cavity = out.map_with(self.free, |u, free| u / free);
        let degrees = angle_rad.to_degrees();
        let measured = &driver.measured;
        let heard =
            measured::pressure_at_1m(measured, driver, air, degrees, &model, &cavity, panel)?;
        Ok(heard.unwrap_or(model))
    }
}
