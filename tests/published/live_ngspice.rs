//! ngspice itself against the nodal solver, on every netlist (`--ignored`).
//!
//! Needs the program `ngspice` on the search path and fails without it: whoever asks for
//! these tests wants the comparison made. The netlists are the stored ones with a control block that
//! sweeps 59 points a decade from 20 Hz to 20 kHz and writes 15 digits.

use crate::netlists::{CASES, Case, Point, compare_as_parts};
use crate::powers;
use crate::spice::element_lines;
use crate::two_cones;
use std::fs;
use std::process::{Command, Stdio};

/// Points of the sweep: 59 a decade over three decades, both ends included.
const POINTS: usize = 3 * 59 + 1;

/// Allowed complex error as a share of the value: rounding in either program.
const RELATIVE: f64 = 1e-12;

#[test]
#[ignore = "runs ngspice: --ignored"]
fn ngspice_run_now_agrees_with_the_solver() {
    for case in &CASES {
        let points = run(case);
        assert_eq!(points.len(), POINTS, "{}: points of the sweep", case.name);
        compare_as_parts(case, &points, RELATIVE);
    }
}

#[test]
#[ignore = "runs ngspice: --ignored"]
fn powers_of_an_ngspice_run_now_are_the_solvers() {
    let text = written(powers::NETLIST, "n4_powers.txt");
    let number = |word: &str| word.parse::<f64>().expect("a number");
    let lines = text.lines().map(|line| line.split_whitespace().map(number).collect());
    let lines: Vec<powers::Line> = lines.collect();
    assert_eq!(lines.len(), 61, "points of the sweep");
    powers::compare(&lines);
}

#[test]
#[ignore = "runs ngspice: --ignored"]
fn two_cones_of_an_ngspice_run_now_move_as_the_drivers_say() {
    for (polarity, netlist, _) in two_cones::NETLISTS {
        let text = written(netlist, "two_cones.txt");
        let number = |word: &str| word.parse::<f64>().expect("a number");
        let lines: Vec<Vec<f64>> =
            text.lines().map(|line| line.split_whitespace().map(number).collect()).collect();
        two_cones::compare(polarity, &lines);
    }
}

/// Runs ngspice on the case's netlist.
fn run(case: &Case) -> Vec<Point> {
    let text = written(&deck(case), "out.txt");
    let number = |word: &str| word.parse::<f64>().expect("a number");
    let point =
        |line: &str| Point::from_numbers(&line.split_whitespace().map(number).collect::<Vec<_>>());
    text.lines().map(point).collect()
}

/// What ngspice writes to `name` when it runs `deck` in a directory of its own.
fn written(deck: &str, name: &str) -> String {
    let dir = tempfile::tempdir().expect("a temporary directory");
    fs::write(dir.path().join("deck.cir"), deck).expect("the netlist can be written");
    let output = Command::new("ngspice")
        .args(["-b", "deck.cir"])
        .current_dir(dir.path())
        .stdin(Stdio::null())
        .output()
        .unwrap_or_else(|e| {
            panic!("cannot run `ngspice` ({e}): install it or leave out --ignored")
        });
    let words = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "ngspice: {}: {words}", output.status);
    let path = dir.path().join(name);
    fs::read_to_string(&path)
        .unwrap_or_else(|e| panic!("ngspice wrote no {}: {e}: {words}", path.display()))
}

fn deck(case: &Case) -> String {
    let elements = element_lines(case.netlist).collect::<Vec<_>>().join("\n");
    let voltage = |ends: [&str; 2]| match ends {
        [node, "0"] => format!("v({node})"),
        ["0", node] => format!("0-v({node})"),
        [a, b] => format!("v({a})-v({b})"),
    };
    let (woofer, tweeter) = (voltage(case.woofer), voltage(case.tweeter));
    format!(
        "* {}\n{elements}\n.control\nset numdgt=15\nset wr_singlescale\n\
         ac dec 59 20 20000.001\nlet vwoofer = {woofer}\nlet vtweeter = {tweeter}\n\
         let iin = 0-i(v1)\nwrdata out.txt vwoofer vtweeter iin\nquit\n.endc\n.end\n",
        case.name
    )
}
