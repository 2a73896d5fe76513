//! The face of a side's bay put to the question: how near a wall it is, and what calms it.

use super::back_sheet;
use super::bay_walls;
use super::cone_load::ConeLoad;
use super::finding::Finding;
use super::placement::USUAL_FOAM;
use super::sheet::{Band, CONSTRAINED_LOSS, Cure, FlowPeak, Remedy, bands};
use crate::design::{Design, Side};
use crate::grid::{FLOOR_DB, Grid, GridError, Transfer};
use crate::model::fill::Fill;
use std::sync::Arc;

/// Where the face is looked at, Hz, and on how many points: above, the cone is off to its crossover,
/// and modes lie dense.
const BAND_HZ: (f64, f64) = (20.0, 3_000.0);
const POINTS: usize = 400;
/// A face that stays this far below the cone is not told as moving, dB.
const QUIET_DB: f64 = -10.0;
/// Foams that are tried, m; their pores are those that a design's foam has unless told (common
/// practice, no source).
const FOAMS_M: [f64; 4] = [3e-3, 5e-3, 10e-3, 20e-3];
const FOAM_POROSITY: f64 = 0.97;
const FOAM_THERMAL_LENGTH_M: f64 = 150e-6;

/// How a face moves with the pressure in its bay.
#[derive(Debug, Clone)]
pub struct FaceSheet {
    /// Where it moves most air against the cone.
    pub peak: FlowPeak,
    /// Where it moves more air than the cone.
    pub above_cone: Vec<Band>,
    /// What it adds to the cavity's volume at low frequency, m³.
    pub extra_volume_m3: f64,
    /// What was tried to keep it still; empty where it stays below the cone everywhere.
    pub cures: Vec<Cure>,
}

impl FaceSheet {
    /// The face of `side`; `None` where the design takes it as rigid.
    ///
    /// # Errors
    /// None in practice: the band's axis is sound.
    pub fn of(design: &Design, side: &Side) -> Result<Option<Self>, GridError> {
        let axis = Grid::log(BAND_HZ.0, BAND_HZ.1, POINTS)?;
        let Some((peak, above_cone)) = moved(design, side, &axis) else { return Ok(None) };
        let sheet = bay_walls::sheets(design, side).face;
        let cures = if above_cone.is_empty() { Vec::new() } else { cures(design, side, &axis) };
        let extra_volume_m3 = sheet.map_or(0.0, |sheet| sheet.extra_volume_m3(&design.air));
        Ok(Some(Self { peak, above_cone, extra_volume_m3, cures }))
    }

    /// What there is to tell, of the side called `name`.
    pub fn finding(&self, name: &str) -> Option<Finding> {
        let subject = format!("{name} face");
        if !self.above_cone.is_empty() {
            let bands: Vec<String> = self.above_cone.iter().map(Band::words).collect();
            let text = format!(
                "is not a wall: it moves more air than the cone {} ({}). {}",
                bands.join(" and "),
                self.peak.words(),
                back_sheet::help(&self.cures)
            );
            return Some(Finding::caution(subject, text));
        }
        (self.peak.level_db > QUIET_DB).then(|| {
            let text = format!("is not quite a wall: it moves {}", self.peak.words());
            Finding::note(subject, text)
        })
    }
}

/// How far the face of `side` moves, over `axis`; `None` for a rigid one.
fn moved(design: &Design, side: &Side, axis: &Arc<Grid>) -> Option<(FlowPeak, Vec<Band>)> {
    ConeLoad::of(design, side).on(axis).woofer.walls.face.as_ref().map(judged)
}

/// Highest ratio, and the bands above 0 dB.
fn judged(ratio: &Transfer) -> (FlowPeak, Vec<Band>) {
    let (hz, db) = (ratio.grid().frequency_hz(), ratio.level_db(1.0));
    let levels = hz.iter().zip(&db);
    let levels = levels.map(|(&frequency_hz, &level_db)| FlowPeak { level_db, frequency_hz });
    let lowest = FlowPeak { level_db: FLOOR_DB, frequency_hz: ratio.grid().start_hz() };
    let higher =
        |top: FlowPeak, next: FlowPeak| if next.level_db > top.level_db { next } else { top };
    (levels.fold(lowest, higher), bands(hz, &db))
}

/// Foams and thicker faces, each until one cures, and damping; every one by itself.
fn cures(design: &Design, side: &Side, axis: &Arc<Grid>) -> Vec<Cure> {
    let tried = |remedy: Remedy| {
        let (mut other, mut cured) = (design.clone(), side.clone());
        match remedy {
            Remedy::Foam { thickness_m } => {
                cured.cavity.fill = foamed(side.cavity.fill, thickness_m / side.cavity.depth_m);
            }
            Remedy::Thickness { thickness_m } => other.panel.face.thickness_m = thickness_m,
            _ => other.panel.face.loss_factor = Some(CONSTRAINED_LOSS),
        }
        let (peak, above_cone) = moved(&other, &cured, axis)?;
        Some(Cure { remedy, cures: above_cone.is_empty(), peak, above_cone })
    };
    let until_cured = |remedies: Vec<Remedy>| {
        let mut last = None;
        for remedy in remedies {
            last = tried(remedy);
            if last.as_ref().is_some_and(|cure| cure.cures) {
                break;
            }
        }
        last
    };
    let there_m = match side.cavity.fill {
        Fill::Foam { fraction, .. } => fraction * side.cavity.depth_m,
        Fill::Empty | Fill::Factor(_) => 0.0,
    };
    let foams = FOAMS_M.into_iter().filter(|&t| t > there_m && t < side.cavity.depth_m);
    let face = &design.panel.face;
    let more = face.material.thicknesses_m().iter().copied();
    let more = more.filter(|&t| t > face.thickness_m * (1.0 + 1e-9));
    let found = [
        until_cured(foams.map(|thickness_m| Remedy::Foam { thickness_m }).collect()),
        until_cured(more.map(|thickness_m| Remedy::Thickness { thickness_m }).collect()),
        tried(Remedy::Loss { loss_factor: CONSTRAINED_LOSS }),
    ];
    found.into_iter().flatten().collect()
}

/// Foam in `fraction` of the cavity, of the kind that is there.
fn foamed(fill: Fill, fraction: f64) -> Fill {
    match fill {
        Fill::Foam { porosity, thermal_length_m, flow_resistivity_pa_s_per_m2, .. } => {
            Fill::Foam { fraction, porosity, thermal_length_m, flow_resistivity_pa_s_per_m2 }
        }
        Fill::Empty | Fill::Factor(_) => Fill::Foam {
            fraction,
            porosity: FOAM_POROSITY,
            thermal_length_m: FOAM_THERMAL_LENGTH_M,
            flow_resistivity_pa_s_per_m2: USUAL_FOAM.flow_resistivity_pa_s_per_m2,
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::Spectrum;
    use num_complex::Complex64;
    use std::f64::consts::TAU;

    fn face(gain: impl Fn(f64) -> f64) -> FaceSheet {
        let grid = Grid::log(20.0, 3_000.0, 481).expect("sound");
        let ratio = Spectrum::from_fn(&grid, |w| Complex64::from(gain(w / TAU)));
        let (peak, above_cone) = judged(&ratio);
        FaceSheet { peak, above_cone, extra_volume_m3: 1e-4, cures: Vec::new() }
    }

    #[test]
    fn a_still_face_is_not_told_and_a_loud_one_is_a_caution() {
        assert!(face(|_| 0.1).finding("left").is_none());
        let note = face(|hz| if hz < 500.0 { 0.1 } else { 0.5 }).finding("left").unwrap();
        assert!(note.text.contains("not quite a wall") && note.text.contains("0.5 times"));
        let loud = face(|hz| if (400.0..500.0).contains(&hz) { 3.0 } else { 0.1 });
        assert_eq!(loud.above_cone.len(), 1);
        assert!(loud.finding("left").unwrap().text.contains("more air than the cone"));
    }

    #[test]
    fn more_foam_is_of_the_kind_that_is_there() {
        let there = Fill::Foam {
            fraction: 0.1,
            porosity: 0.9,
            thermal_length_m: 3e-4,
            flow_resistivity_pa_s_per_m2: 5e3,
        };
        let more = foamed(there, 0.3);
        assert!(matches!(more, Fill::Foam { fraction: 0.3, porosity: 0.9, .. }), "{more:?}");
        assert!(matches!(foamed(Fill::Factor(1.1), 0.3), Fill::Foam { fraction: 0.3, .. }));
    }
}
