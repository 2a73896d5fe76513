//! Steady heat in a closed slab: sources in a cavity, its air, face and back, and the room.
//!
//! A network of nodes and conductances, some of which hang on the temperatures of their ends; it is
//! solved again and again until they agree. The cavity's air is one node: what rises in it is not
//! in the model, nor does heat flow along the sheets beyond the cavity.

pub mod film;
mod network;

pub use network::{Branch, HeatNetwork, NotSettled, Path};

use self::film::{EMISSIVITY_BARE_METAL, EMISSIVITY_DULL, Standing};
use super::material::Material;

/// Conductivity of still air, W/(m·K) (handbook value at 30 °C, from memory).
pub const AIR_W_PER_M_K: f64 = 0.0264;
/// Conductivity of open-cell foam, W/(m·K) (handbook value, from memory).
pub const FOAM_W_PER_M_K: f64 = 0.04;

/// Conductivity of a sheet across its thickness, W/(m·K) (handbook values, from memory).
pub fn conductivity_w_per_m_k(material: Material) -> f64 {
    match material {
        Material::Plywood => 0.13,
        Material::Mdf => 0.14,
        Material::Aluminium => 160.0,
        Material::Steel => 50.0,
        Material::Acrylic => 0.19,
    }
}

/// Emissivity of a sheet's surface, 0 to 1; metal is taken as bare.
pub fn emissivity(material: Material) -> f64 {
    match material {
        Material::Aluminium | Material::Steel => EMISSIVITY_BARE_METAL,
        Material::Plywood | Material::Mdf | Material::Acrylic => EMISSIVITY_DULL,
    }
}

/// A face or back over one cavity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wall {
    /// What it is made of.
    pub material: Material,
    /// Thickness, m.
    pub thickness_m: f64,
    /// Foam on its inside, m; 0 without.
    pub foam_m: f64,
    /// What its outside looks at.
    pub outside: Outside,
}

/// What the outside of a wall looks at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Outside {
    /// The room.
    Room,
    /// Still air of this depth in front of a wall or furniture that is as warm as the room, m.
    Gap(f64),
}

/// A closed cavity in a slab.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slab {
    /// Width of the cavity, m.
    pub width_m: f64,
    /// Height of the cavity, m.
    pub height_m: f64,
    /// Depth of the cavity, m.
    pub depth_m: f64,
    /// The face.
    pub face: Wall,
    /// The back.
    pub back: Wall,
    /// How the slab stands.
    pub standing: Standing,
    /// The room, °C.
    pub room_c: f64,
}

/// Nodes of a slab's network; others follow them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// Air of the cavity.
    Air,
    /// Inside of the face.
    FaceInside,
    /// Outside of the face.
    FaceOutside,
    /// What of the back meets the air: its foam, or the sheet.
    BackInside,
    /// The back sheet under its foam.
    BackSheet,
    /// Outside of the back.
    BackOutside,
}

impl Place {
    /// All of them, in the order of the nodes.
    pub const ALL: [Self; 6] = [
        Self::Air,
        Self::FaceInside,
        Self::FaceOutside,
        Self::BackInside,
        Self::BackSheet,
        Self::BackOutside,
    ];

    /// Index of the node.
    pub fn node(self) -> usize {
        self as usize
    }
}

impl Slab {
    /// Its network without sources.
    pub fn network(&self) -> HeatNetwork {
        let mut network = HeatNetwork::new(Place::ALL.len(), self.room_c);
        let area_m2 = self.width_m * self.height_m;
        let half_gap = 2.0 * AIR_W_PER_M_K / self.depth_m;
        let height_m = match self.standing {
            Standing::Upright => self.height_m,
            Standing::FaceUp => 0.5 * self.width_m.min(self.height_m),
        };
        let walls = [
            (self.face, [Place::FaceInside, Place::FaceInside, Place::FaceOutside], true),
            (self.back, [Place::BackInside, Place::BackSheet, Place::BackOutside], false),
        ];
        for (wall, [meets, sheet, outside], up) in walls {
            let inner = Path::Film {
                area_m2,
                height_m,
                emissivity: 0.0,
                standing: self.standing,
                // Inside, the warm air is below the face of a slab that lies face up.
                warm_below: up,
                least_w_per_m2_k: half_gap,
            };
            network.join(Place::Air.node(), Some(meets.node()), inner);
            if meets != sheet {
                // Without foam the two are one.
                let foam = FOAM_W_PER_M_K / wall.foam_m.max(1e-6);
                network.join(meets.node(), Some(sheet.node()), Path::Fixed(area_m2 * foam));
            }
            let through = conductivity_w_per_m_k(wall.material) / wall.thickness_m;
            network.join(sheet.node(), Some(outside.node()), Path::Fixed(area_m2 * through));
            let emissivity = emissivity(wall.material);
            let away = match wall.outside {
                Outside::Room => Path::Film {
                    area_m2,
                    height_m,
                    emissivity,
                    standing: self.standing,
                    warm_below: up,
                    least_w_per_m2_k: 0.0,
                },
                Outside::Gap(gap_m) => Path::Gap { area_m2, gap_m, emissivity },
            };
            network.join(outside.node(), None, away);
        }
        network
    }
}
