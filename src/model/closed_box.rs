//! The closed box as one lump of air: compliance, fill, leak, and the alignment of a driver in it.
//!
//! Source: Small (1972/73), "Closed-Box Loudspeaker Systems", *J. Audio Eng. Soc.* 20, 798, and
//! 21, 11 (Part I from memory, Part II's first pages seen). Valid while the box is small against
//! the wavelength and its walls are rigid.

use super::air::Air;
use super::driver::{MassCondition, Motor};
use super::fill::Fill;
use crate::grid::{AcousticImpedance, Grid, Spectrum};
use num_complex::Complex64;
use std::f64::consts::{PI, TAU};
use std::sync::Arc;

/// A sealed cavity small against the wavelength.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClosedBox {
    /// Net volume of air and fill, m³.
    pub volume_m3: f64,
    /// The fill.
    pub fill: Fill,
    /// Acoustic resistance of leaks, Pa·s/m³; `None` for a tight box.
    pub leak_pa_s_per_m3: Option<f64>,
    /// Acoustic mass of the air that moves with the cone's rear and is not yet inside Mms, kg/m⁴.
    pub rear_mass_kg_per_m4: f64,
}

impl ClosedBox {
    /// A tight box of `volume_m3` (m³) that adds its compliance alone.
    pub fn tight(volume_m3: f64, fill: Fill) -> Self {
        Self { volume_m3, fill, leak_pa_s_per_m3: None, rear_mass_kg_per_m4: 0.0 }
    }

    /// The same box behind `motor`, with the air mass at the cone's rear counted once. An Mms
    /// measured on a large baffle holds it already; one measured in free air, unbaffled, holds
    /// 8ρa³/3 in all, which stands for the front, so that one baffled side, 8ρ/(3π²a) (Kinsler et
    /// al., piston at low ka), comes on top.
    pub fn behind(mut self, motor: &Motor, condition: MassCondition, air: &Air) -> Self {
        self.rear_mass_kg_per_m4 = match condition {
            MassCondition::FreeAir => air.disc_mass_kg_per_m4(motor.radius_m()),
            MassCondition::Baffled => 0.0,
        };
        self
    }

    /// A box whose leak has the quality QL = ωc Cab Ral at the resonance of `motor` in the box
    /// (without the leak).
    pub fn with_leak_ql(mut self, ql: f64, motor: &Motor, air: &Air) -> Self {
        self.leak_pa_s_per_m3 = None;
        let omega_c = TAU * Alignment::of(motor, |w| self.load(w, air), 0.0).fc_hz;
        let compliance = self.compliance(omega_c, air).re;
        self.leak_pa_s_per_m3 = Some(ql / (omega_c * compliance));
        self
    }

    /// Acoustic compliance V/(ρc²) times the fill's factor, m³/Pa; complex where the fill is lossy.
    pub fn compliance(&self, omega: f64, air: &Air) -> Complex64 {
        self.fill.compliance_factor(omega) * self.volume_m3 / air.bulk_modulus_pa()
    }

    /// Acoustic load on the cone at `omega`: compliance and leak in parallel, behind the rear air
    /// mass, Pa·s/m³.
    pub fn load(&self, omega: f64, air: &Air) -> Complex64 {
        self.inside(omega, air) + Complex64::new(0.0, omega * self.rear_mass_kg_per_m4)
    }

    /// Pressure inside over flow into the box, Pa·s/m³.
    fn inside(&self, omega: f64, air: &Air) -> Complex64 {
        let leak = self.leak_pa_s_per_m3.map_or(0.0, |r| 1.0 / r);
        1.0 / (Complex64::new(0.0, omega) * self.compliance(omega, air) + leak)
    }

    /// The load over a grid, Pa·s/m³.
    pub fn load_on(&self, grid: &Arc<Grid>, air: &Air) -> AcousticImpedance {
        Spectrum::from_fn(grid, |w| self.load(w, air))
    }

    /// Share of the cone's flow that a far listener still counts, (Ud − Uleak)/Ud: what leaves by
    /// the leak near the cone is of opposite sign.
    pub fn net_flow(&self, omega: f64, air: &Air) -> Complex64 {
        match self.leak_pa_s_per_m3 {
            Some(leak) => 1.0 - self.inside(omega, air) / leak,
            None => Complex64::new(1.0, 0.0),
        }
    }
}

/// The second-order high-pass that a driver makes with its cavity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Alignment {
    /// Resonance in the cavity, Hz: where the total mechanical reactance vanishes.
    pub fc_hz: f64,
    /// Total quality at fc: ωc Mms over all resistances (mechanical, acoustic, motor).
    pub qtc: f64,
}

impl Alignment {
    /// Alignment of `motor` in the acoustic load `load(ω)` (Pa·s/m³), driven through
    /// `series_ohm` of added resistance. With a lossless compliance this is Small's
    /// fc = fs √(1+α) and 1/Qtc = 1/Qec + 1/Qmc exactly. The lowest resonance above fs/8 is
    /// taken: there is one below any frequency at which the moving mass outweighs all springs.
    pub fn of(motor: &Motor, load: impl Fn(f64) -> Complex64, series_ohm: f64) -> Self {
        let omega_s = TAU * motor.fs_hz();
        let reactance = |w: f64| motor.mechanical_impedance(w, load(w)).im;
        let omega_c = first_rise(omega_s / 8.0, reactance);
        let damping = motor.mechanical_impedance(omega_c, load(omega_c)).re
            + motor.bl_t_m.powi(2) / (motor.re_ohm + series_ohm);
        Self { fc_hz: omega_c / TAU, qtc: omega_c * motor.mms_kg / damping }
    }

    /// Half-power frequency, Hz: f3 = fc √((A + √(A² + 4))/2), A = 1/Qtc² − 2.
    pub fn f3_hz(&self) -> f64 {
        self.level_frequency_hz(0.5)
    }

    /// Frequency where the response is down to `power` (a ratio, 0 to 1) of the passband, Hz.
    pub fn level_frequency_hz(&self, power: f64) -> f64 {
        // |G|² = x⁴/((1−x²)² + x²/Q²) = power, solved for y = x².
        let a = self.qtc.powi(-2) - 2.0;
        let excess = 1.0 / power - 1.0;
        let y = (a + (a * a + 4.0 * excess).sqrt()) / (2.0 * excess);
        self.fc_hz * y.sqrt()
    }

    /// Height of the peak over the passband, dB (0 where Qtc ≤ 1/√2):
    /// Qtc²/√(Qtc² − 1/4).
    pub fn peak_db(&self) -> f64 {
        let q2 = self.qtc.powi(2);
        if q2 <= 0.5 { 0.0 } else { 20.0 * (q2 / (q2 - 0.25).sqrt()).log10() }
    }

    /// Largest displacement relative to its value at low frequency; the same expression as the
    /// peak of the response, 1 where Qtc ≤ 1/√2.
    pub fn displacement_peak(&self) -> f64 {
        10f64.powf(self.peak_db() / 20.0)
    }

    /// Largest displacement relative to its value at low frequency among frequencies from
    /// `from_hz` (Hz) up: |X| = 1/|1 − x² + jx/Qtc|, largest at fc √(1 − 1/(2Qtc²)) where that lies
    /// in the band and Qtc > 1/√2.
    pub fn displacement_peak_from(&self, from_hz: f64) -> f64 {
        let at_hz = self.fc_hz * (1.0 - 0.5 / self.qtc.powi(2)).max(0.0).sqrt();
        let x = from_hz.max(at_hz) / self.fc_hz;
        1.0 / Complex64::new(1.0 - x * x, x / self.qtc).norm()
    }

    /// Acoustic power (W, half space) in the passband at which the cone, of peak volume
    /// displacement `vd_m3` = Sd Xmax (m³), reaches Xmax somewhere from `from_hz` (Hz) up:
    /// P = 4π³ (ρ/c) fc⁴ Vd²/|X|max² (Small 1972, displacement-limited rating). Over η0 it is the
    /// electrical one.
    pub fn displacement_limited_w(&self, vd_m3: f64, from_hz: f64, air: &Air) -> f64 {
        let at_low = (self.fc_hz.powi(2) * vd_m3 / self.displacement_peak_from(from_hz)).powi(2);
        4.0 * PI.powi(3) * air.rho_kg_per_m3 / air.c_m_per_s * at_low
    }

    /// Response relative to the passband at `frequency_hz`: −x²/(1 − x² + jx/Qtc), x = f/fc.
    pub fn response(&self, frequency_hz: f64) -> Complex64 {
        let x = frequency_hz / self.fc_hz;
        Complex64::new(-x * x, 0.0) / Complex64::new(1.0 - x * x, x / self.qtc)
    }
}

/// The first place above `low` where `f` rises through zero: steps of 2 % upwards, then bisection to
/// the last digit. `f` is a reactance that ends as a mass, so the search ends.
fn first_rise(low: f64, f: impl Fn(f64) -> f64) -> f64 {
    const STEP: f64 = 1.02;
    /// 1.02^1400 is 10¹²: no driver has a spring that stiff.
    const STEPS: usize = 1400;
    let mut left = low;
    for _ in 0..STEPS {
        let right = left * STEP;
        if f(left) < 0.0 && f(right) >= 0.0 {
            return bisect(left, right, f);
        }
        left = right;
    }
    left
}

fn bisect(mut left: f64, mut right: f64, f: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..60 {
        let middle = 0.5 * (left + right);
        if f(middle) < 0.0 { left = middle } else { right = middle }
    }
    0.5 * (left + right)
}
