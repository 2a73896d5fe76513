//! The `[side.cavity]` table: size, fill, leak, ribs.

use super::reader::{Bounds, Section};
use super::side_section::{LENGTH_MM, PLACE_MM};
use crate::design::{Along, Cavity, KeepOut, Rib};
use crate::model::fill::Fill;

/// Flow resistivity of a foam that is not stated, Pa·s/m². Common practice, no source.
const USUAL_RESISTIVITY: f64 = 10_000.0;

pub(super) fn read(section: &mut Section<'_>) -> Cavity {
    let [x_mm, y_mm] = section.point("centre_mm", PLACE_MM);
    let [width_mm, height_mm] = section.point("size_mm", LENGTH_MM);
    let depth_mm = section.number("depth_mm", Bounds::new(5.0, 500.0, "mm"));
    let leak_ql = section.optional_number("leak_ql", Bounds::new(1.0, 1e9, ""));
    let fill = section.optional_section("fill").map(|mut s| fill(&mut s, depth_mm));
    Cavity {
        x_m: x_mm * 1e-3,
        y_m: y_mm * 1e-3,
        width_m: width_mm * 1e-3,
        height_m: height_mm * 1e-3,
        depth_m: depth_mm * 1e-3,
        fill: fill.unwrap_or_default(),
        leak_ql,
        ribs: section.sections("rib").iter_mut().map(rib).collect(),
        keep_out: section.sections("keep_out").iter_mut().map(keep_out).collect(),
        ripple_limit_db: section.number_or("ripple_limit_db", Bounds::new(0.1, 30.0, "dB"), 2.0),
    }
}

/// A rectangle by two opposite corners.
fn keep_out(section: &mut Section<'_>) -> KeepOut {
    let [one, other]: [[f64; 2]; 2] =
        ["from_mm", "to_mm"].map(|key| section.point(key, PLACE_MM).map(|mm| 1e-3 * mm));
    let ends = |pick: fn(f64, f64) -> f64| [pick(one[0], other[0]), pick(one[1], other[1])];
    KeepOut { low_m: ends(f64::min), high_m: ends(f64::max) }
}

fn rib(section: &mut Section<'_>) -> Rib {
    let ways = [("width", Along::Width), ("height", Along::Height)];
    Rib {
        along: section.choice("along", &ways),
        at_m: section.number("at_mm", PLACE_MM) * 1e-3,
        width_m: section.number_or("width_mm", Bounds::new(0.5, 200.0, "mm"), 10.0) * 1e-3,
        divides: section.flag_or("divides", false),
    }
}

#[derive(Clone, Copy)]
enum FillKind {
    Foam,
    Factor,
}

fn fill(section: &mut Section<'_>, depth_mm: f64) -> Fill {
    let kinds = [("foam", FillKind::Foam), ("factor", FillKind::Factor)];
    match section.choice("kind", &kinds) {
        FillKind::Factor => {
            Fill::Factor(section.number("compliance_factor", Bounds::new(1.0, 1.4, "")))
        }
        FillKind::Foam => {
            let thickness_mm = section.number("thickness_mm", Bounds::positive(500.0, "mm"));
            let porosity = section.number_or("porosity", Bounds::new(0.5, 1.0, ""), 0.97);
            let length = Bounds::new(20.0, 2000.0, "um");
            let thermal_length_um = section.number_or("thermal_length_um", length, 150.0);
            let resistivity = Bounds::new(500.0, 200_000.0, "Pa s/m2");
            let flow_resistivity_pa_s_per_m2 =
                section.number_or("flow_resistivity_pa_s_per_m2", resistivity, USUAL_RESISTIVITY);
            if thickness_mm > depth_mm && section.is_sound() {
                let help = "the foam lies on the back of the cavity: at most depth_mm";
                section.refuse("thickness_mm", "thicker than the cavity is deep", help);
            }
            Fill::Foam {
                fraction: (thickness_mm / depth_mm).min(1.0),
                porosity,
                thermal_length_m: thermal_length_um * 1e-6,
                flow_resistivity_pa_s_per_m2,
            }
        }
    }
}
