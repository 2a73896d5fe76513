//! A sound card, an amplifier, a driver and a room that exist as numbers only, and hold what the
//! analysis does not assume: channels that differ, leads, inputs that load, noise, clocks that
//! differ, an amplifier and a driver that distort.

use crate::support::Bench;
use num_complex::Complex64;
use slabtone::signal::fft;
use slabtone::signal::sweep::Sweep;
use std::f64::consts::TAU;

pub const RATE_HZ: u32 = 48_000;
const RATE: f64 = RATE_HZ as f64;

/// The sweep of the tests, as `stimulus` is told to make it.
pub const SWEEP: Sweep = Sweep {
    from_hz: 20.0,
    to_hz: 20_000.0,
    seconds: 3.0,
    rate_hz: RATE_HZ,
    level_db: -12.0,
    fade_in_s: 0.05,
    fade_out_s: 0.005,
    silence_before_s: 0.5,
    silence_after_s: 0.5,
};

/// Writes sweep.wav and sweep.toml with the program itself.
pub fn stimulus(bench: &Bench) {
    let arguments = ["stimulus", "--out", "sweep.wav", "--seconds", "3", "--silence", "0.5"];
    bench.run(&arguments).ends(0);
}

/// The sweep as a player whose clock is faster by `offset` plays it, `late_s` into a recording.
pub fn played(late_s: f64, offset: f64) -> Vec<f64> {
    let length = ((late_s + SWEEP.seconds + 1.0) * RATE) as usize;
    (0..length).map(|k| SWEEP.at((k as f64 / RATE - late_s) * (1.0 + offset))).collect()
}

/// A signal through a linear system, exact at every frequency.
pub fn through(x: &[f64], response: impl Fn(Complex64) -> Complex64) -> Vec<f64> {
    let length = fft::good_length(x.len() + 2 * RATE_HZ as usize);
    let bins = fft::forward(x, length);
    let changed = bins.iter().enumerate().map(|(k, bin)| {
        let s = Complex64::new(0.0, TAU * RATE * k.max(1) as f64 / length as f64);
        bin * response(s)
    });
    let mut y = fft::inverse(changed.collect(), length);
    y.truncate(x.len());
    y
}

/// A first-order high-pass, as coupling capacitors make.
pub fn coupling(s: Complex64, hz: f64) -> Complex64 {
    s / (s + TAU * hz)
}

pub fn delay(s: Complex64, late_s: f64) -> Complex64 {
    (-s * late_s).exp()
}

/// White noise of a stated level, dB re full scale, rms; the same for the same seed.
pub struct Noise(u64);

impl Noise {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    fn uniform(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Adds it: the sum of twelve uniform numbers is near enough to normal.
    pub fn add(&mut self, x: &mut [f64], level_db: f64) {
        let rms = 10_f64.powf(level_db / 20.0);
        for sample in x {
            let normal = (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0;
            *sample += rms * normal;
        }
    }
}

/// Writes channels as a 24-bit WAV file; what is above full scale is cut, as a converter does.
pub fn record(bench: &Bench, path: &str, channels: &[&[f64]]) {
    let spec = hound::WavSpec {
        channels: channels.len() as u16,
        sample_rate: RATE_HZ,
        bits_per_sample: 24,
        sample_format: hound::SampleFormat::Int,
    };
    let mut writer = hound::WavWriter::create(bench.at(path), spec).unwrap();
    for k in 0..channels[0].len() {
        for channel in channels {
            let scaled = (channel[k] * 8_388_608.0).round().clamp(-8_388_608.0, 8_388_607.0);
            writer.write_sample(scaled as i32).unwrap();
        }
    }
    writer.finalize().unwrap();
}

/// A driver with suspension creep (compliance falling by a share a decade, Knudsen and Jensen
/// 1993) and a lossy coil K s^n: not the form of the program's driver model.
pub fn driver_ohm(s: Complex64) -> Complex64 {
    let (re, bl, mms, rms) = (5.6, 6.2, 0.011, 0.9);
    let (fs_hz, creep) = (62.0, 0.12);
    let compliance = 1.0 / (mms * (TAU * fs_hz).powi(2));
    let crept = compliance * (1.0 - creep * (s / (TAU * fs_hz)).ln() / 10_f64.ln());
    let mechanical = rms + s * mms + 1.0 / (s * crept);
    let coil = 0.013 * (s.ln() * 0.62).exp();
    re + coil + bl * bl / mechanical
}

/// The wiring between amplifier and sound card.
pub struct Rig {
    /// True value of the series resistor; the user says 10 Ω.
    pub resistor_ohm: f64,
    pub leads_ohm: f64,
    pub gain: f64,
    pub offset: f64,
    pub noise_db: f64,
}

pub const RIG: Rig =
    Rig { resistor_ohm: 10.1, leads_ohm: 0.05, gain: 1.03, offset: 50e-6, noise_db: -80.0 };

impl Rig {
    /// Both channels with an impedance at the terminals.
    pub fn take(&self, seed: u64, ohm: impl Fn(Complex64) -> Complex64) -> [Vec<f64>; 2] {
        let x = played(0.31 + 0.01 * seed as f64, self.offset);
        // The amplifier distorts both channels alike.
        let source: Vec<f64> =
            x.iter().map(|v| 2.0 * (v + 0.01 * v * v - 0.02 * v.powi(3))).collect();
        let input = |s: Complex64| 1.0 / (1.0 / 20e3 + s * 200e-12);
        let seen =
            |s: Complex64| 1.0 / (1.0 / (ohm(s) + self.leads_ohm + s * 1e-6) + 1.0 / input(s));
        let first = |s: Complex64| {
            let load = seen(s) + self.resistor_ohm;
            let load = 1.0 / (1.0 / load + 1.0 / input(s));
            load / (load + 0.08) * coupling(s, 1.0)
        };
        let second = |s: Complex64| {
            let share = seen(s) / (seen(s) + self.resistor_ohm);
            // Its converter samples 0.1 µs later.
            first(s) * share * self.gain * coupling(s, 1.4) / coupling(s, 1.0) * delay(s, 0.1e-6)
        };
        let (mut a, mut b) = (through(&source, first), through(&source, second));
        // The driver's own distortion, some −55 dB.
        b.iter_mut().for_each(|v| *v += 0.01 * *v * *v);
        let mut noise = Noise::new(seed);
        noise.add(&mut a, self.noise_db);
        noise.add(&mut b, self.noise_db);
        [a, b]
    }
}
