//! Crossover prototypes, synthesised ladders and how their halves sum.
//!
//! Sources (named in full in each row of `data/crossover.toml`): Butterworth (1930) for the
//! responses, Linkwitz (1976) for the squared ones (both from memory), Cauer's continued fraction
//! for the singly terminated ladders, printed constants of a loudspeaker handbook as two web pages
//! give them. The nodal solver is checked on the same ladders: a synthesised section must have the
//! response of its prototype.

use crate::rows::{Row, rows};
use num_complex::Complex64;
use slabtone::circuit::ladder::{self, Element, LadderError, Meeting, Pass, Place, Polarity};
use slabtone::circuit::load::Load;
use slabtone::circuit::network::{Component, Network, Node};
use slabtone::circuit::prototype;
use slabtone::circuit::slope::{Family, Slope, SlopeError};
use slabtone::circuit::solve::solve;
use slabtone::grid::{Grid, Impedance, Spectrum, Transfer, level_db};
use std::f64::consts::TAU;
use std::sync::Arc;

const ROWS: &str = include_str!("data/crossover.toml");

#[test]
fn prototypes_have_their_polynomials_elements_levels_and_phases() {
    for row in rows(ROWS, "prototype", 6) {
        let row = row.expecting(&[
            "denominator_desc",
            "real_poles",
            "quadratic_q",
            "g_lowpass_from_source",
            "g_highpass_from_source",
            "part_kind_lowpass",
            "part_kind_highpass",
            "level_at_fc_db",
            "level_one_octave_into_stopband_db",
            "level_one_octave_into_passband_db",
            "phase_lowpass_at_fc_deg",
            "phase_highpass_at_fc_deg",
        ]);
        let slope = slope_of(&row.id);
        assert_eq!(slope.order() as f64, row.number("order"));
        let mut denominator = prototype::denominator(slope);
        denominator.reverse();
        row.check_all("denominator_desc", &denominator);
        row.check_all("denominator_desc", &product_of_sections(&row));
        let g = prototype::ladder(slope);
        row.check_all("g_lowpass_from_source", &g);
        row.check_all("g_highpass_from_source", &g.iter().map(|g| 1.0 / g).collect::<Vec<_>>());
        check_kinds(&row, "part_kind_lowpass", slope, Pass::Low);
        check_kinds(&row, "part_kind_highpass", slope, Pass::High);
        check_prototype_response(&row, slope);
        row.done();
    }
}

/// The polynomial from the row's own real poles and quadratic factors s² + s/Q + 1, descending.
fn product_of_sections(row: &Row) -> Vec<f64> {
    let real = row.expected("real_poles").as_integer().expect("a count");
    let quadratic =
        row.expected_numbers("quadratic_q").into_iter().map(|q| vec![1.0, 1.0 / q, 1.0]);
    let factors = quadratic.chain((0..real).map(|_| vec![1.0, 1.0]));
    factors.fold(vec![1.0], |product, factor| {
        let mut next = vec![0.0; product.len() + factor.len() - 1];
        for (i, a) in product.iter().enumerate() {
            factor.iter().enumerate().for_each(|(j, b)| next[i + j] += a * b);
        }
        next
    })
}

fn check_kinds(row: &Row, key: &str, slope: Slope, pass: Pass) {
    let section = ladder::section(slope, pass, 1000.0, 8.0).expect("a section");
    let got: Vec<String> = section.iter().map(|e| e.component.letter().to_string()).collect();
    let want = row.expected(key).as_array().expect("a list of letters");
    let want: Vec<&str> = want.iter().filter_map(|v| v.as_str()).collect();
    assert_eq!(got, want, "{} {key}", row.id);
}

fn check_prototype_response(row: &Row, slope: Slope) {
    let db = |v: Complex64| level_db(v.norm(), 1.0);
    let at = |x: f64| prototype::responses(slope, x);
    let (low, high) = at(1.0);
    row.check("level_at_fc_db", db(low));
    row.check("level_at_fc_db", db(high));
    row.check("level_one_octave_into_stopband_db", db(at(2.0).0));
    row.check("level_one_octave_into_stopband_db", db(at(0.5).1));
    row.check("level_one_octave_into_passband_db", db(at(0.5).0));
    row.check("level_one_octave_into_passband_db", db(at(2.0).1));
    row.check("phase_lowpass_at_fc_deg", low.arg().to_degrees());
    row.check("phase_highpass_at_fc_deg", high.arg().to_degrees());
}

#[test]
fn every_ladder_has_its_parts_and_the_solver_finds_its_level_at_fc() {
    for row in rows(ROWS, "ladder", 36) {
        let (fc_hz, load_ohm) = (row.number("fc_hz"), row.number("load_ohm"));
        let section = section_of(&row, fc_hz, load_ohm);
        assert_eq!(section.len() as f64, row.number("order"), "{}: number of parts", row.id);
        for (k, element) in section.iter().enumerate() {
            let place = if element.place == Place::Series { "series" } else { "shunt" };
            let unit = match element.component {
                Component::Inductor { .. } => "l_h",
                Component::Capacitor { .. } => "c_f",
                Component::Resistor { .. } => "r_ohm",
            };
            let key = format!("part{}_{place}_{unit}", k + 1);
            row.check(&key, element.component.value());
        }
        let grid = Grid::from_points(vec![fc_hz]).expect("one point");
        let mut network = Network::new("in", "out");
        let port = attach(&mut network, &section, "driver");
        let load = resistors(&grid, &[load_ohm]);
        let solved = solve(&network, &grid, &load).expect("a ladder has a solution");
        row.check("level_at_fc_db", solved.between(port).level_db(1.0)[0]);
        row.done();
    }
}

/// The constants k of L = k R/f and C = k/(R f). The printed ones have four digits, the last of
/// which some pages get wrong (0.2437 for 0.24362): the row says how far they may be off.
#[test]
fn handbook_constants_come_out_of_the_synthesis() {
    for row in rows(ROWS, "handbook_constant", 32) {
        for (fc_hz, load_ohm) in [(1.0, 1.0), (2500.0, 6.2)] {
            let part = row.number("part") as usize - 1;
            let k = match section_of(&row, fc_hz, load_ohm)[part].component {
                Component::Inductor { henry, .. } => henry * fc_hz / load_ohm,
                Component::Capacitor { farad, .. } => farad * fc_hz * load_ohm,
                Component::Resistor { .. } => panic!("{}: a crossover has no resistors", row.id),
            };
            row.check("k_exact", k);
            let printed = row.number("printed_k");
            let off = (k / printed - 1.0).abs();
            assert!(off <= row.number("tolerance_rel_printed"), "{}: {k}, {printed}", row.id);
        }
        row.done();
    }
}

#[test]
fn the_two_halves_meet_as_theory_says() {
    for row in rows(ROWS, "sum", 6) {
        let row = row.expecting(&["flat_sum_normal", "flat_sum_inverted", "polarity_for_flat_sum"]);
        let slope = slope_of(row.text("alignment"));
        let (low, high) = prototype::responses(slope, 1.0);
        let meeting = Meeting::of(slope);
        row.check("level_lowpass_at_fc_db", level_db(low.norm(), 1.0));
        row.check("level_highpass_at_fc_db", level_db(high.norm(), 1.0));
        row.check("level_lowpass_at_fc_db", meeting.each_db);
        row.check("phase_difference_hp_minus_lp_deg", (high / low).arg().to_degrees());
        row.check("sum_normal_at_fc_db", meeting.normal_db);
        row.check("sum_inverted_at_fc_db", meeting.inverted_db);
        let power = low.norm_sqr() + high.norm_sqr();
        row.check("electrical_power_sum_at_fc_db", 10.0 * power.log10());
        check_band(&row, slope, meeting);
        row.done();
    }
}

/// The band is four decades, fc/100 to 100 fc, with fc on the grid.
fn check_band(row: &Row, slope: Slope, meeting: Meeting) {
    let x = Grid::log(0.01, 100.0, 4001).expect("a band");
    let sum = |sign: f64| -> (f64, f64) {
        let levels = x.frequency_hz().iter().map(|&x| {
            let (low, high) = prototype::responses(slope, x);
            level_db((low + sign * high).norm(), 1.0)
        });
        levels.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)))
    };
    let (normal, inverted) = (sum(1.0), sum(-1.0));
    row.check("max_sum_normal_over_band_db", normal.1);
    row.check("max_sum_inverted_over_band_db", inverted.1);
    let flat = |(least, most): (f64, f64)| most - least < 1e-6;
    for (key, got) in [("flat_sum_normal", flat(normal)), ("flat_sum_inverted", flat(inverted))] {
        assert_eq!(row.expected(key).as_bool(), Some(got), "{} {key}", row.id);
    }
    let (word, usual) = match (flat(normal), flat(inverted)) {
        (true, true) => ("either", Polarity::Normal),
        (true, false) => ("normal", Polarity::Normal),
        (false, true) => ("inverted", Polarity::Inverted),
        (false, false) => ("none flat", meeting.polarity()),
    };
    assert_eq!(row.expected("polarity_for_flat_sum").as_str(), Some(word), "{}", row.id);
    assert_eq!(meeting.polarity(), usual, "{}", row.id);
}

/// Central difference of the phase over x ± 10⁻⁵ (x = f/fc): truncation about 10⁻¹⁰, rounding
/// about 10⁻¹¹ of the delay. The responses are analytic, so x − h may be negative at x = 0.
/// Above 0 Hz the crate's own `group_delay_s` must find the same on the three points.
#[test]
fn group_delays_of_flat_sums_have_their_closed_forms() {
    const STEP: f64 = 1e-5;
    for row in rows(ROWS, "group_delay", 24) {
        let slope = slope_of(row.text("alignment"));
        let sign = if row.text("polarity") == "normal" { 1.0 } else { -1.0 };
        let (fc_hz, f_hz) = (row.number("fc_hz"), row.number("f_hz"));
        let sum = |x: f64| {
            let (low, high) = prototype::responses(slope, x);
            low + sign * high
        };
        let x = f_hz / fc_hz;
        let turn = (sum(x + STEP) * sum(x - STEP).conj()).arg();
        row.check("group_delay_s", -turn / (2.0 * STEP * TAU * fc_hz));
        if x > 0.0 {
            let points = [x - STEP, x, x + STEP].map(|x| x * fc_hz).to_vec();
            let grid = Grid::from_points(points).expect("three points");
            let transfer: Transfer = Spectrum::from_fn(&grid, |w| sum(w / (TAU * fc_hz)));
            row.check("group_delay_s", transfer.group_delay_s()[1]);
        }
        row.done();
    }
}

#[test]
fn the_amplifier_sees_the_published_impedance() {
    for row in rows(ROWS, "input_impedance", 9) {
        let slope = slope_of(row.text("alignment"));
        let grid = Grid::from_points(row.numbers("f_hz")).expect("rising frequencies");
        let ohm = [row.number("woofer_ohm"), row.number("tweeter_ohm")];
        let (_, impedance) = two_way(slope, row.number("fc_hz"), ohm, &grid);
        row.check_all("mag_ohm", &impedance.magnitude());
        row.check_all("phase_deg", &impedance.phase_deg());
        row.done();
    }
}

#[test]
fn what_cannot_be_built_is_refused_for_the_right_reason() {
    for row in rows(ROWS, "error_case", 9) {
        let (fc_hz, load_ohm) = (row.number("fc_hz"), row.number("load_ohm"));
        let family = match row.text("family") {
            "butterworth" => Family::Butterworth,
            _ => Family::LinkwitzRiley,
        };
        let reason = row.text("reason");
        match Slope::new(family, row.number("order") as u32) {
            Err(SlopeError::OddLinkwitzRiley { .. }) => {
                assert!(reason.starts_with("odd"), "{reason}")
            }
            Err(SlopeError::Order { .. }) => assert!(reason.starts_with("order"), "{reason}"),
            Err(other) => panic!("{}: {other}", row.id),
            Ok(slope) => {
                for pass in [Pass::Low, Pass::High] {
                    match ladder::section(slope, pass, fc_hz, load_ohm) {
                        Err(LadderError::Frequency(_)) => {
                            assert!(reason.starts_with("frequency"), "{reason}");
                        }
                        Err(LadderError::Load(_)) => {
                            assert!(reason.starts_with("load"), "{reason}")
                        }
                        Ok(_) => panic!("{}: not refused: {reason}", row.id),
                    }
                }
            }
        }
    }
}

/// Coincident ideal drivers at the ends of synthesised networks into resistors, by the solver.
#[test]
fn solved_networks_sum_flat_where_theory_says_so() {
    const FLAT_DB: f64 = 0.001;
    let (fc_hz, ohm) = (2500.0, [6.2, 5.4]);
    let grid = with_point(&Grid::audible(601).expect("a band"), fc_hz);
    let at_fc = grid.frequency_hz().partition_point(|&f| f < fc_hz);
    let flat = ["bw1 +", "bw1 -", "bw3 +", "bw3 -", "lr2 -", "lr4 +"];
    let hump = ["bw2 -", "bw4 +"];
    for case in flat.iter().chain(&hump) {
        let (name, sign) = case.split_at(4);
        let sign = if sign == "+" { 1.0 } else { -1.0 };
        let ([low, high], _) = two_way(slope_of(name), fc_hz, ohm, &grid);
        let sum = low.values().iter().zip(high.values()).map(|(a, b)| a + sign * b);
        let levels: Vec<f64> = sum.map(|v| level_db(v.norm(), 1.0)).collect();
        if flat.contains(case) {
            let worst = levels.iter().fold(0.0, |w: f64, l| w.max(l.abs()));
            assert!(worst <= FLAT_DB, "{case}: {worst} dB from flat");
        } else {
            let highest = levels.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            assert!((levels[at_fc] - 3.0103).abs() <= FLAT_DB, "{case}: {} dB", levels[at_fc]);
            assert_eq!(highest, levels[at_fc], "{case}: the hump is highest at fc");
        }
    }
}

fn with_point(grid: &Arc<Grid>, extra_hz: f64) -> Arc<Grid> {
    let mut points = grid.frequency_hz().to_vec();
    points.retain(|f| (f / extra_hz - 1.0).abs() > 1e-9);
    points.insert(points.partition_point(|&f| f < extra_hz), extra_hz);
    Grid::from_points(points).expect("rising frequencies")
}

fn slope_of(name: &str) -> Slope {
    name.parse().expect("the name of a slope")
}

fn section_of(row: &Row, fc_hz: f64, load_ohm: f64) -> Vec<Element> {
    let pass = if row.text("section") == "lowpass" { Pass::Low } else { Pass::High };
    ladder::section(slope_of(row.text("alignment")), pass, fc_hz, load_ohm).expect("a section")
}

/// Hangs a section on the source and a port called `name` on its end.
fn attach(network: &mut Network, section: &[Element], name: &str) -> [Node; 2] {
    let mut at = Node::INPUT;
    for (k, element) in section.iter().enumerate() {
        let reference = format!("{name} {}{}", element.component.letter(), k + 1);
        let to = match element.place {
            Place::Series => network.node(&format!("{name} {}", k + 1)),
            Place::Shunt => Node::RETURN,
        };
        network.add(reference, element.component, [at, to]);
        at = if element.place == Place::Series { to } else { at };
    }
    let port = [at, Node::RETURN];
    network.add_port(name, port);
    port
}

fn resistors(grid: &Arc<Grid>, ohm: &[f64]) -> Load {
    let constant = |&r: &f64| Spectrum::from_fn(grid, |_| Complex64::new(r, 0.0));
    let impedances: Vec<Impedance> = ohm.iter().map(constant).collect();
    Load::diagonal(grid, &impedances.iter().map(Some).collect::<Vec<_>>())
}

/// Both sections from one source into resistors: what each resistor gets, and the input impedance.
fn two_way(
    slope: Slope,
    fc_hz: f64,
    ohm: [f64; 2],
    grid: &Arc<Grid>,
) -> ([Transfer; 2], Impedance) {
    let section = |pass, r| ladder::section(slope, pass, fc_hz, r).expect("a section");
    let mut network = Network::new("in", "out");
    let woofer = attach(&mut network, &section(Pass::Low, ohm[0]), "woofer");
    let tweeter = attach(&mut network, &section(Pass::High, ohm[1]), "tweeter");
    let solved = solve(&network, grid, &resistors(grid, &ohm)).expect("a solution");
    ([solved.between(woofer), solved.between(tweeter)], solved.input_impedance())
}
