//! Recordings that cannot carry a curve, and arguments that do not go together.

use crate::extract::IMPEDANCE;
use crate::studio::{self, Noise};
use crate::support::{Bench, Run};

/// The stimulus, and one recording with a sound loopback beside `signal`.
fn bench_with(signal: impl Fn(&[f64]) -> Vec<f64>) -> Bench {
    let bench = Bench::empty();
    studio::stimulus(&bench);
    let x = studio::played(0.6, 0.0);
    studio::record(&bench, "take.wav", &[&x, &signal(&x)]);
    bench
}

fn halved(x: &[f64]) -> Vec<f64> {
    x.iter().map(|v| 0.5 * v).collect()
}

fn extract(bench: &Bench, more: &[&str]) -> Run {
    bench.run(&[&IMPEDANCE[..], more].concat())
}

#[test]
fn a_clipped_take_is_refused_with_its_place() {
    let bench = bench_with(|x| x.iter().map(|v| 4.4 * v).collect());
    extract(&bench, &["--out", "out"]).refused(&[
        "error: `take.wav`: channel 2 is clipped: ",
        "times at full scale, first at 0.6",
        "help: turn the input or the level down by 6 dB",
    ]);
    assert!(!bench.at("out").exists());
}

#[test]
fn silence_and_noise_are_refused() {
    let dead = bench_with(|x| vec![0.0; x.len()]);
    extract(&dead, &[]).refused(&["channel 2 is silent", "check the cable"]);
    let noise = bench_with(|x| {
        let mut y = vec![0.0; x.len()];
        Noise::new(5).add(&mut y, -50.0);
        y
    });
    extract(&noise, &[]).refused(&["channel 2 is silent"]);
    extract(&noise, &["--reference", "2", "--signal", "1"])
        .refused(&["channel 2 does not hold the sweep", "swap with --reference"]);
}

#[test]
fn a_take_that_is_too_short_late_or_of_another_rate_is_refused() {
    let bench = bench_with(halved);
    let x = studio::played(0.6, 0.0);
    let rate = studio::RATE_HZ as usize;
    let part = |from: usize, to: usize| studio::record(&bench, "take.wav", &[&x[from..to]; 2]);
    part(rate, 3 * rate);
    extract(&bench, &[]).refused(&["the recording lasts 2.000 s, the sweep alone 3.000 s"]);
    part(rate, x.len());
    extract(&bench, &[]).refused(&["the sweep begins at -0.4", "start recording before"]);
    part(0, 330 * rate / 100);
    extract(&bench, &[]).refused(&["and ends at 3.6"]);
    bench.change("sweep.toml", "rate_hz = 48000", "rate_hz = 44100");
    extract(&bench, &[]).refused(&["48000 samples a second and the sweep 44100"]);
}

#[test]
fn one_channel_is_not_enough_and_one_cannot_be_both() {
    let bench = bench_with(halved);
    studio::record(&bench, "take.wav", &[&studio::played(0.6, 0.0)]);
    extract(&bench, &[]).refused(&["channel 2 is asked for and the recording has 1"]);
    extract(&bench, &["--signal", "1"]).refused(&["cannot be reference and signal at once"]);
}

#[test]
fn numbers_that_are_none_are_refused() {
    let bench = bench_with(halved);
    let spec = hound::WavSpec {
        channels: 2,
        sample_rate: studio::RATE_HZ,
        bits_per_sample: 32,
        sample_format: hound::SampleFormat::Float,
    };
    let mut writer = hound::WavWriter::create(bench.at("take.wav"), spec).unwrap();
    for (k, v) in studio::played(0.6, 0.0).iter().enumerate() {
        writer.write_sample(*v as f32).unwrap();
        writer.write_sample(if k == 999 { f32::NAN } else { *v as f32 }).unwrap();
    }
    writer.finalize().unwrap();
    extract(&bench, &[]).refused(&["sample 1000 of channel 2 is not a finite number"]);
}

#[test]
fn what_is_no_wav_is_refused_and_every_bad_file_is_told() {
    let bench = bench_with(halved);
    bench.write("text.wav", "frequency,level\n20,80\n");
    extract(&bench, &["text.wav", "gone.wav"])
        .refused(&["`text.wav` is no sound WAV file", "there is no file `gone.wav`"]);
    bench.write("sweep.toml", "slabtone = 1\nkind = \"driver\"\n");
    extract(&bench, &[]).refused(&["stimulus"]);
}

#[test]
fn another_sweep_than_the_one_played_is_told() {
    let bench = bench_with(halved);
    bench.change("sweep.toml", "seconds = 3", "seconds = 2.5");
    extract(&bench, &[]).refused(&["channel 1 does not hold the sweep"]);
}

#[test]
fn channels_the_wrong_way_round_and_takes_that_contradict_are_told() {
    let bench = bench_with(halved);
    extract(&bench, &["--reference", "2", "--signal", "1"])
        .refused(&["more voltage behind the resistor than before it", "swap the channels"]);
    // Both channels alike and no take for correction: nothing hangs behind the resistor.
    let alike = bench_with(<[f64]>::to_vec);
    extract(&alike, &[])
        .refused(&["the two channels make no impedance at 20 Hz", "connect the driver"]);
    extract(&bench, &["--open", "take.wav"]).refused(&["contradict the recording at 20 Hz"]);
}

#[test]
fn options_of_the_other_kind_and_impossible_numbers_are_refused() {
    let bench = bench_with(halved);
    extract(&bench, &["--gate-ms", "4"]).refused(&["--gate-ms means nothing with --as impedance"]);
    let response = ["extract", "take.wav", "--stimulus", "sweep.toml", "--as", "response"];
    let run = |more: &[&str]| bench.run(&[&response[..], more].concat());
    run(&["--resistor-ohm", "10"]).refused(&["--resistor-ohm means nothing with --as response"]);
    run(&["--gate-ms", "nan"]).refused(&["--gate-ms: found NaN, expected a number from 0.5"]);
    run(&["--known", "a.wav"]).refused(&["--known-ohm"]);
    run(&["--mic-mv-per-pa", "10"]).refused(&["--full-scale-v"]);
    bench
        .run(&["extract", "take.wav", "--stimulus", "sweep.toml", "--as", "impedance"])
        .refused(&["needs --resistor-ohm"]);
}

#[test]
fn a_sweep_little_above_the_noise_is_told_and_used() {
    let bench = bench_with(|x| {
        let mut y = halved(x);
        Noise::new(9).add(&mut y, -45.0);
        y
    });
    let run = extract(&bench, &[]).ends(0);
    assert!(run.out.contains("dB over the noise; a longer sweep"), "{}", run.out);
}
