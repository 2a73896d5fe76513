//! The whole problem as one value: panel, cavities, drivers, seats, crossover, amplifier, parts
//! rules and run. Plain data in SI units; files are read into it, analyses read from it.

mod crossover;
mod hardware;
mod production;
mod purchase;
mod stock;
mod surroundings;
mod target;
mod ways;
mod wound;

pub use crossover::{
    Crossover, Flatten, Guard, LoadRule, PolarityRule, Shaping, Shelf, ShelfKind, Topology,
    TweeterLevel,
};
pub use hardware::{BoardPlace, Cable, Hardware, Stage};
pub use production::{
    About, Acceptance, Ageing, PartScatter, Production, Scatter, Shape, Spreads, ToleranceClass,
};
pub use purchase::{BuiltFor, Extra, Kinds, PartsRules, Purchase, Run, Values, Window};
pub use stock::{Article, Rating, Stock};
pub use surroundings::{
    Along, KeepOut, Models, Mounting, Rear, Rib, Surface, SurfacePlace, from_room,
};
pub use target::{Target, USUAL_BOUNDS};
pub use ways::{Way, Ways};
pub use wound::{Axis, CoilRule, Make, Stand};

pub use crate::model::material::Material;

use crate::circuit::network::Network;
use crate::model::air::Air;
use crate::model::closed_box::ClosedBox;
use crate::model::driver::Driver;
use crate::model::fill::Fill;
use crate::model::mount::Grille;
use crate::model::place::Point;
use crate::model::plate::edge::Fixing;
use crate::model::plate::section::{Coating, Section, Skin};

/// Name of the node at the amplifier's hot (or positive bridge) output.
pub const AMP_HOT: &str = "amp+";
/// Name of the node at the amplifier's return (or negative bridge) output.
pub const AMP_RETURN: &str = "amp-";

/// A panel with its two ways on each side, in front of its listeners.
#[derive(Debug, Clone, PartialEq)]
pub struct Design {
    /// What it is called.
    pub name: String,
    /// The slab.
    pub panel: Panel,
    /// One or more channels, each with its own cavity and drivers.
    pub sides: Vec<Side>,
    /// The seats.
    pub listeners: Vec<Listener>,
    /// How frequencies are split.
    pub crossover: Crossover,
    /// What drives it.
    pub amplifier: Amplifier,
    /// Losses and series of the parts.
    pub parts: PartsRules,
    /// What it says of single coils of the crossover.
    pub coils: Vec<CoilRule>,
    /// What parts are chosen from; `None`: from the series of preferred values.
    pub stock: Option<Stock>,
    /// What the parts list names beside the crossover, and prices.
    pub purchase: Purchase,
    /// What a tuned crossover is to come to; `None`: the usual, see [`Design::target`].
    pub target: Option<Target>,
    /// The production run.
    pub run: Run,
    /// What scatters in the run, and what a unit has to keep.
    pub production: Production,
    /// Air in the room.
    pub air: Air,
    /// Drive that levels are told for, V rms.
    pub drive_v: f64,
    /// One large surface near the panel.
    pub surface: Option<Surface>,
    /// Which effects are computed.
    pub models: Models,
}

impl Design {
    /// The target stated, or the usual one for this crossover and amplifier, with a tenth more than
    /// the amplifier's lowest load for tolerances (common practice, no source).
    pub fn target(&self) -> Target {
        let usual = || Target::of(&self.crossover, 1.1 * self.amplifier.lowest_load_ohm);
        self.target.clone().unwrap_or_else(usual)
    }

    /// What a unit of the run has to keep: as stated, else the run's window and the amplifier's
    /// lowest load; `None` where there is no window at all.
    pub fn acceptance(&self) -> Option<Acceptance> {
        let of_window = |w: &Window| Acceptance::of_window(w, self.amplifier.lowest_load_ohm);
        let stated = self.production.acceptance.clone();
        stated.or_else(|| self.run.window.as_ref().map(of_window))
    }

    /// The design with this network written out part by part in the place of its crossover.
    #[must_use]
    pub fn with_network(&self, network: Network, polarity: PolarityRule) -> Self {
        let mut with = self.clone();
        with.crossover.topology = Topology::Listed(network);
        with.crossover.polarity = polarity;
        with
    }
}

/// A face or back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sheet {
    /// What it is made of.
    pub material: Material,
    /// Thickness, m.
    pub thickness_m: f64,
    /// Loss factor of the sheet as mounted, where known.
    pub loss_factor: Option<f64>,
    /// How it is held round a cavity.
    pub edges: Fixing,
    /// A damping layer glued on it.
    pub coating: Option<Coating>,
    /// Whether the face grain of plywood runs bottom to top instead of left to right.
    pub grain_upright: bool,
}

impl Sheet {
    /// The bare sheet, x to the right.
    pub fn skin(&self) -> Skin {
        let skin = self.material.skin(self.thickness_m, self.loss_factor);
        if self.grain_upright { skin.turned() } else { skin }
    }

    /// Bending stiffness and mass with the layer that is on it.
    pub fn section(&self) -> Section {
        let skin = self.skin();
        self.coating.map_or_else(|| skin.section(), |layer| skin.coated(&layer))
    }
}

/// The slab: its face is z = 0 in panel coordinates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Panel {
    /// Outer width, m.
    pub width_m: f64,
    /// Outer height, m.
    pub height_m: f64,
    /// The side that the drivers look out of.
    pub face: Sheet,
    /// The other side.
    pub back: Sheet,
    /// How far it leans back, rad: 0 upright, π/2 lying face up.
    pub tilt_rad: f64,
    /// What its back looks at.
    pub rear: Rear,
}

impl Panel {
    /// Outer thickness over a cavity of `depth_m`, m.
    pub fn thickness_m(&self, depth_m: f64) -> f64 {
        self.face.thickness_m + depth_m + self.back.thickness_m
    }

    /// The corners of the face, panel coordinates, m.
    pub fn corners(&self) -> [Point; 4] {
        let (x, y) = (0.5 * self.width_m, 0.5 * self.height_m);
        [(-x, -y), (x, -y), (x, y), (-x, y)].map(|(x, y)| Point::new(x, y, 0.0))
    }
}

/// A rectangular cavity between face and back.
#[derive(Debug, Clone, PartialEq)]
pub struct Cavity {
    /// Middle of the cavity, x, m.
    pub x_m: f64,
    /// Middle of the cavity, y, m.
    pub y_m: f64,
    /// Inner width, m.
    pub width_m: f64,
    /// Inner height, m.
    pub height_m: f64,
    /// Inner depth between face and back, m.
    pub depth_m: f64,
    /// What is in it.
    pub fill: Fill,
    /// Quality of the leak at the resonance of the woofer in the cavity; `None` if tight.
    pub leak_ql: Option<f64>,
    /// Strips that divide it or hold its back.
    pub ribs: Vec<Rib>,
    /// Places that no cut-out may meet.
    pub keep_out: Vec<KeepOut>,
    /// Largest ripple that standing waves may make, from lowest to highest level, dB.
    pub ripple_limit_db: f64,
}

impl Cavity {
    /// Volume of the empty space, m³.
    pub fn gross_volume_m3(&self) -> f64 {
        self.width_m * self.height_m * self.depth_m
    }

    /// The part around (`x_m`, `y_m`) that dividing ribs leave of it, with the ribs that do not
    /// divide.
    pub fn bay(&self, x_m: f64, y_m: f64) -> Self {
        let mut bay = self.clone();
        for rib in self.ribs.iter().filter(|r| r.divides) {
            let (middle_m, length_m, at_m) = match rib.along {
                Along::Width => (&mut bay.y_m, &mut bay.height_m, y_m),
                Along::Height => (&mut bay.x_m, &mut bay.width_m, x_m),
            };
            let (mut low, mut high) = (*middle_m - 0.5 * *length_m, *middle_m + 0.5 * *length_m);
            let half_m = 0.5 * rib.width_m;
            if at_m < rib.at_m {
                high = high.min(rib.at_m - half_m);
            } else {
                low = low.max(rib.at_m + half_m);
            }
            (*middle_m, *length_m) = (0.5 * (low + high), (high - low).max(0.0));
        }
        bay.ribs.retain(|r| !r.divides);
        bay
    }

    /// Whether a disc of radius `radius_m` around (`x_m`, `y_m`) lies inside its outline.
    pub fn holds_disc(&self, x_m: f64, y_m: f64, radius_m: f64) -> bool {
        (x_m - self.x_m).abs() + radius_m <= 0.5 * self.width_m + 1e-9
            && (y_m - self.y_m).abs() + radius_m <= 0.5 * self.height_m + 1e-9
    }
}

/// A driver at its place in the face.
#[derive(Debug, Clone, PartialEq)]
pub struct Mounted {
    /// The driver.
    pub driver: Driver,
    /// The file it came from, as the design names it.
    pub file: String,
    /// Centre, x, m.
    pub x_m: f64,
    /// Centre, y, m.
    pub y_m: f64,
    /// How it sits in the face.
    pub mounting: Mounting,
    /// How far the mounting plane of its flange lies behind the face, m: the face's thickness for
    /// one mounted behind it, minus the flange's thickness for a proud one.
    pub set_back_m: f64,
    /// Cloth or a perforated sheet in front of it.
    pub grille: Option<Grille>,
}

impl Mounted {
    /// Its acoustic centre in panel coordinates.
    pub fn acoustic_centre(&self) -> Point {
        let behind_m = self.driver.size.acoustic_centre_m + self.set_back_m;
        Point::new(self.x_m, self.y_m, -behind_m)
    }
}

/// One channel.
#[derive(Debug, Clone, PartialEq)]
pub struct Side {
    /// Its name ("left").
    pub name: String,
    /// The space behind its woofer.
    pub cavity: Cavity,
    /// Its drivers.
    pub drivers: Ways<Mounted>,
}

impl Side {
    /// What dividing ribs leave of the cavity around the woofer.
    pub fn bay(&self) -> Cavity {
        self.cavity.bay(self.drivers.woofer.x_m, self.drivers.woofer.y_m)
    }

    /// Whether the tweeter's cone works into the air behind the woofer: its back is open and its
    /// disc lies in the woofer's bay.
    pub fn shares_air(&self) -> bool {
        let Mounted { driver, x_m, y_m, .. } = &self.drivers.tweeter;
        driver.open_back && self.bay().holds_disc(*x_m, *y_m, driver.motor.radius_m())
    }

    /// Air volume behind the woofer, m³: its bay less what drivers within it displace.
    pub fn net_volume_m3(&self) -> f64 {
        let bay = self.bay();
        let within = |m: &&Mounted| {
            let radius = 0.5 * m.driver.size.cutout_m;
            bay.holds_disc(m.x_m, m.y_m, radius)
        };
        let displaced: f64 = [&self.drivers.woofer, &self.drivers.tweeter]
            .into_iter()
            .filter(within)
            .map(|m| m.driver.size.displaced_volume_m3)
            .sum();
        bay.gross_volume_m3() - displaced
    }

    /// The cavity as one lump of air, with its fill and leak.
    pub fn closed_box(&self, air: &Air) -> ClosedBox {
        let woofer = &self.drivers.woofer.driver;
        let tight = ClosedBox::tight(self.net_volume_m3(), self.cavity.fill).behind(
            &woofer.motor,
            woofer.mass_condition,
            air,
        );
        match self.cavity.leak_ql {
            Some(ql) => tight.with_leak_ql(ql, &woofer.motor, air),
            None => tight,
        }
    }
}

/// A seat.
#[derive(Debug, Clone, PartialEq)]
pub struct Listener {
    /// Its name.
    pub name: String,
    /// The ear, panel coordinates, m.
    pub place: Point,
    /// Weight in averages over seats.
    pub weight: f64,
    /// How far the head may be from there, m.
    pub spread_m: f64,
}

/// The amplifier.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Amplifier {
    /// Rated power, W.
    pub power_w: f64,
    /// Load of that rating, Ω.
    pub into_ohm: f64,
    /// Lowest load it may see, Ω.
    pub lowest_load_ohm: f64,
    /// Resistance of output and cable, Ω.
    pub output_ohm: f64,
    /// Supply voltage, V, where known.
    pub supply_v: Option<f64>,
    /// Both outputs driven: neither is ground.
    pub bridged: bool,
    /// A steep high-pass in front of it lets nothing below this through, Hz.
    pub cut_below_hz: Option<f64>,
    /// What it is built of.
    pub hardware: Hardware,
    /// The signal that parts are rated for.
    pub built_for: BuiltFor,
}

impl Amplifier {
    /// Rated output voltage √(P R), V rms.
    pub fn rated_v(&self) -> f64 {
        (self.power_w * self.into_ohm).sqrt()
    }

    /// Largest sine the supply allows, V rms: the peak is the supply when bridged, half of it
    /// when single-ended.
    pub fn supply_limit_v(&self) -> Option<f64> {
        let peak = |v: f64| if self.bridged { v } else { 0.5 * v };
        self.supply_v.map(|v| peak(v) / std::f64::consts::SQRT_2)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_dividing_rib_leaves_the_bay_on_the_woofers_side() {
        let rib = |at_m, divides| Rib { along: Along::Height, at_m, width_m: 0.01, divides };
        let cavity = Cavity {
            x_m: -0.4,
            y_m: 0.0,
            width_m: 0.36,
            height_m: 0.24,
            depth_m: 0.034,
            fill: Fill::Empty,
            leak_ql: None,
            ribs: vec![rib(-0.3, true), rib(-0.45, false)],
            keep_out: Vec::new(),
            ripple_limit_db: 2.0,
        };
        let bay = cavity.bay(-0.42, 0.0);
        assert!((bay.width_m - (-0.305 - -0.58)).abs() < 1e-12);
        assert!((bay.x_m - 0.5 * (-0.305 - 0.58)).abs() < 1e-12);
        assert_eq!((bay.height_m, bay.ribs.len()), (0.24, 1));
    }
}
