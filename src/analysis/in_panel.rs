//! What takes longer to find out than a response: how the cavity's waves and the place of the
//! woofer act, where the sound goes, and how much a moving head hears change.

use super::back_sheet::BackSheet;
use super::cone_load::ConeLoad;
use super::directions::Directions;
use super::face_sheet::FaceSheet;
use super::finding::Finding;
use super::placement::Placement;
use super::ripple;
use super::study::{SideStudy, StudyError};
use super::wander;
use crate::design::{Design, Side};
use crate::grid::{AcousticImpedance, Grid};
use crate::model::closed_box::ClosedBox;
use crate::model::fill::Fill;
use crate::units;
use std::sync::Arc;

/// A closer look at a side in its panel.
#[derive(Debug, Clone)]
pub struct InPanel {
    /// Load on the woofer's cone as one lump of bare air, Pa·s/m³.
    pub lump: AcousticImpedance,
    /// What the cavity as computed changes in the woofer's level against that lump, dB.
    pub change_db: Vec<f64>,
    /// The back sheet, where it moves.
    pub back: Option<BackSheet>,
    /// The face, where it moves.
    pub face: Option<FaceSheet>,
    /// Places for the woofer, and foam; behind rigid walls.
    pub placement: Placement,
    /// Level over directions.
    pub directions: Directions,
    /// How much each listener hears change, dB; `None` for one who sits still.
    pub wander_db: Vec<Option<f64>>,
}

impl InPanel {
    /// Looks at `side` with its network and polarity as studied.
    ///
    /// # Errors
    /// What the solver or a measured curve has against it.
    pub fn of(
        design: &Design,
        side: &Side,
        study: &SideStudy,
        grid: &Arc<Grid>,
    ) -> Result<Self, StudyError> {
        let (network, polarity) = (study.network(), study.response().polarity);
        let woofer = &side.drivers.woofer.driver;
        let lump = ClosedBox::tight(side.net_volume_m3(), Fill::Empty)
            .behind(&woofer.motor, woofer.mass_condition, &design.air)
            .load_on(grid, &design.air);
        let behind = ConeLoad::of(design, side).on(grid).woofer;
        Ok(Self {
            change_db: ripple::difference_db(woofer, &behind.load, &lump),
            lump,
            back: BackSheet::of(design, side, study, grid)?,
            face: FaceSheet::of(design, side)?,
            placement: Placement::of(design, side)?,
            directions: Directions::of(design, side, network, polarity)?,
            wander_db: wander::wander_db(design, side, network, polarity, grid)?,
        })
    }

    /// What there is to tell of `side`.
    pub fn findings(&self, design: &Design, side: &Side) -> Vec<Finding> {
        let name = &side.name;
        let mut findings: Vec<Finding> = self.uneven(name).into_iter().collect();
        findings.extend(self.back.iter().flat_map(|back| back.findings(design, side)));
        findings.extend(self.face.iter().filter_map(|face| face.finding(name)));
        for (listener, wander) in design.listeners.iter().zip(&self.wander_db) {
            let Some(db) = wander else { continue };
            let text = format!(
                "within {:.0} mm of the seat the sum around the crossover changes by {db:.1} dB on average",
                1e3 * listener.spread_m
            );
            findings.push(Finding::note(format!("{name} response at {}", listener.name), text));
        }
        findings
    }

    fn uneven(&self, name: &str) -> Option<Finding> {
        let placement = &self.placement;
        let here_db = placement.here.ripple.span_db();
        if here_db <= placement.limit_db {
            return None;
        }
        let worst = placement.waves.iter().max_by(|a, b| a.share.total_cmp(&b.share))?;
        let foam = match placement.foam_m {
            Some(foam_m) => format!("{:.0} mm of foam on the whole back cure it", 1e3 * foam_m),
            None => "no thickness of this foam cures it".to_owned(),
        };
        let text = format!(
            "standing waves make the woofer uneven by {here_db:.1} dB between 300 Hz and 3 kHz (limit {:.1} dB), the one at {} the most driven: {foam}; another place may do too",
            placement.limit_db,
            units::hertz(worst.frequency_hz)
        );
        Some(Finding::caution(format!("{name} cavity"), text))
    }
}
