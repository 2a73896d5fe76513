//! The whole job on one design: cavity, crossover, response, limits, findings.

use super::advice;
use super::amplifier::AmplifierStudy;
use super::choice::Chosen;
use super::clearance;
use super::coils::{Coils, PlacedCoils};
use super::cone_load::ConeLoad;
use super::drive::Drive;
use super::finding::{Finding, Severity};
use super::in_panel::InPanel;
use super::limits::SideLimits;
use super::loudest::Loudest;
use super::ratings::Ratings;
use super::seat::SeatVerdict;
use super::shared_back::SharedBack;
use super::side::{self, SideModel, SideResponse};
use super::synthesis::{self, Synthesis};
use crate::circuit::ladder::LadderError;
use crate::circuit::network::Network;
use crate::circuit::solve::SolveError;
use crate::design::{Design, PolarityRule, Side, Values, Ways};
use crate::grid::{AcousticImpedance, Grid, GridError, Transfer};
use crate::model::closed_box::{Alignment, ClosedBox};
use crate::model::fill::Fill;
use crate::model::modes;
use crate::model::sheet::Walls;
use crate::signal::curve::CurveError;
use num_complex::Complex64;
use rayon::prelude::*;
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
    /// A tweeter whose open back looks into nothing that is computed.
    #[error(
        "the tweeter of side `{side}` has an open back (`open_back` in its driver file) but does not look into the woofer's air"
    )]
    NoAirBehind {
        /// The side.
        side: String,
    },
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
    /// The amplifier, where a closer look was taken ([`Study::look_closer`]).
    pub amplifier: Option<AmplifierStudy>,
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
    /// What its parts as bought have to stand.
    pub ratings: Ratings,
    /// Its coils that are wound or placed.
    pub coils: PlacedCoils,
    /// What the woofer's pressure does to a tweeter whose back is open to it.
    pub shared_back: Option<SharedBack>,
    /// A closer look, where one was taken ([`Study::look_closer`]).
    pub in_panel: Option<InPanel>,
}

/// The woofer in its cavity.
#[derive(Debug, Clone)]
pub struct CavityStudy {
    /// Air volume behind the woofer, m³.
    pub volume_m3: f64,
    /// Alignment with fill, leak, and the resistance of network and amplifier.
    pub alignment: Alignment,
    /// The same between rigid walls; `None` where no wall moves anyhow.
    pub rigid: Option<Alignment>,
    /// Outward flow of back and face over inward flow of the cone, on the grid shown; `None` for a
    /// rigid one.
    pub walls: Walls<Option<Transfer>>,
    /// What the panel's edges make of each driver at the first seat, on the grid shown.
    pub edges: Option<Ways<Transfer>>,
    /// Alignment of the driver alone in the empty, tight cavity on a stiff source.
    pub bare: Alignment,
    /// Resistance that the woofer sees looking back, Ω.
    pub source_ohm: f64,
    /// Lowest standing waves, Hz.
    pub modes_hz: Vec<f64>,
    /// Load on the cone in the circuit, Pa·s/m³; a tweeter in the same air is held.
    pub load: AcousticImpedance,
    /// Load on the cone of such a tweeter, the woofer held, and the pressure on either cone over the
    /// other's flow into the air between them, Pa·s/m³.
    pub tweeter: Option<(AcousticImpedance, AcousticImpedance)>,
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
        let shut = |side: &&Side| side.drivers.tweeter.driver.open_back && !side.shares_air();
        if let Some(side) = design.sides.iter().find(shut) {
            return Err(StudyError::NoAirBehind { side: side.name.clone() });
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
            let rated_v = design.amplifier.rated_v();
            findings.extend(study.shared_back.map(|back| back.finding(&side.name, rated_v)));
            findings.extend(study.chosen.findings(&design, &side.name));
            findings.extend(study.chosen.too_weak(&study.ratings, &side.name));
            findings.extend(study.chosen.too_high(&design, side));
            findings.extend(study.ratings.findings(&side.name));
            findings.extend(study.chosen.hot(&study.ratings, &side.name));
            findings.extend(study.coils.findings(&side.name));
        }
        findings.extend(advice::advice(&design, &sides));
        let mut findings = Finding::merged(findings);
        findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
        Ok(Self { design, grid: Arc::clone(grid), sides, findings, amplifier: None })
    }

    /// Takes a closer look at every side in its panel, which a search has no time for.
    ///
    /// # Errors
    /// What the solver or a measured curve has against it.
    pub fn look_closer(&mut self) -> Result<(), StudyError> {
        let (design, grid) = (&self.design, &self.grid);
        let pairs = design.sides.par_iter().zip(&self.sides);
        let looks: Vec<InPanel> = pairs
            .map(|(side, study)| InPanel::of(design, side, study, grid))
            .collect::<Result<_, _>>()?;
        let amplifier = AmplifierStudy::of(design, &self.sides)?;
        let mut findings = std::mem::take(&mut self.findings);
        findings.extend(amplifier.findings(design));
        self.amplifier = Some(amplifier);
        for ((side, study), look) in design.sides.iter().zip(&mut self.sides).zip(looks) {
            findings.extend(look.findings(design, side));
            study.in_panel = Some(look);
        }
        self.findings = Finding::merged(findings);
        self.findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
        Ok(())
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
        let mut synthesis = synthesis::network_for(design, side)?;
        let coils = Coils::of(&design.coils, &synthesis.network);
        coils.couple(&mut synthesis.network);
        // Verdicts must not hang on how many points the user asked to see.
        let fine = if grid.len() >= VERDICT_POINTS {
            Arc::clone(grid)
        } else {
            Grid::audible(VERDICT_POINTS)?
        };
        let model = SideModel::new(design, side, &fine)?;
        let polarity = model.through(&synthesis.network, design.crossover.polarity)?.polarity;
        let asked = Ratings::of(design, side, &model, &synthesis.network, polarity)?;
        let chosen = Chosen::standing(&synthesis.network, design, Some(&asked));
        let networks = [&synthesis.network, &chosen.network];
        let ratings = Ratings::of(design, side, &model, &chosen.network, polarity)?;
        let polarity = PolarityRule::Fixed(polarity);
        let judged = Sweep::new(design, model, networks, polarity)?;
        let shown = if Arc::ptr_eq(&fine, grid) {
            judged.clone()
        } else {
            Sweep::new(design, SideModel::new(design, side, grid)?, networks, polarity)?
        };
        let response = judged.response(design);
        let verdicts = |seat| SeatVerdict::of(seat, design.crossover.at_hz);
        let network = judged.network(design, networks);
        let loudest = Loudest::of(design, side, &shown.model, shown.response(design));
        let cavity = CavityStudy::new(design, side, network, &shown.model)?;
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
            in_panel: None,
            shared_back: SharedBack::of(design, side, &judged.model, response),
            coils: PlacedCoils::of(coils, &judged.model, network, response)?,
            ratings,
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
        model: SideModel,
        [exact, bought]: [&Network; 2],
        polarity: PolarityRule,
    ) -> Result<Self, StudyError> {
        let exact = model.through(exact, polarity)?;
        let bought = model.through(bought, PolarityRule::Fixed(exact.polarity))?;
        let mut sweep = Self { model, exact, bought, excursion_m: Ways::default() };
        let SideResponse { voltage, polarity, .. } = sweep.response(design);
        let rated_v = design.amplifier.rated_v();
        sweep.excursion_m = sweep.model.excursion_m(voltage, *polarity, rated_v);
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
        model: &SideModel,
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
        let moves = design.models.sheets_move;
        let rigid = (moves.back || moves.face).then(|| {
            let rear = ConeLoad::behind_rigid_walls(design, side);
            Alignment::of(motor, |w| rear.at(w), source_ohm)
        });
        let acoustics = &model.acoustics;
        let first = acoustics.ears.first().and_then(|ear| ear.paths.first());
        let bay = side.bay();
        let size = [bay.width_m, bay.height_m, bay.depth_m];
        Ok(Self {
            volume_m3,
            alignment: Alignment::of(motor, |w| rear.at(w), source_ohm),
            bare,
            source_ohm,
            modes_hz: modes::rectangular_hz(size, MODES_TOLD, air),
            load: acoustics.load.woofer.clone(),
            tweeter: acoustics
                .between
                .as_ref()
                .map(|between| (acoustics.load.tweeter.clone(), between.clone())),
            rigid,
            walls: acoustics.walls.clone(),
            edges: first.filter(|_| design.models.panel_ends).map(|path| path.edges.clone()),
        })
    }
}
