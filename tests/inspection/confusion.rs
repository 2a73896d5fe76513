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
const CAVITIES: usize = 12;
const GOOD_UNITS: u64 = 300;
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

#[test]
fn faults_that_can_be_detected_are_named_and_good_units_are_left_alone() {
    let outcomes = outcomes();
    assert!(outcomes.len() > 500);
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
        let _ = writeln!(
            text,
            "| {kind} | {} | {hidden} % | {} | {} | {} | {missed} |",
            of_kind.len(),
            seen.len(),
            named(0),
            named(1),
        );
        all = [all[0] + seen.len(), all[1] + named(0), all[2] + named(1)];
    }
    let good: Vec<&Outcome> = outcomes.iter().filter(|o| o.fault == Fault::None).collect();
    let alarms = good.iter().filter(|o| o.found.opinion != Opinion::Good).count();
    let mean = good.iter().map(|o| o.found.misfit).sum::<f64>() / good.len() as f64;
    let _ = writeln!(
        text,
        "\nOf {} detectable faults {} are named first and {} first or second; {alarms} of {} good units raise an alarm (mean misfit {mean:.2}).",
        all[0],
        all[1],
        all[2],
        good.len()
    );
    println!("{text}");
    for o in outcomes.iter().filter(|o| o.d >= DETECTABLE && o.place().is_none_or(|p| p > 1)) {
        let told: Vec<_> = o.found.causes.iter().map(|r| (r.cause, r.probability)).collect();
        println!("{:?} d' {:.1} misfit {:.2}: {told:?}", o.fault, o.d, o.found.misfit);
    }
    for o in good.iter().filter(|o| o.found.opinion != Opinion::Good) {
        let told: Vec<_> = o.found.causes.iter().map(|r| (r.cause, r.probability)).collect();
        println!("alarm, misfit {:.2}: {told:?}", o.found.misfit);
    }
    assert!(all[2] as f64 >= 0.9 * all[0] as f64, "{text}");
    assert!(alarms as f64 <= 0.02 * good.len() as f64, "{text}");
    let reversed = outcomes.iter().filter(|o| o.fault.cause() == Cause::Reversed);
    assert!(reversed.clone().count() > 0 && reversed.clone().all(|o| o.d < 1e-6));
}
