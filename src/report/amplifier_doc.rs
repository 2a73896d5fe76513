//! `amplifier` of `design --json`: what it faces, gives, takes and endures. SI units; arrays of
//! `filter` follow its own `frequency_hz`, all others the check's (20 Hz to 20 kHz, under `faced`).

use super::warmth_doc::WarmthDoc;
use crate::analysis::amplifier::corners::Borne;
use crate::analysis::amplifier::ringing::Ringing;
use crate::analysis::amplifier::supply::Draw;
use crate::analysis::amplifier::{AmplifierStudy, SideLoad};
use serde::Serialize;

/// The amplifier and all it feeds.
#[derive(Debug, Clone, Serialize)]
pub struct AmplifierDoc {
    supply: SupplyDoc,
    sides: Vec<SideDoc>,
    warmth: Vec<WarmthDoc>,
}

#[derive(Debug, Clone, Serialize)]
struct SupplyDoc {
    sine: DrawDoc,
    programme: DrawDoc,
    /// Programme of an eighth of the clipping power.
    normal: DrawDoc,
    idle: DrawDoc,
    #[serde(skip_serializing_if = "Option::is_none")]
    adaptor_w: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    fuse_a: Option<f64>,
}

#[derive(Debug, Clone, Serialize)]
struct DrawDoc {
    out_w: f64,
    in_w: f64,
    heat_w: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    supply_a: Option<f64>,
}

#[derive(Debug, Clone, Serialize)]
struct SideDoc {
    name: String,
    faced: FacedDoc,
    overdriven: Vec<OverdrivenDoc>,
    #[serde(skip_serializing_if = "Option::is_none")]
    tweeter_fuse: Option<FuseDoc>,
    direct: DirectDoc,
    unplugged: Vec<UnpluggedDoc>,
    corners: CornersDoc,
    wiring: WiringDoc,
    #[serde(skip_serializing_if = "Option::is_none")]
    filter: Option<FilterDoc>,
}

#[derive(Debug, Clone, Serialize)]
struct FacedDoc {
    clipping_v: f64,
    clipping_into_rated_load_w: f64,
    frequency_hz: Vec<f64>,
    limit_v: Vec<f64>,
    power_w: Vec<f64>,
    current_peak_a: Vec<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    current_limited_hz: Option<[f64; 2]>,
    programme_w: f64,
    programme_a: f64,
    listeners: Vec<LevelsDoc>,
}

#[derive(Debug, Clone, Serialize)]
struct LevelsDoc {
    listener: String,
    sine_1_khz_db: f64,
    programme_db: f64,
}

#[derive(Debug, Clone, Serialize)]
struct OverdrivenDoc {
    over_db: f64,
    woofer_w: f64,
    tweeter_w: f64,
    tweeter_a: f64,
}

#[derive(Debug, Clone, Serialize)]
struct FuseDoc {
    holds: bool,
    saves: bool,
    allowed_a: f64,
}

#[derive(Debug, Clone, Serialize)]
struct DirectDoc {
    input_ohm: f64,
    woofer_share: f64,
    tweeter_share: f64,
    tweeter_path: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    rests_v: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    coupling: Option<CouplingDoc>,
}

#[derive(Debug, Clone, Serialize)]
struct CouplingDoc {
    #[serde(skip_serializing_if = "Option::is_none")]
    stated_f: Option<f64>,
    advised_f: f64,
    corner_hz: f64,
}

#[derive(Debug, Clone, Serialize)]
struct UnpluggedDoc {
    missing: &'static str,
    lowest_ohm: f64,
    lowest_hz: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    capacitor: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    capacitor_peak_v: Option<f64>,
}

#[derive(Debug, Clone, Serialize)]
struct CornersDoc {
    nominal_ohm: f64,
    lowest_ohm: f64,
    lowest_hz: f64,
    upper: Vec<String>,
    lower: Vec<String>,
    aged: bool,
    hot: bool,
    tried: usize,
    parts: Vec<BorneDoc>,
}

/// V peak of capacitors and A rms of coils under a sine, W of resistors under programme.
#[derive(Debug, Clone, Serialize)]
struct BorneDoc {
    #[serde(rename = "ref")]
    reference: String,
    nominal: f64,
    worst: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    rating: Option<f64>,
}

#[derive(Debug, Clone, Serialize)]
struct WiringDoc {
    current_a: f64,
    trace_m: f64,
    inner_trace_m: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    cable_m2: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    cable_ohm: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    damping_factor: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    woofer_damping_factor: Option<f64>,
}

#[derive(Debug, Clone, Serialize)]
struct FilterDoc {
    resonance_hz: f64,
    frequency_hz: Vec<f64>,
    cases: Vec<CaseDoc>,
    #[serde(skip_serializing_if = "Option::is_none")]
    cure: Option<CureDoc>,
}

#[derive(Debug, Clone, Serialize)]
struct CaseDoc {
    behind: &'static str,
    peak_db: f64,
    peak_hz: f64,
    at_20_khz_db: f64,
    level_db: Vec<f64>,
}

#[derive(Debug, Clone, Serialize)]
struct CureDoc {
    damping_f: f64,
    damping_ohm: f64,
    peak_db: f64,
}

impl AmplifierDoc {
    /// Of a study.
    pub fn new(study: &AmplifierStudy) -> Self {
        let supply = &study.supply;
        Self {
            supply: SupplyDoc {
                sine: draw(&supply.sine),
                programme: draw(&supply.programme),
                normal: draw(&supply.normal),
                idle: draw(&supply.idle),
                adaptor_w: supply.adaptor_w,
                fuse_a: supply.fuse_a,
            },
            sides: study.sides.iter().map(side).collect(),
            warmth: study.warmth.iter().map(WarmthDoc::new).collect(),
        }
    }
}

fn draw(draw: &Draw) -> DrawDoc {
    DrawDoc { out_w: draw.out_w, in_w: draw.in_w, heat_w: draw.heat_w(), supply_a: draw.supply_a }
}

fn side(load: &SideLoad) -> SideDoc {
    SideDoc {
        name: load.name.clone(),
        faced: faced(load),
        overdriven: load
            .overdriven
            .iter()
            .map(|l| OverdrivenDoc {
                over_db: l.over_db,
                woofer_w: l.power_w.woofer,
                tweeter_w: l.power_w.tweeter,
                tweeter_a: l.tweeter_a,
            })
            .collect(),
        tweeter_fuse: load.fused.map(|f| FuseDoc {
            holds: f.holds,
            saves: f.saves,
            allowed_a: f.allowed_a,
        }),
        direct: direct(load),
        unplugged: unplugged(load),
        corners: corners(load),
        wiring: wiring(load),
        filter: load.ringing.as_ref().map(filter),
    }
}

fn faced(load: &SideLoad) -> FacedDoc {
    let faced = &load.faced;
    let levels = faced.sine_db.iter().zip(&faced.programme_db);
    FacedDoc {
        clipping_v: faced.clipping_v,
        clipping_into_rated_load_w: faced.rated_load_w,
        frequency_hz: faced.frequency_hz.clone(),
        limit_v: faced.limit_v.clone(),
        power_w: faced.power_w.clone(),
        current_peak_a: faced.current_a.clone(),
        current_limited_hz: faced.current_limited_hz.map(|(from, to)| [from, to]),
        programme_w: faced.programme_w,
        programme_a: faced.programme_a,
        listeners: levels
            .map(|((listener, sine), (_, programme))| LevelsDoc {
                listener: listener.clone(),
                sine_1_khz_db: *sine,
                programme_db: *programme,
            })
            .collect(),
    }
}

fn direct(load: &SideLoad) -> DirectDoc {
    let standing = &load.standing;
    DirectDoc {
        input_ohm: standing.input_ohm,
        woofer_share: standing.woofer_share,
        tweeter_share: standing.tweeter_share,
        tweeter_path: standing.tweeter_path.clone().unwrap_or_default(),
        rests_v: standing.rests_v,
        coupling: standing.coupling.map(|c| CouplingDoc {
            stated_f: c.stated_f,
            advised_f: c.advised_f,
            corner_hz: c.corner_hz,
        }),
    }
}

fn unplugged(load: &SideLoad) -> Vec<UnpluggedDoc> {
    let cases = load.unplugged.iter().map(|case| UnpluggedDoc {
        missing: case.missing.key(),
        lowest_ohm: case.lowest.value,
        lowest_hz: case.lowest.at_hz,
        capacitor: case.capacitor.as_ref().map(|(name, _)| name.clone()),
        capacitor_peak_v: case.capacitor.as_ref().map(|(_, v)| v.value),
    });
    cases.collect()
}

fn corners(load: &SideLoad) -> CornersDoc {
    let corners = &load.corners;
    let borne = |b: &Borne| BorneDoc {
        reference: b.reference.clone(),
        nominal: b.nominal,
        worst: b.worst,
        rating: b.rating,
    };
    CornersDoc {
        nominal_ohm: corners.nominal.value,
        lowest_ohm: corners.lowest.value,
        lowest_hz: corners.lowest.at_hz,
        upper: corners.ends.0.clone(),
        lower: corners.ends.1.clone(),
        aged: corners.state.aged,
        hot: corners.state.hot,
        tried: corners.tried,
        parts: corners.borne.iter().map(borne).collect(),
    }
}

fn wiring(load: &SideLoad) -> WiringDoc {
    let wiring = &load.wiring;
    WiringDoc {
        current_a: wiring.current_a,
        trace_m: wiring.trace_m,
        inner_trace_m: wiring.inner_trace_m,
        cable_m2: wiring.cable_m2,
        cable_ohm: wiring.cable_ohm,
        damping_factor: wiring.damping_factor,
        woofer_damping_factor: wiring.woofer_damping_factor,
    }
}

fn filter(ringing: &Ringing) -> FilterDoc {
    let case = |c: &crate::analysis::amplifier::ringing::Response| CaseDoc {
        behind: c.behind.key(),
        peak_db: c.peak_db,
        peak_hz: c.peak_hz,
        at_20_khz_db: c.at_20_khz_db,
        level_db: c.level_db.clone(),
    };
    FilterDoc {
        resonance_hz: ringing.resonance_hz,
        frequency_hz: ringing.frequency_hz.clone(),
        cases: ringing.cases.iter().map(case).collect(),
        cure: ringing.cure.map(|(damping, peak_db)| CureDoc {
            damping_f: damping.farad,
            damping_ohm: damping.ohm,
            peak_db,
        }),
    }
}
