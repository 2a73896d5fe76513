//! What panel and room do to the sound of a side, whatever its network: the load on the cones, what
//! is heard of their flow, and the paths to the seats. How a driver's electrics answer is
//! [`super::side`]'s.

use super::cone_load::{ConeLoad, Felt};
use super::panel_edges::{EdgesAt, PanelEdges, face_in_endless_panel};
use super::recent::Recent;
use crate::design::{
    Cavity, Design, Listener, Models, Mounted, Panel, Rear, Side, Surface, Way, Ways,
};
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
    /// Load on each cone beyond what its Mms holds, Pa·s/m³: the cavity (woofer, and a tweeter with
    /// an open back), tunnel and grille.
    pub load: Ways<AcousticImpedance>,
    /// Pressure on either cone over the other's flow into the air that they share, Pa·s/m³; `None`
    /// for a tweeter closed at its back.
    pub between: Option<AcousticImpedance>,
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
    shares_air: bool,
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
            shares_air: side.shares_air(),
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
        let heard = |felt: &Felt| Walls {
            back: felt.walls.back.clone().filter(|_| design.panel.rear == Rear::Room),
            face: felt.walls.face.clone(),
        };
        let listen = Listen {
            side,
            air,
            edges: PanelEdges::of(design, side),
            walls: Ways {
                woofer: heard(&behind.woofer),
                tweeter: behind.tweeter.as_ref().map(|(felt, _)| heard(felt)).unwrap_or_default(),
            },
            grid,
        };
        let ears = design.listeners.iter().map(|l| listen.ear(design, l)).collect();
        let mut this = Self {
            ears,
            load: Ways {
                woofer: behind.woofer.load.plus(&woofer_load, 1.0),
                tweeter: tweeter_load,
            },
            between: None,
            front: Ways {
                woofer: behind.woofer.net_flow.then(&woofer_mouth),
                tweeter: tweeter_mouth,
            },
            walls: behind.woofer.walls,
        };
        if let Some((felt, between)) = behind.tweeter {
            this.load.tweeter = felt.load.plus(&this.load.tweeter, 1.0);
            this.front.tweeter = felt.net_flow.then(&this.front.tweeter);
            this.between = Some(between);
        }
        this
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
    /// Flows of the walls that are heard, over each cone's.
    walls: Ways<Walls<Option<Transfer>>>,
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
        let heard = self.edges.as_ref().map(|edges| edges.at(&place, self.grid));
        let edges = heard.as_ref().map_or_else(
            || {
                let same = || Spectrum::from_fn(self.grid, |_| Complex64::new(1.0, 0.0));
                Ways { woofer: same(), tweeter: same() }
            },
            EdgesAt::drivers,
        );
        let mut panel = edges.clone();
        for way in Way::BOTH {
            for sound in self.of_walls(way, &place, heard.as_ref()) {
                // What goes into the cavity comes out of the front with the opposite sign.
                *panel.of_mut(way) = panel.of(way).plus(&sound, -1.0);
            }
        }
        Path { place, strength, edges, panel }
    }

    /// Sound of the walls that follow a cone, over the driver's in an endless panel; `edges` are
    /// those of the panel as `place` hears them.
    fn of_walls(
        &self,
        way: Way,
        place: &Point,
        edges: Option<&EdgesAt<'_>>,
    ) -> impl Iterator<Item = Transfer> {
        let Walls { back, face } = self.walls.of(way);
        // Behind an endless panel nothing of the back is heard.
        let behind = back.as_ref().zip(edges);
        let back = behind.map(|(ratio, edges)| edges.back(way).then(ratio));
        let face = face.as_ref().map(|ratio| {
            let sound = match edges {
                Some(edges) => edges.face(way),
                None => face_in_endless_panel(self.side, way, place, self.grid, self.air),
            };
            sound.then(ratio)
        });
        back.into_iter().chain(face)
    }
}
