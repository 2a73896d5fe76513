//! What panel and room do to the sound of a side, whatever its network: the load on the cones, what
//! is heard of their flow, and the paths to the seats. How a driver's electrics answer is
//! [`super::side`]'s.

use super::cone_load::ConeLoad;
use super::recent::Recent;
use crate::design::{Cavity, Design, Listener, Models, Mounted, Panel, Side, Surface, Ways};
use crate::grid::{AcousticImpedance, Grid, Spectrum, Transfer};
use crate::model::air::Air;
use crate::model::driver::{MassCondition, Motor, Size};
use crate::model::mount::{Front, Grille};
use crate::model::place::Point;
use num_complex::Complex64;
use std::sync::Arc;

/// A side's acoustics over a grid.
#[derive(Debug, Clone)]
pub struct Acoustics {
    /// Load on each cone beyond what its Mms holds, Pa·s/m³: the cavity (woofer alone), tunnel and
    /// grille.
    pub load: Ways<AcousticImpedance>,
    /// Outward flow near the driver that a far listener counts, over the cone's: less the leak,
    /// through tunnel and grille.
    pub front: Ways<Transfer>,
    /// How each listener hears it, in the design's order.
    pub ears: Vec<Ear>,
}

/// How one place hears a side.
#[derive(Debug, Clone)]
pub struct Ear {
    /// Straight, and by way of the surface near by where there is one.
    pub paths: Vec<Path>,
}

/// One way from the panel to an ear.
#[derive(Debug, Clone)]
pub struct Path {
    /// Where the sound arrives: the ear, or its image in a surface.
    pub place: Point,
    /// Share of the pressure that is left after reflection, 0 to 1.
    pub strength: f64,
    /// What the panel's edges and the moving sheets make of each driver's pressure, over what it
    /// would be in an endless rigid panel.
    pub panel: Ways<Transfer>,
}

/// All that acoustics depend on.
#[derive(PartialEq)]
struct Given {
    grid: Arc<Grid>,
    panel: Panel,
    cavity: Cavity,
    drivers: Ways<(Motor, MassCondition, Size, Point, Option<Grille>)>,
    ears: Vec<Point>,
    air: Air,
    surface: Option<Surface>,
    models: Models,
}

static RECENT: Recent<Given, Acoustics> = Recent::new(8);

impl Acoustics {
    /// Acoustics of `side` for the design's listeners.
    pub fn of(design: &Design, side: &Side, grid: &Arc<Grid>) -> Arc<Self> {
        let driver = |m: &Mounted| {
            let place = Point::new(m.x_m, m.y_m, m.set_back_m);
            let d = &m.driver;
            (d.motor, d.mass_condition, d.size, place, m.grille)
        };
        let given = Given {
            grid: Arc::clone(grid),
            panel: design.panel,
            cavity: side.cavity.clone(),
            drivers: side.drivers.map(driver),
            ears: design.listeners.iter().map(|l| l.place).collect(),
            air: design.air,
            surface: design.surface,
            models: design.models,
        };
        RECENT.get(given, || Self::computed(design, side, grid))
    }

    fn computed(design: &Design, side: &Side, grid: &Arc<Grid>) -> Self {
        let air = &design.air;
        let rear = ConeLoad::of(design, side);
        let beyond = side.drivers.map(|m| front(m).effect_on(grid, air));
        let cavity = rear.on(grid);
        let heard = rear.net_flow_on(grid);
        let (woofer_load, woofer_mouth) = beyond.woofer;
        let (tweeter_load, tweeter_mouth) = beyond.tweeter;
        Self {
            load: Ways { woofer: cavity.plus(&woofer_load, 1.0), tweeter: tweeter_load },
            front: Ways { woofer: heard.then(&woofer_mouth), tweeter: tweeter_mouth },
            ears: design.listeners.iter().map(|l| Ear::of(design, l, grid)).collect(),
        }
    }
}

/// What stands in front of a driver's cone.
fn front(mounted: &Mounted) -> Front {
    Front {
        radius_m: mounted.driver.motor.radius_m(),
        tunnel_m: mounted.set_back_m.max(0.0),
        grille: mounted.grille,
    }
}

impl Ear {
    fn of(design: &Design, listener: &Listener, grid: &Arc<Grid>) -> Self {
        let panel = || Spectrum::from_fn(grid, |_| Complex64::new(1.0, 0.0));
        let path = |place, strength| Path {
            place,
            strength,
            panel: Ways { woofer: panel(), tweeter: panel() },
        };
        let image = design.surface.map(|surface| {
            let place = surface.mirrored(&listener.place, design.panel.tilt_rad);
            path(place, surface.reflection())
        });
        Self { paths: std::iter::once(path(listener.place, 1.0)).chain(image).collect() }
    }
}
