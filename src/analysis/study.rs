//! The whole job on one design: cavity, crossover, response, limits, findings.

use super::choice::Chosen;
use super::clearance;
use super::cone_load::ConeLoad;
use super::drive::Drive;
use super::finding::{Finding, Severity};
use super::limits::SideLimits;
use super::loudest::Loudest;
use super::seat::SeatVerdict;
use super::side::{self, SideModel, SideResponse};
use super::synthesis::{self, Synthesis};
use crate::circuit::ladder::{LadderError, Meeting};
use crate::circuit::network::Network;
use crate::circuit::solve::SolveError;
use crate::design::{Design, PolarityRule, Side, Topology, Values, Ways};
use crate::grid::{AcousticImpedance, Grid, GridError};
use crate::model::closed_box::{Alignment, ClosedBox};
use crate::model::fill::Fill;
use crate::model::modes;
use crate::signal::curve::CurveError;
use crate::units;
use num_complex::Complex64;
use std::sync::Arc;

/// Polarity, limits and seats are judged on at least this many points.
const VERDICT_POINTS: usize = 480;
/// How many standing waves of each cavity are told.
const MODES_TOLD: usize = 8;

/// Why a design cannot be studied.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum StudyError {
    /// No ladder fits.
    #[error(transparent)]
    Ladder(#[from] LadderError),
    /// A network without a solution.
    #[error("the network cannot be solved: {0}")]
    Network(#[from] SolveError),
    /// A measured curve that cannot be used.
    #[error("a measured curve cannot be used: {0}")]
    Curve(#[from] CurveError),
    /// No axis.
    #[error(transparent)]
    Grid(#[from] GridError),
    /// Nothing to simulate: the cavity holds no air.
    #[error("unfit: {0}")]
    NoAir(String),
}

/// A design and everything computed from it.
#[derive(Debug, Clone)]
pub struct Study {
    /// The design.
    pub design: Design,
    /// The frequency axis.
    pub grid: Arc<Grid>,
    /// Its sides, in order.
    pub sides: Vec<SideStudy>,
    /// What there is to tell, the gravest first.
    pub findings: Vec<Finding>,
}

/// One side of it.
#[derive(Debug, Clone)]
pub struct SideStudy {
    /// Its name.
    pub name: String,
    /// Its network with exact values.
    pub synthesis: Synthesis,
    /// Its network as bought.
    pub chosen: Chosen,
    /// Its cavity and bass.
    pub cavity: CavityStudy,
    /// Its response with exact values.
    pub exact: SideResponse,
    /// Its response with the parts as bought, in the same polarity.
    pub bought: SideResponse,
    /// Which of the two the limits and figures are for.
    pub values: Values,
    /// Peak excursion at the amplifier's rated voltage, m.
    pub excursion_m: Ways<Vec<f64>>,
    /// Its seats around the crossover, whatever grid is shown.
    pub seats: Vec<SeatVerdict>,
    /// Against its limits, whatever grid is shown.
    pub limits: SideLimits,
    /// At full drive, whatever grid is shown.
    pub drive: Drive,
    /// The largest sines on the grid shown.
    pub loudest: Loudest,
}

/// The woofer in its cavity.
#[derive(Debug, Clone)]
pub struct CavityStudy {
    /// Air volume behind the woofer, m³.
    pub volume_m3: f64,
    /// Alignment with fill, leak, and the resistance of network and amplifier.
    pub alignment: Alignment,
    /// Alignment of the driver alone in the empty, tight cavity on a stiff source.
    pub bare: Alignment,
    /// Resistance that the woofer sees looking back, Ω.
    pub source_ohm: f64,
    /// Lowest standing waves, Hz.
    pub modes_hz: Vec<f64>,
    /// Load on the cone in the circuit, Pa·s/m³.
    pub load: AcousticImpedance,
}

impl Study {
    /// Studies `design` over `grid`.
    ///
    /// # Errors
    /// What the solver finds wrong with a listed network.
    pub fn new(design: Design, grid: &Arc<Grid>) -> Result<Self, StudyError> {
        if let Some(airless) = clearance::without_air(&design) {
            return Err(StudyError::NoAir(format!("{}: {}", airless.subject, airless.text)));
        }
        let sides: Vec<SideStudy> = design
            .sides
            .iter()
            .map(|side| SideStudy::new(&design, side, grid))
            .collect::<Result<_, _>>()?;
        let mut findings = clearance::findings(&design);
        for (side, study) in design.sides.iter().zip(&sides) {
            findings.extend(study.limits.findings(&design, &side.name));
            findings.extend(study.drive.findings(&design, side));
            findings.extend(study.chosen.findings(&design, &side.name));
        }
        findings.extend(advice(&design, &sides));
        let mut findings = Finding::merged(findings);
        findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
        Ok(Self { design, grid: Arc::clone(grid), sides, findings })
    }

    /// Whether anything makes the design unfit.
    pub fn is_unfit(&self) -> bool {
        self.findings.iter().any(|f| f.severity == Severity::Unfit)
    }

    /// The sides that differ, each with the names of all sides like it ("left and right").
    pub fn distinct_sides(&self) -> Vec<(String, &SideStudy)> {
        let mut distinct: Vec<(String, &SideStudy)> = Vec::new();
        for side in &self.sides {
            match distinct.iter_mut().find(|(_, other)| side.is_like(other)) {
                Some((names, _)) => *names = format!("{names} and {}", side.name),
                None => distinct.push((side.name.clone(), side)),
            }
        }
        distinct
    }
}

impl SideStudy {
    fn new(design: &Design, side: &Side, grid: &Arc<Grid>) -> Result<Self, StudyError> {
        let synthesis = synthesis::network_for(design, side)?;
        let chosen = Chosen::of(&synthesis.network, design);
        let networks = [&synthesis.network, &chosen.network];
        // Verdicts must not hang on how many points the user asked to see.
        let fine = if grid.len() >= VERDICT_POINTS {
            Arc::clone(grid)
        } else {
            Grid::audible(VERDICT_POINTS)?
        };
        let judged = Sweep::new(design, side, &fine, networks, design.crossover.polarity)?;
        let polarity = PolarityRule::Fixed(judged.exact.polarity);
        let shown = if Arc::ptr_eq(&fine, grid) {
            judged.clone()
        } else {
            Sweep::new(design, side, grid, networks, polarity)?
        };
        let response = judged.response(design);
        let verdicts = |seat| SeatVerdict::of(seat, design.crossover.at_hz);
        let network = judged.network(design, networks);
        let loudest = Loudest::of(design, side, &shown.model, shown.response(design));
        let cavity = CavityStudy::new(design, side, network, shown.model.load)?;
        let bass = (&cavity.alignment, cavity.source_ohm);
        Ok(Self {
            drive: Drive::of(design, side, &judged.model, network, response, bass)?,
            loudest,
            name: side.name.clone(),
            seats: response.seats.iter().filter_map(verdicts).collect(),
            limits: SideLimits::of(design, side, response, &judged.excursion_m),
            cavity,
            exact: shown.exact,
            bought: shown.bought,
            excursion_m: shown.excursion_m,
            values: design.parts.values,
            synthesis,
            chosen,
        })
    }

    /// The response that limits and figures are for.
    pub fn response(&self) -> &SideResponse {
        match self.values {
            Values::Exact => &self.exact,
            Values::Chosen => &self.bought,
        }
    }

    /// The network that limits and figures are for.
    pub fn network(&self) -> &Network {
        match self.values {
            Values::Exact => &self.synthesis.network,
            Values::Chosen => &self.chosen.network,
        }
    }

    /// Whether `other` has the same impedance and response, to rounding error.
    fn is_like(&self, other: &Self) -> bool {
        let near = |a: &Complex64, b: &Complex64| (a - b).norm() <= 1e-9 * a.norm();
        let alike = |a: &[Complex64], b: &[Complex64]| a.iter().zip(b).all(|(a, b)| near(a, b));
        let seats = self.response().seats.iter().zip(&other.response().seats);
        alike(self.response().impedance.values(), other.response().impedance.values())
            && seats.into_iter().all(|(a, b)| alike(a.sum.values(), b.sum.values()))
    }
}

/// A side over one grid, with exact and with bought values.
#[derive(Debug, Clone)]
struct Sweep {
    model: SideModel,
    exact: SideResponse,
    bought: SideResponse,
    excursion_m: Ways<Vec<f64>>,
}

impl Sweep {
    fn new(
        design: &Design,
        side: &Side,
        grid: &Arc<Grid>,
        [exact, bought]: [&Network; 2],
        polarity: PolarityRule,
    ) -> Result<Self, StudyError> {
        let model = SideModel::new(design, side, grid)?;
        let exact = model.through(exact, polarity)?;
        let bought = model.through(bought, PolarityRule::Fixed(exact.polarity))?;
        let mut sweep = Self { model, exact, bought, excursion_m: Ways::default() };
        let voltage = &sweep.response(design).voltage;
        sweep.excursion_m = sweep.model.excursion_m(voltage, design.amplifier.rated_v());
        Ok(sweep)
    }

    fn response(&self, design: &Design) -> &SideResponse {
        match design.parts.values {
            Values::Exact => &self.exact,
            Values::Chosen => &self.bought,
        }
    }

    fn network<'n>(&self, design: &Design, [exact, bought]: [&'n Network; 2]) -> &'n Network {
        match design.parts.values {
            Values::Exact => exact,
            Values::Chosen => bought,
        }
    }
}

impl CavityStudy {
    fn new(
        design: &Design,
        side: &Side,
        network: &Network,
        load: AcousticImpedance,
    ) -> Result<Self, SolveError> {
        let air = &design.air;
        let motor = &side.drivers.woofer.driver.motor;
        let rear = ConeLoad::of(design, side);
        let volume_m3 = side.net_volume_m3();
        let empty = ClosedBox::tight(volume_m3, Fill::Empty);
        let bare = Alignment::of(motor, |w| empty.load(w, air), 0.0);
        let source_ohm = side::woofer_source_ohm(
            network,
            design.amplifier.output_ohm,
            &side.drivers.tweeter.driver,
            bare.fc_hz,
        )?;
        let bay = side.bay();
        let size = [bay.width_m, bay.height_m, bay.depth_m];
        Ok(Self {
            volume_m3,
            alignment: Alignment::of(motor, |w| rear.at(w), source_ohm),
            bare,
            source_ohm,
            modes_hz: modes::rectangular_hz(size, MODES_TOLD, air),
            load,
        })
    }
}

/// What is worth knowing beyond the limits.
fn advice(design: &Design, sides: &[SideStudy]) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (side, study) in design.sides.iter().zip(sides) {
        let at_hz = design.crossover.at_hz;
        let tweeter = &side.drivers.tweeter.driver.motor;
        if at_hz < 2.0 * tweeter.fs_hz() {
            findings.push(Finding::caution(
                format!("{} tweeter", side.name),
                format!(
                    "crosses at {}, less than an octave above its resonance of {} (common practice, no source: keep an octave)",
                    units::hertz(at_hz),
                    units::hertz(tweeter.fs_hz())
                ),
            ));
        }
        if study.synthesis.unmatched_db > 0.05 {
            findings.push(Finding::note(
                format!("{} tweeter", side.name),
                format!(
                    "is {:.1} dB quieter than the woofer; a pad can only lower it",
                    study.synthesis.unmatched_db
                ),
            ));
        }
        for remark in &study.synthesis.remarks {
            findings.push(Finding::caution(format!("{} crossover", side.name), remark.clone()));
        }
        findings.extend(polarity_note(design, study));
        findings.extend(study.seats.iter().filter_map(|seat| opposing_ways(&side.name, seat)));
        findings.push(cavity_note(design, study));
    }
    findings.extend(supply(design));
    findings
}

/// How far to trust what is computed of the cavity.
fn cavity_note(design: &Design, study: &SideStudy) -> Finding {
    let first = study.cavity.modes_hz.first().copied().unwrap_or(f64::INFINITY);
    let text = if design.models.cavity_waves {
        format!(
            "is computed as a wave field between rigid walls (first standing wave {}), the motor as a flat cone that takes its volume from the depth: a real panel is 1 to 3 dB from that",
            units::hertz(first)
        )
    } else {
        format!(
            "is computed as one lump of air with rigid walls: trust it to about {}, half of its first standing wave at {}",
            units::hertz(0.5 * first),
            units::hertz(first)
        )
    };
    Finding::note(format!("{} cavity", study.name), text)
}

/// Ways that work against one another where they are equally loud.
fn opposing_ways(side: &str, seat: &SeatVerdict) -> Option<Finding> {
    let meeting = seat.meeting.filter(|m| m.gain_db < 0.0)?;
    Some(Finding::caution(
        format!("{side} ways at {}", seat.name),
        format!(
            "they meet at {} and together are {:.1} dB quieter than either: the response there rests on cancellation and shifts with the seat. Move the crossover or the drivers",
            units::hertz(meeting.hz),
            -meeting.gain_db
        ),
    ))
}

fn polarity_note(design: &Design, study: &SideStudy) -> Option<Finding> {
    let Topology::Textbook { slope, .. } = design.crossover.topology else { return None };
    let textbook = Meeting::of(slope).polarity();
    let chosen = study.response().polarity;
    (design.crossover.polarity == PolarityRule::Best && chosen != textbook).then(|| {
        Finding::note(
            format!("{} polarity", study.name),
            format!(
                "{} adds up better at the seats; the textbook polarity of {slope} on equal paths is {}",
                chosen.word(),
                textbook.word()
            ),
        )
    })
}

fn supply(design: &Design) -> Option<Finding> {
    let amplifier = &design.amplifier;
    let limit_v = amplifier.supply_limit_v()?;
    (limit_v < amplifier.rated_v()).then(|| {
        Finding::caution(
            "amplifier",
            format!(
                "{:.0} W into {:.1} Ω need {:.1} V rms, but its supply allows {limit_v:.1} V",
                amplifier.power_w,
                amplifier.into_ohm,
                amplifier.rated_v()
            ),
        )
    })
}
