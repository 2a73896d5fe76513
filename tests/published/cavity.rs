//! The shallow cavity as a field of waves: modes, input impedance with every loss and fill, finite
//! elements as an outside witness, truncation of the sum, and what it does to a woofer's level.
//!
//! Sources stand in each row of `data/cavity.toml`: modal sums by another program, 3-D finite
//! elements (scikit-fem), Miki (1990), Delany and Bazley (1970), boundary-layer theory. Driver A is
//! invented.

use crate::rows::{Row, rows};
use num_complex::Complex64;
use slabtone::grid::{AcousticImpedance, Grid};
use slabtone::model::air::{Air, STANDARD_PRESSURE_PA};
use slabtone::model::closed_box::ClosedBox;
use slabtone::model::fill::Fill;
use slabtone::model::fluid::{AirLoss, Foam};
use slabtone::model::wave_cavity::{Disc, WaveCavity, WaveField, WaveFill};
use std::f64::consts::TAU;
use std::sync::Arc;

const ROWS: &str = include_str!("data/cavity.toml");

fn air(row: &Row) -> Air {
    Air::dry(row.number("temperature_c"), STANDARD_PRESSURE_PA)
}

pub fn disc(row: &Row) -> Disc {
    let [x_m, y_m, radius_m] = ["x0_m", "y0_m", "disc_radius_m"].map(|key| row.number(key));
    Disc { x_m, y_m, radius_m }
}

pub fn bare(row: &Row) -> WaveCavity {
    WaveCavity::bare(["lx_m", "ly_m", "lz_m"].map(|key| row.number(key)), air(row))
}

fn grid(row: &Row) -> Arc<Grid> {
    Grid::from_points(row.numbers("frequency_hz")).unwrap()
}

fn cavity(row: &Row) -> WaveCavity {
    let mut cavity = bare(row);
    cavity.loss = AirLoss::None;
    let foam = || Foam { flow_resistivity_pa_s_per_m2: row.number("flow_resistivity_pa_s_per_m2") };
    match row.text("loss") {
        "none" => {}
        "hysteretic" => cavity.loss = AirLoss::Hysteretic { eta: row.number("eta") },
        "modal_q" => cavity.loss = AirLoss::ModalQ { q: row.number("q") },
        "miki_full" => cavity.fill = WaveFill::Whole(foam()),
        "miki_layer" => {
            let thickness_m = row.number("layer_m");
            cavity.fill = WaveFill::Back { foam: foam(), thickness_m };
        }
        other => panic!("{}: loss {other}", row.id),
    }
    cavity
}

fn input_impedance(row: &Row) -> AcousticImpedance {
    let (disc, grid) = (disc(row), grid(row));
    let field = WaveField::new(cavity(row), &[disc], grid.stop_hz());
    field.faces(&grid).impedance(&field.own(&disc))
}

const PAIR: [&str; 2] = ["re_pa_s_per_m3", "im_pa_s_per_m3"];

#[test]
fn standing_waves_and_their_means_over_the_disc() {
    for row in rows(ROWS, "cavity_modes", 5) {
        let (cavity, disc) = (bare(&row), disc(&row));
        let waves = cavity.standing_waves(20);
        let of = |value: &dyn Fn(usize) -> f64| (0..20).map(value).collect::<Vec<f64>>();
        row.check_all("f_hz", &of(&|i| waves[i].frequency_hz));
        for (axis, key) in ["l", "m", "n"].into_iter().enumerate() {
            row.check_all(key, &of(&|i| f64::from(waves[i].index[axis])));
        }
        let outline = [cavity.size_m[0], cavity.size_m[1]];
        let mean = |i: usize| disc.mean([waves[i].index[0], waves[i].index[1]], outline);
        row.check_all("disc_average", &of(&mean));
        row.done();
    }
}

#[test]
fn input_impedance_with_every_loss_and_fill() {
    for row in rows(ROWS, "cavity_input_impedance", 21) {
        row.check_pairs(PAIR, input_impedance(&row).values());
        row.done();
    }
}

#[test]
fn finite_elements_agree_as_far_as_they_are_known_to() {
    for row in rows(ROWS, "cavity_input_impedance_fem", 4) {
        let modal = input_impedance(&row);
        row.check_pairs(PAIR, modal.values());
        // The elements' own error as stated beside them, to the tolerance of the modal rows.
        let [re, im] = PAIR.map(|key| row.expected_numbers(key));
        let fine = row.expected_numbers("fem_error_fine");
        let coarse = row.expected_numbers("fem_error_coarse");
        for (i, z) in modal.values().iter().enumerate() {
            let error = (Complex64::new(re[i], im[i]) - z).norm() / z.norm();
            assert!((error - fine[i]).abs() < 2e-4, "{} {i}: {error} {}", row.id, fine[i]);
            assert!(coarse[i] > fine[i], "{}: elements that do not converge", row.id);
        }
        row.done();
    }
}

#[test]
fn the_tail_stands_for_the_modes_left_out() {
    for row in rows(ROWS, "cavity_truncation", 1) {
        let (disc, air) = (disc(&row), air(&row));
        let omega = TAU * row.number("frequency_hz");
        let mut cavity = bare(&row);
        cavity.loss = AirLoss::None;
        let at = |ka: f64| {
            let field = WaveField::up_to(cavity, ka / disc.radius_m);
            let own = field.own(&disc);
            let with = field.impedance_at(omega, &own).im;
            (field.impedance_at(omega, &own.without_tail()).im, with)
        };
        let (off, on): (Vec<f64>, Vec<f64>) =
            row.numbers("ka_truncation").into_iter().map(at).unzip();
        row.check_all("im_tail_off", &off);
        row.check_all("im_tail_on", &on);
        row.check("im_converged", on[on.len() - 1]);
        let tail: Vec<f64> = off.iter().zip(&on).map(|(off, on)| (on - off) / omega).collect();
        row.check_all("tail_inertance_kg_per_m4", &tail);
        let mass = air.disc_mass_kg_per_m4(disc.radius_m);
        row.check("baffle_disc_inertance_kg_per_m4", mass);
        row.done();
    }
}

#[test]
fn the_uniform_mode_is_a_closed_tube() {
    for row in rows(ROWS, "closed_tube", 1) {
        let side = row.number("area_m2").sqrt();
        let size = [side, side, row.number("length_m")];
        let air = air(&row);
        let cavity = WaveCavity { loss: AirLoss::None, ..WaveCavity::bare(size, air) };
        let grid = grid(&row);
        let tube: Vec<f64> = grid.omega().map(|w| cavity.uniform_impedance(w).im).collect();
        row.check_all("im_pa_s_per_m3", &tube);
        let lump = ClosedBox::tight(cavity.net_volume_m3(), Fill::Empty).load_on(&grid, &air);
        let lump: Vec<f64> = lump.values().iter().map(|z| z.im).collect();
        row.check_all("compliance_only_im", &lump);
        row.done();
    }
}

#[test]
fn foam_is_the_fluid_of_miki() {
    for row in rows(ROWS, "miki", 1) {
        let flow_resistivity_pa_s_per_m2 = row.number("flow_resistivity_pa_s_per_m2");
        let (air, grid) = (air(&row), grid(&row));
        let foam = Foam { flow_resistivity_pa_s_per_m2 };
        let of = |value: &dyn Fn(f64) -> f64| grid.omega().map(value).collect::<Vec<f64>>();
        let k = |w: f64| foam.fluid(&air, w).wavenumber_per_m;
        let rho = |w: f64| foam.fluid(&air, w).density_kg_per_m3;
        row.check_all("k_re", &of(&|w| k(w).re));
        row.check_all("k_im", &of(&|w| k(w).im));
        row.check_all("zc_re", &of(&|w| (rho(w) * w / k(w)).re));
        row.check_all("zc_im", &of(&|w| (rho(w) * w / k(w)).im));
        let stiffness = |w: f64| foam.fluid(&air, w).bulk_modulus_pa(w) / air.bulk_modulus_pa();
        row.check_all("k_eff_over_rho_c2_re", &of(&|w| stiffness(w).re));
        row.check_all("rho_eff_re", &of(&|w| rho(w).re));
        row.done();
    }
}

/// Why the other well-known formulas are not used: below f/σ of 0.012 they give energy.
#[test]
fn the_older_fit_is_a_source_of_energy_where_miki_is_none() {
    for row in rows(ROWS, "delany_bazley", 1) {
        let sigma = row.number("flow_resistivity_pa_s_per_m2");
        let (air, grid) = (air(&row), grid(&row));
        let power = |x: f64, a: f64, b: f64| Complex64::new(1.0 + a, -b) * x;
        let x = |w: f64| air.rho_kg_per_m3 * w / TAU / sigma;
        let zc = |w: f64| {
            let (a, b) = (0.0571 * x(w).powf(-0.754), 0.087 * x(w).powf(-0.732));
            power(air.impedance_pa_s_per_m(), a, b)
        };
        let k =
            |w: f64| power(w / air.c_m_per_s, 0.0978 * x(w).powf(-0.7), 0.189 * x(w).powf(-0.595));
        let stiffness = |w: f64| zc(w) * w / k(w) / air.bulk_modulus_pa();
        let of = |value: &dyn Fn(f64) -> f64| grid.omega().map(value).collect::<Vec<f64>>();
        row.check_all("k_re", &of(&|w| k(w).re));
        row.check_all("k_im", &of(&|w| k(w).im));
        row.check_all("zc_re", &of(&|w| zc(w).re));
        row.check_all("zc_im", &of(&|w| zc(w).im));
        row.check_all("k_eff_over_rho_c2_re", &of(&|w| stiffness(w).re));
        row.done();
        let foam = Foam { flow_resistivity_pa_s_per_m2: sigma };
        for omega in grid.omega().filter(|w| w / TAU / sigma < 0.0119) {
            assert!(stiffness(omega).im < 0.0);
            assert!(foam.fluid(&air, omega).bulk_modulus_pa(omega).im > 0.0);
        }
    }
}

#[test]
fn boundary_layers_set_the_highest_q() {
    for row in rows(ROWS, "cavity_wall_loss", 1) {
        let cavity = WaveCavity::bare([0.38, 0.24, row.number("lz_m")], air(&row));
        let q: Vec<f64> = grid(&row).omega().map(|w| cavity.wall_loss_q(w)).collect();
        row.check_all("q", &q);
        row.done();
    }
}
