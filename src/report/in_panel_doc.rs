//! `in_panel` of each side in `design --json`: standing waves, places, foam, directions. SI units;
//! places in panel coordinates.

use crate::analysis::in_panel::InPanel;
use crate::analysis::placement::{Excited, Spot};
use serde::Serialize;

/// A closer look at a side.
#[derive(Debug, Clone, Serialize)]
pub struct InPanelDoc {
    /// Level with the cavity as computed over that with one lump of bare air, on `frequency_hz`.
    cavity_change_db: Vec<f64>,
    standing_waves: Vec<WaveDoc>,
    ripple_limit_db: f64,
    here: SpotDoc,
    #[serde(skip_serializing_if = "Option::is_none")]
    best: Option<SpotDoc>,
    /// The thinnest foam on the whole back that meets the limit.
    #[serde(skip_serializing_if = "Option::is_none")]
    foam_needed_m: Option<f64>,
    /// From here, down, the sum at the crossover stays within 3 dB of the first seat's.
    lobe_from_deg: f64,
    /// Up to here.
    lobe_to_deg: f64,
    seats: Vec<SeatDoc>,
    /// What the side sends out in all, free of the room.
    power: Vec<PowerDoc>,
}

#[derive(Debug, Clone, Serialize)]
struct PowerDoc {
    frequency_hz: f64,
    /// Sound power at the drive voltage, dB re 1 pW.
    power_db: f64,
    /// Level towards the first seat over the mean of all directions.
    directivity_index_db: f64,
}

#[derive(Debug, Clone, Serialize)]
struct WaveDoc {
    half_waves_x: u32,
    half_waves_y: u32,
    frequency_hz: f64,
    /// Amplitude at the cone over that in a corner.
    share: f64,
}

#[derive(Debug, Clone, Serialize)]
struct SpotDoc {
    x_m: f64,
    y_m: f64,
    above_db: f64,
    below_db: f64,
}

#[derive(Debug, Clone, Serialize)]
struct SeatDoc {
    listener: String,
    across_deg: f64,
    up_deg: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    spread_db: Option<f64>,
}

impl InPanelDoc {
    /// The document of a look.
    pub fn new(look: &InPanel) -> Self {
        let placement = &look.placement;
        let seats = look.directions.seats.iter().zip(&look.wander_db);
        let power = &look.directions.power;
        Self {
            cavity_change_db: look.change_db.clone(),
            standing_waves: placement.waves.iter().map(wave).collect(),
            ripple_limit_db: placement.limit_db,
            here: spot(&placement.here),
            best: placement.best.as_ref().map(spot),
            foam_needed_m: placement.foam_m,
            lobe_from_deg: look.directions.lobe_deg.0,
            lobe_to_deg: look.directions.lobe_deg.1,
            seats: seats
                .map(|(seat, spread)| SeatDoc {
                    listener: seat.name.clone(),
                    across_deg: seat.across_deg,
                    up_deg: seat.up_deg,
                    spread_db: *spread,
                })
                .collect(),
            power: power.points().map(power_doc).collect(),
        }
    }
}

fn power_doc((frequency_hz, power_db, directivity_index_db): (f64, f64, f64)) -> PowerDoc {
    PowerDoc { frequency_hz, power_db, directivity_index_db }
}

fn wave(wave: &Excited) -> WaveDoc {
    let [half_waves_x, half_waves_y] = wave.index;
    let Excited { frequency_hz, share, .. } = *wave;
    WaveDoc { half_waves_x, half_waves_y, frequency_hz, share }
}

fn spot(spot: &Spot) -> SpotDoc {
    SpotDoc {
        x_m: spot.x_m,
        y_m: spot.y_m,
        above_db: spot.ripple.above_db,
        below_db: spot.ripple.below_db,
    }
}
