//! Variants of a design over each other: what each slope, frequency or driver costs and gives at
//! the seats, on the real impedances, each in its own best polarity.
//!
//! All figures are over the two octaves around the variant's crossover; what is *worst* is worst
//! over all sides and seats.

use super::parts_list::PartsList;
use super::seat::{self, SeatVerdict};
use super::side::SideModel;
use super::study::{SideStudy, Study, StudyError};
use super::synthesis;
use crate::circuit::ladder::Polarity;
use crate::circuit::slope::{Family, Slope};
use crate::design::{Design, LoadRule, PolarityRule, Side, Topology, TweeterLevel, Values, Ways};
use crate::grid::Grid;
use crate::model::driver::Driver;
use std::sync::Arc;

/// A design and what to call it.
#[derive(Debug, Clone)]
pub struct Variant {
    /// "lr4", "2200 Hz", "Bramble 90", a file's name.
    pub label: String,
    /// The design.
    pub design: Design,
}

/// What a variant comes to.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// Its label.
    pub label: String,
    /// The whole study.
    pub study: Study,
    /// Polarity of the tweeter on the first side.
    pub polarity: Polarity,
    /// Root mean square of the deviation, over the seats by weight and all sides, dB.
    pub rms_db: f64,
    /// Worst deviation, dB.
    pub peak_db: f64,
    /// How deep the ways cancel with one turned round, at the seat where that is least, dB.
    pub cancel_db: f64,
    /// Lowest impedance, Ω.
    pub lowest_ohm: f64,
    /// Where, Hz.
    pub lowest_at_hz: f64,
    /// Tweeter excursion at its resonance, relative to bw1 there, dB.
    pub tweeter_travel_db: f64,
    /// Heat in the tweeter's coil at its resonance, relative to bw1 there, dB.
    pub tweeter_heat_db: f64,
    /// That heat for 1 V at the source, W.
    pub tweeter_heat_w: f64,
    /// Largest minus smallest group delay, s.
    pub delay_bump_s: f64,
    /// How differently the seats hear it: largest minus smallest level over the seats, each
    /// against its own mean, averaged over the band, dB. 0 for one seat.
    pub spread_db: f64,
    /// Parts of one side's network.
    pub parts: usize,
    /// Cost of one panel's crossover parts; `None` where a price is missing.
    pub cost: Option<f64>,
}

/// `design` with each of `slopes` in turn; a listed network comes first as it is, and gives way to
/// matched textbook networks without shaping.
pub fn slopes(design: &Design, slopes: &[Slope]) -> Vec<Variant> {
    let variant =
        |slope: &Slope| Variant { label: slope.to_string(), design: with_slope(design, *slope) };
    let listed = matches!(design.crossover.topology, Topology::Listed(_))
        .then(|| Variant { label: "as listed".into(), design: free_polarity(design) });
    listed.into_iter().chain(slopes.iter().map(variant)).collect()
}

/// `design` crossed at each of `at_hz` in turn.
pub fn frequencies(design: &Design, at_hz: &[f64]) -> Vec<Variant> {
    let variant = |hz: &f64| {
        let mut design = free_polarity(design);
        design.crossover.at_hz = *hz;
        Variant { label: format!("{hz} Hz"), design }
    };
    at_hz.iter().map(variant).collect()
}

/// `design` with each of `drivers` (and the file it is from) in the place of every woofer or
/// tweeter that has its role.
pub fn drivers(design: &Design, drivers: &[(Driver, String)]) -> Vec<Variant> {
    let variant = |(driver, file): &(Driver, String)| {
        let mut design = free_polarity(design);
        for side in &mut design.sides {
            let Ways { woofer, tweeter } = &mut side.drivers;
            for mounted in [woofer, tweeter] {
                if mounted.driver.role == driver.role {
                    mounted.driver = driver.clone();
                    mounted.file.clone_from(file);
                }
            }
        }
        let same_name = drivers.iter().filter(|(d, _)| d.name == driver.name).count();
        let label = if same_name > 1 { file.clone() } else { driver.name.clone() };
        Variant { label, design }
    };
    drivers.iter().map(variant).collect()
}

/// Studies every variant.
///
/// # Errors
/// The first variant that cannot be studied.
pub fn outcomes(variants: Vec<Variant>, grid: &Arc<Grid>) -> Result<Vec<Outcome>, StudyError> {
    variants.into_iter().map(|v| Outcome::of(v, grid)).collect()
}

impl Outcome {
    fn of(variant: Variant, grid: &Arc<Grid>) -> Result<Self, StudyError> {
        let study = Study::new(variant.design, grid)?;
        let sides = &study.sides;
        let lowest = sides.iter().map(|s| (s.limits.lowest_ohm, s.limits.lowest_at_hz));
        let lowest = lowest.min_by(|a, b| a.0.total_cmp(&b.0)).unwrap_or_default();
        let (rms_db, peak_db) = deviation(sides);
        let stress = tweeter_stress(&study.design)?;
        Ok(Self {
            label: variant.label,
            polarity: sides.first().map_or(Polarity::Normal, |s| s.response().polarity),
            rms_db,
            peak_db,
            cancel_db: seats(sides).map(|s| s.cancel_db).reduce(f64::min).unwrap_or(0.0),
            lowest_ohm: lowest.0,
            lowest_at_hz: lowest.1,
            tweeter_travel_db: stress.travel_db,
            tweeter_heat_db: stress.heat_db,
            tweeter_heat_w: stress.heat_w,
            delay_bump_s: seats(sides).map(|s| s.delay_bump_s).fold(0.0, f64::max),
            spread_db: sides.iter().map(|s| seat::spread_db(&s.seats)).fold(0.0, f64::max),
            parts: sides.first().map_or(0, |s| s.network().parts.len()),
            cost: crossover_cost(&study),
            study,
        })
    }
}

/// The design with the tweeter in whichever polarity adds up better.
pub fn free_polarity(design: &Design) -> Design {
    let mut free = design.clone();
    free.crossover.polarity = PolarityRule::Best;
    free
}

/// A listed network gives way to a textbook one, matched and without shaping.
fn with_slope(design: &Design, new: Slope) -> Design {
    let mut with = free_polarity(design);
    match &mut with.crossover.topology {
        Topology::Textbook { slope, .. } => *slope = new,
        listed @ Topology::Listed(_) => {
            *listed = Topology::Textbook {
                slope: new,
                load: LoadRule::ImpedanceAtCrossover,
                level: TweeterLevel::Match,
                shaping: Ways::default(),
            }
        }
    }
    with
}

fn seats(sides: &[SideStudy]) -> impl Iterator<Item = &SeatVerdict> {
    sides.iter().flat_map(|s| &s.seats)
}

/// Weighted rms over seats and sides, and the worst magnitude, dB.
fn deviation(sides: &[SideStudy]) -> (f64, f64) {
    let square = |s: &SeatVerdict| s.weight * s.deviation.rms_db.powi(2);
    let weight: f64 = seats(sides).map(|s| s.weight).sum();
    let mean = seats(sides).map(square).sum::<f64>() / weight.max(f64::MIN_POSITIVE);
    (mean.sqrt(), seats(sides).map(|s| s.deviation.peak_db()).fold(0.0, f64::max))
}

/// The worst over the sides, at the tweeter's resonance.
struct Stress {
    /// Excursion relative to the same design with bw1, dB.
    travel_db: f64,
    /// Coil heat relative to the same design with bw1, dB.
    heat_db: f64,
    /// Coil heat for 1 V at the source, W.
    heat_w: f64,
}

fn tweeter_stress(design: &Design) -> Result<Stress, StudyError> {
    let baseline = first_order(design);
    let lowest = f64::NEG_INFINITY;
    let mut worst = Stress { travel_db: lowest, heat_db: lowest, heat_w: 0.0 };
    for (side, base_side) in design.sides.iter().zip(&baseline.sides) {
        let (x, p) = at_resonance(design, side)?;
        let (x0, p0) = at_resonance(&baseline, base_side)?;
        worst.travel_db = worst.travel_db.max(crate::grid::level_db(x, x0));
        worst.heat_db = worst.heat_db.max(crate::grid::level_db(p.sqrt(), p0.sqrt()));
        worst.heat_w = worst.heat_w.max(p);
    }
    Ok(worst)
}

fn first_order(design: &Design) -> Design {
    Slope::new(Family::Butterworth, 1).map_or_else(|_| design.clone(), |s| with_slope(design, s))
}

/// Coil heat of the tweeter at its resonance for 1 V at the source, with bw1 in the place of the
/// design's crossover; the worst side, W.
///
/// # Errors
/// A design that cannot be computed.
pub fn first_order_heat_w(design: &Design) -> Result<f64, StudyError> {
    let baseline = first_order(design);
    let heat = |side: &Side| at_resonance(&baseline, side).map(|(_, watt)| watt);
    baseline.sides.iter().map(heat).try_fold(0.0, |worst, w| Ok(f64::max(worst, w?)))
}

/// Peak excursion (m) and coil heat (W) of the tweeter at its resonance for 1 V at the source.
fn at_resonance(design: &Design, side: &Side) -> Result<(f64, f64), StudyError> {
    let motor = &side.drivers.tweeter.driver.motor;
    let Ok(grid) = Grid::from_points(vec![motor.fs_hz()]) else { return Ok((0.0, 0.0)) };
    let model = SideModel::new(design, side, &grid)?;
    let mut network = synthesis::network_for(design, side)?.network;
    if design.parts.values == Values::Chosen {
        network = super::choice::Chosen::of(&network, design).network;
    }
    let response = model.through(&network, PolarityRule::Fixed(Polarity::Normal))?;
    let travel = model.excursion_m(&response.voltage, Polarity::Normal, 1.0).tweeter[0];
    let current = model.impedance.currents(&response.voltage).tweeter[0];
    Ok((travel, current.norm_sqr() * motor.re_ohm))
}

fn crossover_cost(study: &Study) -> Option<f64> {
    let list = PartsList::of(study, study.design.run.units);
    let parts = list.lines.iter().filter(|l| !l.reference.is_empty());
    parts.map(|l| l.price.map(|p| p * l.per_panel)).sum()
}
