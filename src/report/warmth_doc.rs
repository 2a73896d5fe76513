//! How warm a slab gets, in the amplifier's document. Degrees Celsius and watts.

use crate::analysis::warmth::{Settled, Warmth};
use crate::model::slab_heat::Place;
use serde::Serialize;

#[derive(Debug, Clone, Serialize)]
pub(super) struct WarmthDoc {
    side: String,
    room_c: f64,
    normal: SettledDoc,
    programme: SettledDoc,
    limits: Vec<HeldDoc>,
}

#[derive(Debug, Clone, Serialize)]
struct SettledDoc {
    heat_w: f64,
    through_face_w: f64,
    air_c: f64,
    face_inside_c: f64,
    face_outside_c: f64,
    back_inside_c: f64,
    back_outside_c: f64,
    board_c: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    hottest_resistor: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    resistor_c: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    woofer_coil_c: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    tweeter_coil_c: Option<f64>,
}

#[derive(Debug, Clone, Serialize)]
struct HeldDoc {
    what: &'static str,
    normal_c: f64,
    programme_c: f64,
    limit_c: f64,
}

impl WarmthDoc {
    /// Of a side.
    pub(super) fn new(warmth: &Warmth) -> Self {
        let limits = warmth.held.iter().map(|h| HeldDoc {
            what: h.what.key(),
            normal_c: h.normal_c,
            programme_c: h.programme_c,
            limit_c: h.limit_c,
        });
        Self {
            side: warmth.name.clone(),
            room_c: warmth.room_c,
            normal: settled(&warmth.normal),
            programme: settled(&warmth.programme),
            limits: limits.collect(),
        }
    }
}

fn settled(settled: &Settled) -> SettledDoc {
    let at = |place: Place| settled.places_c[place.node()];
    SettledDoc {
        heat_w: settled.heat_w,
        through_face_w: settled.through_face_w,
        air_c: at(Place::Air),
        face_inside_c: at(Place::FaceInside),
        face_outside_c: at(Place::FaceOutside),
        back_inside_c: at(Place::BackInside),
        back_outside_c: at(Place::BackOutside),
        board_c: settled.board_c,
        hottest_resistor: settled.resistor.as_ref().map(|(name, _)| name.clone()),
        resistor_c: settled.resistor.as_ref().map(|(_, c)| *c),
        woofer_coil_c: settled.coil_c.woofer,
        tweeter_coil_c: settled.coil_c.tweeter,
    }
}
