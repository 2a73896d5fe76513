//! A coil to wind: from inductance, wire and height to turns, layers and diameters.

use super::{
    Winding, copper_kg, wheeler_multilayer_h, wheeler_single_layer_h, wheeler_spiral_h,
    wire_length_m, wire_ohm,
};
use crate::circuit::wire;

/// Inner diameters that are tried: from here to there in these steps, m.
const INNER_M: (f64, f64, f64) = (8e-3, 120e-3, 0.5e-3);
/// A former narrower than this many wire diameters hurts the enamel (common practice, no source).
const NARROWEST_WIRES: f64 = 8.0;
/// Most turns of a coil.
const MOST_TURNS: u32 = 5000;
/// A recipe may miss the wanted inductance by this share, or by half a turn.
const CLOSE: f64 = 0.005;

/// What is wanted of a coil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wish {
    /// Inductance, H.
    pub henry: f64,
    /// Diameter of the bare wire, m.
    pub wire_m: f64,
    /// Largest axial length of the winding, m.
    pub height_m: f64,
    /// Diameter of the former, m; `None`: the one that takes the least wire.
    pub inner_m: Option<f64>,
}

/// Which of Wheeler's three formulas a recipe goes by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// One turn high.
    Spiral,
    /// One turn deep.
    SingleLayer,
    /// More.
    Multilayer,
}

impl Shape {
    /// The words for it.
    pub fn words(self) -> &'static str {
        match self {
            Self::Spiral => "flat spiral",
            Self::SingleLayer => "single layer",
            Self::Multilayer => "multilayer",
        }
    }
}

/// How a coil is wound.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Recipe {
    /// Turns and section; the section is that of the full layers' outline.
    pub winding: Winding,
    /// Which formula it goes by.
    pub shape: Shape,
    /// Layers, one over the other; the last one may be part full.
    pub layers: u32,
    /// Turns of a full layer.
    pub turns_per_layer: u32,
    /// Diameter of the former, m.
    pub inner_m: f64,
    /// Diameter of the bare wire, m.
    pub wire_diameter_m: f64,
    /// Inductance by Wheeler's formula, H.
    pub henry: f64,
    /// Length of the wire without leads, m.
    pub wire_m: f64,
    /// Resistance at 20 °C, Ω.
    pub dcr_ohm: f64,
    /// Mass of the copper, kg.
    pub copper_kg: f64,
}

/// Why a coil cannot be wound.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NoRecipe {
    /// A number that is none.
    #[error("{what} must be positive and finite, found {found}")]
    Value {
        /// Which.
        what: &'static str,
        /// The number.
        found: f64,
    },
    /// Not one turn fits.
    #[error(
        "no turn of {:.2} mm wire ({:.2} mm with enamel) fits into {:.2} mm",
        1e3 * wire_m,
        1e3 * overall_m,
        1e3 * height_m
    )]
    TooLow {
        /// Bare wire, m.
        wire_m: f64,
        /// With enamel, m.
        overall_m: f64,
        /// The height, m.
        height_m: f64,
    },
    /// No number of turns comes near.
    #[error(
        "no winding of {:.2} mm wire comes within half a turn of {:.4} mH: {}",
        1e3 * wire_m,
        1e3 * henry,
        "take thinner or thicker wire, more height or another former"
    )]
    OutOfReach {
        /// Bare wire, m.
        wire_m: f64,
        /// Inductance, H.
        henry: f64,
    },
}

impl Recipe {
    /// The recipe that takes the least wire, and so has the least resistance: formers are tried in
    /// steps of 0.5 mm, turns side by side and layers squarely over each other.
    ///
    /// # Errors
    /// A wish that is no number, or that no winding meets.
    pub fn of(wish: &Wish) -> Result<Self, NoRecipe> {
        check(wish)?;
        let overall_m = wire::overall_m(wish.wire_m);
        let most = (wish.height_m / overall_m * (1.0 + 1e-9)).floor() as u32;
        if most == 0 {
            let Wish { wire_m, height_m, .. } = *wish;
            return Err(NoRecipe::TooLow { wire_m, overall_m, height_m });
        }
        let narrowest = INNER_M.0.max(NARROWEST_WIRES * wish.wire_m);
        let steps = ((INNER_M.1 - INNER_M.0) / INNER_M.2).round() as usize;
        let inner: Vec<f64> = match wish.inner_m {
            Some(inner_m) => vec![inner_m],
            None => (0..=steps).map(|k| INNER_M.0 + INNER_M.2 * k as f64).collect(),
        };
        let inner = inner.into_iter().filter(|d| wish.inner_m.is_some() || *d >= narrowest);
        let tried = inner.flat_map(|d| (1..=most.min(200)).map(move |n| (d, n)));
        let found = tried.filter_map(|(d, n)| nearest(wish, d, n));
        let best = found.min_by(|a, b| a.wire_m.total_cmp(&b.wire_m));
        best.ok_or(NoRecipe::OutOfReach { wire_m: wish.wire_m, henry: wish.henry })
    }

    /// `turns` turns of `wire_m` wire on a former of `inner_m`, `per_layer` in a layer.
    pub fn with_turns(turns: u32, wire_m: f64, inner_m: f64, per_layer: u32) -> Self {
        let overall_m = wire::overall_m(wire_m);
        let layers = turns.div_ceil(per_layer.max(1));
        let depth_m = f64::from(layers) * overall_m;
        let length_m = f64::from(per_layer.min(turns)) * overall_m;
        let mean_radius_m = 0.5 * (inner_m + depth_m);
        let n = f64::from(turns);
        let (shape, henry) = match (per_layer, layers) {
            (1, _) => (Shape::Spiral, wheeler_spiral_h(n, mean_radius_m, depth_m)),
            (_, 1) => (Shape::SingleLayer, wheeler_single_layer_h(n, mean_radius_m, length_m)),
            _ => (Shape::Multilayer, wheeler_multilayer_h(n, mean_radius_m, length_m, depth_m)),
        };
        let length = wire_length_m(turns, mean_radius_m);
        Self {
            winding: Winding { turns, mean_radius_m, length_m, depth_m },
            shape,
            layers,
            turns_per_layer: per_layer,
            inner_m,
            wire_diameter_m: wire_m,
            henry,
            wire_m: length,
            dcr_ohm: wire_ohm(length, wire_m),
            copper_kg: copper_kg(length, wire_m),
        }
    }

    /// Diameter over the winding, m.
    pub fn outer_m(&self) -> f64 {
        2.0 * self.winding.outer_radius_m()
    }

    /// Axial length of the winding, m.
    pub fn height_m(&self) -> f64 {
        self.winding.length_m
    }
}

fn check(wish: &Wish) -> Result<(), NoRecipe> {
    let numbers = [
        ("the inductance in H", wish.henry),
        ("the wire's diameter in m", wish.wire_m),
        ("the height in m", wish.height_m),
        ("the former's diameter in m", wish.inner_m.unwrap_or(1.0)),
    ];
    match numbers.into_iter().find(|(_, v)| !(v.is_finite() && *v > 0.0)) {
        Some((what, found)) => Err(NoRecipe::Value { what, found }),
        None => Ok(()),
    }
}

/// The number of turns nearest to the wish on this former with this many in a layer, where that is
/// near enough. Inductance rises with the turns.
fn nearest(wish: &Wish, inner_m: f64, per_layer: u32) -> Option<Recipe> {
    let with = |turns| Recipe::with_turns(turns, wish.wire_m, inner_m, per_layer);
    let (mut low, mut high) = (1, MOST_TURNS);
    if with(high).henry < wish.henry {
        return None;
    }
    while high - low > 1 {
        let middle = low.midpoint(high);
        if with(middle).henry < wish.henry { low = middle } else { high = middle }
    }
    let off = |r: &Recipe| (r.henry / wish.henry).ln().abs();
    let (below, above) = (with(low), with(high));
    let best = if off(&below) < off(&above) { below } else { above };
    // Within half a turn where few turns make coarse steps.
    let half_turn = 1.0 / f64::from(best.winding.turns);
    // A last layer hardly begun makes the outline, and so the formula, say too little.
    let full = best.winding.turns.is_multiple_of(per_layer)
        || best.winding.turns % per_layer > per_layer / 2
        || best.layers == 1;
    (off(&best) <= CLOSE.max(half_turn) && full && best.layers <= 200).then_some(best)
}
