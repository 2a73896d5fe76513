//! The sweep that is written to be played.

use crate::support::Bench;

#[test]
fn a_sweep_is_written_with_its_description_and_its_cautions() {
    let bench = Bench::empty();
    let run = bench.run(&["stimulus", "--out", "new/sweep.wav", "--seconds", "1"]).ends(0);
    for told in ["new/sweep.wav", "new/sweep.toml", "hearing", "tweeters", "capacitor", "-12 dB"] {
        assert!(run.out.contains(told), "no `{told}` in\n{}", run.out);
    }
    let reader = hound::WavReader::open(bench.at("new/sweep.wav")).unwrap();
    let spec = reader.spec();
    assert_eq!((spec.channels, spec.sample_rate, spec.bits_per_sample), (2, 48_000, 24));
    let samples: Vec<i32> = reader.into_samples().map(Result::unwrap).collect();
    let frames = samples.len() / 2;
    assert!((3 * 48_000..3 * 48_000 + 3).contains(&frames), "{frames}");
    assert!(samples[..2 * 48_000].iter().all(|s| *s == 0), "silence first");
    let peak = samples.iter().map(|s| s.abs()).max().unwrap();
    let level_db = 20.0 * (f64::from(peak) / 8_388_608.0).log10();
    assert!((level_db + 12.0).abs() < 0.02, "{level_db}");
    assert!(bench.text("new/sweep.toml").contains("kind = \"stimulus\""));
}

#[test]
fn a_sweep_for_a_tweeter_needs_no_caution_of_it() {
    let bench = Bench::empty();
    let arguments =
        ["stimulus", "--out", "s.wav", "--from", "1000", "--seconds", "0.5", "--bits", "32"];
    let run = bench.run(&[&arguments[..], &["--channels", "1", "--json"]].concat()).ends(0);
    let cautions = run.json()["cautions"].to_string();
    assert!(cautions.contains("hearing") && !cautions.contains("tweeters"), "{cautions}");
    let spec = hound::WavReader::open(bench.at("s.wav")).unwrap().spec();
    assert_eq!((spec.channels, spec.sample_format), (1, hound::SampleFormat::Float));
}

#[test]
fn sweeps_that_cannot_be_are_refused_and_leave_nothing() {
    let bench = Bench::empty();
    for (more, told) in [
        (["--from", "0"], "--from: found 0, expected a number from 1"),
        (["--to", "nan"], "--to: found NaN"),
        (["--to", "50"], "two octaves"),
        (["--rate", "32000"], "holds frequencies up to 15360 Hz"),
        (["--rate", "1"], "--rate: found 1, expected 8000 to 384000 Hz"),
        (["--level-db", "1"], "--level-db: found 1"),
        (["--fade-in-ms", "4000"], "more than half of the sweep"),
        (["--bits", "25"], "--bits: found 25"),
        (["--seconds", "-1"], "--seconds: found -1"),
    ] {
        bench.run(&[&["stimulus", "--out", "s.wav"][..], &more].concat()).refused(&[told]);
    }
    for out in ["sweep.toml", "sweep", "a/.."] {
        bench.run(&["stimulus", "--out", out]).refused(&["ends in .wav"]);
    }
    assert!(bench.listing("").is_empty());
}
