//! Identification on random drivers: the truth lies where the standard errors say, and what the
//! model leaves out biases the result by no more than is told.

use num_complex::Complex64;
use slabtone::analysis::identify::{
    CoilChoice, CoilKind, Identified, IdentifyError, Parameter, Request, identify,
};
use slabtone::grid::Grid;
use slabtone::model::air::Air;
use slabtone::model::closed_box::ClosedBox;
use slabtone::model::coil::VoiceCoil;
use slabtone::model::driver::{MassCondition, Motor};
use slabtone::model::fill::Fill;
use slabtone::picture;
use slabtone::report::fit_doc::{self, FitDoc};
use slabtone::report::{fit_figure, json};
use slabtone::signal::curve::Curve;
use std::f64::consts::TAU;

/// Relative noise of real and imaginary part each.
const NOISE: f64 = 0.01;

/// Evenly spread and Gaussian random numbers, the same in every run (SplitMix64).
struct Dice(u64);

impl Dice {
    fn even(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    fn log(&mut self, low: f64, high: f64) -> f64 {
        low * (high / low).powf(self.even())
    }

    fn noise(&mut self) -> Complex64 {
        let radius = (-2.0 * (1.0 - self.even()).ln()).sqrt();
        Complex64::from_polar(NOISE * radius, TAU * self.even())
    }
}

/// A driver as its impedance sees it.
#[derive(Debug, Clone, Copy)]
struct Truth {
    motor: Motor,
    coil: VoiceCoil,
}

/// What is done to the driver and what is not in the fitted model.
#[derive(Debug, Clone, Copy, Default)]
struct Setting {
    mass_kg: f64,
    volume_m3: Option<f64>,
    /// Creep of the suspension, λ.
    creep: f64,
    lead_ohm: f64,
}

impl Truth {
    fn random(dice: &mut Dice, kind: CoilKind) -> Self {
        let (fs_hz, re_ohm) = (dice.log(40.0, 1200.0), dice.log(2.5, 8.0));
        let omega = TAU * fs_hz;
        let mms_kg = 0.02 * (40.0 / fs_hz).powf(1.3) * dice.log(0.5, 2.0);
        let (qms, qes) = (dice.log(1.5, 8.0), dice.log(0.3, 1.2));
        let motor = Motor {
            re_ohm,
            bl_t_m: (omega * mms_kg * re_ohm / qes).sqrt(),
            mms_kg,
            cms_m_per_n: 1.0 / (omega * omega * mms_kg),
            rms_kg_per_s: omega * mms_kg / qms,
            sd_m2: 38e-4,
        };
        // Of the coil's impedance at 20 kHz.
        let x_ohm = re_ohm * dice.log(0.7, 6.0);
        let w = TAU * 2e4;
        let coil = match kind {
            CoilKind::Plain => VoiceCoil::Plain { le_h: x_ohm / w },
            CoilKind::PowerLaw => {
                let n = 0.5 + 0.4 * dice.even();
                VoiceCoil::PowerLaw { k_si: x_ohm / w.powf(n), n }
            }
            CoilKind::Shunted => {
                let share = 0.3 + 0.4 * dice.even();
                let l2_h = (1.0 - share) * 3.0 * x_ohm / w;
                let knee = TAU * dice.log(1500.0, 5000.0);
                VoiceCoil::Shunted { le_h: share * x_ohm / w, l2_h, r2_ohm: knee * l2_h }
            }
        };
        Self { motor, coil }
    }

    fn impedance(&self, omega: f64, setting: Setting) -> Complex64 {
        let jw = Complex64::new(0.0, omega);
        let air = Air::default();
        // Log creep (Knudsen & Jensen 1993): C0 [1 − λ log10(jω/ωs)].
        let ratio = Complex64::new(omega / (TAU * self.motor.fs_hz()), 0.0);
        let turn = Complex64::new(0.0, std::f64::consts::FRAC_PI_2);
        let log10 = (ratio.ln() + turn) / std::f64::consts::LN_10;
        let compliance = self.motor.cms_m_per_n * (1.0 - setting.creep * log10);
        let load = setting.volume_m3.map_or(Complex64::default(), |v| {
            let tight = ClosedBox::tight(v, Fill::Empty);
            tight.behind(&self.motor, MassCondition::FreeAir, &air).load(omega, &air)
        });
        let mass = jw * (self.motor.mms_kg + setting.mass_kg);
        let zm = self.motor.rms_kg_per_s
            + mass
            + 1.0 / (jw * compliance)
            + load * self.motor.sd_m2.powi(2);
        setting.lead_ohm
            + self.motor.re_ohm
            + self.coil.impedance(omega)
            + self.motor.bl_t_m.powi(2) / zm
    }

    fn sweep(&self, setting: Setting, dice: Option<&mut Dice>) -> Curve {
        let grid = Grid::log(10.0, 20_000.0, 120).unwrap();
        let mut z: Vec<Complex64> = grid.omega().map(|w| self.impedance(w, setting)).collect();
        if let Some(dice) = dice {
            z.iter_mut().for_each(|z| *z *= 1.0 + dice.noise());
        }
        Curve {
            frequency_hz: grid.frequency_hz().to_vec(),
            magnitude: z.iter().map(|z| z.norm()).collect(),
            phase_deg: Some(z.iter().map(|z| z.arg().to_degrees()).collect()),
        }
    }

    /// Free air and an added mass of a third to all of the moving mass.
    fn request(&self, setting: Setting, dice: Option<&mut Dice>, kind: CoilKind) -> Request {
        let mut dice = dice;
        let share = dice.as_mut().map_or(0.6, |d| d.log(0.4, 1.0));
        let mass_kg = share * self.motor.mms_kg;
        let free = self.sweep(setting, dice.as_deref_mut());
        let loaded = self.sweep(Setting { mass_kg, ..setting }, dice);
        Request {
            added_mass: Some((loaded, mass_kg)),
            ..Request::free_air(free, self.motor.sd_m2, CoilChoice::Fixed(kind))
        }
    }

    fn value(&self, key: &str) -> f64 {
        let m = &self.motor;
        match key {
            "re_ohm" => m.re_ohm,
            "fs_hz" => m.fs_hz(),
            "qms" => m.qms(),
            "qes" => m.qes(),
            "qts" => m.qts(),
            "mms_kg" => m.mms_kg,
            "cms_m_per_n" => m.cms_m_per_n,
            "rms_kg_per_s" => m.rms_kg_per_s,
            "bl_t_m" => m.bl_t_m,
            "vas_m3" => m.vas_m3(&Air::default()),
            _ => match (self.coil, key) {
                (VoiceCoil::Plain { le_h } | VoiceCoil::Shunted { le_h, .. }, "le_h") => le_h,
                (VoiceCoil::PowerLaw { k_si, .. }, "k_si") => k_si,
                (VoiceCoil::PowerLaw { n, .. }, "n") => n,
                (VoiceCoil::Shunted { l2_h, .. }, "l2_h") => l2_h,
                (VoiceCoil::Shunted { r2_ohm, .. }, "r2_ohm") => r2_ohm,
                other => panic!("no {other:?}"),
            },
        }
    }
}

/// Estimate against truth in standard errors, of every parameter. Positive ones are fitted as
/// logarithms, so that their standard error is a factor; the exponent n is not.
fn z_scores(truth: &Truth, found: &Identified) -> Vec<(&'static str, f64)> {
    let score = |p: &Parameter| {
        let error = p.standard_error.unwrap_or_else(|| panic!("{}: {truth:?}", p.key));
        let right = truth.value(p.key);
        let linear = (p.value - right) / error;
        (p.key, if p.key == "n" { linear } else { (p.value / right).ln() / p.relative_error() })
    };
    found.parameters.iter().map(score).collect()
}

/// Mean and rms of z.
fn spread(z: &[f64]) -> (f64, f64) {
    let count = z.len() as f64;
    (z.iter().sum::<f64>() / count, (z.iter().map(|v| v * v).sum::<f64>() / count).sqrt())
}

/// Printed for the curious: `--nocapture`.
#[allow(clippy::print_stdout)]
fn told(line: &str) {
    println!("{line}");
}

/// z of each parameter over `drivers` random ones: within 4, mean 0 and rms 1 within four times
/// what chance makes of them.
fn truth_lies_within_the_errors(kind: CoilKind, with_phase: bool) {
    let drivers: usize = 40;
    let mut dice = Dice(20_260_101);
    let mut all: Vec<Vec<(&str, f64)>> = Vec::new();
    for _ in 0..drivers {
        let truth = Truth::random(&mut dice, kind);
        let mut request = truth.request(Setting::default(), Some(&mut dice), kind);
        if !with_phase {
            request.free.phase_deg = None;
            request.added_mass.iter_mut().for_each(|(curve, _)| curve.phase_deg = None);
        }
        let found = identify(&request).unwrap_or_else(|e| panic!("{e}: {truth:?}"));
        all.push(z_scores(&truth, &found));
    }
    let count = drivers as f64;
    for k in 0..all[0].len() {
        let z: Vec<f64> = all.iter().map(|one| one[k].1).collect();
        let (key, (mean, rms)) = (all[0][k].0, spread(&z));
        told(&format!("{kind:?} phase {with_phase} {key:13} mean {mean:+.2} rms {rms:.2}"));
        assert!(mean.abs() < 4.0 / count.sqrt(), "{key}: z has the mean {mean}");
        assert!((rms - 1.0).abs() < 4.0 / (2.0 * count).sqrt(), "{key}: z has the rms {rms}");
        let worst = z.iter().map(|z| z.abs()).fold(0.0, f64::max);
        assert!(worst < 4.0, "{key}: the truth lies {worst} standard errors away");
    }
}

#[test]
fn the_truth_of_plain_coils_lies_within_the_errors() {
    truth_lies_within_the_errors(CoilKind::Plain, true);
    truth_lies_within_the_errors(CoilKind::Plain, false);
}

#[test]
fn the_truth_of_lossy_coils_lies_within_the_errors() {
    truth_lies_within_the_errors(CoilKind::PowerLaw, true);
    truth_lies_within_the_errors(CoilKind::PowerLaw, false);
}

#[test]
fn the_truth_of_shunted_coils_lies_within_the_errors() {
    truth_lies_within_the_errors(CoilKind::Shunted, true);
    truth_lies_within_the_errors(CoilKind::Shunted, false);
}

/// A woofer of the bench's kind with a lossy coil.
fn bramble() -> Truth {
    let omega = TAU * 78.0;
    let mms_kg = 3.9e-3;
    let motor = Motor {
        re_ohm: 5.6,
        bl_t_m: (omega * mms_kg * 5.6 / 0.62).sqrt(),
        mms_kg,
        cms_m_per_n: 1.0 / (omega * omega * mms_kg),
        rms_kg_per_s: omega * mms_kg / 4.1,
        sd_m2: 38e-4,
    };
    Truth { motor, coil: VoiceCoil::PowerLaw { k_si: 0.012, n: 0.65 } }
}

fn with_box(truth: &Truth, litres: f64) -> Request {
    let volume_m3 = Some(litres * 1e-3);
    let boxed = truth.sweep(Setting { volume_m3, ..Setting::default() }, None);
    let free = truth.sweep(Setting::default(), None);
    Request {
        closed_box: Some((boxed, litres * 1e-3)),
        ..Request::free_air(free, truth.motor.sd_m2, CoilChoice::Auto)
    }
}

fn with_mass(truth: &Truth, gram: f64) -> Request {
    let mass_kg = gram * 1e-3;
    let loaded = truth.sweep(Setting { mass_kg, ..Setting::default() }, None);
    let free = truth.sweep(Setting::default(), None);
    Request {
        added_mass: Some((loaded, mass_kg)),
        ..Request::free_air(free, truth.motor.sd_m2, CoilChoice::Auto)
    }
}

#[test]
fn mass_and_box_find_the_same_driver_and_the_coil_by_themselves() {
    let truth = bramble();
    let by_mass = with_mass(&truth, 3.0);
    let by_box = with_box(&truth, 3.0);
    let by_both = Request { closed_box: by_box.closed_box.clone(), ..by_mass.clone() };
    for request in [by_mass, by_box, by_both] {
        let found = identify(&request).unwrap();
        assert_eq!(found.coil_kind, CoilKind::PowerLaw);
        assert_eq!(found.scores.len(), 3);
        for p in &found.parameters {
            let off = p.value / truth.value(p.key) - 1.0;
            assert!(off.abs() < 1e-6, "{}: off by {off:e}", p.key);
        }
        assert!(found.residual_percent < 1e-5);
    }
}

#[test]
fn a_mass_that_does_not_weigh_is_refused() {
    let truth = bramble();
    let good = with_mass(&truth, 3.0);
    let (loaded, kg) = good.added_mass.clone().unwrap();
    let exchanged = Request { free: loaded, added_mass: Some((good.free.clone(), kg)), ..good };
    let error = identify(&exchanged).unwrap_err();
    assert!(matches!(error, IdentifyError::NotLowered { .. }), "{error}");
    let error = identify(&with_mass(&truth, 0.1)).unwrap_err();
    assert!(matches!(error, IdentifyError::SmallShift { .. }), "{error}");
    let told = identify(&with_mass(&truth, 0.5)).unwrap().findings;
    assert!(told.iter().any(|f| f.text.contains("take a heavier mass")), "{told:?}");
    let error = identify(&with_box(&truth, 300.0)).unwrap_err();
    assert!(matches!(error, IdentifyError::SmallShift { .. } | IdentifyError::NotRaised { .. }));
}

/// Bias of every parameter, percent, with what the model does not know.
fn biases(setting: Setting, re_ohm: Option<f64>) -> (Vec<(&'static str, f64)>, Identified) {
    let truth = bramble();
    let request = truth.request(setting, None, CoilKind::PowerLaw);
    let found = identify(&Request { re_ohm, ..request }).unwrap();
    // Creep is a loss as well: what counts is the whole loss at resonance.
    let loss = 1.0 / truth.motor.qms() + setting.creep * std::f64::consts::FRAC_PI_2 / 10f64.ln();
    let right = |key: &str| match key {
        "qms" => 1.0 / loss,
        "qts" => 1.0 / (loss + 1.0 / truth.motor.qes()),
        "rms_kg_per_s" => truth.motor.rms_kg_per_s * truth.motor.qms() * loss,
        _ => truth.value(key),
    };
    let bias = |p: &Parameter| (p.key, 100.0 * (p.value / right(p.key) - 1.0));
    (found.parameters.iter().map(bias).collect(), found)
}

/// What creep and leads do to the result; the table is printed with `--nocapture`.
#[test]
fn creep_and_leads_bias_the_result_by_no_more_than_is_known() {
    let creep = |creep| Setting { creep, ..Setting::default() };
    let lead = |lead_ohm| Setting { lead_ohm, ..Setting::default() };
    let cases = [
        ("creep 0.05", creep(0.05), None, 8.0),
        ("creep 0.1", creep(0.1), None, 15.0),
        ("creep 0.2", creep(0.2), None, 30.0),
        ("lead 0.05", lead(0.05), None, 1.5),
        ("lead 0.1", lead(0.1), None, 3.0),
        ("lead 0.2", lead(0.2), None, 6.0),
        ("lead 0.2, Re stated", lead(0.2), Some(5.6), 25.0),
    ];
    for (name, setting, re_ohm, bound) in cases {
        let (table, found) = biases(setting, re_ohm);
        let cells: Vec<String> = table.iter().map(|(k, b)| format!("{k} {b:+.1}")).collect();
        told(&format!("{name:20} residual {:.2} %: {}", found.residual_percent, cells.join(", ")));
        for (key, bias) in table {
            assert!(bias.abs() < bound, "{name}: {key} is off by {bias:.1} %");
        }
        let warned = |word: &str| found.findings.iter().any(|f| f.text.contains(word));
        assert!(setting.creep == 0.0 || warned("systematically"), "{name}: {:?}", found.findings);
        assert!(re_ohm.is_none() || warned("leads and contacts"), "{:?}", found.findings);
    }
}

/// Whatever the curve: an answer that can be written, or a refusal.
#[test]
fn any_curve_is_identified_or_refused() {
    let mut dice = Dice(7);
    let (mut found, mut refused) = (0, 0);
    for round in 0..60 {
        let points = 16 + (dice.even() * 40.0) as usize;
        let frequency_hz: Vec<f64> = (0..points).map(|k| 20.0 * 1.15f64.powi(k as i32)).collect();
        let wild = 10f64.powf(dice.even() * 3.0);
        let magnitude = frequency_hz.iter().map(|_| dice.log(1.0, 1.5 * wild)).collect();
        let phase_deg = (round % 2 == 0)
            .then(|| frequency_hz.iter().map(|_| 200.0 * dice.even() - 100.0).collect());
        let curve = Curve { frequency_hz, magnitude, phase_deg };
        match identify(&Request::free_air(curve, 38e-4, CoilChoice::Auto)) {
            Ok(identified) => {
                found += 1;
                fit_doc::text(&identified, 80);
                json::compact(&FitDoc::new(&identified, None)).unwrap();
                picture::svg(&fit_figure::figure(&identified, "any"));
            }
            Err(_) => refused += 1,
        }
    }
    assert!(found > 0 && refused > 0, "{found} found, {refused} refused");
}
