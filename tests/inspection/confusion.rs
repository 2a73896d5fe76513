//! The confusion matrix.

use super::other_unit::{Fate, Maker};
use num_complex::Complex64;
use rayon::prelude::*;
use slabtone::analysis::chance::Chance;
use slabtone::analysis::inspection::diagnose::{Diagnosed, Diagnosis, Opinion, Sounded};
use slabtone::analysis::inspection::fault::{Cause, Fault};
use slabtone::analysis::inspection::measuring::Measuring;
use slabtone::analysis::inspection::twin::{Answer, Twin};
use slabtone::analysis::spread::Spread;
use slabtone::grid::Grid;
use slabtone::input::design_file;
use slabtone::input::files::{DEMO, Embedded};
use std::collections::BTreeMap;
use std::fmt::Write;
use std::sync::Arc;

/// From this d' on a fault counts as detectable: among some hundred causes a false alarm of 2 % in
/// all needs 3.7 standard deviations, and to be found nine times in ten another 1.3.
const DETECTABLE: f64 = 5.0;
const CAVITIES: usize = 6;
const GOOD_UNITS: u64 = 1200;
const UNITS_A_KIND: u64 = 60;

struct Outcome {
    fault: Fault,
    d: f64,
    found: Diagnosed,
}

impl Outcome {
    fn place(&self) -> Option<usize> {
        self.found.causes.iter().position(|r| r.cause == self.fault.cause())
    }
}

fn outcomes() -> Vec<Outcome> {
    let design = design_file::load(&Embedded, DEMO.as_ref()).unwrap();
    let spread = Spread::of(&design).unwrap();
    let grid = Grid::audible(120).unwrap();
    let measuring = Measuring::default();
    let twin = Arc::new(Twin::new(&design, &spread, 0, &measuring, &grid).unwrap());
    let diagnosis = Diagnosis::new(&twin, &measuring, true, false).unwrap();
    let maker = Maker::new(&design, &spread.networks[0], &grid, CAVITIES);
    let nominal = Fate { chance: Chance::of(0), size: 0.0, cavity: 0 };
    let good = maker.sweep(&nominal, &Fault::None, 0.0);
    let usual = twin.nominal(&Fault::None).unwrap();
    let one = |(k, (fault, size)): (usize, &(Fault, f64))| {
        let bad = maker.sweep(&nominal, fault, *size);
        // The change alone, on top of what is expected.
        let pairs = usual.ln_z.iter().zip(bad.iter().zip(&good));
        let ln_z: Vec<Complex64> = pairs.map(|(u, (b, g))| u + b - g).collect();
        let d = diagnosis.detectability(&Answer { ln_z, ln_p: usual.ln_p.clone() });
        let fate = Fate { chance: Chance::of(2026).row(k as u64), size: 1.0, cavity: k % CAVITIES };
        let ln_z = maker.sweep(&fate, fault, *size);
        let found = diagnosis.of(&Sounded { ln_z, has_phase: true, ln_p: None }).unwrap();
        Outcome { fault: *fault, d, found }
    };
    cases(&twin.faults).par_iter().enumerate().map(one).collect()
}

/// Good units, and every kind of fault as often as any other.
fn cases(faults: &[Fault]) -> Vec<(Fault, f64)> {
    let chance = Chance::of(31);
    let mut cases = vec![(Fault::None, 0.0); GOOD_UNITS as usize];
    let mut kinds: BTreeMap<&str, Vec<Fault>> = BTreeMap::new();
    for fault in faults.iter().filter(|f| **f != Fault::None) {
        kinds.entry(fault.cause().kind()).or_default().push(*fault);
    }
    for (row, of_kind) in kinds.into_values().enumerate() {
        let own = chance.row(row as u64);
        let draw = |k| {
            let at = (own.uniform(2 * k) * of_kind.len() as f64) as usize;
            (of_kind[at], own.uniform(2 * k + 1))
        };
        cases.extend((0..UNITS_A_KIND).map(draw));
    }
    cases
}

/// The page with its table.
const ABOUT: &str = "# How well faults are named

Units of the reading bench's left side are made by a generator that is not the model that diagnoses
them: suspensions creep by a tenth a decade, winding and series resistances scatter by themselves, an open
part is really gone. Each is swept at 120 frequencies with 1 % noise of magnitude and phase (0.01 rad), a
gain off by 1 % (one standard deviation), 0.05 Ω of leads and ± 5 K. Parts are within 5 %, cavities within 2 %, fills within
15 %, drivers as usual (`ElementSpread::USUAL`).

A fault is *detectable* if, before any diagnosis, its change of the sweep stands out of noise and
scatter by d' = √(δᵀ S⁻¹ δ) ≥ 5, with the change δ of a nominal unit and the covariance S of good ones: among
some hundred causes, false alarms of 2 % in all need 3.7 standard deviations, and a fault found
nine times in ten another 1.3. What is *named* is the part with the kind of its fault; a wrong value counts by
its direction.

`SLABTONE_BLESS=1 cargo test --test inspection` writes this page.

";

/// One row a kind, and the sums: detectable, named first, first or second.
fn told(outcomes: &[Outcome]) -> (String, [usize; 3]) {
    let (mut text, mut all) = (String::new(), [0usize; 3]);
    let line = "| fault | units | undetectable | detectable | named first | first or second | called good |";
    let _ = writeln!(text, "{line}\n| --- | --- | --- | --- | --- | --- | --- |");
    let mut kinds: Vec<&str> = outcomes.iter().map(|o| o.fault.cause().kind()).collect();
    kinds.sort_unstable();
    kinds.dedup();
    for kind in kinds.into_iter().filter(|k| *k != "none") {
        let of_kind: Vec<&Outcome> =
            outcomes.iter().filter(|o| o.fault.cause().kind() == kind).collect();
        let seen: Vec<&&Outcome> = of_kind.iter().filter(|o| o.d >= DETECTABLE).collect();
        let named = |most| seen.iter().filter(|o| o.place().is_some_and(|p| p <= most)).count();
        let missed = seen.iter().filter(|o| o.found.opinion == Opinion::Good).count();
        let hidden = 100 * (of_kind.len() - seen.len()) / of_kind.len();
        let (units, count, first, second) = (of_kind.len(), seen.len(), named(0), named(1));
        let kind = kind.replace('_', " ");
        let _ = writeln!(
            text,
            "| {kind} | {units} | {hidden} % | {count} | {first} | {second} | {missed} |"
        );
        all = [all[0] + count, all[1] + first, all[2] + second];
    }
    (text, all)
}

#[test]
fn faults_that_can_be_detected_are_named_and_good_units_are_left_alone() {
    let outcomes = outcomes();
    assert!(outcomes.len() > 500);
    let (mut text, all) = told(&outcomes);
    let good: Vec<&Outcome> = outcomes.iter().filter(|o| o.fault == Fault::None).collect();
    let alarms = good.iter().filter(|o| o.found.opinion != Opinion::Good).count();
    let misfit = good.iter().map(|o| o.found.misfit).sum::<f64>() / good.len() as f64;
    let (units, [seen, first, second]) = (good.len(), all);
    let _ = writeln!(
        text,
        "\nOf {seen} detectable faults {first} are named first and {second} first or second; {alarms} of {units} good
units raise an alarm. The best explanation misses a good sweep by {misfit:.2} of its noise (chi square a
value). Fill that is missing changes this cavity less than drivers differ, and a reversed driver changes
no impedance at all."
    );
    println!("{text}");
    let missed = |o: &&Outcome| o.d >= DETECTABLE && o.place().is_none_or(|p| p > 1);
    let alarm = |o: &&Outcome| o.fault == Fault::None && o.found.opinion != Opinion::Good;
    for o in outcomes.iter().filter(|o| missed(o) || alarm(o)) {
        let told: Vec<_> = o.found.causes.iter().map(|r| (r.cause, r.probability)).collect();
        println!("{:?} d' {:.1} misfit {:.2}: {told:?}", o.fault, o.d, o.found.misfit);
    }
    assert!(second as f64 >= 0.9 * seen as f64, "{text}");
    assert!(alarms as f64 <= 0.02 * units as f64, "{text}");
    let reversed = outcomes.iter().filter(|o| o.fault.cause() == Cause::Reversed);
    assert!(reversed.clone().count() > 0 && reversed.clone().all(|o| o.d < 1e-6));
    if std::env::var_os("SLABTONE_BLESS").is_some() {
        let page = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/inspection/README.md");
        std::fs::write(page, format!("{ABOUT}{text}")).unwrap();
    }
}

/// The sweeps that the README inspects.
#[test]
fn example_sweeps_can_be_made_again() {
    let design = design_file::load(&Embedded, DEMO.as_ref()).unwrap();
    let spread = Spread::of(&design).unwrap();
    let grid = Grid::audible(120).unwrap();
    let maker = Maker::new(&design, &spread.networks[0], &grid, 2);
    for (row, side) in [(17, "left"), (18, "right")] {
        let fate = Fate { chance: Chance::of(5).row(row), size: 1.0, cavity: 1 };
        let ln_z = maker.sweep(&fate, &Fault::None, 0.0);
        let mut text = String::from(
            "# unit 17 of the reading bench, made up\nfrequency_hz,magnitude_ohm,phase_deg\n",
        );
        for (hz, ln) in grid.frequency_hz().iter().zip(&ln_z) {
            let _ = writeln!(text, "{hz:.3},{:.4},{:.3}", ln.re.exp(), ln.im.to_degrees());
        }
        assert_eq!(text.lines().count(), 122);
        if std::env::var_os("SLABTONE_BLESS").is_some() {
            let file = format!("{}/examples/bench-017-{side}.csv", env!("CARGO_MANIFEST_DIR"));
            std::fs::write(file, text).unwrap();
        }
    }
}
