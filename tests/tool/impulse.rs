//! `extract --as impulse`: a stored impulse response becomes a curve, its window told and shown.

use crate::support::Bench;
use slabtone::input::wave_file::{self, Bits};

const RATE: u32 = 48_000;

/// A direct sound of 0.8 after 3 ms and a reflection of 0.4 after 8 ms.
fn stored(bench: &Bench, name: &str, channels: u16) {
    let mut samples = vec![0.0; 4800];
    for (ms, value) in [(3, 0.8), (8, 0.4)] {
        samples[48 * ms] = value;
    }
    bench.write(name, wave_file::encode(&samples, RATE, channels, Bits::Integer24).unwrap());
}

#[test]
fn a_reflection_outside_the_gate_leaves_the_direct_sound_level() {
    let bench = Bench::new();
    for (name, channels) in [("one.wav", 1), ("two.wav", 2)] {
        stored(&bench, name, channels);
        let run = bench
            .run(&["extract", name, "--as", "impulse", "--gate-ms", "4", "--out", "out"])
            .ends(0);
        assert!(run.out.contains("lowest valid frequency: 250 Hz"), "{}", run.out);
        let table = bench.text("out/extract.csv");
        let rows = table.lines().filter(|l| l.starts_with(|c: char| c.is_ascii_digit()));
        assert_eq!(rows.clone().count(), 480);
        for row in rows {
            let level: f64 = row.split(',').nth(1).unwrap().parse().unwrap();
            // 20 log10 0.8
            assert!((level + 1.9382).abs() < 1e-3, "{row}");
        }
        assert!(bench.text("out/impulse.svg").contains("Window"));
    }
}

#[test]
fn what_cannot_be_a_stored_impulse_response_is_refused() {
    let bench = Bench::new();
    stored(&bench, "one.wav", 1);
    let silent = wave_file::encode(&[0.0; 480], RATE, 1, Bits::Integer24).unwrap();
    bench.write("silent.wav", silent);
    let mut broken = vec![0.1; 480];
    broken[3] = f64::NAN;
    bench.write("nan.wav", wave_file::encode(&broken, RATE, 1, Bits::Float32).unwrap());
    for (arguments, told) in [
        (vec!["silent.wav", "--as", "impulse"], "only silence"),
        (vec!["nan.wav", "--as", "impulse"], "sample 4 is not a finite number"),
        (
            vec!["one.wav", "--as", "impulse", "--mic-mv-per-pa", "12", "--full-scale-v", "2"],
            "--mic-mv-per-pa means nothing with --as impulse",
        ),
        (
            vec!["one.wav", "--as", "impulse", "--gate-ms", "0.5", "--level-at-1khz-db", "90"],
            "the level at 1 kHz scales nothing",
        ),
        (vec!["one.wav", "one.wav", "--as", "impulse"], "takes one file"),
        (vec!["one.wav", "--as", "impulse", "--resistor-ohm", "10"], "means nothing"),
        (vec!["one.wav", "--as", "response"], "--stimulus"),
        (vec!["nowhere.wav", "--as", "impulse"], "nowhere.wav"),
    ] {
        let run = bench.run(&[&["extract"], arguments.as_slice()].concat()).ends(2);
        assert!(run.err.contains(told), "{told}: {}", run.err);
    }
}

#[test]
fn a_correction_that_ends_inside_the_band_is_told() {
    let bench = Bench::new();
    stored(&bench, "one.wav", 1);
    bench.write("whole.csv", "20,0\n20000,1\n");
    bench.write("short.csv", "20,0\n100,1\n");
    let run = |file: &str| {
        let arguments = ["extract", "one.wav", "--as", "impulse", "--mic-correction", file];
        bench.run(&arguments).ends(0).out
    };
    assert!(!run("whole.csv").contains("caution"), "{}", run("whole.csv"));
    assert!(run("short.csv").contains("the microphone's correction covers 20.0 Hz to 100 Hz only"));
}
