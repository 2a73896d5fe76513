//! Laws of plates and of a sheet on a cavity.

use crate::random::log_between;
use approx::assert_relative_eq;
use num_complex::Complex64;
use proptest::prelude::*;
use slabtone::analysis::bay_walls;
use slabtone::analysis::cone_load::{self, ConeLoad};
use slabtone::design::{Along, Rib};
use slabtone::input::design_file;
use slabtone::input::files::{DEMO, Embedded};
use slabtone::model::air::Air;
use slabtone::model::coupled_cavity::CoupledCavity;
use slabtone::model::fluid::{AirLoss, Foam};
use slabtone::model::material::Material;
use slabtone::model::plate::Plate;
use slabtone::model::plate::edge::{Edges, Fixing};
use slabtone::model::plate::section::{Moduli, Skin};
use slabtone::model::sheet::{Layout, Rear, Ribs, Sheet, Walls};
use slabtone::model::wave_cavity::{Disc, WaveCavity, WaveField, WaveFill};
use std::f64::consts::TAU;
use std::path::Path;

const DISC: Disc = Disc { x_m: 0.13, y_m: 0.1, radius_m: 0.04 };

fn fixing() -> impl Strategy<Value = Fixing> {
    prop_oneof![
        Just(Fixing::Supported),
        Just(Fixing::Clamped),
        log_between(0.1, 1e5).prop_map(|stiffness_n| Fixing::Elastic { stiffness_n }),
    ]
}

fn edges() -> impl Strategy<Value = Edges> {
    (fixing(), fixing(), fixing(), fixing()).prop_map(|(a, b, c, d)| Edges { x: [a, b], y: [c, d] })
}

fn skin() -> impl Strategy<Value = Skin> {
    (0..5usize, log_between(5e-4, 2e-2), log_between(1e-3, 0.5))
        .prop_map(|(i, thickness, loss)| Material::ALL[i].1.skin(thickness, Some(loss)))
}

pub fn layout() -> impl Strategy<Value = Layout> {
    let rear =
        prop_oneof![Just(Rear::Open), (0.003..0.05).prop_map(|depth_m| Rear::Gap { depth_m })];
    let part = (0.0..0.1, 0.0..0.06, 0.5..1.0, 0.5..1.0, prop::option::of(0.2..0.8));
    (skin(), edges(), rear, part, any::<bool>()).prop_map(|(skin, edges, rear, part, mass)| {
        let (x, y, width, height, rib) = part;
        let sides_m = [(0.36 - x) * width, (0.25 - y) * height];
        let at_x_m = rib.map(|share| share * sides_m[0]).into_iter().collect();
        Layout {
            corner_m: [x, y],
            sides_m,
            section: skin.section(),
            edges,
            ribs: Ribs { at_x_m, ..Ribs::none() },
            rear,
            outside_mass: mass,
        }
    })
}

pub fn cavity() -> impl Strategy<Value = WaveCavity> {
    let fill = prop_oneof![
        Just(WaveFill::None),
        (3e3..4e4, 0.003..0.05).prop_map(|(flow_resistivity_pa_s_per_m2, thickness_m)| {
            WaveFill::Back { foam: Foam { flow_resistivity_pa_s_per_m2 }, thickness_m }
        }),
    ];
    let loss = prop_oneof![
        (1e-3..0.1).prop_map(|eta| AirLoss::Hysteretic { eta }),
        (20.0..200.0).prop_map(|q| AirLoss::ModalQ { q }),
    ];
    let leak = prop::option::of(log_between(1e4, 1e8));
    (0.01..0.08, fill, loss, leak).prop_map(|(depth, fill, loss, leak_pa_s_per_m3)| WaveCavity {
        fill,
        loss,
        leak_pa_s_per_m3,
        ..WaveCavity::bare([0.36, 0.25, depth], Air::default())
    })
}

fn coupled(cavity: WaveCavity, layout: &Layout) -> CoupledCavity {
    let field = WaveField::new(cavity, &[DISC], 20e3);
    CoupledCavity::new(&field, Walls::back(&Sheet::new(layout, &cavity.air)), &[DISC])
}

/// The cavity between two sheets.
fn between(cavity: WaveCavity, back: &Layout, face: &Layout) -> CoupledCavity {
    let field = WaveField::new(cavity, &[DISC], 20e3);
    let [back, face] = [back, face].map(|layout| Sheet::new(layout, &cavity.air));
    let walls = Walls { back: Some(&back), face: Some(&face) };
    CoupledCavity::new(&field, walls, &[DISC])
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn a_cavity_with_any_sheet_is_passive_and_finite(cavity in cavity(), layout in layout()) {
        let coupled = coupled(cavity, &layout);
        for i in 0..40 {
            let omega = TAU * 20.0 * 1000f64.powf(f64::from(i) / 39.0);
            let answer = coupled.answer_at(omega, 0).unwrap();
            let z = answer.impedance;
            prop_assert!(z.is_finite() && answer.flow_ratio.back.is_finite());
            prop_assert!(answer.deflection.is_finite() && answer.leak_ratio.is_finite());
            prop_assert!(z.re >= -1e-7 * z.norm(), "{z} at {} Hz", omega / TAU);
        }
    }

    #[test]
    fn a_cavity_between_any_two_sheets_is_passive_and_finite(
        cavity in cavity(), back in layout(), face in layout(),
    ) {
        let coupled = between(cavity, &back, &face);
        for i in 0..30 {
            let omega = TAU * 20.0 * 1000f64.powf(f64::from(i) / 29.0);
            let answer = coupled.answer_at(omega, 0).unwrap();
            let (z, ratio) = (answer.impedance, answer.flow_ratio);
            prop_assert!(z.is_finite() && ratio.back.is_finite() && ratio.face.is_finite());
            prop_assert!(answer.deflection.is_finite() && answer.leak_ratio.is_finite());
            prop_assert!(z.re >= -1e-7 * z.norm(), "{z} at {} Hz", omega / TAU);
        }
    }

    /// At low notes each wall takes its share of the flow: what air, leak and the sheets let through
    /// stands in parallel.
    #[test]
    fn slow_air_parts_between_both_walls(
        mut cavity in cavity(), back in layout(), face in layout(),
    ) {
        // Slow enough that the air's mass along a soft sheet is nothing.
        let omega = TAU * 0.1;
        cavity.leak_pa_s_per_m3 = None;
        cavity.loss = AirLoss::Hysteretic { eta: 1e-4 };
        cavity.fill = WaveFill::None;
        let whole = |layout: Layout| Layout {
            corner_m: [0.0; 2], sides_m: [0.36, 0.25], ribs: Ribs::none(), rear: Rear::Open, ..layout
        };
        let (back, face) = (whole(back), whole(face));
        let flow = |layout: &Layout| Sheet::new(layout, &cavity.air).admittance(omega, &cavity.air);
        let all = flow(&back) + flow(&face) + 1.0 / cavity.uniform_impedance(omega);
        let answer = between(cavity, &back, &face).answer_at(omega, 0).unwrap();
        for (got, want) in [
            (answer.flow_ratio.back, flow(&back) / all),
            (answer.flow_ratio.face, flow(&face) / all),
            (answer.impedance, 1.0 / all),
        ] {
            prop_assert!((got - want).norm() < 3e-3 * want.norm(), "{got} {want}");
        }
    }

    #[test]
    fn slow_pressure_is_the_same_everywhere(mut cavity in cavity(), layout in layout()) {
        let omega = TAU * 0.5;
        cavity.leak_pa_s_per_m3 = None;
        // The air behind the sheet has this loss in one form and none in the other.
        cavity.loss = AirLoss::Hysteretic { eta: 1e-4 };
        // Along foam even slow air meets a resistance that a soft sheet feels.
        cavity.fill = WaveFill::None;
        let covers = Layout { corner_m: [0.0; 2], sides_m: [0.36, 0.25], ..layout };
        let covers = Layout { ribs: Ribs::none(), ..covers };
        let sheet = Sheet::new(&covers, &cavity.air).admittance(omega, &cavity.air);
        let air = 1.0 / cavity.uniform_impedance(omega);
        let answer = coupled(cavity, &covers).answer_at(omega, 0).unwrap();
        let ratio = sheet / (sheet + air);
        prop_assert!((answer.flow_ratio.back - ratio).norm() < 3e-3 * ratio.norm(),
            "{} {ratio}", answer.flow_ratio.back);
        let z = 1.0 / (sheet + air);
        prop_assert!((answer.impedance - z).norm() < 3e-3 * z.norm(), "{} {z}", answer.impedance);
    }

    #[test]
    fn elastic_edges_lie_between_supported_and_clamped(
        skin in skin(), a in 0.1..0.5, b in 0.1..0.5, ratio in log_between(1e-3, 1e4),
    ) {
        let section = skin.section();
        let of = |edges: Edges| Plate::new([a, b], &section, &edges);
        let [dx, dy] = [section.x_n_m.re, section.y_n_m.re];
        let elastic = of(Edges {
            x: [Fixing::of_ratio(ratio, a, dx); 2],
            y: [Fixing::of_ratio(ratio, b, dy); 2],
        });
        let (loose, tight) = (of(Edges::all(Fixing::Supported)), of(Edges::all(Fixing::Clamped)));
        let f = |plate: &Plate| plate.modes()[0].frequency_hz();
        // The clamped one is a Ritz bound of its own.
        prop_assert!(f(&loose) <= f(&elastic) * (1.0 + 1e-6));
        prop_assert!(f(&elastic) <= f(&tight) * (1.0 + 1e-6));
        let c = |plate: &Plate| plate.static_compliance_m3_per_pa();
        prop_assert!(c(&tight) <= c(&elastic) * (1.0 + 1e-4));
        prop_assert!(c(&elastic) <= c(&loose) * (1.0 + 1e-4));
    }
}

#[test]
fn no_sheet_is_the_rigid_field_and_a_very_stiff_one_tends_to_it() {
    let cavity = WaveCavity::bare([0.36, 0.25, 0.03], Air::default());
    let field = WaveField::new(cavity, &[DISC], 20e3);
    let none = Sheet { bays: Vec::new(), rear: Rear::Open };
    let none = CoupledCavity::new(&field, Walls::back(&none), &[DISC]);
    let layout = |thickness_m: f64| Layout {
        corner_m: [0.0; 2],
        sides_m: [0.36, 0.25],
        section: Material::Steel.skin(thickness_m, None).section(),
        edges: Edges::all(Fixing::Clamped),
        ribs: Ribs::none(),
        rear: Rear::Open,
        outside_mass: false,
    };
    let stiff = [0.02, 0.2].map(|t| coupled(cavity, &layout(t)));
    for hz in [30.0, 200.0, 480.0, 900.0, 2500.0, 9000.0] {
        let rigid = field.impedance_at(TAU * hz, &field.own(&DISC));
        let alone = none.answer_at(TAU * hz, 0).unwrap();
        assert_eq!((alone.impedance, alone.flow_ratio.back), (rigid, Complex64::default()));
        let off = |c: &CoupledCavity| {
            (c.answer_at(TAU * hz, 0).unwrap().impedance - rigid).norm() / rigid.norm()
        };
        assert!(off(&stiff[0]) < 0.05, "{hz} Hz: {}", off(&stiff[0]));
        assert!(off(&stiff[1]) < 1e-4, "{hz} Hz: {}", off(&stiff[1]));
    }
    assert!(none.answer_at(1000.0, 1).is_none());
}

#[test]
fn an_orthotropic_sheet_of_equal_stiffness_is_isotropic() {
    let (modulus, poisson) = (70e9, 0.33);
    let shear = modulus / (2.0 * (1.0 + poisson));
    let skin =
        |moduli| Skin { moduli, density_kg_per_m3: 2700.0, thickness_m: 1.2e-3, loss_factor: 0.02 };
    let edges = Edges { x: [Fixing::Clamped, Fixing::Supported], y: [Fixing::Clamped; 2] };
    let of = |moduli| Plate::new([0.3, 0.2], &skin(moduli).section(), &edges);
    let one = of(Moduli::isotropic(modulus, poisson));
    let other = of(Moduli::orthotropic(modulus, modulus, poisson, shear));
    for (a, b) in one.modes().iter().zip(other.modes()) {
        assert_relative_eq!(a.frequency_hz(), b.frequency_hz(), max_relative = 1e-9);
    }
}

/// A side on the right takes the load of its mirror image: that must be what its own cavity gives,
/// with the cone out of the middle and a rib on one side of it.
#[test]
fn a_mirrored_side_has_the_load_of_its_own_cavity() {
    let mut design = design_file::load(&Embedded, Path::new(DEMO)).expect("sound");
    let rib = Rib { along: Along::Height, at_m: 0.31, width_m: 0.01, divides: false };
    design.sides[1].cavity.ribs.push(rib);
    design.sides[1].drivers.woofer.x_m += 0.04;
    let (right, air) = (&design.sides[1], &design.air);
    assert!(right.bay().x_m > 0.0);
    let (field, rear) = cone_load::rigid(right, air);
    let sheets = bay_walls::sheets(&design, right);
    let own = CoupledCavity::new(&field, sheets.as_ref().map(Option::as_deref), &[rear.disc]);
    let shared = ConeLoad::of(&design, right);
    for hz in [40.0, 180.0, 420.0, 610.0, 950.0, 1900.0, 6000.0] {
        let omega = TAU * hz;
        let want = rear.load(omega, own.answer_at(omega, 0).expect("the cone").impedance);
        let got = shared.at(omega);
        assert!((got - want).norm() < 1e-6 * want.norm(), "{hz} Hz: {got} is not {want}");
    }
}

/// A face too stiff to move leaves the back as it is behind a wall, and the other way round. A face
/// like the back, in a cavity the same from both sides, moves as it but for the cone's near field.
#[test]
fn a_wall_that_cannot_move_is_a_wall() {
    let cavity = WaveCavity::bare([0.36, 0.25, 0.03], Air::default());
    let field = WaveField::new(cavity, &[DISC], 20e3);
    let sheet = |thickness_m: f64| {
        let layout = Layout {
            corner_m: [0.0; 2],
            sides_m: [0.36, 0.25],
            section: Material::Plywood.skin(thickness_m, None).section(),
            edges: Edges::all(Fixing::Clamped),
            ribs: Ribs::none(),
            rear: Rear::Open,
            outside_mass: false,
        };
        Sheet::new(&layout, &cavity.air)
    };
    let (soft, stiff) = (sheet(0.004), sheet(2.0));
    let of = |back, face| CoupledCavity::new(&field, Walls { back, face }, &[DISC]);
    let (alone, beside) = (of(Some(&soft), None), of(Some(&soft), Some(&stiff)));
    let (face, before) = (of(None, Some(&soft)), of(Some(&stiff), Some(&soft)));
    let twins = of(Some(&soft), Some(&soft));
    for hz in [30.0, 130.0, 290.0, 480.0, 900.0, 2500.0] {
        let answer = |c: &CoupledCavity| c.answer_at(TAU * hz, 0).unwrap();
        let near = |a: Complex64, b: Complex64| {
            assert!((a - b).norm() < 2e-3 * b.norm(), "{hz} Hz: {a} is not {b}");
        };
        near(answer(&beside).impedance, answer(&alone).impedance);
        near(answer(&beside).flow_ratio.back, answer(&alone).flow_ratio.back);
        near(answer(&before).impedance, answer(&face).impedance);
        near(answer(&before).flow_ratio.face, answer(&face).flow_ratio.face);
        if hz < 200.0 {
            let ratio = answer(&twins).flow_ratio;
            assert!((ratio.face - ratio.back).norm() < 0.02 * ratio.back.norm(), "{hz} Hz");
        }
    }
}
