//! `slabtone offset`: what three sweeps settle, and what they do not.

use crate::support::Bench;
use std::f64::consts::TAU;
use std::fmt::Write;

type Complex = (f64, f64);

fn times(a: Complex, b: Complex) -> Complex {
    (a.0 * b.0 - a.1 * b.1, a.0 * b.1 + a.1 * b.0)
}

fn turned(phase: f64) -> Complex {
    (phase.cos(), phase.sin())
}

/// Ways that are neither in phase nor against it, as real drivers are: first and second order with
/// different corners.
fn way(hz: f64, high: bool) -> Complex {
    let low = 1.0 / (1.0 + (hz / 1800.0).powi(2)).sqrt();
    let top = (hz / 3000.0).powi(2) / (1.0 + (hz / 3000.0).powi(4)).sqrt();
    match high {
        false => times((low, 0.0), turned(-(hz / 1800.0).atan())),
        true => times((top, 0.0), turned(2.0 - (hz / 3000.0).atan())),
    }
}

fn columns(value: impl Fn(f64) -> Complex, phase: bool) -> String {
    let mut text = String::new();
    for k in 0..300 {
        let hz = 200.0 * 100f64.powf(f64::from(k) / 299.0);
        let (re, im) = value(hz);
        let db = 90.0 + 20.0 * re.hypot(im).log10();
        let degrees = im.atan2(re).to_degrees();
        match phase {
            true => writeln!(text, "{hz:.4},{db:.5},{degrees:.4}").unwrap(),
            false => writeln!(text, "{hz:.4},{db:.5}").unwrap(),
        }
    }
    text
}

fn bench(delay_s: f64, gain: f64) -> Bench {
    let bench = Bench::empty();
    bench.write("w.csv", columns(|hz| way(hz, false), true));
    bench.write("t.csv", columns(|hz| way(hz, true), true));
    let both = |hz: f64| {
        let (w, t) = (way(hz, false), times(way(hz, true), turned(-TAU * hz * delay_s)));
        (gain * (w.0 + t.0), gain * (w.1 + t.1))
    };
    bench.write("b.csv", columns(both, false));
    bench
}

#[test]
fn a_delay_that_the_sweeps_settle_is_told_without_doubt() {
    let run = bench(60e-6, 1.0).run(&["offset", "w.csv", "t.csv", "b.csv", "--json"]).ends(0);
    let document = run.json();
    assert!((document["delay_s"].as_f64().unwrap() - 60e-6).abs() < 2e-7, "{}", run.out);
    assert_eq!(document["doubts"].as_array().unwrap().len(), 0, "{}", run.out);
}

#[test]
fn sweeps_that_settle_nothing_are_doubted_with_exit_code_1() {
    let louder = bench(60e-6, 1.5);
    louder
        .run(&["offset", "w.csv", "t.csv", "b.csv"])
        .unfit(&["+3.5 dB off the sum of the others"]);
    // One file three times.
    louder.run(&["offset", "w.csv", "w.csv", "w.csv"]).unfit(&["-6.0 dB off the sum"]);
    louder.run(&["offset", "w.csv", "t.csv", "t.csv"]).unfit(&["caution: the sum misses"]);
}

#[test]
fn what_a_sweep_lacks_is_told_by_its_name() {
    let bench = bench(60e-6, 1.0);
    bench.write("mute.csv", columns(|hz| way(hz, false), false));
    bench.write("low.csv", "20,80\n50,80\n100,80\n");
    bench.run(&["offset", "mute.csv", "t.csv", "b.csv"]).refused(&["`mute.csv`", "woofer's sweep"]);
    bench
        .run(&["offset", "w.csv", "mute.csv", "b.csv"])
        .refused(&["`mute.csv`", "tweeter's sweep"]);
    let apart = ["share no band", "both together 20.0 Hz to 100 Hz"];
    bench.run(&["offset", "w.csv", "t.csv", "low.csv"]).refused(&apart);
}
