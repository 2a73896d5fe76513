//! Plates: modes, static deflection, damping layers, air load, and a sheet on a small cavity.
//!
//! Sources (in full in each row of `data/plates.toml`): Leissa (1969, 1973) for clamped plates;
//! Timoshenko and Woinowsky-Krieger for static deflection; Oberst for the damping layer; Rayleigh's
//! integral for the air load; each recomputed by the reference. Full coupling to the standing
//! waves is in `coupled_sheets.rs`.

use crate::drivers;
use crate::rows::{Row, rows};
use num_complex::Complex64;
use slabtone::grid::{level_db, wrap_deg};
use slabtone::model::air::{Air, STANDARD_PRESSURE_PA};
use slabtone::model::closed_box::ClosedBox;
use slabtone::model::coil::VoiceCoil;
use slabtone::model::driver::{REFERENCE_DRIVE_V, REFERENCE_PRESSURE_PA};
use slabtone::model::fill::Fill;
use slabtone::model::given::GivenParameters;
use slabtone::model::plate::Plate;
use slabtone::model::plate::air_load::{self, FirstShape};
use slabtone::model::plate::edge::{Edges, Fixing};
use slabtone::model::plate::section::{Coating, Moduli, Section, Skin};
use slabtone::model::sheet::{self, Layout, Rear, Ribs, Sheet, SheetBox, Walls};
use std::f64::consts::TAU;

pub const ROWS: &str = include_str!("data/plates.toml");

fn air_of(row: &Row) -> Air {
    Air::dry(row.number("temperature_c"), STANDARD_PRESSURE_PA)
}

/// A plate of D = 1 N·m and 1 kg/m².
fn unit_section() -> Section {
    let one = Complex64::new(1.0, 0.0);
    Section { x_n_m: one, y_n_m: one, twist_n_m: one, mass_kg_per_m2: 1.0, thickness_m: 1e-3 }
}

/// The isotropic sheet that a row states.
pub fn skin_of(row: &Row, loss_factor: f64) -> Skin {
    let (modulus, poisson) = (row.number("youngs_modulus_pa"), row.number("poisson"));
    Skin {
        moduli: Moduli::isotropic(modulus, poisson),
        density_kg_per_m3: row.number("density_kg_per_m3"),
        thickness_m: row.number("thickness_m"),
        loss_factor,
    }
}

fn layout(sides_m: [f64; 2], section: Section, fixing: Fixing) -> Layout {
    Layout {
        corner_m: [0.0; 2],
        sides_m,
        section,
        edges: Edges::all(fixing),
        ribs: Ribs::none(),
        rear: Rear::Open,
        outside_mass: false,
    }
}

fn hz(plate: &Plate, count: usize) -> Vec<f64> {
    plate.modes().iter().take(count).map(|mode| mode.frequency_hz()).collect()
}

#[test]
fn clamped_plates_have_the_published_frequencies() {
    for row in rows(ROWS, "clamped_plate_lambda", 3) {
        let a = row.number("aspect_a_over_b");
        let plate = Plate::new([a, 1.0], &unit_section(), &Edges::all(Fixing::Clamped));
        let lambda: Vec<f64> =
            plate.modes().iter().take(6).map(|mode| mode.omega_rad_per_s * a * a).collect();
        row.check_all("lambda_first_six", &lambda);
        row.done();
    }
}

#[test]
fn plates_under_pressure_deflect_as_published() {
    for row in rows(ROWS, "plate_static_coefficients", 5) {
        let a = row.number("aspect_a_over_b");
        for (word, fixing) in [("ss", Fixing::Supported), ("clamped", Fixing::Clamped)] {
            let plate = Plate::new([a, 1.0], &unit_section(), &Edges::all(fixing));
            let volume = plate.static_compliance_m3_per_pa() / a;
            row.check(&format!("volume_coeff_{word}"), volume);
            row.check(&format!("centre_coeff_{word}"), plate.static_centre_m_per_pa());
        }
        row.done();
    }
}

#[test]
fn sheets_of_real_size_have_the_published_frequencies_and_volumes() {
    for row in rows(ROWS, "plate_dimensional", 5) {
        let air = air_of(&row);
        let sides = [row.number("a_m"), row.number("b_m")];
        let section = skin_of(&row, 0.0).section();
        row.check("d_n_m", section.x_n_m.re);
        let volume = sides[0] * sides[1] * row.number("cavity_depth_m");
        let cavity = volume / air.bulk_modulus_pa();
        for (word, fixing) in [("ss", Fixing::Supported), ("clamped", Fixing::Clamped)] {
            let sheet = Sheet::new(&layout(sides, section, fixing), &air);
            let plate = &sheet.bays[0].plate;
            row.check_all(&format!("f_{word}_hz"), &hz(plate, 6));
            row.check(&format!("c_plate_{word}_m3_per_pa"), plate.static_compliance_m3_per_pa());
            row.check(&format!("v_eff_{word}_l"), sheet.extra_volume_m3(&air) * 1e3);
            let coupled = sheet::one_mode_hz(&plate.modes()[0], cavity);
            row.check(&format!("coupled_f1_{word}_hz"), coupled);
        }
        row.done();
    }
}

#[test]
fn an_orthotropic_sheet_has_the_closed_form() {
    let row = &rows(ROWS, "plate_orthotropic_ss", 1)[0];
    let section = Section {
        x_n_m: row.number("dx_n_m").into(),
        y_n_m: row.number("dy_n_m").into(),
        twist_n_m: row.number("h_n_m").into(),
        mass_kg_per_m2: row.number("mass_per_area_kg_per_m2"),
        thickness_m: 9e-3,
    };
    let sides = [row.number("a_m"), row.number("b_m")];
    let plate = Plate::new(sides, &section, &Edges::all(Fixing::Supported));
    row.check_all("f_hz", &hz(&plate, 6));
    // Which mode it is: counted by the half waves of its shape along either side.
    let (mut m, mut n) = (Vec::new(), Vec::new());
    for k in 0..6 {
        m.push(half_waves(|s| plate.shapes_at(s * sides[0], 0.37 * sides[1])[k]));
        n.push(half_waves(|s| plate.shapes_at(0.37 * sides[0], s * sides[1])[k]));
    }
    row.check_all("m", &m);
    row.check_all("n", &n);
    row.done();
}

/// How many half waves `shape` makes from 0 to 1: one more than its changes of sign.
fn half_waves(shape: impl Fn(f64) -> f64) -> f64 {
    let values: Vec<f64> = (1..40).map(|i| shape(f64::from(i) / 40.0 + 0.001)).collect();
    values.windows(2).filter(|v| v[0] * v[1] < 0.0).count() as f64 + 1.0
}

/// The row of kind `plate_dimensional` with this id.
fn named_plate(id: &str) -> Row {
    let all = rows(ROWS, "plate_dimensional", 5);
    all.into_iter().find(|row| row.id == id).expect("a plate of that name")
}

/// The sheet and cavity that a coupled row names, with the row's own loss factor.
fn sheet_box(row: &Row) -> SheetBox {
    let named = named_plate(row.text("plate"));
    let fixing = match row.text("boundary") {
        "ss" => Fixing::Supported,
        "clamped" => Fixing::Clamped,
        other => panic!("no boundary `{other}`"),
    };
    let sides = [named.number("a_m"), named.number("b_m")];
    let section = skin_of(&named, row.number("loss_factor")).section();
    let volume = sides[0] * sides[1] * named.number("cavity_depth_m");
    SheetBox {
        closed_box: ClosedBox::tight(volume, Fill::Empty),
        sheets: Walls::back(Sheet::new(&layout(sides, section, fixing), &air_of(row)).into()),
        air_loss_factor: 0.0,
    }
}

#[test]
fn a_sheet_on_uniform_pressure_moves_as_the_modal_sum_says() {
    for row in rows(ROWS, "plate_cavity_ratio", 24) {
        let (coupled, air) = (sheet_box(&row), air_of(&row));
        let ratio: Vec<Complex64> = row
            .numbers("frequency_hz")
            .iter()
            .map(|f| coupled.flow_ratio(TAU * f, &air).back)
            .collect();
        let db: Vec<f64> = ratio.iter().map(|r| level_db(r.norm(), 1.0)).collect();
        row.check_all("ratio_db", &db);
        let want = row.expected_numbers("ratio_deg");
        let near = |(r, want): (&Complex64, &f64)| want + wrap_deg(r.arg().to_degrees() - want);
        row.check_all("ratio_deg", &ratio.iter().zip(&want).map(near).collect::<Vec<_>>());
        row.done();
    }
}

#[test]
fn a_driver_before_a_sheet_has_the_published_levels_and_impedance() {
    let boxes = drivers::box_rows();
    let worked = boxes.iter().find(|r| r.id == "cb-driver-A").expect("the worked driver A");
    for row in rows(ROWS, "driver_with_sheet", 6) {
        let (coupled, air) = (sheet_box(&row), air_of(&row));
        let given = GivenParameters {
            re_ohm: worked.number("re_ohm"),
            sd_m2: worked.number("sd_cm2") * 1e-4,
            fs_hz: Some(worked.number("fs_hz")),
            qms: Some(worked.number("qms")),
            qes: Some(worked.number("qes")),
            vas_m3: Some(worked.number("vas_l") * 1e-3),
            ..GivenParameters::default()
        };
        assert_eq!(row.text("driver"), "A");
        let motor = given.motor(&air).expect("a sufficient set");
        let driver = drivers::driver("A", motor, VoiceCoil::Plain { le_h: 0.0 });
        let (mut rigid, mut cone, mut sheet, mut ohm) = (vec![], vec![], vec![], vec![]);
        for f in row.numbers("frequency_hz") {
            let omega = TAU * f;
            let level = |flow: Complex64| {
                let pressure = air.rho_kg_per_m3 * f * flow.norm() * REFERENCE_DRIVE_V;
                level_db(pressure, REFERENCE_PRESSURE_PA)
            };
            let (_, still) = driver.respond_at(omega, coupled.closed_box.load(omega, &air));
            let (impedance, velocity) = driver.respond_at(omega, coupled.load(omega, &air));
            let flow = velocity * motor.sd_m2;
            rigid.push(level(still * motor.sd_m2));
            cone.push(level(flow));
            sheet.push(level(flow * coupled.flow_ratio(omega, &air).back));
            ohm.push(impedance.norm());
        }
        row.check_all("rigid_cone_level_db", &rigid);
        row.check_all("cone_level_db", &cone);
        row.check_all("sheet_level_db", &sheet);
        row.check_all("impedance_ohm", &ohm);
        row.done();
    }
}

#[test]
fn a_rigid_rib_stiffens_as_the_division_says() {
    let row = &rows(ROWS, "plate_rib", 1)[0];
    let (a, b) = (row.number("a_m"), row.number("b_m"));
    let air = Air::default();
    let whole = layout([a, b], unit_section(), Fixing::Supported);
    let compliance = |ribs: Ribs| {
        let layout = Layout { ribs, ..whole.clone() };
        Sheet::new(&layout, &air).static_compliance_m3_per_pa(&air)
    };
    let bare = compliance(Ribs::none());
    let across = compliance(Ribs { at_x_m: vec![0.5 * a], ..Ribs::none() });
    let along = compliance(Ribs { at_y_m: vec![0.5 * b], ..Ribs::none() });
    row.check("gain_rib_across_long_span", bare / across);
    row.check("gain_rib_along_sheet", bare / along);
    row.done();
}

#[test]
fn a_layer_glued_on_damps_and_stiffens_as_published() {
    for row in rows(ROWS, "plate_free_layer", 2) {
        let poisson = row.number("poisson");
        let sheet = Skin {
            moduli: Moduli::isotropic(row.number("sheet_youngs_modulus_pa"), poisson),
            density_kg_per_m3: row.number("sheet_density_kg_per_m3"),
            thickness_m: row.number("sheet_thickness_m"),
            loss_factor: 0.0,
        };
        let layer = Coating {
            youngs_modulus_pa: row.number("layer_youngs_modulus_pa"),
            poisson,
            loss_factor: row.number("layer_loss_factor"),
            density_kg_per_m3: row.number("layer_density_kg_per_m3"),
            thickness_m: row.number("layer_thickness_m"),
        };
        let edges = Edges::all(Fixing::Supported);
        let sides = [0.38, 0.24];
        let (bare, coated) = (sheet.section(), sheet.coated(&layer));
        row.check("stiffness_ratio", coated.x_n_m.re / bare.x_n_m.re);
        let [before, after] = [bare, coated].map(|section| Plate::new(sides, &section, &edges));
        row.check("loss_factor", after.modes()[0].loss_factor);
        row.check("frequency_factor", hz(&after, 1)[0] / hz(&before, 1)[0]);
        row.done();
    }
}

#[test]
fn outside_air_weighs_on_the_first_mode_as_rayleighs_integral_says() {
    let row = &rows(ROWS, "plate_air_load", 1)[0];
    let sides = [row.number("a_m"), row.number("b_m")];
    let skin = Skin {
        moduli: Moduli::isotropic(70e9, 0.33),
        density_kg_per_m3: 2700.0,
        thickness_m: 1e-3,
        loss_factor: 0.0,
    };
    let cases = [
        ("ss", FirstShape::Sine, Fixing::Supported),
        ("clamped", FirstShape::SineSquared, Fixing::Clamped),
    ];
    for (word, shape, fixing) in cases {
        let mass = air_load::first_mode_kg_per_m2(sides, shape, shape, &air_of(row));
        row.check(&format!("added_mass_{word}_kg_per_m2"), mass);
        let still = layout(sides, skin.section(), fixing);
        let heard = Layout { outside_mass: true, ..still.clone() };
        let [alone, loaded] =
            [still, heard].map(|l| hz(&Sheet::new(&l, &air_of(row)).bays[0].plate, 1)[0]);
        row.check(&format!("frequency_factor_1mm_al_{word}"), loaded / alone);
    }
    row.done();
}
