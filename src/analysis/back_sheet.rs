//! The back of a side's cavity put to the question, and what there is to tell of it.

use super::bay_walls;
use super::cone_load;
use super::finding::Finding;
use super::sheet::{Band, Cure, Remedy, SheetCase, SheetReview};
use super::study::SideStudy;
use crate::design::{Design, Side};
use crate::grid::{Grid, GridError};
use crate::units;
use num_complex::Complex64;
use std::f64::consts::TAU;

/// Where the sheet is looked at, Hz, and on how many points; remedies on fewer.
const BAND_HZ: (f64, f64) = (20.0, 3_000.0);
const POINTS: usize = 200;
const TRIAL_POINTS: usize = 90;
/// A sheet that stays this far below the cone is not told as moving, dB.
const QUIET_DB: f64 = -10.0;

/// A back sheet and what may be done about it.
#[derive(Debug, Clone)]
pub struct BackSheet {
    /// The sheet as built.
    pub review: SheetReview,
    /// What was tried to keep it still; empty where it stays below the cone everywhere.
    pub cures: Vec<Cure>,
}

impl BackSheet {
    /// The back of `side`, driven as in `study` by the amplifier's rated voltage; `None` where the
    /// design takes it as rigid, or its air as one lump.
    ///
    /// # Errors
    /// None in practice: the band's axis is sound.
    pub fn of(
        design: &Design,
        side: &Side,
        study: &SideStudy,
        grid: &Grid,
    ) -> Result<Option<Self>, GridError> {
        if !(design.models.sheets_move.back && design.models.cavity_waves) {
            return Ok(None);
        }
        let (field, rear) = cone_load::rigid(side, &design.air);
        let sd_m2 = side.drivers.woofer.driver.motor.sd_m2;
        let travel_m = &study.excursion_m.woofer;
        let cone_flow = |omega: f64, _: Complex64| {
            omega * sd_m2 * between(grid.frequency_hz(), travel_m, omega / TAU)
        };
        let back = &design.panel.back;
        let face = bay_walls::sheets(design, side).face;
        let case = SheetCase {
            field: &field,
            disc: rear.disc,
            face: face.as_deref(),
            layout: bay_walls::back(&side.bay(), &design.panel),
            skin: back.skin(),
            coating: back.coating,
            thicknesses_m: back.material.thicknesses_m(),
            cone_flow: &cone_flow,
        };
        let on = |points| Grid::log(BAND_HZ.0, BAND_HZ.1, points);
        let Some(review) = case.review(&on(POINTS)?) else { return Ok(None) };
        let cures =
            if review.above_cone.is_empty() { Vec::new() } else { case.cures(&on(TRIAL_POINTS)?) };
        Ok(Some(Self { review, cures }))
    }

    /// What there is to tell, of the side called `name`.
    pub fn findings(&self, design: &Design, side: &Side) -> Vec<Finding> {
        let subject = || format!("{} back", side.name);
        let mut findings = Vec::new();
        if let Some(text) = self.moving(side) {
            findings.push(Finding::caution(subject(), text));
        } else if self.review.peak.level_db > QUIET_DB {
            let text = format!("is not quite a wall: it moves {}", self.review.peak.words());
            findings.push(Finding::note(subject(), text));
        }
        if self.review.deflection_over_limit > 1.0 {
            let text = format!(
                "bends by {:.1} times half its thickness at {} with the amplifier's rated sine: it stiffens there and distorts, and these figures, which are linear, end",
                self.review.deflection_over_limit,
                units::hertz(self.review.deflection_hz)
            );
            findings.push(Finding::caution(subject(), text));
        }
        findings.extend(self.weather(design, side).map(|text| Finding::note(subject(), text)));
        findings
    }

    fn moving(&self, side: &Side) -> Option<String> {
        if self.review.above_cone.is_empty() {
            return None;
        }
        let bands: Vec<String> = self.review.above_cone.iter().map(Band::words).collect();
        let help = help(&self.cures);
        Some(format!(
            "is not a wall: it moves more air than the cone {} ({}), and adds {} l to the {} l cavity. {help}",
            bands.join(" and "),
            self.review.peak.words(),
            units::significant(1e3 * self.review.extra_volume_m3, 2),
            units::significant(1e3 * side.net_volume_m3(), 2),
        ))
    }

    /// What weather does to a cavity without a leak.
    fn weather(&self, design: &Design, side: &Side) -> Option<String> {
        let still = &self.review.still;
        let limit_m = 0.5 * design.panel.back.thickness_m;
        let bulge_m = still.bulge_10_k_m.max(still.bulge_300_m_m);
        (side.cavity.leak_ql.is_none() && bulge_m > 0.2 * limit_m).then(|| {
            format!(
                "bulges by about {:.1} mm after 10 K and {:.1} mm after 300 m of height, for its cavity is tight: a hole of {:.1} mm evens that out and is not heard",
                1e3 * still.bulge_10_k_m,
                1e3 * still.bulge_300_m_m,
                1e3 * still.hole_diameter_m
            )
        })
    }
}

/// What `cures` come to, in words.
pub(super) fn help(cures: &[Cure]) -> String {
    let cured: Vec<String> = cures.iter().filter(|c| c.cures).map(|c| remedy(&c.remedy)).collect();
    if !cured.is_empty() {
        return format!("Each of these cures it, computed: {}", cured.join("; "));
    }
    match cures.iter().min_by(|a, b| a.peak.level_db.total_cmp(&b.peak.level_db)) {
        None => "Nothing was tried".to_owned(),
        Some(least) => format!(
            "Nothing tried cures it alone; {} leaves {:+.0} dB",
            remedy(&least.remedy),
            least.peak.level_db
        ),
    }
}

/// A remedy in words.
pub fn remedy(remedy: &Remedy) -> String {
    match remedy {
        Remedy::Thickness { thickness_m } => format!("{:.1} mm of the same", 1e3 * thickness_m),
        Remedy::RibAlong => "a rib along its longer side".to_owned(),
        Remedy::RibAcross => "a rib across".to_owned(),
        Remedy::TwoRibs => "a rib along and one across".to_owned(),
        Remedy::DampingLayer(layer) => format!(
            "a glued layer of {:.0} mm with {:.0} GPa and a loss factor of {:.1}",
            1e3 * layer.thickness_m,
            1e-9 * layer.youngs_modulus_pa,
            layer.loss_factor
        ),
        Remedy::Loss { loss_factor } => {
            format!("damping to a loss factor of {loss_factor:.1} (a constrained layer)")
        }
        Remedy::Foam { thickness_m } => {
            format!("{:.0} mm of foam on the whole back", 1e3 * thickness_m)
        }
        Remedy::Plywood { thickness_m } => {
            format!(
                "{:.0} mm of plywood instead, its face grain along the shorter side",
                1e3 * thickness_m
            )
        }
    }
}

/// `values` at `at`, on straight lines between the rising `x`.
fn between(x: &[f64], values: &[f64], at: f64) -> f64 {
    let above = x.partition_point(|x| *x < at).clamp(1, x.len().max(2) - 1);
    match (x.get(above - 1..=above), values.get(above - 1..=above)) {
        (Some([x0, x1]), Some([v0, v1])) => {
            let share = ((at - x0) / (x1 - x0)).clamp(0.0, 1.0);
            v0 + share * (v1 - v0)
        }
        _ => values.first().copied().unwrap_or_default(),
    }
}
