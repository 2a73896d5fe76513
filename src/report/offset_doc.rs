//! The time offset of two ways as a document and as text.

use super::json::SCHEMA_VERSION;
use crate::analysis::offset::Offset;
use crate::units;
use serde::Serialize;

/// The document of `offset --json`.
#[derive(Debug, Clone, Serialize)]
pub struct OffsetDoc {
    schema_version: u32,
    /// Positive: the tweeter is later than its own sweep says.
    delay_s: f64,
    standard_error_s: f64,
    /// The delay as a path, m.
    path_m: f64,
    tweeter_reversed: bool,
    gain_db: f64,
    residual_rms_db: f64,
    other_polarity_rms_db: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    runner_up_delay_s: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    runner_up_rms_db: Option<f64>,
    band_hz: [f64; 2],
    /// What keeps the delay from being settled.
    doubts: Vec<String>,
}

impl OffsetDoc {
    /// The document, with the speed of sound `c_m_per_s`.
    pub fn new(offset: &Offset, c_m_per_s: f64) -> Self {
        Self {
            schema_version: SCHEMA_VERSION,
            delay_s: offset.delay_s,
            standard_error_s: offset.standard_error_s,
            path_m: offset.delay_s * c_m_per_s,
            tweeter_reversed: offset.reversed,
            gain_db: offset.gain_db,
            residual_rms_db: offset.rms_db,
            other_polarity_rms_db: offset.other_polarity_db,
            runner_up_delay_s: offset.runner_up.map(|r| r.0),
            runner_up_rms_db: offset.runner_up.map(|r| r.1),
            band_hz: [offset.band_hz.0, offset.band_hz.1],
            doubts: offset.doubts(),
        }
    }

    /// The same for people.
    pub fn text(&self) -> String {
        let later = if self.delay_s >= 0.0 { "later" } else { "earlier" };
        // Nothing finer than a nanosecond is meant.
        let micro = |s: f64| units::significant((s.abs() * 1e9).round() * 1e-3, 3);
        let mut out = format!(
            "The tweeter is {} µs (± {} µs) {later} than its sweep says: {} mm of path, {}.\n",
            micro(self.delay_s),
            micro(self.standard_error_s),
            units::significant(self.path_m.abs() * 1e3, 3),
            if self.tweeter_reversed { "reversed" } else { "not reversed" }
        );
        out.push_str(&format!(
            "Fitted from {} to {}: {:.2} dB rms, gain {:+.2} dB; {:.2} dB rms with the other polarity.\n",
            units::hertz(self.band_hz[0]),
            units::hertz(self.band_hz[1]),
            self.residual_rms_db,
            self.gain_db,
            self.other_polarity_rms_db
        ));
        for doubt in &self.doubts {
            out.push_str(&format!("caution: {doubt}\n"));
        }
        out
    }
}
