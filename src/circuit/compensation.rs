//! Networks that make a driver look like a resistor, and networks that bend a response.
//!
//! The driver is Re in series with its voice coil and the motional branch Res ∥ Lces ∥ Cmes. Its
//! exact dual about Re, put across it, gives Re at every frequency: Re in series with the
//! capacitor that is the dual of the coil, in parallel with the series R-L-C that is the dual of
//! the motional branch (Zobel 1923 for the principle; Leach 2004, *J. Audio Eng. Soc.* 52, for
//! loudspeakers, introduction; derived here). A Zobel and a notch as two separate branches, each
//! with its own Re, are not flat together.

use std::f64::consts::TAU;

/// The motional branch of a driver as seen at its terminals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motional {
    /// Bl²/Rms, Ω.
    pub res_ohm: f64,
    /// Cms Bl², H.
    pub lces_h: f64,
    /// Mms/Bl², F.
    pub cmes_f: f64,
}

/// The inductive part of the voice coil as one R-L: a plain inductance has no resistance here.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeriesCoil {
    /// Added series resistance, Ω.
    pub r_ohm: f64,
    /// Inductance, H.
    pub l_h: f64,
}

/// A resistor and a capacitor in series, across the driver.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zobel {
    /// Resistor, Ω.
    pub r_ohm: f64,
    /// Capacitor, F.
    pub c_f: f64,
}

impl Zobel {
    /// R = Re, C = Le/Re²: flat for a plain inductance. Where the coil has a resistance of its
    /// own, it is counted with Re.
    pub fn new(re_ohm: f64, coil: SeriesCoil) -> Self {
        let r_ohm = re_ohm + coil.r_ohm;
        Self { r_ohm, c_f: coil.l_h / r_ohm.powi(2) }
    }
}

/// A resistor, a coil and a capacitor in series, across the driver.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Notch {
    /// Whole series resistance, the coil's own included, Ω.
    pub r_ohm: f64,
    /// Coil, H.
    pub l_h: f64,
    /// Capacitor, F.
    pub c_f: f64,
}

impl Notch {
    /// Takes the resonance peak away: R = Re (1 + Qes/Qms) = Re + Re²/Res, L = Re² Cmes,
    /// C = Lces/Re². With Le = 0, driver and branch together are Re exactly.
    pub fn new(re_ohm: f64, motional: &Motional) -> Self {
        let dual = Self::dual(re_ohm, motional);
        Self { r_ohm: re_ohm + dual.r_ohm, ..dual }
    }

    /// The dual of the motional branch alone: what stands behind the shared Re.
    pub fn dual(re_ohm: f64, motional: &Motional) -> Self {
        let square = re_ohm.powi(2);
        Self {
            r_ohm: square / motional.res_ohm,
            l_h: square * motional.cmes_f,
            c_f: motional.lces_h / square,
        }
    }

    /// The resistor to fit when the coil has `dcr_ohm` of its own; `None` when the coil already
    /// has more than the whole branch may.
    pub fn resistor_ohm(&self, dcr_ohm: f64) -> Option<f64> {
        (dcr_ohm <= self.r_ohm).then_some(self.r_ohm - dcr_ohm)
    }
}

/// Both in one: a shared resistor in series with (capacitor ∥ series R-L-C).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dual {
    /// The shared resistor, Ω.
    pub shared_ohm: f64,
    /// The coil's dual, F.
    pub coil_c_f: f64,
    /// The motional branch's dual.
    pub notch: Notch,
}

impl Dual {
    /// The exact dual of Re + Le + motional branch about Re. A coil with a resistance of its own is
    /// counted with Re.
    pub fn new(re_ohm: f64, coil: SeriesCoil, motional: &Motional) -> Self {
        let shared_ohm = re_ohm + coil.r_ohm;
        Self {
            shared_ohm,
            coil_c_f: coil.l_h / shared_ohm.powi(2),
            notch: Notch::dual(shared_ohm, motional),
        }
    }
}

/// A shape that parts cannot make.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum ShapeError {
    /// The attenuation or the load is not positive and finite.
    #[error(
        "an attenuation and a load are positive and finite: found {attenuation_db} dB into {load_ohm} Ω"
    )]
    Level {
        /// Attenuation asked for, dB.
        attenuation_db: f64,
        /// Load, Ω.
        load_ohm: f64,
    },
    /// The frequency or the quality is not positive and finite.
    #[error("a frequency and a quality are positive and finite: found {0}")]
    Place(f64),
}

/// The series resistance of a level that makes parts: neither nothing nor impossible.
fn bent(attenuation_db: f64, load_ohm: f64) -> Result<f64, ShapeError> {
    let ohm = series_resistor_ohm(attenuation_db, load_ohm)?;
    if ohm > 0.0 { Ok(ohm) } else { Err(ShapeError::Level { attenuation_db, load_ohm }) }
}

fn placed(value: f64) -> Result<f64, ShapeError> {
    if value.is_finite() && value > 0.0 { Ok(value) } else { Err(ShapeError::Place(value)) }
}

/// Series resistance that lowers the level across `load_ohm` by `attenuation_db`:
/// R (10^(A/20) − 1). The filter before it sees the sum of both.
///
/// # Errors
/// A negative attenuation or a load that is not positive.
pub fn series_resistor_ohm(attenuation_db: f64, load_ohm: f64) -> Result<f64, ShapeError> {
    let usable = attenuation_db >= 0.0 && load_ohm > 0.0;
    if !(usable && attenuation_db.is_finite() && load_ohm.is_finite()) {
        return Err(ShapeError::Level { attenuation_db, load_ohm });
    }
    Ok(load_ohm * (10f64.powf(attenuation_db / 20.0) - 1.0))
}

/// A resistor with a coil across it, in series with the load: treble is cut by `db`, bass kept.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrebleCut {
    /// Resistor, Ω.
    pub r_ohm: f64,
    /// Coil, H.
    pub l_h: f64,
}

impl TrebleCut {
    /// Half of the cut in dB is reached at `middle_hz`: L = √(R (R ∥ load))/(2π f).
    ///
    /// # Errors
    /// A cut, a frequency or a load that is not positive.
    pub fn new(db: f64, middle_hz: f64, load_ohm: f64) -> Result<Self, ShapeError> {
        let r_ohm = bent(db, load_ohm)?;
        Ok(Self {
            r_ohm,
            l_h: (r_ohm * parallel(r_ohm, load_ohm)).sqrt() / (TAU * placed(middle_hz)?),
        })
    }
}

/// A resistor with a capacitor across it, in series with the load: bass is cut by `db`, treble
/// kept.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BassCut {
    /// Resistor, Ω.
    pub r_ohm: f64,
    /// Capacitor, F.
    pub c_f: f64,
}

impl BassCut {
    /// Half of the cut in dB is reached at `middle_hz`: C = √((R + load)/load)/(2π f R).
    ///
    /// # Errors
    /// A cut, a frequency or a load that is not positive.
    pub fn new(db: f64, middle_hz: f64, load_ohm: f64) -> Result<Self, ShapeError> {
        let r_ohm = bent(db, load_ohm)?;
        let ratio = (r_ohm + load_ohm) / load_ohm;
        Ok(Self { r_ohm, c_f: ratio.sqrt() / (TAU * placed(middle_hz)? * r_ohm) })
    }
}

/// A resistor, a coil and a capacitor side by side, in series with the load: a dip of `db` at one
/// frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trap {
    /// Resistor, Ω.
    pub r_ohm: f64,
    /// Coil, H.
    pub l_h: f64,
    /// Capacitor, F.
    pub c_f: f64,
}

impl Trap {
    /// A dip of `db` at `at_hz` whose poles have the quality `pole_q` = ω0 C (R ∥ load).
    ///
    /// # Errors
    /// A dip, a frequency, a quality or a load that is not positive.
    pub fn new(db: f64, at_hz: f64, pole_q: f64, load_ohm: f64) -> Result<Self, ShapeError> {
        let r_ohm = bent(db, load_ohm)?;
        let omega = TAU * placed(at_hz)?;
        let c_f = placed(pole_q)? / (omega * parallel(r_ohm, load_ohm));
        Ok(Self { r_ohm, l_h: 1.0 / (omega * omega * c_f), c_f })
    }
}

fn parallel(a: f64, b: f64) -> f64 {
    a * b / (a + b)
}
