//! What panel and room do to the sound of a side, whatever its network: the load on the cones, what
//! is heard of their flow, and the paths to the seats. How a driver's electrics answer is
//! [`super::side`]'s.

use super::cone_load::ConeLoad;
use super::panel_edges::{PanelEdges, face_in_endless_panel};
use super::recent::Recent;
use crate::design::{Cavity, Design, Listener, Models, Mounted, Panel, Rear, Side, Surface, Ways};
use crate::grid::{AcousticImpedance, Grid, Spectrum, Transfer};
use crate::model::air::Air;
use crate::model::driver::{MassCondition, Motor, Size};
use crate::model::mount::{Front, Grille};
use crate::model::place::Point;
use crate::model::sheet::Walls;
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
    /// Outward flow of back and face over the inward flow of the woofer; `None` for a rigid one.
    pub walls: Walls<Option<Transfer>>,
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
    /// What the panel's edges make of each driver's pressure, over what it would be in an endless
    /// panel.
    pub edges: Ways<Transfer>,
    /// What edges and moving sheets together make of it, over an endless rigid panel.
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
        let behind = ConeLoad::of(design, side).on(grid);
        let beyond = side.drivers.map(|m| front(m).effect_on(grid, air));
        let (woofer_load, woofer_mouth) = beyond.woofer;
        let (tweeter_load, tweeter_mouth) = beyond.tweeter;
        let listen = Listen {
            side,
            air,
            edges: PanelEdges::of(design, side),
            walls: Walls {
                back: behind.walls.back.as_ref().filter(|_| design.panel.rear == Rear::Room),
                face: behind.walls.face.as_ref(),
            },
            grid,
        };
        Self {
            ears: design.listeners.iter().map(|l| listen.ear(design, l)).collect(),
            load: Ways { woofer: behind.load.plus(&woofer_load, 1.0), tweeter: tweeter_load },
            front: Ways { woofer: behind.net_flow.then(&woofer_mouth), tweeter: tweeter_mouth },
            walls: behind.walls,
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

/// What is needed to know how a side is heard at a place.
struct Listen<'a> {
    side: &'a Side,
    air: &'a Air,
    edges: Option<PanelEdges>,
    /// Flows of the walls that are heard.
    walls: Walls<Option<&'a Transfer>>,
    grid: &'a Arc<Grid>,
}

impl Listen<'_> {
    fn ear(&self, design: &Design, listener: &Listener) -> Ear {
        let image = design.surface.map(|surface| {
            let place = surface.mirrored(&listener.place, design.panel.tilt_rad);
            self.path(place, surface.reflection())
        });
        let straight = self.path(listener.place, 1.0);
        Ear { paths: std::iter::once(straight).chain(image).collect() }
    }

    fn path(&self, place: Point, strength: f64) -> Path {
        let Some(edges) = &self.edges else {
            let same = || Spectrum::from_fn(self.grid, |_| Complex64::new(1.0, 0.0));
            let edges = Ways { woofer: same(), tweeter: same() };
            let mut panel = edges.clone();
            // Behind an endless panel nothing of the back is heard.
            if let Some(ratio) = self.walls.face {
                let face = face_in_endless_panel(self.side, &place, self.grid, self.air);
                panel.woofer = panel.woofer.plus(&face.then(ratio), -1.0);
            }
            return Path { place, strength, edges, panel };
        };
        let heard = edges.at(&place, self.grid);
        let ways = heard.drivers();
        let mut panel = ways.clone();
        // What goes into the cavity comes out of the front with the opposite sign.
        if let Some(ratio) = self.walls.back {
            panel.woofer = panel.woofer.plus(&heard.back().then(ratio), -1.0);
        }
        if let Some(ratio) = self.walls.face {
            panel.woofer = panel.woofer.plus(&heard.face().then(ratio), -1.0);
        }
        Path { place, strength, edges: ways, panel }
    }
}
