//! One driver of a twin: what it shows at its terminals and how its cone moves, with derivatives.

use crate::grid::{AcousticImpedance, Grid, Impedance, Sensitivity};
use crate::model::coil::VoiceCoil;
use crate::model::driver::{Driver, DriverResponse, Motor};
use crate::model::heat::COPPER_PER_K;
use num_complex::Complex64;

/// Derivatives by: ln Mms, ln Cms, ln Rms, ln Bl, ln Re, ln Le, K of the copper, load (Pa·s/m³).
pub(super) const OF_WAY: usize = 8;

/// A driver in its usual load.
#[derive(Debug, Clone)]
pub(super) struct WayTwin {
    motor: Motor,
    coil: VoiceCoil,
    /// Pa·s/m³.
    pub(super) load: Vec<Complex64>,
    /// What a measured impedance has beyond the model, Ω.
    pub(super) beyond: Vec<Complex64>,
    /// Pressure at the seat over the velocity of the cone, Pa·s/m.
    pub(super) heard: Vec<Complex64>,
}

/// The same with its quantities put in.
#[derive(Debug, Clone)]
pub(super) struct Moved {
    /// Impedance, Ω.
    pub(super) z: Vec<Complex64>,
    /// Pressure at the seat per volt at the terminals, Pa/V.
    pub(super) pressure: Vec<Complex64>,
    /// Derivatives of impedance (Ω) and of ln(velocity per volt).
    pub(super) by: Vec<[(Complex64, Complex64); OF_WAY]>,
}

impl Moved {
    /// Puts an open circuit in its place.
    pub(super) fn take_away(&mut self, ohm: f64) {
        self.z.fill(Complex64::new(ohm, 0.0));
        self.pressure.fill(Complex64::default());
        self.by.fill([(Complex64::default(), Complex64::default()); OF_WAY]);
    }
}

impl WayTwin {
    /// The driver in `load`, which does there what `model` says, with the impedance (Ω) that it shows
    /// there, and what is heard of its cone per volt at its terminals.
    pub(super) fn new(
        driver: &Driver,
        load: &AcousticImpedance,
        model: &DriverResponse,
        shown: &Impedance,
        heard: Option<&Sensitivity>,
    ) -> Self {
        let pairs = shown.values().iter().zip(model.impedance.values());
        let beyond = pairs.map(|(shown, model)| shown - model).collect();
        let sd = driver.motor.sd_m2;
        let flows = model.flow.values();
        let heard = match heard {
            Some(heard) => heard.values().iter().zip(flows).map(|(p, u)| p * sd / u).collect(),
            None => vec![Complex64::new(1.0, 0.0); flows.len()],
        };
        let load = load.values().to_vec();
        Self { motor: driver.motor, coil: driver.coil, load, beyond, heard }
    }

    /// Motor and coil with the logarithms `elements` on Mms, Cms, Rms, Bl, Re, Le, and the copper's
    /// resistance times `hot`.
    pub(super) fn elements(&self, elements: &[f64], hot: f64) -> (Motor, VoiceCoil) {
        let factor = |k: usize| elements[k].exp();
        let motor = Motor {
            mms_kg: self.motor.mms_kg * factor(0),
            cms_m_per_n: self.motor.cms_m_per_n * factor(1),
            rms_kg_per_s: self.motor.rms_kg_per_s * factor(2),
            bl_t_m: self.motor.bl_t_m * factor(3),
            re_ohm: self.motor.re_ohm * factor(4) * hot,
            sd_m2: self.motor.sd_m2,
        };
        (motor, self.coil.scaled(factor(5)))
    }

    /// With the logarithms `elements` on Mms, Cms, Rms, Bl, Re, Le, the copper's resistance times
    /// `hot`, and `more` load at each frequency.
    pub(super) fn moved(
        &self,
        grid: &Grid,
        elements: &[f64],
        hot: f64,
        more: impl Fn(usize) -> Complex64,
    ) -> Moved {
        let (motor, coil) = self.elements(elements, hot);
        let points = grid.len();
        let mut out = Moved {
            z: Vec::with_capacity(points),
            pressure: Vec::with_capacity(points),
            by: Vec::with_capacity(points),
        };
        for (f, omega) in grid.omega().enumerate() {
            let inductive = coil.impedance(omega);
            let zm = motor.mechanical_impedance(omega, self.load[f] + more(f));
            let moving = motor.bl_t_m.powi(2) / zm;
            let z = motor.re_ohm + inductive + moving;
            let velocity = motor.bl_t_m / (zm * z);
            out.z.push(z + self.beyond[f]);
            out.pressure.push(self.heard[f] * velocity);
            out.by.push(slopes(&motor, omega, inductive, zm, z, hot));
        }
        out
    }
}

fn slopes(
    motor: &Motor,
    omega: f64,
    inductive: Complex64,
    zm: Complex64,
    z: Complex64,
    hot: f64,
) -> [(Complex64, Complex64); OF_WAY] {
    let moving = motor.bl_t_m.powi(2) / zm;
    let mechanical = |dzm: Complex64| {
        let dz = -moving / zm * dzm;
        (dz, -dzm / zm - dz / z)
    };
    let electrical = |dz: Complex64| (dz, -dz / z);
    let real = |v: f64| Complex64::new(v, 0.0);
    [
        mechanical(Complex64::new(0.0, omega * motor.mms_kg)),
        mechanical(Complex64::new(0.0, 1.0 / (omega * motor.cms_m_per_n))),
        mechanical(real(motor.rms_kg_per_s)),
        (2.0 * moving, 1.0 - 2.0 * moving / z),
        electrical(real(motor.re_ohm)),
        electrical(inductive),
        electrical(real(motor.re_ohm * COPPER_PER_K / hot)),
        mechanical(real(motor.sd_m2.powi(2))),
    ]
}
