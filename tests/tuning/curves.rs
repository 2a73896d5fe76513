//! Measured curves on their way to the seat: what is in a curve already is not applied again.

use crate::bench;
use crate::support::{BENCH, Bench, TWEETER, WOOFER};
use num_complex::Complex64;
use slabtone::analysis::side::SideModel;
use slabtone::analysis::synthesis::{self, WOOFER as WOOFER_PORT};
use slabtone::circuit::solve;
use slabtone::design::{Design, Listener, PolarityRule};
use slabtone::grid::Grid;
use slabtone::input::driver_file;
use slabtone::input::files::Disk;
use slabtone::model::driver::Driver;
use slabtone::model::piston;
use slabtone::model::place::Point;
use std::fmt::Write;
use std::sync::Arc;

const POINTS: usize = 241;
const AIR_C: f64 = 343.21;

fn grid() -> Arc<Grid> {
    Grid::audible(POINTS).unwrap()
}

/// Rows of frequency, magnitude, phase for what `value` has at each.
pub fn rows(grid: &Grid, value: impl Fn(usize, f64) -> (f64, f64)) -> String {
    let mut text = String::new();
    for (k, f) in grid.frequency_hz().iter().enumerate() {
        let (size, degrees) = value(k, *f);
        let _ = writeln!(text, "{f:.9} {size:.12e} {degrees:.9}");
    }
    text
}

fn polar(z: Complex64) -> (f64, f64) {
    (z.norm(), z.arg().to_degrees())
}

/// A `[[response]]` table with everything usual but `keys`, which come last.
pub fn response(keys: &str) -> String {
    format!("\n[[response]]\n{keys}\n")
}

const PASCAL_1V_1M: &str = "magnitude = \"pascal\"\ndrive_v = 1\ndistance_mm = 1000";

/// The bench with a table more in a driver file, and the curve file it names.
fn with(driver: &str, table: &str, curve: &str) -> Bench {
    let bench = Bench::new();
    add(&bench, driver, table, "curve.txt", curve);
    bench
}

pub fn add(bench: &Bench, driver: &str, table: &str, name: &str, curve: &str) {
    bench.write(driver, format!("{}{table}", bench.text(driver)));
    bench.write(&format!("drivers/{name}"), curve);
}

fn load(bench: &Bench, driver: &str) -> Driver {
    driver_file::load(&Disk, &bench.at(driver)).unwrap_or_else(|e| panic!("{e:?}")).driver
}

/// The listener where the woofer was measured: `distance_m` from its acoustic centre, `angle_deg`
/// off its axis.
fn seated(design: &mut Design, distance_m: f64, angle_deg: f64) {
    let centre = design.sides[0].drivers.woofer.acoustic_centre();
    let (sin, cos) = angle_deg.to_radians().sin_cos();
    let place =
        Point::new(centre.x_m + distance_m * sin, centre.y_m, centre.z_m + distance_m * cos);
    design.listeners =
        vec![Listener { name: "microphone".into(), place, weight: 1.0, spread_m: 0.0 }];
}

fn worst_db(got: &[Complex64], want: &[Complex64]) -> f64 {
    let off = got.iter().zip(want).map(|(g, w)| 20.0 * (g / w).norm().log10().abs());
    off.fold(0.0, f64::max)
}

fn worst_deg(got: &[Complex64], want: &[Complex64]) -> f64 {
    got.iter().zip(want).map(|(g, w)| (g / w).arg().to_degrees().abs()).fold(0.0, f64::max)
}

/// The woofer at the only seat of the design's first side, Pa, and the voltage across it per volt.
fn woofer_at_seat(design: &Design) -> (Vec<Complex64>, Vec<Complex64>) {
    let side = &design.sides[0];
    let model = SideModel::new(design, side, &grid()).unwrap();
    let network = synthesis::network_for(design, side).unwrap().network;
    let through = model.through(&network, PolarityRule::Best).unwrap();
    assert_eq!(WOOFER_PORT, 0);
    (through.seats[0].woofer.values().to_vec(), through.voltage.woofer.values().to_vec())
}

#[test]
fn a_curve_in_this_panel_reaches_the_seat_through_the_network_and_nothing_else() {
    reaches_the_seat(0.0, POINTS);
    reaches_the_seat(30.0, below_nulls());
}

#[test]
fn a_curve_in_this_panel_reaches_the_seat_off_axis_above_the_pistons_first_null_too() {
    reaches_the_seat(30.0, POINTS);
}

fn reaches_the_seat(angle: f64, points: usize) {
    let source = crate::other_driver::woofer();
    let curve = rows(&grid(), |_, f| polar(source.pressure(f, angle)));
    let keys = format!(
        "condition = \"in_this_panel\"\n{PASCAL_1V_1M}\nangle_deg = {angle}\ntime_zero = \"driver\"\nfile = \"curve.txt\""
    );
    let mut design = bench::design(&with(WOOFER, &response(&keys), &curve), BENCH);
    for distance_m in [1.0, 2.5] {
        seated(&mut design, distance_m, angle);
        let (got, voltage) = woofer_at_seat(&design);
        let c = design.air.c_m_per_s;
        let want = |(f, v): (&f64, &Complex64)| {
            let way = Complex64::from_polar(
                1.0 / distance_m,
                -std::f64::consts::TAU * f / c * distance_m,
            );
            source.pressure(*f, angle) * v * design.drive_v * way
        };
        let want: Vec<_> =
            grid().frequency_hz().iter().zip(&voltage).map(want).take(points).collect();
        assert!(worst_db(&got, &want) < 0.02, "{}", worst_db(&got, &want));
        assert!(worst_deg(&got, &want) < 0.1, "{}", worst_deg(&got, &want));
    }
}

/// The model's own half-space curve comes back as the model's response in the cavity.
#[test]
fn a_half_space_curve_gets_the_cavity_once() {
    let mut plain = bench::design(&Bench::new(), BENCH);
    let driver = plain.sides[0].drivers.woofer.driver.clone();
    let flow = driver.respond(&grid(), None).flow;
    let curve = rows(&grid(), |k, f| {
        let w = std::f64::consts::TAU * f;
        polar(flow.values()[k] * piston::strength(w, &plain.air, driver.motor.radius_m(), 0.0))
    });
    let keys = format!(
        "condition = \"half_space\"\n{PASCAL_1V_1M}\ntime_zero = \"driver\"\nfile = \"curve.txt\""
    );
    let mut measured = bench::design(&with(WOOFER, &response(&keys), &curve), BENCH);
    seated(&mut plain, 1.2, 0.0);
    seated(&mut measured, 1.2, 0.0);
    let (want, _) = woofer_at_seat(&plain);
    let (got, _) = woofer_at_seat(&measured);
    assert!(worst_db(&got, &want) < 0.001 && worst_deg(&got, &want) < 0.01);
    // And the cavity is no small thing here.
    let free: Vec<_> = curve_values(&measured);
    let (_, voltage) = woofer_at_seat(&measured);
    let without: Vec<_> = free.iter().zip(voltage).map(|(p, v)| p * v).collect();
    let shape: Vec<_> =
        got.iter().zip(&without).map(|(a, b)| 20.0 * (a / b).norm().log10()).collect();
    assert!(shape[POINTS / 5] - shape[POINTS - 1] < -3.0 || shape[0] - shape[POINTS - 1] < -3.0);
}

fn curve_values(design: &Design) -> Vec<Complex64> {
    let curve = &design.sides[0].drivers.woofer.driver.measured.responses[0].curve;
    let sampled = curve.complex_on(&grid(), slabtone::signal::interpolate::Outside::Hold);
    sampled.unwrap().values
}

/// Bramble in free air by the model itself, read back and put into the cavity; and what the model
/// has there. One row a frequency: Hz, got, wanted.
fn free_air_in_the_cavity() -> Vec<(f64, Complex64, Complex64)> {
    let plain = bench::design(&Bench::new(), BENCH);
    let free = plain.sides[0].drivers.woofer.driver.respond(&grid(), None).impedance;
    let curve = rows(&grid(), |k, _| polar(free.values()[k]));
    let table = "\n[[impedance]]\ncondition = \"free_air\"\nfile = \"curve.txt\"\n";
    let measured = bench::design(&with(WOOFER, table, &curve), BENCH);
    let of = |design: &Design| {
        let model = SideModel::new(design, &design.sides[0], &grid()).unwrap();
        model.impedance.woofer.values().to_vec()
    };
    let (got, want) = (of(&measured), of(&plain));
    let change = free.values().iter().zip(&want).map(|(a, b)| (a - b).norm() / b.norm());
    assert!(change.fold(0.0, f64::max) > 0.3, "the cavity moves the resonance");
    let values = got.into_iter().zip(want);
    grid().frequency_hz().iter().zip(values).map(|(f, (got, want))| (*f, got, want)).collect()
}

#[track_caller]
fn within_a_thousandth(rows: &[(f64, Complex64, Complex64)]) {
    for (f, got, want) in rows {
        let off = (got - want).norm() / want.norm();
        assert!(off < 1e-3, "{f:.0} Hz: {got} where the model has {want}, {off:.5} off");
    }
}

#[test]
fn a_free_air_impedance_by_the_model_becomes_the_models_in_the_cavity_up_to_twice_fs() {
    let rows = free_air_in_the_cavity();
    let below = rows.partition_point(|(f, _, _)| *f < 150.0);
    within_a_thousandth(&rows[..below]);
}

#[test]
fn a_free_air_impedance_by_the_model_becomes_the_models_in_the_cavity_everywhere() {
    within_a_thousandth(&free_air_in_the_cavity());
}

/// Minimum phase: a tweeter's second-order high-pass and a low-pass within the range.
fn smooth(f: f64) -> Complex64 {
    let s = Complex64::new(0.0, f);
    0.3 * s * s / (s * s + s * 900.0 / 0.8 + 900.0 * 900.0) * 8000.0 * 8000.0
        / (s * s + s * 8000.0 / 0.7 + 8000.0 * 8000.0)
}

fn tweeter_curve(keys: &str, value: impl Fn(f64) -> (f64, f64)) -> slabtone::signal::curve::Curve {
    let curve = rows(&grid(), |_, f| value(f));
    let keys = format!("{keys}\nfile = \"curve.txt\"");
    let bench = with(TWEETER, &response(&keys), &curve);
    load(&bench, TWEETER).measured.responses[0].curve.clone()
}

fn compare(
    curve: &slabtone::signal::curve::Curve,
    want: impl Fn(f64) -> Complex64,
    db: f64,
    deg: f64,
) {
    let phases = curve.phase_deg.as_ref().unwrap();
    for ((f, m), p) in curve.frequency_hz.iter().zip(&curve.magnitude).zip(phases) {
        let got = Complex64::from_polar(*m, p.to_radians());
        let ratio = got / want(*f);
        let off = 20.0 * ratio.norm().log10();
        assert!(off.abs() <= db, "{f:.0} Hz: {off:.4} dB off");
        let turn = ratio.arg().to_degrees();
        assert!(turn.abs() <= deg, "{f:.0} Hz: {turn:.3} degrees off");
    }
}

#[test]
fn every_time_zero_leads_to_the_same_curve() {
    let base =
        "condition = \"in_this_panel\"\nmagnitude = \"pascal\"\ndrive_v = 1\ndistance_mm = 800";
    let here = |f: f64| smooth(f) / 0.8;
    let driver = tweeter_curve(&format!("{base}\ntime_zero = \"driver\""), |f| polar(here(f)));
    compare(&driver, smooth, 1e-6, 1e-5);
    let source = tweeter_curve(&format!("{base}\ntime_zero = \"source\""), |f| {
        let (m, p) = polar(here(f));
        (m, p - 360.0 * f * 0.8 / AIR_C)
    });
    // The speed of sound is known here to five digits only.
    compare(&source, smooth, 1e-6, 0.3);
    let unknown = tweeter_curve(&format!("{base}\ntime_zero = \"unknown\""), |f| {
        let (m, p) = polar(here(f));
        (m, p - 360.0 * f * 1.234e-3 + 77.0)
    });
    compare(&unknown, smooth, 1e-6, 1.0);
}

#[test]
fn volts_distance_and_unit_are_brought_to_one_metre_and_one_volt() {
    let base = "condition = \"half_space\"\ntime_zero = \"driver\"";
    let spl = format!("{base}\nmagnitude = \"db_spl\"\ndrive_v = 2.83\ndistance_mm = 500");
    let level = tweeter_curve(&spl, |f| {
        let (m, p) = polar(smooth(f) * 2.83 / 0.5);
        (20.0 * (m / 20e-6).log10(), p)
    });
    compare(&level, smooth, 1e-6, 1e-5);
    let pascal = format!("{base}\nmagnitude = \"pascal\"\ndrive_v = 0.1\ndistance_mm = 3000");
    compare(&tweeter_curve(&pascal, |f| polar(smooth(f) * 0.1 / 3.0)), smooth, 1e-6, 1e-5);
}

#[test]
fn what_the_microphone_adds_is_taken_off() {
    let own = |f: f64| {
        Complex64::from_polar(10f64.powf(0.1 * (f / 1000.0).ln() / 2.0), 0.05 * (f / 1000.0).ln())
    };
    let keys = format!(
        "condition = \"half_space\"\n{PASCAL_1V_1M}\ntime_zero = \"driver\"\nmicrophone = \"mic.txt\"\nfile = \"curve.txt\""
    );
    let curve = rows(&grid(), |_, f| polar(smooth(f) * own(f)));
    let bench = with(TWEETER, &response(&keys), &curve);
    let mic = rows(&grid(), |_, f| {
        let (m, p) = polar(own(f));
        (20.0 * m.log10(), p)
    });
    bench.write("drivers/mic.txt", mic);
    compare(&load(&bench, TWEETER).measured.responses[0].curve, smooth, 1e-6, 1e-5);
    // Without a phase column only the level is corrected.
    let level_only = rows(&grid(), |_, f| (20.0 * own(f).norm().log10(), 0.0));
    let cut: Vec<String> =
        level_only.lines().map(|l| l.rsplit_once(' ').unwrap().0.to_owned()).collect();
    bench.write("drivers/mic.txt", cut.join("\n"));
    let want = |f: f64| smooth(f) * Complex64::from_polar(1.0, own(f).arg());
    compare(&load(&bench, TWEETER).measured.responses[0].curve, want, 1e-6, 1e-5);
}

/// Where the piston has no null: below ka = 3.
fn below_nulls() -> usize {
    grid().frequency_hz().partition_point(|f| *f < 4000.0)
}

#[test]
fn between_two_angles_level_and_phase_lie_between() {
    between_angles(below_nulls());
}

#[test]
fn between_two_angles_level_and_phase_lie_between_above_the_pistons_first_null_too() {
    between_angles(POINTS);
}

fn between_angles(points: usize) {
    let bench = Bench::new();
    let flat = |gain: f64, deg: f64| rows(&grid(), move |_, _| (gain, deg));
    for (angle, gain, deg) in [(60, 0.1, 80.0), (0, 0.4, 0.0), (30, 0.4, 20.0)] {
        let keys = format!(
            "condition = \"in_this_panel\"\n{PASCAL_1V_1M}\nangle_deg = {angle}\ntime_zero = \"driver\"\nfile = \"at-{angle}.txt\""
        );
        add(&bench, WOOFER, &response(&keys), &format!("at-{angle}.txt"), &flat(gain, deg));
    }
    let mut design = bench::design(&bench, BENCH);
    for (angle, gain, deg) in [
        (0.0, 0.4, 0.0),
        (15.0, 0.4, 10.0),
        (30.0, 0.4, 20.0),
        (45.0, 0.2, 50.0),
        (60.0, 0.1, 80.0),
    ] {
        seated(&mut design, 1.0, angle);
        let (got, voltage) = woofer_at_seat(&design);
        let c = design.air.c_m_per_s;
        let way = |f: f64| Complex64::from_polar(design.drive_v, -std::f64::consts::TAU * f / c);
        let own = Complex64::from_polar(gain, f64::to_radians(deg));
        let pairs = grid().frequency_hz().to_vec().into_iter().zip(voltage);
        let want: Vec<_> = pairs.map(|(f, v)| own * v * way(f)).take(points).collect();
        assert!(worst_db(&got, &want) < 0.01, "{angle}: {}", worst_db(&got, &want));
        assert!(worst_deg(&got, &want) < 0.1, "{angle}: {}", worst_deg(&got, &want));
    }
}

/// The solver takes a load that was measured as it takes one that was computed.
#[test]
fn an_impedance_in_this_panel_is_the_networks_load_as_it_stands() {
    let source = crate::other_driver::woofer();
    let curve = rows(&grid(), |_, f| polar(source.impedance(f)));
    let table = "\n[[impedance]]\ncondition = \"in_this_panel\"\nfile = \"curve.txt\"\n";
    let design = bench::design(&with(WOOFER, table, &curve), BENCH);
    let model = SideModel::new(&design, &design.sides[0], &grid()).unwrap();
    let network = synthesis::network_for(&design, &design.sides[0]).unwrap().network;
    for (f, z) in grid().frequency_hz().iter().zip(model.impedance.woofer.values()) {
        assert!((z - source.impedance(*f)).norm() < 1e-6 * z.norm(), "{f}");
    }
    let both = [Some(&model.impedance.woofer), Some(&model.impedance.tweeter)];
    let load = slabtone::circuit::load::Load::diagonal(&grid(), &both);
    let solved = solve::solve(&network, &grid(), &load).unwrap();
    let through = model.through(&network, PolarityRule::Best).unwrap();
    assert_eq!(solved.input_impedance().values(), through.impedance.values());
}
