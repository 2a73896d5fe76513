//! Drivers as electrical circuits of ordinary parts, and what such a circuit leaves out of the
//! impedance that was computed or measured, as a table.
//!
//! The motional branch (Small 1972, from memory): with Zm = Rms + jωMms + 1/(jωCms) + Sd² Za,
//! Bl²/Zm is Res = Bl²/Rms, Cmes = Mms/Bl² and Lces = Bl² Cms side by side; a lump of air adds
//! Bl² Ca/Sd², its leak Bl²/(Sd² Ra) in series with that.

use super::side::SideModel;
use super::study::StudyError;
use crate::design::{Design, Side, Way, Ways};
use crate::grid::{Grid, Impedance};
use crate::model::closed_box::{Alignment, ClosedBox};
use crate::model::coil::VoiceCoil;
use crate::model::driver::Driver;
use num_complex::Complex64;
use std::f64::consts::{PI, TAU};
use std::sync::Arc;

/// Points at which circuits are compared with the driver, 20 Hz to 20 kHz.
const POINTS: usize = 1921;
/// A circuit of lumped parts that comes this near everywhere needs no table.
const NEAR: f64 = 1e-3;
/// How near a table comes between its points.
const NEARER: f64 = 3e-4;
/// Sections of a lossy coil lie this far apart in ln ω, from and to these limits, rad/s.
const APART: f64 = 1.15;
const SLOWEST: f64 = TAU * 0.2;
const FASTEST: f64 = TAU * 2e6;

/// A part of the coil's circuit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CoilPart {
    /// A resistor, Ω.
    Resistance(f64),
    /// A coil, H.
    Inductance(f64),
    /// A coil (H) with a resistor (Ω) across it.
    Shunted(f64, f64),
}

/// The lump of air behind a cone as its terminals see it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirSpring {
    /// Bl² Ca/Sd², H.
    pub l_h: f64,
    /// Bl²/(Sd² Ra) of a leak, in series with it, Ω; 0 where it is tight.
    pub leak_ohm: f64,
}

/// A driver as a circuit.
#[derive(Debug, Clone, PartialEq)]
pub struct Equivalent {
    /// Voice-coil resistance at DC, Ω.
    pub re_ohm: f64,
    /// What stands in series with it for the coil.
    pub coil: Vec<CoilPart>,
    /// Bl²/Rms, Ω.
    pub res_ohm: f64,
    /// Bl² Cms, H.
    pub lces_h: f64,
    /// Moving mass over Bl², F.
    pub cmes_f: f64,
    /// The air behind a woofer.
    pub air: Option<AirSpring>,
}

impl Equivalent {
    /// `driver` before an air spring, or in the open.
    fn of(driver: &Driver, behind: Option<(&ClosedBox, &Design)>) -> Self {
        let motor = &driver.motor;
        let square = motor.bl_t_m.powi(2);
        let area = motor.sd_m2.powi(2);
        let mut circuit = Self {
            re_ohm: motor.re_ohm,
            coil: coil(&driver.coil),
            res_ohm: square / motor.rms_kg_per_s,
            lces_h: square * motor.cms_m_per_n,
            cmes_f: motor.mms_kg / square,
            air: None,
        };
        if let Some((lump, design)) = behind {
            let fc_hz = Alignment::of(motor, |w| lump.load(w, &design.air), 0.0).fc_hz;
            let compliance = lump.compliance(TAU * fc_hz, &design.air).re;
            circuit.cmes_f += area * lump.rear_mass_kg_per_m4 / square;
            circuit.air = Some(AirSpring {
                l_h: square * compliance / area,
                leak_ohm: lump.leak_pa_s_per_m3.map_or(0.0, |r| square / (area * r)),
            });
        }
        circuit
    }

    /// Impedance at `omega` (rad/s), Ω.
    pub fn impedance(&self, omega: f64) -> Complex64 {
        let jw = Complex64::new(0.0, omega);
        let part = |p: &CoilPart| match *p {
            CoilPart::Resistance(ohm) => Complex64::new(ohm, 0.0),
            CoilPart::Inductance(henry) => jw * henry,
            CoilPart::Shunted(henry, ohm) => jw * henry * ohm / (jw * henry + ohm),
        };
        let coil: Complex64 = self.coil.iter().map(part).sum();
        let air = self.air.map_or(Complex64::default(), |a| 1.0 / (jw * a.l_h + a.leak_ohm));
        let motion = 1.0 / self.res_ohm + jw * self.cmes_f + 1.0 / (jw * self.lces_h) + air;
        self.re_ohm + coil + motion.inv()
    }
}

/// The coil's inductive part as parts in series. A power law is a ladder of R ∥ L sections, evenly
/// spread in ln ω: sⁿ = (sin nπ/π) ∫ xⁿ s/(x + s) d(ln x) (the beta integral, Abramowitz & Stegun
/// 6.1.17 with 6.2.1, from memory), by the trapezoidal rule; what lies beyond its ends is a
/// resistor and a coil.
fn coil(coil: &VoiceCoil) -> Vec<CoilPart> {
    match *coil {
        VoiceCoil::Plain { le_h } => vec![CoilPart::Inductance(le_h)],
        VoiceCoil::Shunted { le_h, l2_h, r2_ohm } => {
            vec![CoilPart::Inductance(le_h), CoilPart::Shunted(l2_h, r2_ohm)]
        }
        VoiceCoil::PowerLaw { k_si, n } if n >= 1.0 => vec![CoilPart::Inductance(k_si)],
        VoiceCoil::PowerLaw { k_si, n } => {
            let weight = k_si * (n * PI).sin() / PI * APART;
            let sections = ((FASTEST / SLOWEST).ln() / APART).ceil() as i32;
            let x = |k: i32| SLOWEST * (APART * f64::from(k)).exp();
            // Sums of the geometric series below the first section and above the last.
            let below = weight * x(-1).powf(n) / (1.0 - (-APART * n).exp());
            let above = weight * x(sections).powf(n - 1.0) / (1.0 - (APART * (n - 1.0)).exp());
            let section = |k: i32| {
                let ohm = weight * x(k).powf(n);
                CoilPart::Shunted(ohm / x(k), ohm)
            };
            let ends = [CoilPart::Resistance(below), CoilPart::Inductance(above)];
            ends.into_iter().chain((0..sections).map(section)).collect()
        }
    }
}

/// A point of the table that stands in series with a circuit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Remainder {
    /// Frequency, Hz.
    pub hz: f64,
    /// Resistance, Ω; may be negative.
    pub ohm: f64,
    /// Reactance over ω, H; may be negative.
    pub henry: f64,
}

/// A driver as a circuit, with what that leaves out.
#[derive(Debug, Clone, PartialEq)]
pub struct DriverCircuit {
    /// The parts.
    pub parts: Equivalent,
    /// Largest difference of the parts alone from the driver, as a share of its impedance.
    pub parts_off: f64,
    /// What stands in series so that the whole is the driver; straight lines between the points.
    /// Empty where the parts alone are near enough.
    pub table: Vec<Remainder>,
    /// Largest difference that is left, as a share of the impedance, 20 Hz to 20 kHz.
    pub off: f64,
}

/// Circuits of a side's drivers.
///
/// # Errors
/// A measured curve that cannot be interpolated.
pub fn of_side(design: &Design, side: &Side) -> Result<Ways<DriverCircuit>, StudyError> {
    // Paths to seats do not bear on impedances.
    let mut deaf = design.clone();
    deaf.listeners.clear();
    let grid = Grid::audible(POINTS)?;
    let model = SideModel::new(&deaf, side, &grid)?;
    let lump = side.closed_box(&design.air);
    let one = |way: Way| {
        let behind = (way == Way::Woofer).then_some((&lump, design));
        let parts = Equivalent::of(&side.drivers.of(way).driver, behind);
        completed(parts, model.impedance.of(way), &grid)
    };
    Ok(Ways { woofer: one(Way::Woofer), tweeter: one(Way::Tweeter) })
}

fn completed(parts: Equivalent, driver: &Impedance, grid: &Arc<Grid>) -> DriverCircuit {
    let size: Vec<f64> = driver.values().iter().map(|z| z.norm()).collect();
    let left: Vec<Remainder> = grid
        .frequency_hz()
        .iter()
        .zip(driver.values())
        .map(|(hz, z)| {
            let rest = z - parts.impedance(TAU * hz);
            Remainder { hz: *hz, ohm: rest.re, henry: rest.im / (TAU * hz) }
        })
        .collect();
    let share = |r: &Remainder, size: f64| r.ohm.hypot(TAU * r.hz * r.henry) / size;
    let parts_off = left.iter().zip(&size).map(|(r, s)| share(r, *s)).fold(0.0, f64::max);
    if parts_off <= NEAR {
        return DriverCircuit { parts, parts_off, table: Vec::new(), off: parts_off };
    }
    let mut kept = vec![0];
    let mut off = 0.0_f64;
    while kept[kept.len() - 1] + 1 < left.len() {
        let from = kept[kept.len() - 1];
        let miss = |to: usize| missed(&left[from..=to], &size[from..=to]);
        let far = (from + 2..left.len()).take_while(|to| miss(*to) <= NEARER).last();
        let to = far.unwrap_or(from + 1);
        off = off.max(miss(to));
        kept.push(to);
    }
    let table = kept.into_iter().map(|k| left[k]).collect();
    DriverCircuit { parts, parts_off, table, off }
}

/// Largest difference, as a share of the impedance, where a straight line replaces the points
/// between the first and the last.
fn missed(points: &[Remainder], size: &[f64]) -> f64 {
    let (Some(a), Some(b)) = (points.first(), points.last()) else { return 0.0 };
    let miss = |(p, size): (&Remainder, &f64)| {
        let share = (p.hz - a.hz) / (b.hz - a.hz);
        let ohm = a.ohm + share * (b.ohm - a.ohm) - p.ohm;
        let henry = a.henry + share * (b.henry - a.henry) - p.henry;
        ohm.hypot(TAU * p.hz * henry) / size
    };
    points.iter().zip(size).map(miss).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ladder_is_the_power_law() {
        for n in [0.45, 0.6, 0.71, 0.9] {
            let law = VoiceCoil::PowerLaw { k_si: 0.0062, n };
            for k in 0..=60 {
                let omega = TAU * 20.0 * 10f64.powf(f64::from(k) / 20.0);
                let exact = law.impedance(omega);
                let jw = Complex64::new(0.0, omega);
                let ladder: Complex64 = coil(&law)
                    .iter()
                    .map(|p| match *p {
                        CoilPart::Resistance(r) => Complex64::new(r, 0.0),
                        CoilPart::Inductance(l) => jw * l,
                        CoilPart::Shunted(l, r) => jw * l * r / (jw * l + r),
                    })
                    .sum();
                assert!((ladder - exact).norm() < 1e-3 * exact.norm(), "{n} at {omega}");
            }
        }
    }
}
