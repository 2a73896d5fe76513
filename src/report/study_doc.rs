//! The document of `design --json`: keys and meanings that scripts rely on, in SI units.
//!
//! `voltage` is the terminal difference per volt of the source, polarity not applied (it is in the
//! sum); `impedance` is at the amplifier's terminals without its source resistance;
//! `sum_phase_deg` includes the travel from the panel's origin to the seat,
//! `sum_phase_excess_deg` does not; `cavity.load` is the woofer's load in the circuit and
//! `cavity.tweeter_load` that of a tweeter in the same air, each with the other cone held, and
//! `cavity.transfer_load` the pressure on either over the other's flow; `fc_hz` and `qtc` hold the
//! network's series resistance, fill and leak, the `bare_` ones none of these; excursion is one-way
//! peak at the amplifier's rated voltage; `edges` are for the first seat.

use super::amplifier_doc::AmplifierDoc;
use super::drive_doc::DriveDoc;
use super::in_panel_doc::InPanelDoc;
use super::json::{ComplexArrays, SCHEMA_VERSION};
use super::quantity;
use super::ratings_doc::RatingsDoc;
use crate::analysis::choice::ChosenPart;
use crate::analysis::finding::{Finding, Severity};
use crate::analysis::limits::{SideLimits, Travel};
use crate::analysis::seat::SeatVerdict;
use crate::analysis::side::SeatResponse;
use crate::analysis::study::{CavityStudy, SideStudy, Study};
use crate::circuit::network::{Component, Part};
use crate::design::Values;
use crate::grid::Transfer;
use serde::Serialize;

/// The whole document.
#[derive(Debug, Clone, Serialize)]
pub struct StudyDoc {
    schema_version: u32,
    name: String,
    fit: bool,
    crossover_hz: f64,
    drive_v: f64,
    frequency_hz: Vec<f64>,
    sides: Vec<SideDoc>,
    wiring: Vec<super::wiring::Wire>,
    #[serde(skip_serializing_if = "Option::is_none")]
    amplifier: Option<AmplifierDoc>,
    warnings: Vec<String>,
    notes: Vec<String>,
}

#[derive(Debug, Clone, Serialize)]
struct SideDoc {
    name: String,
    tweeter_polarity: &'static str,
    listeners: Vec<ListenerDoc>,
    impedance: ImpedanceDoc,
    voltage: VoltageDoc,
    cavity: CavityDoc,
    /// Outward flow of the back sheet over inward flow of the cone; absent for a rigid back.
    #[serde(skip_serializing_if = "Option::is_none")]
    sheet: Option<SheetDoc>,
    /// The same of the face.
    #[serde(skip_serializing_if = "Option::is_none")]
    face: Option<SheetDoc>,
    /// What the panel's edges make of each driver at the first seat, over an endless panel.
    #[serde(skip_serializing_if = "Option::is_none")]
    edges: Option<EdgesDoc>,
    excursion_m: ExcursionDoc,
    limits: LimitsDoc,
    /// Around the crossover, one a listener.
    seats: Vec<SeatDoc>,
    parts: Vec<PartDoc>,
    /// What the parts as bought have to stand.
    ratings: RatingsDoc,
    #[serde(skip_serializing_if = "Option::is_none")]
    in_panel: Option<InPanelDoc>,
    /// Which values the curves and limits are for: "exact" or "chosen".
    values: &'static str,
}

#[derive(Debug, Clone, Serialize)]
struct SeatDoc {
    listener: String,
    band_hz: [f64; 2],
    mean_db: f64,
    deviation_rms_db: f64,
    deviation_peak_db: f64,
    cancel_db: f64,
    delay_bump_s: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    ways_meet_hz: Option<f64>,
}

#[derive(Debug, Clone, Serialize)]
struct ListenerDoc {
    name: String,
    /// From the panel's origin.
    distance_m: f64,
    /// From the acoustic centres.
    woofer_distance_m: f64,
    tweeter_distance_m: f64,
    sum_db: Vec<f64>,
    sum_phase_deg: Vec<f64>,
    sum_phase_excess_deg: Vec<f64>,
    sum_group_delay_excess_s: Vec<f64>,
    woofer_db: Vec<f64>,
    tweeter_db: Vec<f64>,
    inverted_db: Vec<f64>,
}

#[derive(Debug, Clone, Serialize)]
struct ImpedanceDoc {
    magnitude_ohm: Vec<f64>,
    phase_deg: Vec<f64>,
}

#[derive(Debug, Clone, Serialize)]
struct VoltageDoc {
    woofer: ComplexArrays,
    tweeter: ComplexArrays,
}

#[derive(Debug, Clone, Serialize)]
struct SheetDoc {
    ratio_db: Vec<f64>,
    ratio_deg: Vec<f64>,
}

impl SheetDoc {
    fn of(ratio: &Transfer) -> Self {
        Self { ratio_db: ratio.level_db(1.0), ratio_deg: ratio.phase_deg() }
    }
}

#[derive(Debug, Clone, Serialize)]
struct EdgesDoc {
    woofer_db: Vec<f64>,
    tweeter_db: Vec<f64>,
}

#[derive(Debug, Clone, Serialize)]
struct CavityDoc {
    volume_m3: f64,
    fc_hz: f64,
    qtc: f64,
    f3_hz: f64,
    bare_fc_hz: f64,
    bare_qtc: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    rigid_back_fc_hz: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    rigid_back_qtc: Option<f64>,
    source_ohm: f64,
    modes_hz: Vec<f64>,
    load: ComplexArrays,
    /// Of a tweeter in the same air; absent where its back is closed.
    #[serde(skip_serializing_if = "Option::is_none")]
    tweeter_load: Option<ComplexArrays>,
    #[serde(skip_serializing_if = "Option::is_none")]
    transfer_load: Option<ComplexArrays>,
}

#[derive(Debug, Clone, Serialize)]
struct ExcursionDoc {
    woofer: Vec<f64>,
    tweeter: Vec<f64>,
}

#[derive(Debug, Clone, Serialize)]
struct LimitsDoc {
    lowest_impedance_ohm: f64,
    lowest_impedance_hz: f64,
    amplifier_lowest_load_ohm: f64,
    woofer_travel: TravelDoc,
    tweeter_travel: TravelDoc,
    window: Vec<WindowDoc>,
    #[serde(flatten)]
    drive: DriveDoc,
}

#[derive(Debug, Clone, Serialize)]
struct TravelDoc {
    peak_m: f64,
    at_hz: f64,
    xmax_m: f64,
    /// The sine at the source that takes the cone to Xmax where it moves most.
    xmax_v: f64,
}

#[derive(Debug, Clone, Serialize)]
struct WindowDoc {
    listener: String,
    inside: bool,
    mean_db: f64,
    above_db: f64,
    above_hz: f64,
    below_db: f64,
    below_hz: f64,
}

#[derive(Debug, Clone, Serialize)]
struct PartDoc {
    #[serde(rename = "ref")]
    reference: String,
    kind: &'static str,
    /// Ohm, henry or farad.
    value: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    dcr_ohm: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    esr_ohm: Option<f64>,
    nodes: [String; 2],
    /// What is bought for it: one value, or two parts combined.
    chosen: Vec<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    paired: Option<&'static str>,
    error_percent: f64,
}

impl StudyDoc {
    /// The document of a study.
    pub fn new(study: &Study) -> Self {
        let sentences = |wanted: fn(&Finding) -> bool| {
            let found = study.findings.iter().filter(|f| wanted(f));
            found.map(|f| format!("{}: {}: {}", f.severity.word(), f.subject, f.text)).collect()
        };
        Self {
            schema_version: SCHEMA_VERSION,
            name: study.design.name.clone(),
            fit: !study.is_unfit(),
            crossover_hz: study.design.crossover.at_hz,
            drive_v: study.design.drive_v,
            frequency_hz: study.grid.frequency_hz().to_vec(),
            wiring: super::wiring::wires(study),
            sides: study.sides.iter().map(side).collect(),
            amplifier: study.amplifier.as_ref().map(AmplifierDoc::new),
            warnings: sentences(|f| f.severity > Severity::Note),
            notes: sentences(|f| f.severity == Severity::Note),
        }
    }
}

fn side(side: &SideStudy) -> SideDoc {
    let response = side.response();
    SideDoc {
        name: side.name.clone(),
        tweeter_polarity: response.polarity.word(),
        listeners: response.seats.iter().map(listener).collect(),
        impedance: ImpedanceDoc {
            magnitude_ohm: response.impedance.magnitude(),
            phase_deg: response.impedance.phase_deg(),
        },
        voltage: VoltageDoc {
            woofer: ComplexArrays::of(response.voltage.woofer.values()),
            tweeter: ComplexArrays::of(response.voltage.tweeter.values()),
        },
        cavity: cavity(&side.cavity),
        sheet: side.cavity.walls.back.as_ref().map(SheetDoc::of),
        face: side.cavity.walls.face.as_ref().map(SheetDoc::of),
        edges: side.cavity.edges.as_ref().map(|edges| EdgesDoc {
            woofer_db: edges.woofer.level_db(1.0),
            tweeter_db: edges.tweeter.level_db(1.0),
        }),
        excursion_m: ExcursionDoc {
            woofer: side.excursion_m.woofer.clone(),
            tweeter: side.excursion_m.tweeter.clone(),
        },
        limits: limits(&side.limits, DriveDoc::new(side)),
        parts: parts(side),
        ratings: RatingsDoc::new(side),
        in_panel: side.in_panel.as_ref().map(InPanelDoc::new),
        seats: side.seats.iter().map(seat).collect(),
        values: match side.values {
            Values::Exact => "exact",
            Values::Chosen => "chosen",
        },
    }
}

fn listener(seat: &SeatResponse) -> ListenerDoc {
    let excess = seat.excess(&seat.sum);
    ListenerDoc {
        name: seat.name.clone(),
        distance_m: seat.travel_m,
        woofer_distance_m: seat.distance_m.woofer,
        tweeter_distance_m: seat.distance_m.tweeter,
        sum_db: SeatResponse::level_db(&seat.sum),
        sum_phase_deg: seat.sum.phase_deg(),
        sum_phase_excess_deg: excess.phase_deg(),
        sum_group_delay_excess_s: excess.group_delay_s(),
        woofer_db: SeatResponse::level_db(&seat.woofer),
        tweeter_db: SeatResponse::level_db(&seat.tweeter),
        inverted_db: SeatResponse::level_db(&seat.inverted),
    }
}

fn seat(seat: &SeatVerdict) -> SeatDoc {
    let d = &seat.deviation;
    SeatDoc {
        listener: seat.name.clone(),
        band_hz: [d.band_hz.0, d.band_hz.1],
        mean_db: d.mean_db,
        deviation_rms_db: d.rms_db,
        deviation_peak_db: d.peak_db(),
        cancel_db: seat.cancel_db,
        delay_bump_s: seat.delay_bump_s,
        ways_meet_hz: seat.meeting.map(|m| m.hz),
    }
}

fn cavity(cavity: &CavityStudy) -> CavityDoc {
    CavityDoc {
        volume_m3: cavity.volume_m3,
        fc_hz: cavity.alignment.fc_hz,
        qtc: cavity.alignment.qtc,
        f3_hz: cavity.alignment.f3_hz(),
        bare_fc_hz: cavity.bare.fc_hz,
        bare_qtc: cavity.bare.qtc,
        rigid_back_fc_hz: cavity.rigid.map(|a| a.fc_hz),
        rigid_back_qtc: cavity.rigid.map(|a| a.qtc),
        source_ohm: cavity.source_ohm,
        modes_hz: cavity.modes_hz.clone(),
        load: ComplexArrays::of(cavity.load.values()),
        tweeter_load: cavity.tweeter.as_ref().map(|(own, _)| ComplexArrays::of(own.values())),
        transfer_load: cavity.tweeter.as_ref().map(|(_, z)| ComplexArrays::of(z.values())),
    }
}

fn limits(limits: &SideLimits, drive: DriveDoc) -> LimitsDoc {
    let travel = |t: &Travel| TravelDoc {
        peak_m: t.peak_m,
        at_hz: t.at_hz,
        xmax_m: t.xmax_m,
        xmax_v: t.xmax_v,
    };
    let window = limits.window.iter().map(|w| WindowDoc {
        listener: w.seat.clone(),
        inside: w.inside,
        mean_db: w.deviation.mean_db,
        above_db: w.deviation.above.0,
        above_hz: w.deviation.above.1,
        below_db: w.deviation.below.0,
        below_hz: w.deviation.below.1,
    });
    LimitsDoc {
        lowest_impedance_ohm: limits.lowest_ohm,
        lowest_impedance_hz: limits.lowest_at_hz,
        amplifier_lowest_load_ohm: limits.allowed_ohm,
        woofer_travel: travel(&limits.travel.woofer),
        tweeter_travel: travel(&limits.travel.tweeter),
        window: window.collect(),
        drive,
    }
}

/// The exact parts, each with what is bought for it.
fn parts(side: &SideStudy) -> Vec<PartDoc> {
    let network = &side.synthesis.network;
    let document = |(part, chosen): (&Part, &ChosenPart)| {
        let (dcr_ohm, esr_ohm) = match part.component {
            Component::Resistor { .. } => (None, None),
            Component::Inductor { dcr_ohm, .. } => (Some(dcr_ohm), None),
            Component::Capacitor { esr_ohm, .. } => (None, Some(esr_ohm)),
        };
        PartDoc {
            reference: part.reference.clone(),
            kind: part.component.kind(),
            value: part.component.value(),
            dcr_ohm,
            esr_ohm,
            nodes: part.nodes.map(|n| network.name(n).to_owned()),
            chosen: chosen.bought.iter().map(|(_, good)| good.component.value()).collect(),
            paired: chosen.choice.second.map(|(_, connection)| quantity::connection(connection)),
            error_percent: chosen.error_percent(),
        }
    };
    network.parts.iter().zip(&side.chosen.parts).map(document).collect()
}
