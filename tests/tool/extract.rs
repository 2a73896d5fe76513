//! Recordings turned into curves, on a simulation that holds what the analysis does not assume.

use crate::studio::{self, Noise, RIG, Rig, SWEEP};
use crate::support::Bench;
use crate::svg;
use num_complex::Complex64;
use serde_json::Value;
use std::f64::consts::TAU;

pub const IMPEDANCE: [&str; 8] = [
    "extract",
    "take.wav",
    "--stimulus",
    "sweep.toml",
    "--as",
    "impedance",
    "--resistor-ohm",
    "10",
];

/// Frequency and value of a complex curve in a document.
fn curve(document: &Value, key: &str) -> Vec<(f64, Complex64)> {
    let list = |v: &Value| -> Vec<f64> {
        v.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()
    };
    let (hz, z) = (list(&document["frequency_hz"]), &document[key]);
    let (re, im) = (list(&z["re"]), list(&z["im"]));
    hz.into_iter().zip(re.into_iter().zip(im).map(|(re, im)| Complex64::new(re, im))).collect()
}

/// Largest error relative to the truth between two frequencies, percent, and where.
fn worst(found: &[(f64, Complex64)], low: f64, high: f64) -> (f64, f64) {
    let error = |(hz, z): &(f64, Complex64)| {
        let truth = studio::driver_ohm(Complex64::new(0.0, TAU * hz));
        (100.0 * (z - truth).norm() / truth.norm(), *hz)
    };
    let inside = found.iter().filter(|(hz, _)| (low..=high).contains(hz));
    inside.map(error).max_by(|a, b| a.0.total_cmp(&b.0)).unwrap()
}

fn impedance_takes(rig: &Rig) -> Bench {
    let bench = Bench::empty();
    studio::stimulus(&bench);
    let open = |_: Complex64| Complex64::from(1e9);
    let one = |seed: u64, path: &str, ohm: &dyn Fn(Complex64) -> Complex64| {
        let [a, b] = rig.take(seed, ohm);
        studio::record(&bench, path, &[&a, &b]);
    };
    one(1, "take.wav", &studio::driver_ohm);
    one(2, "short.wav", &|_| Complex64::ZERO);
    one(3, "open.wav", &open);
    one(4, "known.wav", &|_| Complex64::from(8.2));
    bench
}

#[test]
fn an_impedance_is_found_within_half_a_percent_with_the_full_correction() {
    let bench = impedance_takes(&RIG);
    let with = |more: &[&str]| {
        let document = bench.run(&[&IMPEDANCE[..], more, &["--json"]].concat()).ends(0).json();
        (worst(&curve(&document, "impedance_ohm"), 20.0, 20_000.0).0, document)
    };
    let (open, rest) = (
        ["--open", "open.wav"],
        ["--short", "short.wav", "--known", "known.wav", "--known-ohm", "8.2"],
    );
    let (full, document) = with(&[&open[..], &rest].concat());
    let (gains, _) = with(&open);
    let (none, _) = with(&[]);
    // Measured: 0.12, 1.4 and 16 percent, the last where the driver is far above the resistor.
    assert!(full < 0.5 && gains < 3.0 && none > 10.0, "{full} {gains} {none}");
    let recording = &document["recordings"][0];
    assert!((recording["clock_ppm"].as_f64().unwrap() - 50.0).abs() < 2.0, "{recording}");
    assert!((recording["sweep_start_s"].as_f64().unwrap() - 0.32).abs() < 1e-3, "{recording}");
    assert!(document["uncorrected"][0].as_str().unwrap().contains("known resistor"));
}

#[test]
fn a_curve_file_a_picture_and_what_is_left_uncorrected_come_out() {
    let bench = Bench::empty();
    studio::stimulus(&bench);
    let [a, b] = RIG.take(1, studio::driver_ohm);
    studio::record(&bench, "take.wav", &[&a, &b]);
    let more = ["--out", "out", "--condition", "free_air", "--volts", "1.5", "--points", "100"];
    let run = bench.run(&[&IMPEDANCE[..], &more].concat()).ends(0);
    for told in ["not corrected: the resistance of leads", "free_air", "ppm", "extract.svg"] {
        assert!(run.out.contains(told), "no `{told}` in\n{}", run.out);
    }
    let text = bench.text("out/extract.csv");
    let rows: Vec<&str> = text.lines().filter(|line| !line.starts_with('#')).collect();
    assert_eq!((rows[0], rows.len()), ("frequency_hz,magnitude_ohm,phase_deg", 101));
    assert!(text.contains("# voltage at the driver: 1.5 V rms"));
    assert!(svg::read(&bench.text("out/extract.svg")).unwrap().len() > 20);
}

/// A driver in a board: high-pass, a peak at 6.2 kHz, low-pass.
fn driver_response(s: Complex64) -> Complex64 {
    let second = |hz: f64, q: f64| {
        let w = TAU * hz;
        s * s + s * w / q + w * w
    };
    let high = (TAU * 13_000.0).powi(2);
    let peak = second(6200.0, 2.5) / second(6200.0, 4.0);
    s * s / second(80.0, 0.8) * peak * high / second(13_000.0, 0.7)
}

const ARRIVAL_S: f64 = 2.915e-3;

/// Loopback and microphone, with a reflection 4 ms after the sound and another one.
fn room(seed: u64) -> [Vec<f64>; 2] {
    let x = studio::played(0.6, 20e-6);
    let mut loopback = studio::through(&x, |s| 1.7 * studio::coupling(s, 1.0));
    let mut microphone = studio::through(&x, |s| {
        let echoes = 1.0 + 0.5 * studio::delay(s, 4.0e-3) - 0.3 * studio::delay(s, 9.3e-3);
        0.4 * driver_response(s) * echoes * studio::delay(s, ARRIVAL_S) * studio::coupling(s, 1.0)
    });
    let mut noise = Noise::new(seed);
    noise.add(&mut loopback, -90.0);
    noise.add(&mut microphone, -75.0);
    [loopback, microphone]
}

#[test]
fn a_response_is_found_without_its_reflections() {
    let bench = Bench::empty();
    studio::stimulus(&bench);
    let [a, b] = room(7);
    studio::record(&bench, "take.wav", &[&a, &b]);
    let arguments = ["extract", "take.wav", "--stimulus", "sweep.toml", "--as", "response"];
    let gated = [&arguments[..], &["--gate-ms", "4", "--take-out-ms", "2.915"]].concat();
    let document = bench.run(&[&gated[..], &["--json"]].concat()).ends(0).json();
    let (mut level, mut phase) = (0.0_f64, 0.0_f64);
    let found = curve(&document, "response");
    for (hz, v) in found.iter().filter(|(hz, _)| *hz >= 500.0) {
        let truth = 0.4 / 1.7 * driver_response(Complex64::new(0.0, TAU * hz));
        level = level.max(20.0 * (v.norm() / truth.norm()).log10().abs());
        phase = phase.max((v / truth).arg().to_degrees().abs());
    }
    // Worst where the tail of the high-pass, cut off by the gate, still counts; 0.02 dB from 800 Hz.
    assert!(level < 0.11 && phase < 1.0, "{level} dB, {phase} degrees");
    assert_eq!(document["lowest_valid_hz"], 250.0);
    assert_eq!(document["frequency_hz"][0], 250.0);
    assert!((document["arrival_s"].as_f64().unwrap() - ARRIVAL_S).abs() < 5e-5);
    let open = bench.run(&[&arguments[..], &["--json"]].concat()).ends(0).json();
    let ripple = curve(&open, "response").into_iter().map(|(hz, v)| {
        let truth = 0.4 / 1.7 * driver_response(Complex64::new(0.0, TAU * hz));
        20.0 * (v.norm() / truth.norm()).log10().abs()
    });
    assert!(ripple.fold(0.0, f64::max) > 3.0, "the reflections are there without the gate");
    bench.run(&[&gated[..], &["--out", "out"]].concat()).ends(0);
    for name in ["extract.svg", "impulse.svg", "distortion.svg"] {
        assert!(svg::read(&bench.text(&format!("out/{name}"))).unwrap().len() > 20, "{name}");
    }
    let header = bench.text("out/extract.csv");
    for told in ["lowest valid frequency: 250 Hz", "time zero: 2.915 ms", "gate: from"] {
        assert!(header.contains(told), "no `{told}` in\n{}", &header[..600]);
    }
}

#[test]
fn harmonics_of_a_known_polynomial_are_found() {
    let bench = Bench::empty();
    studio::stimulus(&bench);
    let x = studio::played(0.6, 0.0);
    let (k2, k3) = (0.08, 0.3);
    let bent: Vec<f64> = x.iter().map(|v| 0.5 * (v + k2 * v * v + k3 * v.powi(3))).collect();
    // The driver's own filter stands behind the bend, and the room behind both.
    let filter = |s: Complex64| 1.0 / (1.0 + s / (TAU * 3000.0));
    let mut heard = studio::through(&bent, |s| filter(s) * studio::delay(s, ARRIVAL_S));
    Noise::new(3).add(&mut heard, -90.0);
    studio::record(&bench, "take.wav", &[&x, &heard]);
    let arguments = ["extract", "take.wav", "--stimulus", "sweep.toml", "--as", "response"];
    let document = bench.run(&[&arguments[..], &["--json"]].concat()).ends(0).json();
    let found = &document["distortion"];
    let a = SWEEP.amplitude();
    let linear = 1.0 + 0.75 * k3 * a * a;
    let size = |hz: f64| filter(Complex64::new(0.0, TAU * hz)).norm();
    let mut worst = [0.0_f64; 2];
    for (k, hz) in found["frequency_hz"].as_array().unwrap().iter().enumerate() {
        let hz = hz.as_f64().unwrap();
        let cases = [("second", 2.0, k2 * a / 2.0), ("third", 3.0, k3 * a * a / 4.0)];
        for (at, (name, order, share)) in cases.into_iter().enumerate() {
            let Some(got) = found[name].get(k).filter(|_| (40.0..6000.0).contains(&hz)) else {
                continue;
            };
            let expected = share / linear * size(order * hz) / size(hz);
            worst[at] = worst[at].max(20.0 * (got.as_f64().unwrap() / expected).log10().abs());
        }
    }
    assert!(worst[0] < 0.5 && worst[1] < 1.0, "{worst:?} dB");
}

#[test]
fn levels_follow_the_microphone_or_what_is_known_at_1_khz() {
    let bench = Bench::empty();
    studio::stimulus(&bench);
    let x = studio::played(0.6, 0.0);
    let heard = studio::through(&x, |s| 0.5 * studio::delay(s, ARRIVAL_S));
    studio::record(&bench, "take.wav", &[&x, &heard]);
    let arguments = ["extract", "take.wav", "--stimulus", "sweep.toml", "--as", "response"];
    let at_1k = |more: &[&str]| {
        let document = bench.run(&[&arguments[..], more, &["--json"]].concat()).ends(0).json();
        let all = curve(&document, "response");
        let near =
            all.iter().min_by(|a, b| (a.0 / 1e3).ln().abs().total_cmp(&(b.0 / 1e3).ln().abs()));
        20.0 * (near.unwrap().1.norm() / 20e-6).log10()
    };
    assert!((at_1k(&["--level-at-1khz-db", "86"]) - 86.0).abs() < 0.02);
    // Half of a sine of −12 dB, 1 V at full scale, 10 mV/Pa.
    let volts = 0.5 * SWEEP.amplitude() / 2_f64.sqrt();
    let expected = 20.0 * (volts / 0.010 / 20e-6).log10();
    let microphone = ["--mic-mv-per-pa", "10", "--full-scale-v", "1"];
    let found = at_1k(&microphone);
    assert!((found - expected).abs() < 0.03, "{found} {expected}");
    bench.write("mic.txt", "20 -1.5\n500 1.5\n20000 1.5\n");
    let corrected = at_1k(&[&microphone[..], &["--mic-correction", "mic.txt"]].concat());
    assert!((found - corrected - 1.5).abs() < 0.01, "{found} {corrected}");
}
