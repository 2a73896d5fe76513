//! Sensitivities, worst corners and Monte Carlo of crossover sections, and variance shares of a
//! function that is known in closed form.

use crate::rows::{Row, rows};
use num_complex::Complex64;
use slabtone::analysis::chance::Chance;
use slabtone::analysis::spread::Quantile;
use slabtone::analysis::variance;
use slabtone::circuit::branch::{self, Namer, Stage};
use slabtone::circuit::ladder::{self, Pass};
use slabtone::circuit::lanes::{Complex, LANES};
use slabtone::circuit::load::Load;
use slabtone::circuit::network::{Component, Network, Node};
use slabtone::circuit::plan::Plan;
use slabtone::circuit::sensitivity::Sensitivity;
use slabtone::circuit::slope::Slope;
use slabtone::design::Shape;
use slabtone::grid::{Grid, Impedance, Spectrum};
use std::f64::consts::{PI, TAU};

const ROWS: &str = include_str!("data/tolerance.toml");
const LOADS_OHM: [f64; 2] = [6.2, 5.4];

fn slope(row: &Row) -> Slope {
    row.text("alignment").to_lowercase().parse().unwrap()
}

/// One section into its load, its port the only one.
fn section(slope: Slope, pass: Pass, at_hz: f64, load_ohm: f64) -> Network {
    let mut network = Network::new("in", "return");
    add(&mut network, &mut Namer::default(), slope, pass, at_hz, load_ohm);
    network
}

fn add(
    network: &mut Network,
    namer: &mut Namer,
    slope: Slope,
    pass: Pass,
    at_hz: f64,
    load_ohm: f64,
) {
    let name = if pass == Pass::Low { "woofer" } else { "tweeter" };
    let stages: Vec<Stage> = ladder::section(slope, pass, at_hz, load_ohm)
        .unwrap()
        .into_iter()
        .map(Stage::from)
        .collect();
    let end = branch::lay(network, namer, &stages, name, &format!("{name}+"));
    network.add_port(name, [end, Node::RETURN]);
}

/// Level (dB) of a network's first port at `hz` into `load_ohm`, and its derivatives by the
/// logarithms of frequency, each part, and the load.
fn slopes(network: &Network, hz: f64, load_ohm: f64) -> (f64, f64, Vec<f64>, f64) {
    let level = |hz: f64, load_ohm: f64| {
        let grid = Grid::from_points(vec![hz]).unwrap();
        let z: Impedance = Spectrum::from_fn(&grid, |_| Complex64::new(load_ohm, 0.0));
        let load = Load::diagonal(&grid, &[Some(&z)]);
        let rigid = vec![0.0; network.parts.len()];
        Sensitivity::of(network, &grid, &load, &rigid).unwrap()
    };
    let db = |s: &Sensitivity| 20.0 * s.voltage[0].norm().log10();
    let step: f64 = 1e-5;
    let difference = |up: f64, down: f64| (up - down) / (2.0 * step);
    let here = level(hz, load_ohm);
    let by_hz =
        difference(db(&level(hz * step.exp(), load_ohm)), db(&level(hz * (-step).exp(), load_ohm)));
    let by_load =
        difference(db(&level(hz, load_ohm * step.exp())), db(&level(hz, load_ohm * (-step).exp())));
    let nepers = here.by_part.iter().map(|d| (d / here.voltage[0]).re);
    let by_part = nepers.map(|n| n * 20.0 / std::f64::consts::LN_10).collect();
    (db(&here), by_hz, by_part, by_load)
}

fn index_of(network: &Network, letter: char) -> usize {
    network.parts.iter().position(|p| p.component.letter() == letter).unwrap()
}

#[test]
fn sensitivities_are_those_of_the_closed_form() {
    for row in rows(ROWS, "sensitivity", 4) {
        let pass = if row.text("section") == "lowpass" { Pass::Low } else { Pass::High };
        let load_ohm = 6.2;
        let network = section(slope(&row), pass, 2500.0, load_ohm);
        let (level, by_hz, by_part, by_load) = slopes(&network, 2500.0, load_ohm);
        assert!((level - row.number("level_db")).abs() < 1e-6, "{}: {level}", row.id);
        let (c, l) = (by_part[index_of(&network, 'C')], by_part[index_of(&network, 'L')]);
        row.check("dlevel_at_fc_db_per_percent_c", 0.01 * c);
        row.check("dlevel_at_fc_db_per_percent_l", 0.01 * l);
        row.check("dlevel_at_fc_db_per_percent_r", 0.01 * by_load);
        row.check("dlnfcorner_dlnc", -c / by_hz);
        row.check("dlnfcorner_dlnl", -l / by_hz);
        row.check("dlnfcorner_dlnr", -by_load / by_hz);
        // f0 and Q by their definitions, from the parts of the section.
        let of = |letter: char| network.parts[index_of(&network, letter)].component.value();
        let f0 = |l: f64, c: f64, _: f64| -0.5 * (l * c).ln();
        let q = |l: f64, c: f64, r: f64| (r * (c / l).sqrt()).ln();
        let by = |f: &dyn Fn(f64, f64, f64) -> f64, k: usize| {
            let at = |s: f64| {
                let mut x = [of('L'), of('C'), load_ohm];
                x[k] *= (s * 1e-4).exp();
                f(x[0], x[1], x[2])
            };
            (at(1.0) - at(-1.0)) / 2e-4
        };
        for (k, name) in ["l", "c", "r"].iter().enumerate() {
            row.check(&format!("dlnf0_dln{name}"), by(&f0, k));
            row.check(&format!("dlnq_dln{name}"), by(&q, k));
        }
        row.done();
    }
    for row in rows(ROWS, "sensitivity_first_order", 1) {
        for (pass, letter, kind) in [(Pass::Low, 'L', "lowpass"), (Pass::High, 'C', "highpass")] {
            let network = section("bw1".parse().unwrap(), pass, 2500.0, 6.2);
            let (_, by_hz, by_part, by_load) = slopes(&network, 2500.0, 6.2);
            let part = letter.to_ascii_lowercase();
            let near = |key: String, got: f64| {
                let want = row.expected(&key).as_float().unwrap();
                // The slopes by frequency and load are differences.
                assert!((got - want).abs() < 1e-8, "{key}: {got}");
            };
            near(format!("{kind}_dlnfc_dln{part}"), -by_part[0] / by_hz);
            near(format!("{kind}_dlnfc_dlnr"), -by_load / by_hz);
        }
    }
}

#[test]
fn a_corner_moves_as_the_closed_form_says() {
    for row in rows(ROWS, "finite_shift", 10) {
        let load_ohm = row.number("load_ohm");
        let (henry, farad) = (row.number("l_h"), row.number("c_f"));
        let mut network = section(slope(&row), Pass::Low, 2500.0, load_ohm);
        for part in &mut network.parts {
            let value = if part.component.letter() == 'L' { henry } else { farad };
            part.component = part.component.with_value(value);
        }
        let over = |hz: f64| slopes(&network, hz, load_ohm).0 - row.number("level_db");
        let (mut low, mut high) = (1000.0, 5000.0);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if over(middle) > 0.0 { low = middle } else { high = middle }
        }
        row.check("f0_hz", 1.0 / (TAU * (henry * farad).sqrt()));
        row.check("q", load_ohm * (farad / henry).sqrt());
        row.check("f_corner_hz", 0.5 * (low + high));
        row.done();
    }
}

/// Both sections of a crossover, to be tried with many part values.
struct TwoWay {
    network: Network,
    plan: Plan,
    sign: f64,
    omega: Vec<f64>,
    nominal: Vec<[f64; 2]>,
}

impl TwoWay {
    fn of(row: &Row) -> Self {
        let (slope, mut network) = (slope(row), Network::new("in", "return"));
        let mut namer = Namer::default();
        for (pass, load_ohm) in [Pass::Low, Pass::High].into_iter().zip(LOADS_OHM) {
            add(&mut network, &mut namer, slope, pass, row.number("fc_hz"), load_ohm);
        }
        let plan = Plan::of(&network).unwrap();
        let omega = (0..121).map(|k| TAU * 500.0 * 20f64.powf(f64::from(k) / 120.0)).collect();
        let sign = if row.text("alignment") == "LR2" { -1.0 } else { 1.0 };
        let mut whole = Self { network, plan, sign, omega, nominal: vec![[0.0; 2]; 121] };
        let levels = whole.levels(&|_, _| 1.0);
        whole.nominal = levels.iter().map(|l| [l[0][0], l[1][0]]).collect();
        whole
    }

    /// Level over nominal of sum and woofer section, dB: one lane a unit.
    fn levels(&self, factor: &dyn Fn(usize, usize) -> f64) -> Vec<[[f64; LANES]; 2]> {
        let values = self.plan.values(|part, lane| {
            let component: Component = self.network.parts[part].component;
            component.with_value(component.value() * factor(part, lane))
        });
        let loads = LOADS_OHM.map(|r| Complex::all(1.0 / r, 0.0));
        let mut work = self.plan.work();
        let db = |p: f64| 10.0 * p.log10();
        let at = |(k, omega): (usize, &f64)| {
            self.plan.solve(*omega, &values, &loads, &mut work);
            let (low, high) = (self.plan.at_port(0, &work), self.plan.at_port(1, &work));
            let sum = low.plus(&high.times_one(self.sign, 0.0)).norm_sqr();
            let [sum_db, low_db] = self.nominal[k];
            [sum.map(|p| db(p) - sum_db), low.norm_sqr().map(|p| db(p) - low_db)]
        };
        self.omega.iter().enumerate().map(at).collect()
    }

    /// Largest departure of sum and woofer section of each lane, dB.
    fn worst(&self, factor: &dyn Fn(usize, usize) -> f64) -> [[f64; LANES]; 2] {
        let mut worst = [[0.0f64; LANES]; 2];
        for levels in self.levels(factor) {
            for (worst, levels) in worst.iter_mut().zip(levels) {
                worst.iter_mut().zip(levels).for_each(|(w, l)| *w = w.max(l.abs()));
            }
        }
        worst
    }

    fn tolerance(&self, row: &Row, part: usize) -> f64 {
        let letter = self.network.parts[part].component.letter();
        row.number(if letter == 'C' { "tol_c" } else { "tol_l" })
    }
}

#[test]
fn worst_corners_are_found() {
    for row in rows(ROWS, "corner", 4) {
        let two = TwoWay::of(&row);
        let parts = two.network.parts.len();
        let (mut sum, mut woofer) = (0f64, 0f64);
        for first in (0..1usize << parts).step_by(LANES) {
            let factor = |part: usize, lane: usize| {
                let up = (first + lane) >> part & 1 == 1;
                1.0 + two.tolerance(&row, part) * if up { 1.0 } else { -1.0 }
            };
            let worst = two.worst(&factor);
            sum = worst[0].iter().fold(sum, |m, w| m.max(*w));
            woofer = worst[1].iter().fold(woofer, |m, w| m.max(*w));
        }
        row.check("worst_sum_deviation_db", sum);
        row.check("worst_woofer_section_deviation_db", woofer);
        row.done();
    }
}

#[test]
fn populations_agree_within_their_standard_errors() {
    const DRAWS: usize = 8000;
    for row in rows(ROWS, "montecarlo", 8) {
        let two = TwoWay::of(&row);
        let normal = row.text("distribution") == "truncnormal";
        let quantile = Quantile::of(if normal { &Shape::Normal } else { &Shape::Uniform });
        let chance = Chance::of(row.number("seed") as u64);
        let mut found = [Vec::new(), Vec::new()];
        for first in (0..DRAWS).step_by(LANES) {
            let factor = |part: usize, lane: usize| {
                let z = chance.row((first + lane) as u64).normal(part as u64);
                1.0 + two.tolerance(&row, part) * quantile.at(z)
            };
            for (found, worst) in found.iter_mut().zip(two.worst(&factor)) {
                found.extend(worst);
            }
        }
        // The row's own errors are for 200 000 draws.
        let more = (200_000.0 / DRAWS as f64).sqrt();
        let near = |key: &str, got: f64| {
            let want = row.expected(key).as_float().unwrap();
            let own = row.number(&format!("se_{key}"));
            let allowed = 4.0 * own.hypot(own * more);
            assert!((got - want).abs() <= allowed, "{} {key}: {got} {want} {allowed}", row.id);
        };
        for (name, found) in ["sum", "woofer_section"].iter().zip(&mut found) {
            found.sort_by(f64::total_cmp);
            let at = |p: f64| found[(p * (DRAWS - 1) as f64).round() as usize];
            near(&format!("{name}_mean_db"), found.iter().sum::<f64>() / DRAWS as f64);
            near(&format!("{name}_p5_db"), at(0.05));
            near(&format!("{name}_p50_db"), at(0.5));
            near(&format!("{name}_p95_db"), at(0.95));
        }
        for (limit, key) in [(0.25, "0p25"), (0.5, "0p5"), (1.0, "1")] {
            let good = found[0].iter().filter(|d| **d <= limit).count() as f64 / DRAWS as f64;
            // The row's error of a yield near 1 is that of the counts it had; ours are fewer.
            let key = format!("yield_within_{key}_db");
            let want = row.expected(&key).as_float().unwrap();
            let own = row.number(&format!("se_{key}"));
            let few = (want * (1.0 - want)).sqrt() / (DRAWS as f64).sqrt();
            let allowed = 4.0 * own.hypot(few).max(1.0 / DRAWS as f64);
            assert!((good - want).abs() <= allowed, "{} {key}: {good} {want}", row.id);
        }
        row.done();
    }
}

/// sin x₁ + 7 sin² x₂ + 0.1 x₃⁴ sin x₁ with x evenly spread over ±π (Ishigami and Homma 1990, ISUMA
/// '90): the shares follow in closed form, printed as 0.3139, 0.4424, 0 and 0.5576, 0.4424, 0.2437
/// (Saltelli et al. 2008, *Global Sensitivity Analysis*, from memory, recomputed here).
#[test]
fn variance_shares_are_those_of_ishigamis_function() {
    let (a, b) = (7.0, 0.1);
    let variance = a * a / 8.0 + b * PI.powi(4) / 5.0 + b * b * PI.powi(8) / 18.0 + 0.5;
    let first =
        [0.5 * (1.0 + b * PI.powi(4) / 5.0).powi(2) / variance, a * a / 8.0 / variance, 0.0];
    let both = b * b * PI.powi(8) * (1.0 / 18.0 - 1.0 / 50.0) / variance;
    let total = [first[0] + both, first[1], both];
    for (k, printed) in [0.3139, 0.4424, 0.0].into_iter().enumerate() {
        assert!((first[k] - printed).abs() < 6e-5);
    }
    for (k, printed) in [0.5576, 0.4424, 0.2437].into_iter().enumerate() {
        assert!((total[k] - printed).abs() < 6e-5);
    }
    let chance = Chance::of(9);
    let found = variance::shares(3, 1 << 16, |sample, variants| {
        let x = |k: usize, from_b: bool| {
            let row = chance.row(2 * sample + u64::from(from_b));
            PI * (2.0 * row.uniform(k as u64) - 1.0)
        };
        let value = |v: &variance::Variant| {
            let [x1, x2, x3] = [0, 1, 2].map(|k| x(k, v.is_b(k)));
            x1.sin() + a * x2.sin().powi(2) + b * x3.powi(4) * x1.sin()
        };
        variants.iter().map(value).collect()
    });
    assert!((found.variance / variance - 1.0).abs() < 0.02);
    for (k, share) in found.shares.iter().enumerate() {
        assert!((share.first - first[k]).abs() < 4.0 * share.first_error, "{k} {share:?}");
        assert!((share.total - total[k]).abs() < 4.0 * share.total_error, "{k} {share:?}");
        assert!(share.first_error < 0.01 && share.total_error < 0.01);
    }
}
