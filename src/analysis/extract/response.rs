//! Response from recordings of a microphone and a loopback, or from a stored impulse response.

use super::{Facts, Heard, mean};
use crate::grid::{Grid, GridError};
use crate::signal::curve::{Curve, CurveError};
use crate::signal::deconvolve::{Impulse, Segment};
use crate::signal::interpolate::Outside;
use crate::signal::sweep::Sweep;
use crate::signal::window::Window;
use num_complex::Complex64;
use std::f64::consts::TAU;
use std::sync::Arc;

/// Window where none is asked for: after the arrival, s. The room is in it.
pub const OPEN_S: f64 = 0.2;
/// What is drawn after the arrival, as a multiple of the window.
const SHOWN: f64 = 1.6;
/// Latest arrival looked for, s: 34 m.
const LATEST_S: f64 = 0.1;

/// The window asked for around the arrival.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct GateAsk {
    /// Length after the arrival, s; [`OPEN_S`] where none is asked for.
    pub gate_s: Option<f64>,
    /// Length before it, s; half the gate where none is asked for.
    pub lead_s: Option<f64>,
}

/// What the window was and what it leaves.
#[derive(Debug, Clone, PartialEq)]
pub struct Gate {
    /// Time of the largest sample after time zero, s.
    pub arrival_s: f64,
    /// Around the arrival; its second half falls.
    pub window: Window,
    /// Lowest frequency of which a whole period lies behind the arrival: 1/gate, Hz.
    pub lowest_hz: f64,
}

impl Gate {
    /// The window around the largest sample of an impulse response; `room_s` limits how long it
    /// may be before it.
    fn around(impulse: &Impulse, ask: GateAsk, room_s: f64) -> Self {
        let arrival_s = impulse.peak_s(-0.001, LATEST_S);
        let after_s = ask.gate_s.unwrap_or(OPEN_S);
        let before_s = ask.lead_s.unwrap_or(after_s / 2.0).min(room_s);
        let window = Window { before_s, rise_s: before_s / 2.0, after_s, fall_s: after_s / 2.0 };
        Self { arrival_s, window, lowest_hz: 1.0 / after_s }
    }
}

/// What turns the ratio of the channels into sound pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scale {
    /// Nothing: the response stays a ratio of the two channels.
    Ratio,
    /// The level at 1 kHz is known, dB re 20 µPa.
    LevelAt1k(f64),
    /// The microphone's sensitivity is known.
    Sensitivity {
        /// Of the microphone, V/Pa.
        v_per_pa: f64,
        /// Peak voltage at the microphone's input that makes full scale, V.
        full_scale_v: f64,
    },
}

/// Reference of sound pressure level, Pa.
const P0: f64 = 20e-6;

/// How a response is to be taken from recordings.
#[derive(Debug, Clone, Copy)]
pub struct Ask<'a> {
    /// The window.
    pub gate: GateAsk,
    /// From a ratio to pressure.
    pub scale: Scale,
    /// Response of the microphone, a ratio to its nominal sensitivity; divided out.
    pub microphone: Option<&'a Curve>,
    /// Delay to take out of the phase, s; the arrival where none is given.
    pub take_out_s: Option<f64>,
    /// Number of points.
    pub points: usize,
}

/// Why there is no response.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ResponseError {
    /// No recording.
    #[error("there is no recording")]
    Nothing,
    /// The window leaves nothing of the band.
    #[error("the window leaves nothing of the band: {0}")]
    Band(#[from] GridError),
    /// A level at 1 kHz is stated and the response does not hold 1 kHz.
    #[error(
        "the level at 1 kHz scales nothing: the response holds {0:.0} Hz to {1:.0} Hz; take a \
         longer window"
    )]
    NoKilohertz(f64, f64),
    /// The microphone's response cannot be used.
    #[error("the microphone's response: {0}")]
    Microphone(#[from] CurveError),
}

/// A response as it was measured.
#[derive(Debug, Clone)]
pub struct MeasuredResponse {
    /// Frequencies, from 1/gate up to 2/gate below the end of the band.
    pub grid: Arc<Grid>,
    /// Pa (rms) at the voltage of the recording, or the ratio of the channels.
    pub values: Vec<Complex64>,
    /// Whether `values` are in Pa.
    pub in_pascals: bool,
    /// The window.
    pub gate: Gate,
    /// Delay that was taken out of the phase, s.
    pub taken_out_s: f64,
    /// The impulse response around the window, of the first recording.
    pub shown: Segment,
    /// Range of the microphone's own response, Hz, where one was given; outside it the last value
    /// goes on.
    pub microphone_hz: Option<(f64, f64)>,
    /// About each recording; empty for a stored impulse response.
    pub facts: Vec<Facts>,
    /// Largest difference of one recording from the mean of all, dB; 0 for one.
    pub spread_db: f64,
}

/// The response from loopback to microphone; recordings are averaged as complex numbers. Time zero
/// is the loopback's. Nothing is smoothed but by the window.
///
/// # Errors
/// The window leaves nothing of the band, or the microphone's response is not sound.
pub fn measure(
    recordings: &[Heard],
    ask: &Ask<'_>,
    sweep: &Sweep,
) -> Result<MeasuredResponse, ResponseError> {
    let first = recordings.first().ok_or(ResponseError::Nothing)?;
    let gate = Gate::around(&first.impulse, ask.gate, sweep.lead_s(2) / 2.0);
    let impulses: Vec<&Impulse> = recordings.iter().map(|r| &r.impulse).collect();
    let band_hz = (sweep.from_hz, sweep.to_hz);
    let mut found = transformed(&impulses, gate, ask, band_hz, first.facts.reference_rms)?;
    found.facts = recordings.iter().map(|r| r.facts.clone()).collect();
    Ok(found)
}

/// The response of an impulse response that was stored in a file, its first sample at time zero,
/// on a band of frequencies in Hz.
///
/// # Errors
/// The window leaves nothing of the band, or the microphone's response is not sound.
pub fn of_impulse(
    samples: &[f64],
    rate_hz: f64,
    ask: &Ask<'_>,
    band_hz: (f64, f64),
) -> Result<MeasuredResponse, ResponseError> {
    // Silence keeps the end of the circle from being taken for negative times, and a window that
    // is longer than the file from reaching round it.
    let after_s = LATEST_S + SHOWN * ask.gate.gate_s.unwrap_or(OPEN_S);
    let silence = samples.len() + ((after_s + 0.01) * rate_hz).ceil() as usize;
    let impulse = Impulse::new(rate_hz, [samples, &vec![0.0; silence]].concat());
    let gate = Gate::around(&impulse, ask.gate, samples.len() as f64 / rate_hz);
    transformed(&[&impulse], gate, ask, band_hz, 1.0)
}

fn transformed(
    impulses: &[&Impulse],
    gate: Gate,
    ask: &Ask<'_>,
    band_hz: (f64, f64),
    reference_rms: f64,
) -> Result<MeasuredResponse, ResponseError> {
    // A window of this length mixes what lies closer than that, and the band ends sharply.
    let highest_hz = band_hz.1 - 2.0 * gate.lowest_hz;
    let grid = Grid::log(band_hz.0.max(gate.lowest_hz), highest_hz, ask.points)?;
    let hz = grid.frequency_hz();
    let cut = |impulse: &&Impulse| impulse.cut(gate.arrival_s, &gate.window);
    let takes: Vec<_> = impulses.iter().map(|i| cut(i).spectrum(hz)).collect();
    let (mut values, spread_db) = mean(&takes);
    let taken_out_s = ask.take_out_s.unwrap_or(gate.arrival_s);
    for (v, hz) in values.iter_mut().zip(hz) {
        *v *= Complex64::from_polar(1.0, TAU * hz * taken_out_s);
    }
    if let Some(microphone) = ask.microphone {
        let own = microphone_on(microphone, &grid)?;
        values.iter_mut().zip(own).for_each(|(v, own)| *v /= own);
    }
    let factor = factor(ask, &values, hz, reference_rms)?;
    values.iter_mut().for_each(|v| *v *= factor);
    let wide = Window {
        before_s: gate.window.before_s + 0.001,
        after_s: SHOWN * gate.window.after_s + 0.001,
        rise_s: 0.0,
        fall_s: 0.0,
    };
    let shown = impulses.first().ok_or(ResponseError::Nothing)?.cut(gate.arrival_s, &wide);
    Ok(MeasuredResponse {
        in_pascals: ask.scale != Scale::Ratio,
        grid,
        values,
        gate,
        taken_out_s,
        shown,
        microphone_hz: ask
            .microphone
            .and_then(|m| Some((*m.frequency_hz.first()?, *m.frequency_hz.last()?))),
        facts: Vec::new(),
        spread_db,
    })
}

/// From the ratio of the channels to Pa. With a sensitivity, the pressure is that of a sine as
/// loud as the sweep was in the loopback.
fn factor(
    ask: &Ask<'_>,
    values: &[Complex64],
    hz: &[f64],
    reference_rms: f64,
) -> Result<f64, ResponseError> {
    Ok(match ask.scale {
        Scale::Ratio => 1.0,
        Scale::Sensitivity { v_per_pa, full_scale_v } => reference_rms * full_scale_v / v_per_pa,
        Scale::LevelAt1k(db) => {
            let (first, last) = (hz[0], hz[hz.len() - 1]);
            if first > 1000.0 || last < 1000.0 {
                return Err(ResponseError::NoKilohertz(first, last));
            }
            let above = hz.partition_point(|f| *f < 1000.0).max(1);
            let share = (1000.0 / hz[above - 1]).ln() / (hz[above] / hz[above - 1]).ln();
            let ends = (values[above - 1].norm(), values[above].norm());
            let here = ends.0 + (ends.1 - ends.0) * share;
            P0 * 10_f64.powf(db / 20.0) / here.max(f64::MIN_POSITIVE)
        }
    })
}

/// The microphone's own response on the grid; where its file ends, its last value goes on.
fn microphone_on(microphone: &Curve, grid: &Grid) -> Result<Vec<Complex64>, CurveError> {
    if microphone.phase_deg.is_some() {
        return Ok(microphone.complex_on(grid, Outside::Hold)?.values);
    }
    let sizes = microphone.magnitude_on(grid, Outside::Hold)?.values;
    Ok(sizes.into_iter().map(Complex64::from).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE_HZ: f64 = 48_000.0;
    const LATE: i32 = 96;
    const SHARE: f64 = 0.123;

    /// A first-order low-pass at 1 kHz, 2 ms late: H = a/(1 − (1 − a) z⁻¹).
    fn low_pass(count: i32, ask: &Ask<'_>) -> Result<MeasuredResponse, ResponseError> {
        let at = |k: i32| if k < LATE { 0.0 } else { SHARE * (1.0 - SHARE).powi(k - LATE) };
        let samples: Vec<f64> = (0..count).map(at).collect();
        of_impulse(&samples, RATE_HZ, ask, (20.0, 20_000.0))
    }

    fn ask(gate_s: Option<f64>, lead_s: Option<f64>) -> Ask<'static> {
        Ask {
            gate: GateAsk { gate_s, lead_s },
            scale: Scale::Ratio,
            microphone: None,
            take_out_s: Some(f64::from(LATE) / RATE_HZ),
            points: 50,
        }
    }

    #[track_caller]
    fn is_the_low_pass(found: &MeasuredResponse) {
        for (hz, v) in found.grid.frequency_hz().iter().zip(&found.values) {
            let z = Complex64::from_polar(1.0, -TAU * hz / RATE_HZ);
            let expected = SHARE / (1.0 - (1.0 - SHARE) * z);
            assert!((v - expected).norm() < 1e-6, "{hz}: {v} {expected}");
        }
    }

    #[test]
    fn a_stored_impulse_response_becomes_its_transform() {
        let found = low_pass(9600, &ask(Some(0.02), Some(0.001))).unwrap();
        assert!((found.gate.lowest_hz - 50.0).abs() < 1e-9);
        assert!((found.grid.start_hz() - 50.0).abs() < 1e-9);
        is_the_low_pass(&found);
    }

    #[test]
    fn a_file_shorter_than_the_window_is_read_once() {
        for gate_s in [None, Some(0.02), Some(1.0)] {
            let found = low_pass(1000, &ask(gate_s, None)).unwrap();
            assert!((found.gate.arrival_s - 0.002).abs() < 1e-4, "{}", found.gate.arrival_s);
            is_the_low_pass(&found);
        }
    }

    #[test]
    fn a_level_at_1_khz_needs_1_khz() {
        let scale = Scale::LevelAt1k(90.0);
        let long = low_pass(9600, &Ask { scale, ..ask(Some(0.02), None) }).unwrap();
        let near = long.grid.frequency_hz().partition_point(|f| *f < 1000.0);
        let db = 20.0 * (long.values[near].norm() / P0).log10();
        assert!((db - 90.0).abs() < 1.0, "{db}");
        let short = low_pass(9600, &Ask { scale, ..ask(Some(0.0005), None) });
        assert!(matches!(short, Err(ResponseError::NoKilohertz(..))));
    }
}
