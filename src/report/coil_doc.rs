//! A coil to wind, as a document and as text.

use super::json::SCHEMA_VERSION;
use super::needs::{self, RecipeDoc};
use super::table::{Gives, lines, plain_table};
use crate::circuit::mutual::{self, Placement};
use crate::circuit::winding::Winding;
use crate::circuit::winding::recipe::{Recipe, Wish};
use crate::circuit::wire;
use crate::units::{self, significant};
use serde::Serialize;

/// Wheeler's formula is told to be off where it differs from the sum over the section by more, %.
const TOLD_PERCENT: f64 = 1.0;

/// An equal coil near by.
#[derive(Debug, Clone, Serialize)]
pub struct Near {
    /// "beside", "above", "crossed".
    place: String,
    apart_m: f64,
    mutual_h: f64,
    factor: f64,
    /// Both in series, wound in one sense.
    in_series_h: f64,
}

impl Near {
    /// An equal coil `apart_m` away in the place called `words`; `None` where they overlap.
    pub fn of(coil: &Winding, words: &str, apart_m: f64, place: &Placement) -> Option<Self> {
        if mutual::overlap(coil, coil, place) {
            return None;
        }
        let (mutual_h, own_h) = (mutual::windings_h(coil, coil, place), coil.section_h());
        // What symmetry makes nothing is rounding error.
        let mutual_h = if mutual_h.abs() < 1e-9 * own_h { 0.0 } else { mutual_h };
        let factor = mutual::coupling_factor(mutual_h, [own_h; 2]);
        let in_series_h = mutual::in_series_h([own_h; 2], factor, true);
        Some(Self { place: words.to_owned(), apart_m, mutual_h, factor, in_series_h })
    }
}

/// The document of `coil --json`.
#[derive(Debug, Clone, Serialize)]
pub struct CoilDoc {
    schema_version: u32,
    wanted_h: f64,
    height_limit_m: f64,
    coil: RecipeDoc,
    dcr_at_60_c_ohm: f64,
    skin_depth_20_khz_m: f64,
    near: Vec<Near>,
}

impl CoilDoc {
    /// The document of a recipe.
    pub fn new(wish: &Wish, recipe: &Recipe, near: &[Near]) -> Self {
        Self {
            schema_version: SCHEMA_VERSION,
            wanted_h: wish.henry,
            height_limit_m: wish.height_m,
            coil: RecipeDoc::new(recipe),
            dcr_at_60_c_ohm: recipe.dcr_ohm * wire::resistance_ratio(60.0),
            skin_depth_20_khz_m: wire::skin_depth_m(20e3),
            near: near.to_vec(),
        }
    }
}

/// The recipe for people, in lines of `width` characters.
pub fn text(wish: &Wish, recipe: &Recipe, near: &[Near], width: u16) -> String {
    let mm = |m: f64| format!("{} mm", significant(1e3 * m, 3));
    let mh = |h: f64| format!("{} mH", significant(1e3 * h, 4));
    let (formula, section) = (recipe.henry, recipe.winding.section_h());
    let off = 100.0 * (section / formula - 1.0);
    let mut table = plain_table();
    table.add_row(["Wind".to_owned(), needs::recipe(recipe)]);
    let missed = 100.0 * (formula / wish.henry - 1.0);
    table.add_row([
        "Inductance".to_owned(),
        format!(
            "{} wanted, {} by Wheeler's formula ({missed:+.1} %, {}), {} by the sum over the section",
            mh(wish.henry),
            mh(formula),
            recipe.shape.words(),
            mh(section)
        ),
    ]);
    if off.abs() > TOLD_PERCENT {
        let advice = "the formula is outside its best range here: trust the sum, wind a few turns more and take off turns while measuring";
        table.add_row(["Care".to_owned(), format!("{off:+.1} % apart: {advice}")]);
    }
    table.add_row([
        "Warm".to_owned(),
        format!(
            "DCR {} at 60 °C; skin depth at 20 kHz {}, wire {} over its enamel",
            units::ohms(recipe.dcr_ohm * wire::resistance_ratio(60.0)),
            mm(wire::skin_depth_m(20e3)),
            mm(wire::overall_m(recipe.wire_diameter_m))
        ),
    ]);
    for pair in near {
        table.add_row([
            "Field".to_owned(),
            format!(
                "an equal coil {}, {} away: M {} µH, k {:+.4}, both in series {}",
                pair.place,
                mm(pair.apart_m),
                significant(1e6 * pair.mutual_h, 3),
                pair.factor,
                mh(pair.in_series_h)
            ),
        ]);
    }
    lines(table, width, Gives::Last)
}
