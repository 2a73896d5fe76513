//! Whether a back sheet is a wall: where it moves more air than the cone, how far it bends, and what
//! helps.

use super::bay_walls;
use crate::grid::{FLOOR_DB, Grid, level_db};
use crate::model::air::{Air, VISCOSITY_PA_S};
use crate::model::coupled_cavity::{CoupledCavity, Response};
use crate::model::material::Material;
use crate::model::plate::section::{Coating, Section, Skin};
use crate::model::sheet::{Layout, Ribs, Sheet, Walls};
use crate::model::wave_cavity::{Disc, WaveField};
use crate::units;
use num_complex::Complex64;
use std::f64::consts::{PI, TAU};
use std::sync::Arc;

/// A stiff damping layer to be glued on: invented data of the usual order (common practice, no
/// source).
pub const DAMPING_LAYER: Coating = Coating {
    youngs_modulus_pa: 1e9,
    poisson: 0.33,
    loss_factor: 0.3,
    density_kg_per_m3: 1500.0,
    thickness_m: 2e-3,
};
/// Loss factor of a sheet with a constrained layer; 0.1 to 0.3 is common practice, no source.
pub const CONSTRAINED_LOSS: f64 = 0.2;
/// Plywood backs that are tried in the place of the sheet, m.
pub const PLYWOOD_BACKS_M: [f64; 2] = [6e-3, 9e-3];
/// Corner of an equalising leak, Hz: nothing of it is heard, and pressure evens out in a second.
const LEAK_CORNER_HZ: f64 = 1.0;
/// Linear bending ends where the deflection reaches this part of the thickness (Timoshenko and
/// Woinowsky-Krieger, ch. 13, from memory).
const LINEAR_PART: f64 = 0.5;

/// A back sheet behind a cone, and what may be done about it.
pub struct SheetCase<'a> {
    /// The cavity between rigid walls.
    pub field: &'a WaveField,
    /// The cone in its face.
    pub disc: Disc,
    /// The face, where it moves.
    pub face: Option<&'a Sheet>,
    /// The sheet as built; its section is made anew from `skin`.
    pub layout: Layout,
    /// What the sheet is of.
    pub skin: Skin,
    /// A layer that is on it already.
    pub coating: Option<Coating>,
    /// Thicknesses in which its material is sold, m, rising.
    pub thicknesses_m: &'a [f64],
    /// Peak flow of the cone at the voltage in question, m³/s, from ω (rad/s) and the impedance
    /// on the cone's disc (Pa·s/m³).
    pub cone_flow: &'a dyn Fn(f64, Complex64) -> f64,
}

/// A band of frequencies, Hz.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Lower end.
    pub low_hz: f64,
    /// Upper end.
    pub high_hz: f64,
}

/// Highest flow of the sheet over that of the cone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlowPeak {
    /// Level of the ratio, dB.
    pub level_db: f64,
    /// Where it is, Hz.
    pub frequency_hz: f64,
}

impl Band {
    /// In words.
    pub fn words(&self) -> String {
        format!("from {} to {}", units::hertz(self.low_hz), units::hertz(self.high_hz))
    }
}

impl FlowPeak {
    /// In words.
    pub fn words(&self) -> String {
        let times = 10f64.powf(self.level_db / 20.0);
        format!("{times:.1} times the cone's air at {}", units::hertz(self.frequency_hz))
    }
}

/// What a sheet does behind a cone.
#[derive(Debug, Clone)]
pub struct SheetReview {
    /// Impedance, ratios and deflection over the grid.
    pub response: Response,
    /// Where the sheet moves more air than the cone.
    pub above_cone: Vec<Band>,
    /// Where it does so most.
    pub peak: FlowPeak,
    /// What it adds to the cavity's volume at low frequency, m³.
    pub extra_volume_m3: f64,
    /// Largest peak deflection at the voltage in question over half the thickness; above 1 the
    /// sheet stiffens and no longer moves in proportion.
    pub deflection_over_limit: f64,
    /// Where that is, Hz.
    pub deflection_hz: f64,
    /// What weather and height do to a tight cavity.
    pub still: StillPressure,
}

/// A tight cavity after a slow change outside: the sheet bulges.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StillPressure {
    /// Pressure across the sheet per part of change, Pa: multiply with ΔT/T or −Δp/p.
    pub pressure_per_change_pa: f64,
    /// Deflection of the middle after 10 K, m, linear (less where it exceeds half a thickness).
    pub bulge_10_k_m: f64,
    /// The same after 300 m of height.
    pub bulge_300_m_m: f64,
    /// Leak that evens it out with a corner at 1 Hz, Pa·s/m³.
    pub equalising_leak_pa_s_per_m3: f64,
    /// Diameter of a round hole of the given length with that resistance, m.
    pub hole_diameter_m: f64,
}

/// Something that may keep the sheet still.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Remedy {
    /// The thinnest standard sheet of the same material that cures, or the thickest there is.
    Thickness {
        /// Thickness, m.
        thickness_m: f64,
    },
    /// A rigid rib along the longer side: it halves the shorter span.
    RibAlong,
    /// A rigid rib across the longer side.
    RibAcross,
    /// One rib along and one across.
    TwoRibs,
    /// A stiff damping layer glued on.
    DampingLayer(Coating),
    /// A constrained layer or the like, told by the loss factor it gives.
    Loss {
        /// Loss factor.
        loss_factor: f64,
    },
    /// A plywood back in its place.
    Plywood {
        /// Thickness, m.
        thickness_m: f64,
    },
    /// Foam on the whole back, which calms the standing waves.
    Foam {
        /// Thickness, m.
        thickness_m: f64,
    },
}

/// A remedy tried.
#[derive(Debug, Clone)]
pub struct Cure {
    /// What was done.
    pub remedy: Remedy,
    /// Highest ratio of sheet to cone after it.
    pub peak: FlowPeak,
    /// Where the sheet still moves more than the cone.
    pub above_cone: Vec<Band>,
    /// Whether it keeps the sheet below the cone everywhere.
    pub cures: bool,
}

impl SheetCase<'_> {
    /// What the sheet does, over `grid`; peaks are looked for between its points too.
    pub fn review(&self, grid: &Arc<Grid>) -> Option<SheetReview> {
        let layout = Layout { section: self.section(&self.skin), ..self.layout.clone() };
        let air = &self.field.cavity().air;
        let sheet = bay_walls::sheet(layout, *air);
        let coupled = self.with_back(&sheet);
        let response = coupled.answer_on(grid, 0)?;
        let (peak, above_cone) = self.judged(&coupled, &response);
        let limit_m = LINEAR_PART * self.skin.thickness_m;
        let bent = grid.omega().zip(response.impedance.values()).zip(&response.deflection);
        let bent = bent.map(|((omega, &z), w)| w * (self.cone_flow)(omega, z) / limit_m);
        let (at, deflection_over_limit) =
            bent.enumerate().fold((0, 0.0), |best, next| if next.1 > best.1 { next } else { best });
        Some(SheetReview {
            response,
            above_cone,
            peak,
            extra_volume_m3: sheet.extra_volume_m3(air),
            deflection_over_limit,
            deflection_hz: grid.frequency_hz()[at],
            still: self.still(&sheet, air),
        })
    }

    /// Every remedy tried by itself, over `grid`, in a fixed order.
    pub fn cures(&self, grid: &Arc<Grid>) -> Vec<Cure> {
        let [x, y] = self.layout.sides_m;
        let rib = |at_x_m: &[f64], at_y_m: &[f64]| Ribs {
            at_x_m: at_x_m.to_vec(),
            at_y_m: at_y_m.to_vec(),
            fixing: self.layout.ribs.fixing,
        };
        let (across_x, across_y) = (rib(&[0.5 * x], &[]), rib(&[], &[0.5 * y]));
        let (along, across) = if x >= y { (across_y, across_x) } else { (across_x, across_y) };
        let both = rib(&[0.5 * x], &[0.5 * y]);
        let same = self.section(&self.skin);
        let lossy = Skin { loss_factor: self.skin.loss_factor.max(CONSTRAINED_LOSS), ..self.skin };
        let unribbed = Ribs::none;
        let mut trials = vec![
            (Remedy::RibAlong, same, along),
            (Remedy::RibAcross, same, across),
            (Remedy::TwoRibs, same, both),
            (Remedy::DampingLayer(DAMPING_LAYER), self.skin.coated(&DAMPING_LAYER), unribbed()),
            (Remedy::Loss { loss_factor: lossy.loss_factor }, self.section(&lossy), unribbed()),
        ];
        for thickness_m in PLYWOOD_BACKS_M {
            let skin = Material::Plywood.skin(thickness_m, None);
            // The face grain along the shorter side: the stiffer way.
            let skin = if x > y { skin.turned() } else { skin };
            trials.push((Remedy::Plywood { thickness_m }, skin.section(), unribbed()));
        }
        let thicker = self.thicker(grid).into_iter();
        let others = trials.into_iter().filter_map(|(remedy, section, ribs)| {
            let ribs = if ribs == Ribs::none() { self.layout.ribs.clone() } else { ribs };
            self.tried(remedy, section, ribs, grid)
        });
        thicker.chain(others).collect()
    }

    /// Thicker sheets of the same material until one cures; the last that was tried.
    fn thicker(&self, grid: &Arc<Grid>) -> Option<Cure> {
        let mut last = None;
        let more = |&t: &f64| t > self.skin.thickness_m * (1.0 + 1e-9);
        for thickness_m in self.thicknesses_m.iter().copied().filter(more) {
            let section = self.section(&Skin { thickness_m, ..self.skin });
            let remedy = Remedy::Thickness { thickness_m };
            last = self.tried(remedy, section, self.layout.ribs.clone(), grid);
            if last.as_ref().is_some_and(|cure| cure.cures) {
                break;
            }
        }
        last
    }

    fn tried(
        &self,
        remedy: Remedy,
        section: Section,
        ribs: Ribs,
        grid: &Arc<Grid>,
    ) -> Option<Cure> {
        let layout = Layout { section, ribs, ..self.layout.clone() };
        let sheet = bay_walls::sheet(layout, self.field.cavity().air);
        let coupled = self.with_back(&sheet);
        let (peak, above_cone) = self.judged(&coupled, &coupled.answer_on(grid, 0)?);
        Some(Cure { remedy, cures: peak.level_db < 0.0, peak, above_cone })
    }

    fn with_back(&self, sheet: &Sheet) -> CoupledCavity {
        let walls = Walls { back: Some(sheet), face: self.face };
        CoupledCavity::new(self.field, walls, &[self.disc])
    }

    fn section(&self, skin: &Skin) -> Section {
        self.coating.map_or_else(|| skin.section(), |coating| skin.coated(&coating))
    }

    /// The highest ratio, looked for between the points of the grid, and the bands above 0 dB.
    fn judged(&self, coupled: &CoupledCavity, response: &Response) -> (FlowPeak, Vec<Band>) {
        let ratio = &response.flow_ratio.back;
        let (hz, db) = (ratio.grid().frequency_hz(), ratio.level_db(1.0));
        let at = |frequency_hz: f64| {
            let answer = coupled.answer_at(TAU * frequency_hz, 0);
            answer.map_or(FLOOR_DB, |answer| level_db(answer.flow_ratio.back.norm(), 1.0))
        };
        let top = (0..db.len()).max_by(|&a, &b| db[a].total_cmp(&db[b])).unwrap_or(0);
        let (low, high) = (hz[top.saturating_sub(1)], hz[(top + 1).min(hz.len() - 1)]);
        let frequency_hz = highest_between(low, high, at);
        let found = FlowPeak { level_db: at(frequency_hz), frequency_hz };
        let grid_peak = FlowPeak { level_db: db[top], frequency_hz: hz[top] };
        let peak = if found.level_db > grid_peak.level_db { found } else { grid_peak };
        let mut above = bands(hz, &db);
        if above.is_empty() && peak.level_db > 0.0 {
            above.push(Band { low_hz: low, high_hz: high });
        }
        (peak, above)
    }

    /// What slow changes do to the cavity if it is tight: V ΔT/T = Δp (V/p + C_p), isothermal.
    fn still(&self, sheet: &Sheet, air: &Air) -> StillPressure {
        /// Pressure that 300 m of height takes, as a part (hydrostatic, ρgh/p at 20 °C).
        const PART_300_M: f64 = 0.035;
        const PART_10_K: f64 = 10.0 / 293.15;
        // ρc² = γp for air.
        let pressure_pa = air.bulk_modulus_pa() / crate::model::air::GAMMA;
        let volume = self.field.cavity().net_volume_m3();
        let yielding = sheet.static_compliance_m3_per_pa(air);
        let pressure_per_change_pa = volume / (volume / pressure_pa + yielding);
        let bulge = |part: f64| part * pressure_per_change_pa * sheet.static_centre_m_per_pa();
        let compliance = volume / air.bulk_modulus_pa() + yielding;
        let leak = 1.0 / (TAU * LEAK_CORNER_HZ * compliance);
        // Poiseuille's hole through the sheet's own thickness, 10 mm at least: R = 8ηl/(πr⁴).
        let length_m = self.skin.thickness_m.max(0.01);
        let radius_m = (8.0 * VISCOSITY_PA_S * length_m / (PI * leak)).powf(0.25);
        StillPressure {
            pressure_per_change_pa,
            bulge_10_k_m: bulge(PART_10_K),
            bulge_300_m_m: bulge(PART_300_M),
            equalising_leak_pa_s_per_m3: leak,
            hole_diameter_m: 2.0 * radius_m,
        }
    }
}

/// Golden section for the highest value of `f` between `low` and `high`.
fn highest_between(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    const GOLDEN: f64 = 0.618_033_988_749_895;
    for _ in 0..14 {
        let (a, b) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
        if f(a) > f(b) { high = b } else { low = a }
    }
    0.5 * (low + high)
}

/// Bands in which `db` is above 0, their ends between the points by straight lines.
pub(super) fn bands(hz: &[f64], db: &[f64]) -> Vec<Band> {
    let crossing = |i: usize| hz[i] + (hz[i + 1] - hz[i]) * db[i] / (db[i] - db[i + 1]);
    let mut found = Vec::new();
    let mut start = db.first().filter(|d| **d > 0.0).map(|_| hz[0]);
    for i in 0..hz.len().saturating_sub(1) {
        match (start, db[i + 1] > 0.0) {
            (None, true) => start = Some(crossing(i)),
            (Some(low_hz), false) => {
                found.push(Band { low_hz, high_hz: crossing(i) });
                start = None;
            }
            _ => {}
        }
    }
    if let (Some(low_hz), Some(&high_hz)) = (start, hz.last()) {
        found.push(Band { low_hz, high_hz });
    }
    found
}
