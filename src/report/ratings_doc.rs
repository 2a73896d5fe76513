//! What the parts of a side have to stand: for the document, the page and the terminal.

use super::needs::{self, NeedDoc};
use super::quantity;
use crate::analysis::coils::{Change, Pair};
use crate::analysis::ratings::{DriverRating, Most, PartRating, Ratings, Stress};
use crate::analysis::study::SideStudy;
use crate::design::{BuiltFor, Way};
use crate::units::{hertz, significant};
use serde::Serialize;

/// The ratings of a side; SI units, rms unless the key says peak.
#[derive(Debug, Clone, Serialize)]
pub struct RatingsDoc {
    /// "programme" or "sine": what the needs are for.
    built_for: &'static str,
    source_v: f64,
    band_hz: [f64; 2],
    ambient_c: f64,
    programme_crest_factor: f64,
    parts: Vec<PartDoc>,
    drivers: Vec<DriverDoc>,
    /// Of the programme noise.
    power: PowerDoc,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    coupled_coils: Vec<PairDoc>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    coupling_changes: Vec<ChangeDoc>,
}

#[derive(Debug, Clone, Serialize)]
struct PartDoc {
    #[serde(rename = "ref")]
    reference: String,
    kind: &'static str,
    value: f64,
    sine: StressDoc,
    programme: StressDoc,
    needs: NeedDoc,
}

#[derive(Debug, Clone, Serialize)]
struct DriverDoc {
    way: &'static str,
    sine: StressDoc,
    programme: StressDoc,
    /// V²/Re under the noise, as ratings are told.
    programme_w: f64,
    rated_power_w: f64,
}

#[derive(Debug, Clone, Serialize)]
struct StressDoc {
    volts: f64,
    volts_peak: f64,
    amps: f64,
    amps_peak: f64,
    power_w: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    volts_at_hz: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    amps_at_hz: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    power_at_hz: Option<f64>,
}

#[derive(Debug, Clone, Serialize)]
struct PowerDoc {
    source_w: f64,
    output_w: f64,
    parts_w: f64,
    drivers_w: f64,
}

#[derive(Debug, Clone, Serialize)]
struct PairDoc {
    refs: [String; 2],
    factor: f64,
    mutual_h: f64,
}

#[derive(Debug, Clone, Serialize)]
struct ChangeDoc {
    listener: String,
    most_db: f64,
    at_hz: f64,
}

fn stress(stress: &Stress) -> StressDoc {
    StressDoc {
        volts: stress.volts.value,
        volts_peak: stress.peak_v(),
        amps: stress.amps.value,
        amps_peak: stress.peak_a(),
        power_w: stress.power.value,
        volts_at_hz: stress.volts.at_hz,
        amps_at_hz: stress.amps.at_hz,
        power_at_hz: stress.power.at_hz,
    }
}

impl RatingsDoc {
    /// Of a side.
    pub fn new(side: &SideStudy) -> Self {
        let ratings = &side.ratings;
        let part = |p: &PartRating| PartDoc {
            reference: p.reference.clone(),
            kind: p.component.kind(),
            value: p.component.value(),
            sine: stress(&p.stress.sine),
            programme: stress(&p.stress.programme),
            needs: NeedDoc::new(&p.need),
        };
        let driver = |way: Way| {
            let driver: &DriverRating = ratings.drivers.of(way);
            DriverDoc {
                way: way.word(),
                sine: stress(&driver.stress.sine),
                programme: stress(&driver.stress.programme),
                programme_w: driver.programme_w,
                rated_power_w: driver.rated_w,
            }
        };
        let pair = |p: &Pair| PairDoc {
            refs: p.references.clone(),
            factor: p.factor,
            mutual_h: p.mutual_h,
        };
        let change =
            |c: &Change| ChangeDoc { listener: c.seat.clone(), most_db: c.most_db, at_hz: c.at_hz };
        let balance = &ratings.balance;
        Self {
            built_for: signal(ratings.built_for),
            source_v: ratings.source_v,
            band_hz: [ratings.band_hz.0, ratings.band_hz.1],
            ambient_c: ratings.ambient_c,
            programme_crest_factor: crate::signal::programme::CREST_FACTOR,
            parts: ratings.parts.iter().map(part).collect(),
            drivers: Way::BOTH.map(driver).to_vec(),
            power: PowerDoc {
                source_w: balance.source_w,
                output_w: balance.output_w,
                parts_w: balance.parts_w,
                drivers_w: balance.drivers_w,
            },
            coupled_coils: side.coils.coils.pairs.iter().map(pair).collect(),
            coupling_changes: side.coils.changes.iter().map(change).collect(),
        }
    }
}

fn signal(built_for: BuiltFor) -> &'static str {
    match built_for {
        BuiltFor::Programme => "programme",
        BuiltFor::Sine => "sine",
    }
}

/// What the ratings are for, in a sentence.
pub fn heading(ratings: &Ratings) -> String {
    let (low, high) = ratings.band_hz;
    let volts = significant(ratings.source_v, 3);
    match ratings.built_for {
        BuiltFor::Programme => format!(
            "for programme noise (IEC 60268-1) of {volts} V rms, peaks of twice that, from {}",
            hertz(low)
        ),
        BuiltFor::Sine => {
            format!("for a sine of {volts} V at its worst from {} to {}", hertz(low), hertz(high))
        }
    }
}

/// A row a part: name, value, voltage, current, heat, what to ask for.
pub fn rows(ratings: &Ratings) -> Vec<[String; 6]> {
    let at = |most: &Most| most.at_hz.map_or(String::new(), |f| format!(" at {}", hertz(f)));
    let row = |part: &PartRating| {
        let stress = part.stress.under(ratings.built_for);
        [
            part.reference.clone(),
            quantity::part(&part.component, 3),
            format!("{} V peak{}", significant(stress.peak_v(), 2), at(&stress.volts)),
            format!("{} A{}", significant(stress.amps.value, 2), at(&stress.amps)),
            format!("{} W", significant(stress.power.value, 2)),
            needs::needed(&part.need),
        ]
    };
    ratings.parts.iter().map(row).collect()
}

/// Where the power of the noise goes, in a sentence.
pub fn power(ratings: &Ratings) -> String {
    let (b, watts) = (&ratings.balance, |w: f64| significant(w, 2));
    format!(
        "{} W of programme noise: {} W to the drivers, {} W heat in the parts, {} W in output and cable",
        watts(b.source_w),
        watts(b.drivers_w),
        watts(b.parts_w),
        watts(b.output_w)
    )
}

/// What coils near one another do, in a sentence; empty where none are.
pub fn coupling(side: &SideStudy) -> Option<String> {
    let pairs: Vec<String> = side
        .coils
        .coils
        .pairs
        .iter()
        .map(|p| format!("{} k {:+.3}", p.references.join(" and "), p.factor))
        .collect();
    let changes = side
        .coils
        .changes
        .iter()
        .map(|c| format!("at most {:+.2} dB at {}, {}", c.most_db, c.seat, hertz(c.at_hz)));
    let changes: Vec<String> = changes.collect();
    (!pairs.is_empty())
        .then(|| format!("{}; this changes the sum by {}", pairs.join(", "), changes.join("; ")))
}
