//! What parts have to stand, what articles stand, and how coils are wound, in words and documents.

use crate::analysis::need::Need;
use crate::circuit::winding::recipe::Recipe;
use crate::design::{Article, Rating};
use crate::units::significant;
use serde::Serialize;

/// What to ask for: "5 W", "100 V", "1.2 A (2.4 peak)".
pub fn needed(need: &Need) -> String {
    match *need {
        Need::Resistor { package_w: Some(w), .. } => format!("{w} W"),
        Need::Resistor { rated_w, .. } => format!("{} W", significant(rated_w, 3)),
        Need::Inductor { rms_a, peak_a, .. } => {
            format!("{} A ({} peak)", significant(rms_a, 2), significant(peak_a, 2))
        }
        Need::Capacitor { rated_v: Some(v), .. } => format!("{v} V"),
        Need::Capacitor { peak_v, .. } => format!("{} V peak", significant(peak_v, 3)),
    }
}

/// What an article stands: "10 W", "63 V", "3 A"; empty where its file does not say.
pub fn had(article: &Article) -> String {
    let saturates = article.saturation_a.map_or(String::new(), |a| format!(", {a} A peak"));
    match article.rating {
        Some(Rating::PowerW(w)) => format!("{w} W"),
        Some(Rating::CurrentA(a)) => format!("{a} A{saturates}"),
        Some(Rating::VoltageV(v)) => format!("{v} V"),
        None => String::new(),
    }
}

/// Case and height: "axial 10 x 30, 10 mm high".
pub fn size(article: &Article) -> String {
    let height = article.height_m.map(|m| format!("{} mm high", significant(1e3 * m, 3)));
    let parts: Vec<String> = article.package.clone().into_iter().chain(height).collect();
    parts.join(", ")
}

/// A recipe in one sentence.
pub fn recipe(recipe: &Recipe) -> String {
    let mm = |m: f64| significant(1e3 * m, 3);
    let layers = match recipe.layers {
        1 => "in one layer".to_owned(),
        n => format!("in {n} layers of {}", recipe.turns_per_layer),
    };
    let shape = if recipe.turns_per_layer == 1 { "as a flat spiral".to_owned() } else { layers };
    format!(
        "{} turns of {} mm wire {shape} on a former of {} mm: {} mm outside, {} mm high, {} m of wire, {} g of copper, DCR {} Ω",
        recipe.winding.turns,
        mm(recipe.wire_diameter_m),
        mm(recipe.inner_m),
        mm(recipe.outer_m()),
        mm(recipe.height_m()),
        significant(recipe.wire_m, 3),
        significant(1e3 * recipe.copper_kg, 3),
        significant(recipe.dcr_ohm, 3),
    )
}

/// What a part needs, as keys of a document.
#[derive(Debug, Clone, Default, Serialize)]
pub struct NeedDoc {
    /// Turned into heat, W.
    #[serde(skip_serializing_if = "Option::is_none")]
    power_w: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    rated_power_w: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    package_w: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    surface_c: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    beside_foam_w: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    current_rms_a: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    current_peak_a: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    voltage_peak_v: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    rated_voltage_v: Option<f64>,
}

impl NeedDoc {
    /// Of a need.
    pub fn new(need: &Need) -> Self {
        match *need {
            Need::Resistor { power_w, rated_w, package_w, surface_c, beside_foam_w } => Self {
                power_w: Some(power_w),
                rated_power_w: rated_w.is_finite().then_some(rated_w),
                package_w,
                surface_c,
                beside_foam_w,
                ..Self::default()
            },
            Need::Inductor { rms_a, peak_a, copper_w } => Self {
                power_w: Some(copper_w),
                current_rms_a: Some(rms_a),
                current_peak_a: Some(peak_a),
                ..Self::default()
            },
            Need::Capacitor { peak_v, rated_v, ripple_a } => Self {
                voltage_peak_v: Some(peak_v),
                rated_voltage_v: rated_v,
                current_rms_a: Some(ripple_a),
                ..Self::default()
            },
        }
    }
}

/// What an article stands, as keys of a document.
#[derive(Debug, Clone, Default, Serialize)]
pub struct StandsDoc {
    #[serde(skip_serializing_if = "Option::is_none")]
    power_w: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    current_a: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    saturation_a: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    ripple_a: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    voltage_v: Option<f64>,
}

impl StandsDoc {
    /// Of an article.
    pub fn new(article: &Article) -> Self {
        let mut doc = Self {
            saturation_a: article.saturation_a,
            ripple_a: article.ripple_a,
            ..Self::default()
        };
        match article.rating {
            Some(Rating::PowerW(w)) => doc.power_w = Some(w),
            Some(Rating::CurrentA(a)) => doc.current_a = Some(a),
            Some(Rating::VoltageV(v)) => doc.voltage_v = Some(v),
            None => {}
        }
        doc
    }
}

/// How a coil is wound, as keys of a document; SI units.
#[derive(Debug, Clone, Serialize)]
pub struct RecipeDoc {
    shape: &'static str,
    turns: u32,
    layers: u32,
    turns_per_layer: u32,
    wire_diameter_m: f64,
    inner_diameter_m: f64,
    outer_diameter_m: f64,
    height_m: f64,
    wire_length_m: f64,
    dcr_ohm: f64,
    copper_kg: f64,
    inductance_h: f64,
    /// By the sum over the section.
    inductance_by_section_h: f64,
}

impl RecipeDoc {
    /// Of a recipe.
    pub fn new(recipe: &Recipe) -> Self {
        Self {
            shape: recipe.shape.words(),
            turns: recipe.winding.turns,
            layers: recipe.layers,
            turns_per_layer: recipe.turns_per_layer,
            wire_diameter_m: recipe.wire_diameter_m,
            inner_diameter_m: recipe.inner_m,
            outer_diameter_m: recipe.outer_m(),
            height_m: recipe.height_m(),
            wire_length_m: recipe.wire_m,
            dcr_ohm: recipe.dcr_ohm,
            copper_kg: recipe.copper_kg,
            inductance_h: recipe.henry,
            inductance_by_section_h: recipe.winding.section_h(),
        }
    }
}
