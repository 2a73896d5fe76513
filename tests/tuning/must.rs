//! What tuning must come to on the reading bench with measured drivers.
//!
//! All deviations are those of `compare`: two octaves around the crossover, no smoothing, against
//! the band's own mean, over all seats and sides. D0 is that of the textbook values, D1 that of the
//! tuned ones.
//!
//! **The error that a crossover can correct** is D0 less E, where E is what is left when the panel
//! is fed through a free equaliser: at each frequency the one gain that leaves the smallest square
//! of level deviations over the seats and sides (their weighted mean level is then flat). A
//! crossover has one transfer function for each way and no more freedom than that, if far less; what
//! differs between the seats it cannot mend. With one seat in the middle of a mirrored panel E is 0,
//! and all of D0 counts.

use crate::bench::{design, effort, measured, outcome, reading_bench};
use crate::support::BENCH;
use slabtone::analysis::compare::Outcome;
use slabtone::analysis::deviation::Deviation;
use slabtone::analysis::explore::merit::Yardstick;
use slabtone::analysis::side::SeatResponse;
use slabtone::analysis::synthesis;
use slabtone::analysis::tune;
use slabtone::design::{Design, Listener, Topology};
use slabtone::model::place::Point;

/// E: rms over the band of what remains of each seat's level when the weighted mean over all seats
/// and sides is taken out at every frequency.
fn beyond_an_equaliser_db(outcome: &Outcome) -> f64 {
    let grid = &outcome.study.grid;
    let at_hz = outcome.study.design.crossover.at_hz;
    let seats: Vec<_> = outcome.study.sides.iter().flat_map(|s| &s.response().seats).collect();
    let total: f64 = seats.iter().map(|s| s.weight).sum();
    let levels: Vec<Vec<f64>> = seats.iter().map(|s| SeatResponse::level_db(&s.sum)).collect();
    let mean =
        |f: usize| levels.iter().zip(&seats).map(|(l, s)| l[f] * s.weight).sum::<f64>() / total;
    let means: Vec<f64> = (0..grid.len()).map(mean).collect();
    let square = |(level, seat): (&Vec<f64>, &&SeatResponse)| {
        let left: Vec<f64> = level.iter().zip(&means).map(|(l, m)| l - m).collect();
        seat.weight * Deviation::around(grid, &left, at_hz).unwrap().rms_db.powi(2)
    };
    (levels.iter().zip(&seats).map(square).sum::<f64>() / total).sqrt()
}

struct Result {
    textbook: Outcome,
    best: Outcome,
    preferred: Outcome,
}

/// The design with textbook values as they are found without a measurement: from the data sheets'
/// parameters alone.
fn textbook(design: &Design) -> Design {
    let mut unmeasured = design.clone();
    for side in &mut unmeasured.sides {
        side.drivers.woofer.driver.measured = Default::default();
        side.drivers.tweeter.driver.measured = Default::default();
    }
    let network = synthesis::network_for(&unmeasured, &unmeasured.sides[0]).unwrap().network;
    let mut listed = design.clone();
    listed.crossover.topology = Topology::Listed(network);
    listed
}

fn tuned(design: &Design) -> Result {
    let found = tune::tune(design, &design.target(), effort(8)).unwrap();
    Result {
        textbook: outcome(&textbook(design)),
        best: outcome(&found.exact),
        preferred: outcome(&found.chosen),
    }
}

fn a_third_of_what_can_be_corrected(result: &Result) {
    let left = beyond_an_equaliser_db(&result.best);
    let (before, after) = (result.textbook.rms_db, result.best.rms_db);
    let can = before - beyond_an_equaliser_db(&result.textbook);
    let told = format!(
        "D0 {before:.2} dB rms ({:.2} peak), D1 {after:.2} ({:.2}), preferred {:.2} ({:.2}), E {left:.2}",
        result.textbook.peak_db,
        result.best.peak_db,
        result.preferred.rms_db,
        result.preferred.peak_db
    );
    assert!(before > 1.0, "the textbook is too good for a test: {told}");
    assert!(after - left <= can / 3.0, "{told}");
}

#[test]
fn one_reader_gets_a_third_of_the_textbooks_deviation_or_less() {
    let result = tuned(&reading_bench());
    assert!(beyond_an_equaliser_db(&result.textbook) < 1e-6, "one seat, mirrored sides");
    a_third_of_what_can_be_corrected(&result);
    assert!(result.best.rms_db <= result.textbook.rms_db / 3.0);
    let worse = result.preferred.rms_db - result.best.rms_db;
    assert!(worse <= 0.1, "single E24 parts cost {worse:.3} dB rms");
}

#[test]
fn two_readers_get_a_third_of_what_a_crossover_can_correct_or_less() {
    let mut design = reading_bench();
    let place = Point::new(0.25, 0.25, 0.75);
    design.listeners.push(Listener {
        name: "a second reader".into(),
        place,
        weight: 0.5,
        spread_m: 0.0,
    });
    let result = tuned(&design);
    a_third_of_what_can_be_corrected(&result);
    let worse = result.preferred.rms_db - result.best.rms_db;
    assert!(worse <= 0.1, "single E24 parts cost {worse:.3} dB rms");
}

#[test]
fn pairs_of_parts_reach_the_continuous_peak() {
    let bench = measured();
    bench.change(BENCH, "series = \"E24\"", "series = \"E24\"\npairs_above_percent = 0");
    let result = tuned(&design(&bench, BENCH));
    let worse = result.preferred.peak_db - result.best.peak_db;
    assert!(worse <= 0.1, "pairs cost {worse:.3} dB at the peak");
}

/// A pair has the losses of two parts; what is told of it is told of the network that is written.
#[test]
fn a_pair_is_judged_as_it_is_bought() {
    let bench = measured();
    let coarse = "series = \"E6\"\npairs_above_percent = 0";
    bench.change(BENCH, "series = \"E24\"", coarse);
    let text = bench.text(BENCH).replace("inductor_series = \"E12\"\n", "");
    bench.write(BENCH, format!("{text}\n[target]\nloss_percent = 90\n"));
    let plain = design(&bench, BENCH);
    let target = plain.target();
    let tuned = tune::tune(&plain, &target, effort(1)).unwrap();
    let Topology::Listed(network) = &tuned.chosen.crossover.topology else { panic!() };
    assert!(network.parts.iter().any(|p| p.reference.ends_with('b')), "no pair at all");
    let outcome = outcome(&tuned.chosen);
    let told = tuned.target_rms_db[2];
    let yardstick = Yardstick::of(&plain, std::slice::from_ref(&outcome)).unwrap();
    let measured = yardstick.measure(outcome, tuned.chosen.clone()).merit.rms_db;
    assert!((told - measured).abs() < 0.005, "{told} told, {measured} measured");
}

/// The series of the bench's coils is E12, which is coarser than what was promised for.
#[test]
fn single_parts_all_of_e24_cost_a_tenth_of_a_decibel_at_most() {
    let bench = measured();
    bench.change(BENCH, "inductor_series = \"E12\"\n", "");
    let result = tuned(&design(&bench, BENCH));
    let worse = result.preferred.rms_db - result.best.rms_db;
    assert!(worse <= 0.1, "single E24 parts cost {worse:.3} dB rms");
}

#[test]
fn one_thread_or_three_give_the_same_digits() {
    let bench = measured();
    let run = |threads: &str| {
        let arguments = ["tune", BENCH, "--starts", "2", "--seed", "7", "--json"];
        bench.run_with(&arguments, &[("RAYON_NUM_THREADS", threads)]).ends(0).out
    };
    let alone = run("1");
    assert_eq!(alone, run("3"));
    assert_eq!(alone, run("3"));
}
