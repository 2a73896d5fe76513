//! What `check` tells about a driver.

use crate::model::air::Air;
use crate::model::given::CheckedDriver;
use crate::units;
use serde::Serialize;
use std::fmt::Write;

/// Derived parameters of a driver, SI units.
#[derive(Debug, Clone, Serialize)]
pub struct DriverDoc {
    name: String,
    role: &'static str,
    fs_hz: f64,
    qms: f64,
    qes: f64,
    qts: f64,
    vas_m3: f64,
    mms_kg: f64,
    cms_m_per_n: f64,
    rms_kg_per_s: f64,
    bl_t_m: f64,
    re_ohm: f64,
    sd_m2: f64,
    eta0: f64,
    /// At 2.83 V, 1 m, half space, dB re 20 µPa.
    sensitivity_db: f64,
    disagreements: Vec<DisagreementDoc>,
    notes: Vec<String>,
}

#[derive(Debug, Clone, Serialize)]
struct DisagreementDoc {
    symbol: &'static str,
    stated: f64,
    derived: f64,
    percent: f64,
}

impl DriverDoc {
    /// The document of a loaded driver.
    pub fn new(loaded: &CheckedDriver) -> Self {
        let (driver, air) = (&loaded.driver, Air::default());
        let motor = &driver.motor;
        let disagreement = |d: &crate::model::given::Disagreement| DisagreementDoc {
            symbol: d.symbol,
            stated: d.stated,
            derived: d.derived,
            percent: d.percent(),
        };
        Self {
            name: driver.name.clone(),
            role: driver.role.word(),
            fs_hz: motor.fs_hz(),
            qms: motor.qms(),
            qes: motor.qes(),
            qts: motor.qts(),
            vas_m3: motor.vas_m3(&air),
            mms_kg: motor.mms_kg,
            cms_m_per_n: motor.cms_m_per_n,
            rms_kg_per_s: motor.rms_kg_per_s,
            bl_t_m: motor.bl_t_m,
            re_ohm: motor.re_ohm,
            sd_m2: motor.sd_m2,
            eta0: motor.eta0(&air),
            sensitivity_db: motor.sensitivity_db(&air),
            disagreements: loaded.disagreements.iter().map(disagreement).collect(),
            notes: loaded.notes.clone(),
        }
    }

    /// The same for people, a few lines.
    pub fn text(&self) -> String {
        let digits = |v: f64| units::significant(v, 3);
        let mut out = format!("{} ({})\n", self.name, self.role);
        let _ = writeln!(
            out,
            "  fs {} Hz  Qms {}  Qes {}  Qts {}  Vas {} l  Re {} Ω  Sd {} cm²",
            digits(self.fs_hz),
            digits(self.qms),
            digits(self.qes),
            digits(self.qts),
            digits(self.vas_m3 * 1e3),
            digits(self.re_ohm),
            digits(self.sd_m2 * 1e4)
        );
        let _ = writeln!(
            out,
            "  Mms {} g  Cms {} mm/N  Rms {} kg/s  Bl {} T·m",
            digits(self.mms_kg * 1e3),
            digits(self.cms_m_per_n * 1e3),
            digits(self.rms_kg_per_s),
            digits(self.bl_t_m)
        );
        let _ = writeln!(
            out,
            "  reference efficiency {} %, {:.1} dB at 2.83 V and 1 m in half space",
            digits(self.eta0 * 100.0),
            self.sensitivity_db
        );
        for note in &self.notes {
            let _ = writeln!(out, "  {note}");
        }
        for d in &self.disagreements {
            let _ = writeln!(
                out,
                "  {} is stated {:+.1} % away from what the other parameters give ({} against {} in SI units)",
                d.symbol,
                d.percent,
                digits(d.stated),
                digits(d.derived)
            );
        }
        out
    }
}
