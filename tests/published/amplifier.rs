//! What an amplifier needs: traces and wires, a section with its driver unplugged, the output filter,
//! and heat in a closed slab.

use crate::rows::{Row, rows};
use num_complex::Complex64;
use slabtone::analysis::amplifier::stress::Stress;
use slabtone::circuit::cable::{IEC_60228, flexible_ohm_per_m};
use slabtone::circuit::load::Load;
use slabtone::circuit::network::{Component, Network, Node};
use slabtone::circuit::output_filter::{Damping, OutputFilter};
use slabtone::circuit::solve;
use slabtone::circuit::trace::{self, Layer};
use slabtone::design::Material;
use slabtone::grid::{Grid, Impedance, Spectrum, level_db};
use slabtone::model::slab_heat::film::Standing;
use slabtone::model::slab_heat::{Outside, Place, Slab, Wall};
use std::f64::consts::SQRT_2;
use std::sync::Arc;

const ROWS: &str = include_str!("data/amplifier.toml");
const SCIPY: &str = include_str!("data/amplifier_scipy.toml");
const MIL_M: f64 = 25.4e-6;

#[test]
fn traces_are_as_wide_as_the_chart_says() {
    for row in rows(ROWS, "trace_width", 9) {
        let layer = match row.text("layer") {
            "external" => Layer::External,
            _ => Layer::Internal,
        };
        let (current_a, rise_k) = (row.number("current_a"), row.number("temp_rise_k"));
        let area_m2 = trace::area_m2(layer, current_a, rise_k);
        let copper_m = 1e-3 * row.number("thickness_mm");
        let width_m = trace::width_m(layer, current_a, rise_k, copper_m);
        row.check("area_mil2", area_m2 / MIL_M.powi(2));
        row.check("width_mil", width_m / MIL_M);
        row.check("width_mm", 1e3 * width_m);
        row.check("resistance_20c_ohm_per_m", trace::ohm_per_m(area_m2));
        row.done();
    }
}

#[test]
fn the_other_fit_of_the_chart_is_not_mixed_in() {
    for row in rows(ROWS, "trace_trap", 1) {
        let (current_a, rise_k) = (row.number("current_a"), row.number("temp_rise_k"));
        let other = current_a / (row.number("k") * rise_k.powf(row.number("b")));
        let other_mil2 = other.powf(1.0 / row.number("c"));
        row.check("area_mil2", other_mil2);
        row.done();
        let ours_mil2 = trace::area_m2(Layer::External, current_a, rise_k) / MIL_M.powi(2);
        assert!((ours_mil2 / other_mil2 - 1.0).abs() > 0.05, "{ours_mil2} is the other fit's");
    }
}

#[test]
fn wires_have_the_resistance_that_the_standard_allows() {
    for (row, (mm2, solid, flexible)) in rows(ROWS, "wire_iec60228", 6).iter().zip(IEC_60228) {
        assert_eq!(row.text("id"), format!("iec60228-{mm2:?}mm2"));
        row.check("max_r_class1_2_ohm_per_km", solid);
        row.check("max_r_class5_ohm_per_km", flexible);
        row.check("max_r_class5_ohm_per_km", 1e3 * flexible_ohm_per_m(1e-6 * mm2));
        row.check("theoretical_r_ohm_per_km", 1e3 * trace::ohm_per_m(1e-6 * mm2));
        row.done();
    }
}

#[test]
fn a_section_without_its_driver_is_a_series_resonance() {
    for row in rows(ROWS, "unplugged", 3) {
        let mut network = Network::new("amp+", "amp-");
        let end = network.node("end");
        let (henry, dcr_ohm) = (row.number("l_h"), row.number("l_dcr_ohm"));
        let coil = Component::Inductor { henry, dcr_ohm };
        let capacitor = Component::Capacitor { farad: row.number("c_f"), esr_ohm: 0.0 };
        let low = row.text("section") == "lowpass";
        let (series, shunt) = if low { (coil, capacitor) } else { (capacitor, coil) };
        network.add("series", series, [Node::INPUT, end]);
        network.add("shunt", shunt, [end, Node::RETURN]);
        network.add_port("driver", [end, Node::RETURN]);
        let band = row.numbers("band_hz");
        let grid = Grid::log(band[0], band[1], 6001).unwrap();
        let load = Load::diagonal(&grid, &[None]);
        let stress = Stress::of(&network, &grid, &load, row.number("v_source_rms"), &[]).unwrap();
        let (l, c) = if low { (0, 1) } else { (1, 0) };
        row.check("max_v_cap_rms", stress.volts_peak[c].value / SQRT_2);
        row.check("f_max_v_cap_hz", stress.volts_peak[c].at_hz);
        row.check("max_i_coil_rms_a", stress.amperes[l].value);
        row.check("f_max_i_coil_hz", stress.amperes[l].at_hz);
        row.check("max_i_cap_rms_a", stress.amperes[c].value);
        row.check("f_max_i_cap_hz", stress.amperes[c].at_hz);
        row.check("min_input_z_ohm", stress.lowest.value);
        row.check("f_min_z_hz", stress.lowest.at_hz);
        row.done();
    }
}

#[test]
fn the_output_filter_rings_as_its_half_circuit_does() {
    for row in rows(SCIPY, "output_filter", 4) {
        let damping = Damping { farad: row.number("damping_f"), ohm: row.number("damping_ohm") };
        let filter = OutputFilter {
            henry: row.number("inductance_h"),
            dcr_ohm: row.number("dcr_ohm"),
            farad: row.number("capacitance_f"),
            esr_ohm: row.number("esr_ohm"),
            damping: (damping.farad > 0.0).then_some(damping),
        };
        let level = |grid: &Arc<Grid>| filtered_db(&filter, &row, grid);
        let wide = level(&Grid::log(2e4, 1e6, 4001).unwrap());
        row.check("at_20khz_db", wide[0]);
        row.check("at_1mhz_db", wide[4000]);
        let hz = |k: usize| 2e4 * 50f64.powf(k as f64 / 4000.0);
        let top = (0..4001).max_by(|&a, &b| wide[a].total_cmp(&wide[b])).unwrap();
        let (low, high) = (hz(top.saturating_sub(1)), hz((top + 1).min(4000)));
        let close = level(&Grid::log(low, high, 2001).unwrap());
        row.check("peak_db", close.into_iter().fold(f64::NEG_INFINITY, f64::max));
        row.done();
    }
}

fn filtered_db(filter: &OutputFilter, row: &Row, grid: &Arc<Grid>) -> Vec<f64> {
    let mut fed = Network::new("amp+", "amp-");
    fed.add_port("load", [Node::INPUT, Node::RETURN]);
    let mut whole = filter.ahead_of(&fed, row.flag("bridged"));
    let terminals = ["amp+", "amp-"].map(|name| whole.node(name));
    let ohm = row.number("load_ohm");
    let resistor: Impedance = Spectrum::from_fn(grid, |_| Complex64::new(ohm, 0.0));
    let load = Load::diagonal(grid, &[(ohm > 0.0).then_some(&resistor)]);
    let across = solve::solve(&whole, grid, &load).unwrap().between(terminals);
    across.magnitude().into_iter().map(|v| level_db(v, 1.0)).collect()
}

#[test]
fn a_slab_settles_where_its_heat_balances_say() {
    let material = |word: &str| Material::ALL.iter().find(|(w, _)| *w == word).unwrap().1;
    for row in rows(SCIPY, "slab_heat", 3) {
        let gap_m = row.number("gap_m");
        let wall = |side: &str, foam_m, outside| Wall {
            material: material(row.text(side)),
            thickness_m: row.number(&format!("{side}_m")),
            foam_m,
            outside,
        };
        let behind = if gap_m > 0.0 { Outside::Gap(gap_m) } else { Outside::Room };
        let slab = Slab {
            width_m: row.number("width_m"),
            height_m: row.number("height_m"),
            depth_m: row.number("depth_m"),
            face: wall("face", 0.0, Outside::Room),
            back: wall("back", row.number("foam_m"), behind),
            standing: Standing::Upright,
            room_c: row.number("room_c"),
        };
        let mut network = slab.network();
        network.sources_w[Place::Air.node()] = row.number("watts");
        let warm_c = network.settle().unwrap();
        for (key, place) in [
            ("air_c", Place::Air),
            ("face_inside_c", Place::FaceInside),
            ("face_outside_c", Place::FaceOutside),
            ("back_inside_c", Place::BackInside),
            ("back_sheet_c", Place::BackSheet),
            ("back_outside_c", Place::BackOutside),
        ] {
            row.check(key, warm_c[place.node()]);
        }
        let outside = Place::FaceOutside.node();
        let face = network.branches.iter().find(|b| b.to.is_none() && b.from == outside).unwrap();
        let w_per_k = face.path.w_per_k(warm_c[outside], slab.room_c);
        row.check("through_face_w", w_per_k * (warm_c[outside] - slab.room_c));
        row.done();
    }
}
