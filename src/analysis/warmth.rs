//! How warm a closed slab gets in the end: drivers, crossover and amplifier heat the air of a cavity,
//! which loses it through face and back.

use super::amplifier::SideLoad;
use super::amplifier::supply::{NORMAL_SHARE, Supply};
use super::finding::Finding;
use crate::design::{BoardPlace, Design, Rear, Side, Way, Ways};
use crate::model::fill::Fill;
use crate::model::heat::{HeatPath, USUAL_LIMIT_C};
use crate::model::slab_heat::film::{EMISSIVITY_DULL, Standing};
use crate::model::slab_heat::{NotSettled, Outside, Path, Place, Slab, Wall};

/// A warm room, °C (common practice, no source).
pub const ROOM_C: f64 = 25.0;
/// Board of a side, both faces of 100 × 80 mm, m² (common practice, no source).
const BOARD_M2: f64 = 0.016;
/// Its height as a surface, m.
const BOARD_M: f64 = 0.08;
/// Surface of a wirewound resistor for 5 to 10 W, m² (common practice, no source).
const RESISTOR_M2: f64 = 2e-3;
/// Its height as a surface, m.
const RESISTOR_M: f64 = 0.01;
/// A panel that leans back further than this counts as lying, rad (60°).
const LYING_RAD: f64 = 1.05;
/// The noise that just fits has four times the power of normal listening.
const NORMAL_OF_FITTING: f64 = 2.0 * NORMAL_SHARE;

/// Wood glue softens (polyvinyl acetate; common practice, no source), °C.
pub const GLUE_C: f64 = 60.0;
/// Polyurethane foam ages fast (common practice, no source), °C.
pub const FOAM_C: f64 = 80.0;
/// Upper category temperature of usual film and bipolar capacitors (IEC 60384, from memory), °C.
pub const CAPACITOR_C: f64 = 85.0;
/// Metal that is touched for minutes (ISO 13732-1, from memory), °C.
pub const TOUCH_C: f64 = 48.0;

/// What is held against a limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limited {
    /// Glue of the face.
    Glue,
    /// Foam on the back.
    Foam,
    /// Capacitors on the board.
    Capacitors,
    /// The back, touched.
    Back,
    /// A voice coil.
    Coil(Way),
}

impl Limited {
    /// Words for it.
    pub fn words(self) -> &'static str {
        match self {
            Self::Glue => "the glue of the face",
            Self::Foam => "the foam",
            Self::Capacitors => "the capacitors on the board",
            Self::Back => "the metal back, to the touch",
            Self::Coil(Way::Woofer) => "the woofer's coil",
            Self::Coil(Way::Tweeter) => "the tweeter's coil",
        }
    }

    /// The word for it in documents.
    pub fn key(self) -> &'static str {
        match self {
            Self::Glue => "glue",
            Self::Foam => "foam",
            Self::Capacitors => "capacitors",
            Self::Back => "back",
            Self::Coil(Way::Woofer) => "woofer_coil",
            Self::Coil(Way::Tweeter) => "tweeter_coil",
        }
    }
}

/// Something against its limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Held {
    /// What.
    pub what: Limited,
    /// In normal listening, °C.
    pub normal_c: f64,
    /// With programme on the verge of clipping for hours, °C.
    pub programme_c: f64,
    /// What it stands, °C.
    pub limit_c: f64,
}

/// A side at one level when all has settled, °C.
#[derive(Debug, Clone, PartialEq)]
pub struct Settled {
    /// All heat in the cavity, W.
    pub heat_w: f64,
    /// What leaves through the face, W.
    pub through_face_w: f64,
    /// Each of [`Place::ALL`].
    pub places_c: Vec<f64>,
    /// The board.
    pub board_c: f64,
    /// The hottest resistor's surface.
    pub resistor: Option<(String, f64)>,
    /// Each voice coil whose thermal resistance is known.
    pub coil_c: Ways<Option<f64>>,
}

/// A side's cavity in the end.
#[derive(Debug, Clone, PartialEq)]
pub struct Warmth {
    /// The side.
    pub name: String,
    /// The room, °C.
    pub room_c: f64,
    /// In normal listening.
    pub normal: Settled,
    /// With programme on the verge of clipping.
    pub programme: Settled,
    /// Against the limits.
    pub held: Vec<Held>,
}

impl Warmth {
    /// Of `side`, loaded as in `load`.
    ///
    /// # Errors
    /// [`NotSettled`] where the films and temperatures do not agree.
    pub fn of(
        design: &Design,
        side: &Side,
        load: &SideLoad,
        supply: &Supply,
    ) -> Result<Self, NotSettled> {
        let sides = design.sides.len() as f64;
        let of_amplifier = |heat_w: f64| match design.amplifier.hardware.board {
            BoardPlace::Cavity => heat_w / sides,
            BoardPlace::Outside => 0.0,
        };
        let (loud_w, normal_w) = (supply.programme.heat_w(), supply.normal.heat_w());
        let slab = slab(design, side);
        let programme = settled(&slab, side, load, 1.0, of_amplifier(loud_w))?;
        let normal = settled(&slab, side, load, NORMAL_OF_FITTING, of_amplifier(normal_w))?;
        let held = held(design, side, &normal, &programme);
        Ok(Self { name: side.name.clone(), room_c: ROOM_C, normal, programme, held })
    }

    /// What it asks care for: unfit where normal listening is too much.
    pub fn findings(&self) -> Vec<Finding> {
        let subject = || format!("{} heat", self.name);
        let told = self.held.iter().filter_map(|held| {
            let (what, limit_c) = (held.what.words(), held.limit_c);
            let cure = "give heat a way out (a metal back in free air, the board outside), or play it quieter";
            if held.normal_c > limit_c {
                let text = format!(
                    "normal listening brings {what} to {:.0} °C in the end, above {limit_c:.0} °C: {cure}",
                    held.normal_c
                );
                Some(Finding::unfit(subject(), text))
            } else if held.programme_c > limit_c {
                let text = format!(
                    "hours of programme on the verge of clipping bring {what} to {:.0} °C, above {limit_c:.0} °C: {cure}",
                    held.programme_c
                );
                Some(Finding::caution(subject(), text))
            } else {
                None
            }
        });
        told.collect()
    }
}

/// The side's cavity as the thermal model has it.
pub fn slab(design: &Design, side: &Side) -> Slab {
    let bay = side.bay();
    let panel = &design.panel;
    let foam_m = match bay.fill {
        Fill::Foam { fraction, .. } => fraction * bay.depth_m,
        Fill::Empty | Fill::Factor(_) => 0.0,
    };
    let behind = match panel.rear {
        Rear::Room => Outside::Room,
        Rear::Closed { gap_m } => Outside::Gap(gap_m),
    };
    let wall = |sheet: &crate::design::Sheet, foam_m, outside| Wall {
        material: sheet.material,
        thickness_m: sheet.thickness_m,
        foam_m,
        outside,
    };
    Slab {
        width_m: bay.width_m,
        height_m: bay.height_m,
        depth_m: bay.depth_m,
        face: wall(&panel.face, 0.0, Outside::Room),
        back: wall(&panel.back, foam_m, behind),
        standing: match panel.tilt_rad.abs() > LYING_RAD {
            true => Standing::FaceUp,
            false => Standing::Upright,
        },
        room_c: ROOM_C,
    }
}

/// A surface that gives off heat to the cavity's air.
fn body(area_m2: f64, height_m: f64) -> Path {
    Path::Film {
        area_m2,
        height_m,
        emissivity: EMISSIVITY_DULL,
        standing: Standing::Upright,
        warm_below: true,
        least_w_per_m2_k: 0.0,
    }
}

/// Temperatures with `share` of the heat that fitting programme makes, and `amplifier_w` (W) of the
/// amplifier's own.
fn settled(
    slab: &Slab,
    side: &Side,
    load: &SideLoad,
    share: f64,
    amplifier_w: f64,
) -> Result<Settled, NotSettled> {
    let air = Place::Air.node();
    let mut network = slab.network();
    let mut magnets: Ways<Option<(usize, f64)>> = Ways::default();
    let mut heat_w = amplifier_w;
    for way in Way::BOTH {
        let watts = share * load.heat_w.of(way);
        heat_w += watts;
        match HeatPath::of(&side.drivers.of(way).driver.limits) {
            Some(path) if path.magnet_k_per_w > 0.0 => {
                let magnet = network.add_node(watts);
                network.join(magnet, Some(air), Path::Fixed(1.0 / path.magnet_k_per_w));
                *magnets.of_mut(way) = Some((magnet, path.coil_k_per_w * watts));
            }
            // What is between coil and air does not change how warm the air gets.
            _ => network.sources_w[air] += watts,
        }
    }
    let board = network.add_node(amplifier_w);
    network.join(board, Some(air), body(BOARD_M2, BOARD_M));
    let mut resistors = Vec::new();
    for (reference, watts) in &load.part_heat_w {
        let watts = share * watts;
        heat_w += watts;
        if reference.starts_with('R') {
            let node = network.add_node(watts);
            network.join(node, Some(air), body(RESISTOR_M2, RESISTOR_M));
            resistors.push((reference.clone(), node));
        } else {
            network.sources_w[board] += watts;
        }
    }
    let warm_c = network.settle()?;
    let hottest = resistors.into_iter().max_by(|a, b| warm_c[a.1].total_cmp(&warm_c[b.1]));
    let outside_c = warm_c[Place::FaceOutside.node()];
    let through_face =
        network.branches.iter().filter(|b| b.to.is_none() && b.from == Place::FaceOutside.node());
    Ok(Settled {
        heat_w,
        through_face_w: through_face
            .map(|b| b.path.w_per_k(outside_c, slab.room_c) * (outside_c - slab.room_c))
            .sum(),
        places_c: warm_c[..Place::ALL.len()].to_vec(),
        board_c: warm_c[board],
        resistor: hottest.map(|(reference, node)| (reference, warm_c[node])),
        coil_c: magnets.map(|m| m.map(|(node, rise_k)| warm_c[node] + rise_k)),
    })
}

fn held(design: &Design, side: &Side, normal: &Settled, programme: &Settled) -> Vec<Held> {
    use crate::design::Material::{Aluminium, Mdf, Plywood, Steel};
    let mut held = Vec::new();
    let mut hold = |what, limit_c, of: &dyn Fn(&Settled) -> f64| {
        held.push(Held { what, normal_c: of(normal), programme_c: of(programme), limit_c });
    };
    let at = |place: Place| move |s: &Settled| s.places_c[place.node()];
    if matches!(design.panel.face.material, Plywood | Mdf) {
        hold(Limited::Glue, GLUE_C, &at(Place::FaceInside));
    }
    if matches!(side.cavity.fill, Fill::Foam { .. }) {
        hold(Limited::Foam, FOAM_C, &at(Place::BackInside));
    }
    hold(Limited::Capacitors, CAPACITOR_C, &|s| s.board_c);
    if matches!(design.panel.back.material, Aluminium | Steel) && design.panel.rear == Rear::Room {
        hold(Limited::Back, TOUCH_C, &at(Place::BackOutside));
    }
    for way in Way::BOTH {
        if let (Some(_), Some(_)) = (normal.coil_c.of(way), programme.coil_c.of(way)) {
            let coil_c = move |s: &Settled| s.coil_c.of(way).unwrap_or(s.board_c);
            hold(Limited::Coil(way), USUAL_LIMIT_C, &coil_c);
        }
    }
    held
}
