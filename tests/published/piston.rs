//! The rigid circular piston in a large baffle.
//!
//! Sources (named in full in each row of `data/piston.toml`): Rayleigh's piston; Kinsler et al.,
//! *Fundamentals of Acoustics*; the on-axis Rayleigh integral in closed form.

use crate::rows::rows;
use crate::search::{lowest, root};
use num_complex::Complex64;
use slabtone::grid::level_db;
use slabtone::model::air::{Air, STANDARD_PRESSURE_PA};
use slabtone::model::piston::{directivity, directivity_factor, radiation_impedance, transfer_to};
use slabtone::model::place::Point;
use slabtone::model::sphere::directivity_index_db;
use std::f64::consts::{PI, TAU};

const ROWS: &str = include_str!("data/piston.toml");
/// Rings of directions in each half space; the beam of ka = 10 has four side lobes.
const POLAR: usize = 40;
/// First zero of J1, beyond which the main lobe ends; a bracket end only.
const PAST_MAIN_LOBE: f64 = 3.8;

#[test]
fn directivity_and_its_integral_are_the_published_ones() {
    for row in rows(ROWS, "piston", 7) {
        let ka = row.number("ka");
        let angles = row.numbers("theta_deg");
        let at = |degrees: f64| directivity(ka * degrees.to_radians().sin());
        row.check_all("directivity", &angles.iter().map(|&t| at(t)).collect::<Vec<f64>>());
        row.check("directivity_factor", directivity_factor(ka));
        row.check("directivity_index_db", 10.0 * directivity_factor(ka).log10());
        row.check("directivity_index_db", integrated_index_db(ka));
        row.check("r_norm", radiation_impedance(ka).re);
        row.check("x_norm", radiation_impedance(ka).im);
        for (key, db) in [("half_angle_3db_deg", 3.0), ("half_angle_6db_deg", 6.0)] {
            let amplitude = 10f64.powf(-db / 20.0);
            let reached = at(90.0) < amplitude;
            assert_eq!(reached, row.expects(key), "{}: is {key} reached in front?", row.id);
            if reached {
                let end = (PAST_MAIN_LOBE / ka).min(1.0).asin().to_degrees();
                row.check(key, root(0.0, end, |t| at(t) - amplitude));
            }
        }
        row.done();
    }
}

/// Directivity index of a piston in a baffle from its sound in all directions, none behind.
fn integrated_index_db(ka: f64) -> f64 {
    let heard = |direction: &Point| {
        let sine = direction.x_m.hypot(direction.y_m);
        let level = if direction.z_m > 0.0 { directivity(ka * sine) } else { 0.0 };
        Complex64::from(level)
    };
    directivity_index_db(POLAR, 1, heard)
}

/// The value as the row would store it. The constants are stored with seven digits but carry a
/// tolerance of 1e-7, less than their own rounding: what is checked is that all seven digits agree.
fn seven_digits(value: f64) -> f64 {
    format!("{value:.6e}").parse().expect("a number")
}

#[test]
fn the_constants_of_the_main_lobe_are_the_published_ones() {
    for row in rows(ROWS, "piston_constants", 1) {
        let where_down_to = |amplitude: f64| {
            seven_digits(root(0.1, PAST_MAIN_LOBE, |x| directivity(x) - amplitude))
        };
        row.check("x_3db", where_down_to(10f64.powf(-3.0 / 20.0)));
        row.check("x_6db", where_down_to(10f64.powf(-6.0 / 20.0)));
        row.check("x_half_amplitude", where_down_to(0.5));
        row.check("x_first_null", seven_digits(root(3.0, 5.0, directivity)));
        let side_lobe = directivity(lowest(4.0, 7.0, directivity)).abs();
        row.check("first_side_lobe_db", level_db(side_lobe, 1.0));
        // Acoustic mass ρl/S of a plug of air that is l long.
        let (air, radius_m) = (Air::default(), 0.05);
        let area_m2 = PI * radius_m * radius_m;
        let length_m = air.disc_mass_kg_per_m4(radius_m) * area_m2 / air.rho_kg_per_m3;
        row.check("mass_end_correction_over_a", seven_digits(length_m / radius_m));
        row.done();
    }
}

/// |p|/(ρ c u) on the axis: the far-field expression of the crate, and how far above the row's
/// exact near-field value it lies.
#[test]
fn on_the_axis_the_far_field_is_as_near_to_the_exact_field_as_published() {
    for row in rows(ROWS, "piston_on_axis_exact", 4) {
        let air = Air::dry(row.number("temperature_c"), STANDARD_PRESSURE_PA);
        let (radius_m, omega) = (row.number("radius_m"), TAU * row.number("frequency_hz"));
        let flow = PI * radius_m * radius_m;
        let pressure = transfer_to(omega, &air, radius_m, row.number("distance_m"), 0.0) * flow;
        let far = pressure.norm() / air.impedance_pa_s_per_m();
        row.check("far_over_rho_c_u", far);
        let exact = row.expected("exact_over_rho_c_u").as_float().expect("a number");
        row.check("far_minus_exact_db", level_db(far, exact));
        row.done();
    }
}

#[test]
fn levels_off_axis_are_the_published_ones() {
    for row in rows(ROWS, "piston_off_axis_level", 3) {
        let air = Air::dry(row.number("temperature_c"), STANDARD_PRESSURE_PA);
        let radius_m = row.number("radius_m");
        for degrees in [30.0_f64, 45.0, 60.0] {
            let size = |f: f64, sin_angle: f64| {
                transfer_to(TAU * f, &air, radius_m, 1.0, sin_angle).norm()
            };
            let sine = degrees.to_radians().sin();
            let frequencies = row.numbers("frequency_hz");
            let levels = frequencies.iter().map(|&f| level_db(size(f, sine), size(f, 0.0)));
            row.check_all(&format!("level_{degrees}deg_db"), &levels.collect::<Vec<f64>>());
        }
        row.done();
    }
}

/// No row has so small an argument that the series are used: they must meet the closed forms where
/// they hand over. The next terms, x⁴/192 and (ka)⁴/36, say how closely.
#[test]
fn the_series_for_small_arguments_meet_the_closed_forms() {
    let jump = |f: fn(f64) -> f64, at: f64| (f(at * (1.0 + 1e-9)) - f(at * (1.0 - 1e-9))).abs();
    assert!(jump(directivity, 1e-4) < 1e-13);
    assert!(jump(directivity_factor, 0.05) < 0.05_f64.powi(4) / 36.0 * 1.01);
}
