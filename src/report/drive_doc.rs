//! The part of a side's `limits` that is about full drive: programme noise, the loudest sine, heat,
//! and the capacitor that would guard the woofer. SI units; arrays follow `frequency_hz`.

use crate::analysis::drive::Drive;
use crate::analysis::guard::{Place, Remedy};
use crate::analysis::heating::{Heating, Soak, Warm};
use crate::analysis::loudest::Loudest;
use crate::analysis::noise::{Noise, NoiseLoad};
use crate::analysis::study::SideStudy;
use serde::Serialize;
use std::collections::BTreeMap;

/// At full drive.
#[derive(Debug, Clone, Serialize)]
pub struct DriveDoc {
    programme: ProgrammeDoc,
    loudest: LoudestDoc,
    heat: HeatDoc,
    #[serde(skip_serializing_if = "Option::is_none")]
    series_capacitor: Option<CapacitorDoc>,
}

#[derive(Debug, Clone, Serialize)]
struct ProgrammeDoc {
    spectrum: &'static str,
    crest_factor: f64,
    /// At the source with the amplifier at its rated power.
    source_v: f64,
    woofer: LoadDoc,
    tweeter: LoadDoc,
    /// The most that nothing is too little for, at the source.
    most_v: f64,
    held_by: &'static str,
    listeners: Vec<LevelDoc<f64>>,
}

#[derive(Debug, Clone, Serialize)]
struct LoadDoc {
    volts: f64,
    /// V²/Re.
    power_w: f64,
    rated_power_w: f64,
    excursion_rms_m: f64,
    excursion_peak_m: f64,
}

#[derive(Debug, Clone, Serialize)]
struct LevelDoc<T> {
    listener: String,
    level_db: T,
}

#[derive(Debug, Clone, Serialize)]
struct LoudestDoc {
    /// Largest sine at the source.
    source_v: Vec<f64>,
    held_by: Vec<&'static str>,
    allowed_v: BTreeMap<&'static str, Vec<f64>>,
    listeners: Vec<LevelDoc<Vec<f64>>>,
    at_1m_db: Vec<f64>,
    stretches: Vec<StretchDoc>,
    displacement_limited_acoustic_w: f64,
    displacement_limited_electrical_w: f64,
}

#[derive(Debug, Clone, Serialize)]
struct StretchDoc {
    from_hz: f64,
    to_hz: f64,
    held_by: &'static str,
}

/// A driver whose thermal resistance is not known is left out.
#[derive(Debug, Clone, Serialize)]
struct HeatDoc {
    #[serde(skip_serializing_if = "Option::is_none")]
    woofer: Option<CoilDoc>,
    #[serde(skip_serializing_if = "Option::is_none")]
    tweeter: Option<CoilDoc>,
}

#[derive(Debug, Clone, Serialize)]
struct CoilDoc {
    coil_k_per_w: f64,
    magnet_k_per_w: f64,
    coil_time_s: f64,
    magnet_time_s: f64,
    /// Whether the split or a time is a habit rather than the driver's own.
    is_habit: bool,
    programme: SoakDoc,
    sine_hz: f64,
    sine: SoakDoc,
    /// Under the programme, settled.
    qes: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    fc_hz: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    qtc: Option<f64>,
}

#[derive(Debug, Clone, Serialize)]
struct SoakDoc {
    minute: WarmDoc,
    settled: WarmDoc,
}

#[derive(Debug, Clone, Serialize)]
struct WarmDoc {
    coil_temperature_c: f64,
    rise_k: f64,
    power_w: f64,
    re_ohm: f64,
    level_db: f64,
}

/// There where the woofer passes Xmax; without a value where none helps.
#[derive(Debug, Clone, Serialize)]
struct CapacitorDoc {
    helps: bool,
    #[serde(flatten)]
    guard: Option<GuardDoc>,
}

#[derive(Debug, Clone, Serialize)]
struct GuardDoc {
    value_f: f64,
    place: &'static str,
    excursion_peak_m: f64,
    f3_without_hz: f64,
    f3_with_hz: f64,
    level_at_f3_db: f64,
    highest_rise_db: f64,
    highest_rise_hz: f64,
}

impl DriveDoc {
    /// Of a side.
    pub fn new(side: &SideStudy) -> Self {
        let drive = &side.drive;
        Self {
            programme: programme(&drive.noise),
            loudest: loudest(&side.loudest, drive),
            heat: HeatDoc {
                woofer: drive.heating.woofer.as_ref().map(coil),
                tweeter: drive.heating.tweeter.as_ref().map(coil),
            },
            series_capacitor: capacitor(&drive.remedy),
        }
    }
}

fn levels<T: Clone>(seats: &[(String, T)]) -> Vec<LevelDoc<T>> {
    let level = |(listener, db): &(String, T)| LevelDoc {
        listener: listener.clone(),
        level_db: db.clone(),
    };
    seats.iter().map(level).collect()
}

fn programme(noise: &Noise) -> ProgrammeDoc {
    let load = |load: &NoiseLoad| LoadDoc {
        volts: load.volts,
        power_w: load.power_w,
        rated_power_w: load.rated_w,
        excursion_rms_m: load.rms_m,
        excursion_peak_m: load.peak_m,
    };
    ProgrammeDoc {
        spectrum: "IEC 60268-1",
        crest_factor: noise.crest_factor,
        source_v: noise.source_v,
        woofer: load(&noise.drivers.woofer),
        tweeter: load(&noise.drivers.tweeter),
        most_v: noise.most_v,
        held_by: noise.held_by.key(),
        listeners: levels(&noise.seats_db),
    }
}

fn loudest(loudest: &Loudest, drive: &Drive) -> LoudestDoc {
    let stretches = drive.loudest.stretches.iter();
    LoudestDoc {
        source_v: loudest.volts.clone(),
        held_by: loudest.held_by.iter().map(|h| h.key()).collect(),
        allowed_v: loudest.allowed_v.iter().map(|(h, v)| (h.key(), v.clone())).collect(),
        listeners: levels(&loudest.seats_db),
        at_1m_db: loudest.at_1m_db.clone(),
        stretches: stretches
            .map(|s| StretchDoc { from_hz: s.from_hz, to_hz: s.to_hz, held_by: s.holder.key() })
            .collect(),
        displacement_limited_acoustic_w: drive.displacement_limited_w,
        displacement_limited_electrical_w: drive.displacement_limited_electrical_w,
    }
}

fn coil(heating: &Heating) -> CoilDoc {
    let path = &heating.path;
    CoilDoc {
        coil_k_per_w: path.coil_k_per_w,
        magnet_k_per_w: path.magnet_k_per_w,
        coil_time_s: path.coil_s,
        magnet_time_s: path.magnet_s,
        is_habit: path.is_habit,
        programme: soak(&heating.noise),
        sine_hz: heating.sine_hz,
        sine: soak(&heating.sine),
        qes: heating.qes,
        fc_hz: heating.alignment.map(|a| a.fc_hz),
        qtc: heating.alignment.map(|a| a.qtc),
    }
}

fn soak(soak: &Soak) -> SoakDoc {
    let warm = |warm: &Warm| WarmDoc {
        coil_temperature_c: warm.coil_c,
        rise_k: warm.rise_k(),
        power_w: warm.power_w,
        re_ohm: warm.re_ohm,
        level_db: warm.level_db,
    };
    SoakDoc { minute: warm(&soak.minute), settled: warm(&soak.settled) }
}

fn capacitor(remedy: &Remedy) -> Option<CapacitorDoc> {
    let guard = match remedy {
        Remedy::NotNeeded => return None,
        Remedy::None => None,
        Remedy::Capacitor(guard) => Some(GuardDoc {
            value_f: guard.farad,
            place: match guard.place {
                Place::WooferWay => "woofer_way",
                Place::WholeSide => "whole_side",
            },
            excursion_peak_m: guard.peak_m,
            f3_without_hz: guard.f3_hz.0,
            f3_with_hz: guard.f3_hz.1,
            level_at_f3_db: guard.at_f3_db,
            highest_rise_db: guard.most_db.0,
            highest_rise_hz: guard.most_db.1,
        }),
    };
    Some(CapacitorDoc { helps: guard.is_some(), guard })
}
