//! Resistive attenuators.

/// An L-pad: a series and a shunt resistor that lower the level and keep the load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LPad {
    /// In series, Ω.
    pub series_ohm: f64,
    /// Across the driver, Ω; infinite (left out) for no attenuation.
    pub shunt_ohm: f64,
}

/// An attenuation that an L-pad cannot make.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error(
    "an L-pad lowers the level into a positive load: found {attenuation_db} dB into {load_ohm} Ω"
)]
pub struct LPadError {
    /// Attenuation asked for, dB.
    pub attenuation_db: f64,
    /// Load, Ω.
    pub load_ohm: f64,
}

impl LPad {
    /// The pad that lowers the level across `load_ohm` by `attenuation_db` ≥ 0 and presents
    /// `load_ohm` at its input: with k = 10^(−A/20), Rs = R(1 − k), Rp = R k/(1 − k).
    /// Voltage division and parallel resistance; derived here.
    ///
    /// # Errors
    /// A negative attenuation, a load that is not positive, or either not finite.
    pub fn new(attenuation_db: f64, load_ohm: f64) -> Result<Self, LPadError> {
        let finite = attenuation_db.is_finite() && load_ohm.is_finite();
        if !finite || attenuation_db < 0.0 || load_ohm <= 0.0 {
            return Err(LPadError { attenuation_db, load_ohm });
        }
        let k = 10f64.powf(-attenuation_db / 20.0);
        Ok(Self { series_ohm: load_ohm * (1.0 - k), shunt_ohm: load_ohm * k / (1.0 - k) })
    }
}
