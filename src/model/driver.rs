//! The moving-coil driver: its lumped parameters and what it does in an acoustic load.
//!
//! Symbols and definitions: IEC 60268-5; relations: Small (1972), *J. Audio Eng. Soc.* 20, 383
//! (direct-radiator system analysis), cited from memory.

use super::air::Air;
use super::coil::VoiceCoil;
use super::measured::Measured;
use super::spread::ElementSpread;
use crate::grid::{AcousticImpedance, Flow, Grid, Impedance, Spectrum};
use num_complex::Complex64;
use std::f64::consts::{PI, TAU};
use std::sync::Arc;

/// Nominal drive of a sensitivity figure, V rms.
pub const REFERENCE_DRIVE_V: f64 = 2.83;
/// Reference sound pressure, Pa rms (ISO 1683).
pub const REFERENCE_PRESSURE_PA: f64 = 20e-6;

/// Which way of the crossover a driver serves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// Low frequencies; its rear radiates into the cavity.
    Woofer,
    /// High frequencies; closed at its own back unless [`Driver::open_back`] says otherwise.
    Tweeter,
}

impl Role {
    /// Both roles with the word for each in files and output.
    pub const ALL: [(&'static str, Self); 2] =
        [("woofer", Self::Woofer), ("tweeter", Self::Tweeter)];

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Woofer => "woofer",
            Self::Tweeter => "tweeter",
        }
    }
}

/// What air the stated Mms already carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MassCondition {
    /// Measured in free air, without a baffle: the disc's whole air mass is that of one baffled
    /// side, so it stands for the front; the rear air in the cavity comes on top.
    FreeAir,
    /// Measured on a large baffle: front and rear air are both inside Mms.
    Baffled,
}

/// The electro-mechanics of a driver: five lumped elements and the area.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motor {
    /// Voice-coil resistance at DC, Ω.
    pub re_ohm: f64,
    /// Force factor, T·m.
    pub bl_t_m: f64,
    /// Moving mass with its air load, kg.
    pub mms_kg: f64,
    /// Suspension compliance, m/N.
    pub cms_m_per_n: f64,
    /// Mechanical resistance, kg/s.
    pub rms_kg_per_s: f64,
    /// Effective piston area, m².
    pub sd_m2: f64,
}

impl Motor {
    /// Resonance frequency 1/(2π √(Mms Cms)), Hz.
    pub fn fs_hz(&self) -> f64 {
        1.0 / (TAU * (self.mms_kg * self.cms_m_per_n).sqrt())
    }

    /// Mechanical Q at fs, ωs Mms/Rms.
    pub fn qms(&self) -> f64 {
        TAU * self.fs_hz() * self.mms_kg / self.rms_kg_per_s
    }

    /// Electrical Q at fs, ωs Mms Re/Bl².
    pub fn qes(&self) -> f64 {
        TAU * self.fs_hz() * self.mms_kg * self.re_ohm / self.bl_t_m.powi(2)
    }

    /// Total Q at fs: 1/Qts = 1/Qms + 1/Qes.
    pub fn qts(&self) -> f64 {
        1.0 / (1.0 / self.qms() + 1.0 / self.qes())
    }

    /// Equivalent volume ρc² Sd² Cms, m³.
    pub fn vas_m3(&self, air: &Air) -> f64 {
        air.bulk_modulus_pa() * self.sd_m2.powi(2) * self.cms_m_per_n
    }

    /// Reference efficiency in half space, ρ Bl² Sd²/(2π c Re Mms²) (equal to
    /// 4π² fs³ Vas/(c³ Qes), Small 1972), as a fraction.
    pub fn eta0(&self, air: &Air) -> f64 {
        air.rho_kg_per_m3 * (self.bl_t_m * self.sd_m2).powi(2)
            / (TAU * air.c_m_per_s * self.re_ohm * self.mms_kg.powi(2))
    }

    /// Passband level at 2.83 V and 1 m in half space, dB re 20 µPa:
    /// p = ρ Sd Bl E/(2π Re Mms).
    pub fn sensitivity_db(&self, air: &Air) -> f64 {
        let pressure_pa = air.rho_kg_per_m3 * self.sd_m2 * self.bl_t_m * REFERENCE_DRIVE_V
            / (TAU * self.re_ohm * self.mms_kg);
        20.0 * (pressure_pa / REFERENCE_PRESSURE_PA).log10()
    }

    /// Radius of the disc that has the area Sd, m.
    pub fn radius_m(&self) -> f64 {
        (self.sd_m2 / PI).sqrt()
    }

    /// Mechanical impedance Rms + jωMms + 1/(jωCms) + Sd² Za in N·s/m, with the acoustic load
    /// `load` (Pa·s/m³) on the cone.
    pub fn mechanical_impedance(&self, omega: f64, load: Complex64) -> Complex64 {
        let reactance = omega * self.mms_kg - 1.0 / (omega * self.cms_m_per_n);
        Complex64::new(self.rms_kg_per_s, reactance) + load * self.sd_m2.powi(2)
    }
}

/// How far a driver moves and how much it takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Linear excursion, one way, peak, m.
    pub xmax_m: f64,
    /// Rated noise power (IEC 60268-5), W.
    pub noise_power_w: f64,
    /// Voice coil to ambient, K/W, where known.
    pub thermal_resistance_k_per_w: Option<f64>,
    /// The part of it from coil to magnet, K/W, where known.
    pub coil_to_magnet_k_per_w: Option<f64>,
    /// Time constant of the coil, s, where known.
    pub coil_time_s: Option<f64>,
    /// Time constant of the magnet, s, where known.
    pub magnet_time_s: Option<f64>,
}

impl Limits {
    /// Excursion (m, one way, peak) and rated noise power (W), nothing known of the heat's way.
    pub fn new(xmax_m: f64, noise_power_w: f64) -> Self {
        Self {
            xmax_m,
            noise_power_w,
            thermal_resistance_k_per_w: None,
            coil_to_magnet_k_per_w: None,
            coil_time_s: None,
            magnet_time_s: None,
        }
    }
}

/// What a driver takes up in the panel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Size {
    /// From the mounting plane of the flange to the rearmost point, m.
    pub mounting_depth_m: f64,
    /// Diameter of the hole, m.
    pub cutout_m: f64,
    /// Outer diameter of the flange, m.
    pub flange_m: f64,
    /// Volume that magnet and basket take from the cavity, m³.
    pub displaced_volume_m3: f64,
    /// Acoustic centre behind the face, m.
    pub acoustic_centre_m: f64,
    /// Gap that the vent in its rear needs to what is behind it, m; `None` if it has no vent.
    pub vent_clearance_m: Option<f64>,
    /// The screws of its flange, where known.
    pub screws: Option<Screws>,
    /// Its motor and the windows of its basket, where known.
    pub basket: Option<Basket>,
}

/// Screws on a circle around a driver, the first at the top.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Screws {
    /// Diameter of the circle, m.
    pub circle_m: f64,
    /// How many, evenly spread.
    pub count: u32,
    /// Diameter of each hole in the face, m.
    pub hole_m: f64,
}

/// What the rear of a cone looks through.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Basket {
    /// Diameter of the motor, m.
    pub motor_diameter_m: f64,
    /// Height of the motor, up to the rearmost point, m.
    pub motor_height_m: f64,
    /// Open area of all windows, m².
    pub window_area_m2: f64,
}

/// A driver as the rest of the program sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct Driver {
    /// Its name.
    pub name: String,
    /// Woofer or tweeter.
    pub role: Role,
    /// Whether the rear of its cone works into the cavity: always so with a woofer.
    pub open_back: bool,
    /// Lumped electro-mechanics.
    pub motor: Motor,
    /// The coil's inductive part.
    pub coil: VoiceCoil,
    /// How Mms was measured.
    pub mass_condition: MassCondition,
    /// Excursion and power.
    pub limits: Limits,
    /// Dimensions.
    pub size: Size,
    /// What was measured of it.
    pub measured: Measured,
    /// How units differ, where the file has it.
    pub spread: Option<ElementSpread>,
    /// Price of one, where the file has it.
    pub price: Option<Price>,
}

/// A price.
#[derive(Debug, Clone, PartialEq)]
pub struct Price {
    /// In the currency's main unit.
    pub amount: f64,
    /// The currency ("EUR").
    pub currency: String,
}

/// A driver's behaviour on a grid, in its acoustic load.
#[derive(Debug, Clone)]
pub struct DriverResponse {
    /// Electrical impedance at the terminals, Ω.
    pub impedance: Impedance,
    /// Outward volume velocity of the cone per volt at the terminals (positive volts at the first
    /// terminal push the cone out), m³/s/V.
    pub flow: Flow,
}

impl Driver {
    /// The blocked electrical impedance Re + coil, Ω.
    pub fn blocked_impedance(&self, omega: f64) -> Complex64 {
        self.motor.re_ohm + self.coil.impedance(omega)
    }

    /// Terminal impedance and cone flow in the acoustic load `load` (None: free air, where
    /// Mms holds the air). General circuit: v = Bl E/(Ze (Zm + Bl²/Ze)), Z = Ze + Bl²/Zm.
    pub fn respond(&self, grid: &Arc<Grid>, load: Option<&AcousticImpedance>) -> DriverResponse {
        let none = Complex64::default();
        let (mut impedance, mut flow) = (Vec::new(), Vec::new());
        for (i, omega) in grid.omega().enumerate() {
            let load_here = load.map_or(none, |z| z.values()[i]);
            let (z_ohm, velocity) = self.respond_at(omega, load_here);
            impedance.push(z_ohm);
            flow.push(velocity * self.motor.sd_m2);
        }
        DriverResponse {
            impedance: Spectrum::from_values(grid, impedance),
            flow: Spectrum::from_values(grid, flow),
        }
    }

    /// Terminal impedance (Ω) and cone velocity per volt (m/s/V) at `omega` (rad/s) in the
    /// acoustic load `load` (Pa·s/m³).
    pub fn respond_at(&self, omega: f64, load: Complex64) -> (Complex64, Complex64) {
        let ze = self.blocked_impedance(omega);
        let zm = self.motor.mechanical_impedance(omega, load);
        let impedance = ze + self.motor.bl_t_m.powi(2) / zm;
        (impedance, self.motor.bl_t_m / (zm * impedance))
    }
}
