//! Drivers as a measurement would show them, from equations that the crate's own driver model does
//! not have: creep of the suspension, a coil that loses power in two ways, another temperature, a
//! cone that breaks up, a source that narrows as no piston does, reflections at edges.
//!
//! Every curve is causal and close to minimum phase, as real ones are.

use num_complex::Complex64;
use std::f64::consts::{PI, TAU};
use std::fmt::Write;

/// Air at 27 °C, which is not what the crate takes for its own: kg/m³ and m/s.
const RHO: f64 = 1.176;
const C: f64 = 347.4;
/// Copper is this much more resistive at 45 °C than at 20 °C.
const WARM: f64 = 1.0 + 0.003_93 * 25.0;

/// One invented driver.
pub struct Source {
    re_ohm: f64,
    bl_t_m: f64,
    mass_kg: f64,
    compliance_m_per_n: f64,
    loss_kg_per_s: f64,
    area_m2: f64,
    /// λ of the compliance's creep, C(ω) = C (1 − λ log₁₀(jω/ω₀)).
    creep: f64,
    /// Coil: a plain part, and K (jω)ⁿ with a resistance across it.
    coil: [f64; 4],
    /// Stiffness of the air behind the cone and its loss factor, N/m.
    air_spring: (f64, f64),
    /// Frequency, Q and height (dB) of the peak of the cone's break-up.
    break_up: (f64, f64, f64),
    /// Frequency and Q at which the cone gives up.
    last: (f64, f64),
    /// Reflection at the nearest edge and its extra way, m.
    edge: (f64, f64),
    /// How much later the sound starts than the place of the flange says, s.
    later_s: f64,
    /// Radius of the ring that stands for how the cone radiates off axis, m.
    ring_m: f64,
}

/// A flat 3.5 inch woofer in its cavity: 4 dB of break-up at 3.6 kHz.
pub fn woofer() -> Source {
    Source {
        re_ohm: 5.6 * WARM,
        bl_t_m: 4.3,
        mass_kg: 4.0e-3,
        compliance_m_per_n: 1.05e-3,
        loss_kg_per_s: 0.5,
        area_m2: 38e-4,
        creep: 0.09,
        coil: [0.05e-3, 8.0e-3, 0.66, 30.0],
        air_spring: (900.0, 0.08),
        break_up: (3600.0, 2.5, 4.0),
        last: (6000.0, 0.9),
        edge: (0.05, 0.16),
        later_s: 45e-6,
        ring_m: 0.022,
    }
}

/// A dome with a chamber of its own and a gentle ripple; 3 dB quieter than its driver file says.
pub fn tweeter() -> Source {
    Source {
        re_ohm: 5.2 * WARM,
        bl_t_m: 2.1,
        mass_kg: 0.34e-3,
        compliance_m_per_n: 0.085e-3,
        loss_kg_per_s: 0.9,
        area_m2: 7.1e-4,
        creep: 0.03,
        coil: [0.008e-3, 1.2e-3, 0.62, 14.0],
        air_spring: (0.0, 0.0),
        break_up: (15_000.0, 2.5, 1.5),
        last: (24_000.0, 0.7),
        edge: (0.05, 0.10),
        later_s: 4e-6,
        ring_m: 0.009,
    }
}

impl Source {
    /// Impedance at the terminals, Ω.
    pub fn impedance(&self, f: f64) -> Complex64 {
        self.blocked(f) + self.bl_t_m.powi(2) / self.mechanical(f)
    }

    /// Pressure at 1 m for 1 V in this panel, Pa, without the time of flight.
    pub fn pressure(&self, f: f64, angle_deg: f64) -> Complex64 {
        let s = Complex64::new(0.0, TAU * f);
        let velocity = self.bl_t_m / (self.mechanical(f) * self.impedance(f));
        let level = s * RHO * self.area_m2 / TAU * velocity;
        let sin = angle_deg.to_radians().sin();
        // Off axis the break-up comes a little lower and less high.
        let (at_hz, q, db) = self.break_up;
        let cone = peak(s, at_hz * (1.0 - 0.05 * sin), q, db * (1.0 - 0.5 * sin));
        let (last_hz, last_q) = self.last;
        let w = TAU * last_hz;
        let low_pass = w * w / (s * s + s * w / last_q + w * w);
        let (share, way_m) = self.edge;
        let edge = 1.0 - share * (-s * way_m * (1.0 + 0.4 * sin) / C).exp();
        level * cone * low_pass * edge * self.narrowing(f, sin) * (-s * self.later_s).exp()
    }

    fn blocked(&self, f: f64) -> Complex64 {
        let s = Complex64::new(0.0, TAU * f);
        let [plain_h, k, n, across_ohm] = self.coil;
        let lossy = k * s.powf(n);
        self.re_ohm + s * plain_h + lossy * across_ohm / (lossy + across_ohm)
    }

    fn mechanical(&self, f: f64) -> Complex64 {
        let s = Complex64::new(0.0, TAU * f);
        let at_rest = 1.0 / (self.mass_kg * self.compliance_m_per_n).sqrt();
        let creep = 1.0 - self.creep * (s / at_rest).ln() / std::f64::consts::LN_10;
        let (spring, loss) = self.air_spring;
        self.loss_kg_per_s
            + s * self.mass_kg
            + 1.0 / (s * self.compliance_m_per_n * creep)
            + spring * Complex64::new(1.0, loss) / s
    }

    /// A ring of point sources heard from the side, its sharp nulls blurred.
    fn narrowing(&self, f: f64, sin: f64) -> f64 {
        let x = TAU * f / C * self.ring_m * sin;
        let points = 48;
        let ring = (0..points).map(|k| (x * (TAU * f64::from(k) / f64::from(points)).cos()).cos());
        let mean = ring.sum::<f64>() / f64::from(points);
        (mean * mean + 0.02 * x * x / (1.0 + x * x)).sqrt()
    }

    /// Columns of impedance from 15 Hz to 24 kHz.
    pub fn impedance_text(&self) -> String {
        let mut text = String::from("* impedance at 45 degrees C, in the panel\nHz;ohm;deg\n");
        for f in frequencies(15.0, 24_000.0, 24) {
            let z = self.impedance(f);
            let _ = writeln!(text, "{f:.3};{:.5};{:.4}", z.norm(), z.arg().to_degrees());
        }
        text
    }

    /// Columns of level at 2.83 V and 0.7 m, dB re 20 µPa, with the time of flight in the phase.
    pub fn level_text(&self, angle_deg: f64) -> String {
        let mut text = format!("# gated sweep, {angle_deg} degrees off axis\n# Hz dB deg\n");
        for f in frequencies(15.0, 24_000.0, 48) {
            let p = self.pressure(f, angle_deg) * (2.83 / 0.7);
            let flight_deg = 360.0 * f * 0.7 / 343.21;
            let phase_deg = wrapped(p.arg().to_degrees() - flight_deg);
            let _ = writeln!(text, "{f:.4} {:.4} {phase_deg:.4}", 20.0 * (p.norm() / 2e-5).log10());
        }
        text
    }
}

/// The tables of a driver file that name the curves of [`Source::level_text`] and
/// [`Source::impedance_text`], called `stem-…`.
pub fn tables(stem: &str, angles_deg: &[u32]) -> String {
    let mut text = format!(
        "\n[[impedance]]\ncondition = \"in_this_panel\"\nfile = \"{stem}-impedance.csv\"\n"
    );
    for angle in angles_deg {
        let _ = write!(
            text,
            "\n[[response]]\ncondition = \"in_this_panel\"\nmagnitude = \"db_spl\"\ndrive_v = 2.83\n\
             distance_mm = 700\nangle_deg = {angle}\ntime_zero = \"source\"\nfile = \"{stem}-{angle}.txt\"\n"
        );
    }
    text
}

/// A biquad that is 1 far away and `db` up at `at_hz`.
fn peak(s: Complex64, at_hz: f64, q: f64, db: f64) -> Complex64 {
    let w = TAU * at_hz;
    let own = s * w / q;
    (s * s + own * 10f64.powf(db / 20.0) + w * w) / (s * s + own + w * w)
}

fn frequencies(from: f64, to: f64, per_octave: u32) -> impl Iterator<Item = f64> {
    let count = ((to / from).log2() * f64::from(per_octave)).ceil();
    (0..=count as u32).map(move |k| from * (to / from).powf(f64::from(k) / count))
}

fn wrapped(deg: f64) -> f64 {
    deg - 360.0 * (deg / 360.0).round()
}

/// What the brief asks of the generator, asked of the generator.
#[test]
fn the_woofer_breaks_up_creeps_and_loses_power_in_its_coil() {
    let woofer = woofer();
    let db = |f: f64| 20.0 * woofer.pressure(f, 0.0).norm().log10();
    let s = |f: f64| Complex64::new(0.0, TAU * f);
    let (at_hz, q, height_db) = woofer.break_up;
    assert!((20.0 * peak(s(at_hz), at_hz, q, height_db).norm().log10() - 4.0).abs() < 1e-9);
    assert!(db(3600.0) > db(1800.0) + 2.0 && db(3600.0) > db(7200.0) + 4.0);
    // A plain coil would rise with the frequency and turn by 90 degrees.
    let (a, b) = (woofer.blocked(2000.0) - woofer.re_ohm, woofer.blocked(16_000.0) - woofer.re_ohm);
    assert!(b.norm() / a.norm() < 6.0 && b.arg() < 0.45 * PI);
    assert!(woofer.pressure(8000.0, 60.0).norm() < 0.6 * woofer.pressure(8000.0, 0.0).norm());
}
