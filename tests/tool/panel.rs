//! How a panel stands, what is near it, how drivers are let in: the keys, and what they change.

use crate::support::{BED, BENCH, Bench, Run};

/// The bench with every effect of the panel.
fn whole() -> Bench {
    let bench = Bench::new();
    bench.change(BENCH, "[models]\npanel = \"endless\"\n", "");
    bench
}

/// The bench with lines added to the table that begins with `header`.
fn with(header: &str, lines: &str) -> Bench {
    let bench = whole();
    bench.change(BENCH, &format!("{header}\n"), &format!("{header}\n{lines}\n"));
    bench
}

/// The bench with tables added before `[crossover]`.
fn beside(tables: &str) -> Bench {
    let bench = whole();
    bench.change(BENCH, "[crossover]\n", &format!("{tables}\n[crossover]\n"));
    bench
}

fn checked(bench: &Bench) -> Run {
    bench.run(&["check", BENCH])
}

#[test]
fn a_surface_through_the_panel_is_told() {
    let surface = |place: &str, mm: u32| {
        let keys = format!("place = \"{place}\"\ndistance_mm = {mm}");
        checked(&beside(&format!("[surface]\n{keys}")))
    };
    surface("below", 150).refused(&["`surface.distance_mm`: the panel would reach 10 mm through"]);
    surface("left", 599).refused(&["the panel would reach 1 mm through the surface"]);
    surface("below", 170).ends(0);
    surface("beneath", 400).refused(&["`surface.place`", "behind", "below"]);
}

#[test]
fn a_closed_rear_needs_its_gap_and_an_open_one_has_none() {
    let rear = |keys: &str| checked(&with("[panel]", keys));
    rear("rear = \"closed\"").refused(&["rear_gap_mm"]);
    rear("rear = \"closed\"\nrear_gap_mm = 12").ends(0);
    rear("rear_gap_mm = 12").refused(&["`panel.rear_gap_mm`: the rear is not closed"]);
}

#[test]
fn a_place_in_the_room_is_turned_with_the_panel() {
    let bench = with("[panel]", "tilt_deg = 90");
    // Lying on its back, the reader above it.
    bench.change(BENCH, "at_mm = [0, 330, 720]", "room_mm = [0, 720, 0]");
    let document = bench.run(&["design", BENCH, "--json"]).json();
    let listener = &document["sides"][0]["listeners"][0];
    assert!((listener["distance_m"].as_f64().unwrap() - 0.72).abs() < 1e-9);
    bench.change(BENCH, "room_mm = [0, 720, 0]", "room_mm = [0, 0, 720]");
    checked(&bench).refused(&["`listener[1].room_mm`", "in front of the face"]);
}

#[test]
fn a_flange_thickness_is_for_a_proud_flange() {
    let woofer = |keys: &str| checked(&with("[side.woofer]", keys));
    woofer("flange_thickness_mm = 4")
        .refused(&["`side[1].woofer.flange_thickness_mm`: the flange does not stand proud"]);
    woofer("mounting = \"proud\"\nflange_thickness_mm = 4").ends(0);
    woofer("mounting = \"sunk\"").refused(&["`side[1].woofer.mounting`", "behind"]);
}

#[test]
fn a_grille_is_cloth_or_a_sheet_with_holes() {
    let grille = |keys: &str| checked(&with("[side.woofer]", &format!("grille = {{ {keys} }}")));
    grille("resistance_pa_s_per_m = 30").ends(0);
    grille("thickness_mm = 1, hole_mm = 2, open_percent = 35").ends(0);
    grille("thickness_mm = 1").refused(&["hole_mm", "open_percent"]);
}

/// A floor mirrors the sound: a comb whose first notch lies where the way round is half a wave
/// longer, and a sum of both pressures in the bass.
#[test]
fn a_surface_makes_a_comb() {
    let levels = |surface: &str| {
        let models = "[models]\ncavity = \"lump\"\nsheets = \"rigid\"\npanel = \"endless\"\n";
        let bench = beside(&format!("{models}{surface}"));
        let document = bench.run(&["design", BENCH, "--json"]).json();
        let numbers = |v: &serde_json::Value| -> Vec<f64> {
            v.as_array().unwrap().iter().map(|n| n.as_f64().unwrap()).collect()
        };
        let listener = &document["sides"][0]["listeners"][0];
        (numbers(&document["frequency_hz"]), numbers(&listener["woofer_db"]))
    };
    let (hz, plain) = levels("");
    let (_, walled) = levels("[surface]\nplace = \"below\"\ndistance_mm = 300\nabsorption = 0\n");
    // Ear (0, 330, 720), woofer (-380, -25, -14) mm; the ear's image lies at y = -930 mm.
    let distance = |y: f64| (0.38f64.powi(2) + (y + 0.025).powi(2) + 0.734f64.powi(2)).sqrt();
    let (direct, round) = (distance(0.33), distance(-0.93));
    let notch_hz = 343.2 / (2.0 * (round - direct));
    let at = hz.iter().position(|f| *f > notch_hz).unwrap();
    let depth_db = 20.0 * (1.0 - direct / round).log10();
    assert!((walled[at] - plain[at] - depth_db).abs() < 0.7, "{} {}", walled[at], plain[at]);
    let bass_db = 20.0 * (1.0 + direct / round).log10();
    assert!((walled[0] - plain[0] - bass_db).abs() < 0.1, "{} {}", walled[0], plain[0]);
}

#[test]
fn every_effect_can_be_put_back_to_its_simpler_form() {
    let models = |keys: &str| checked(&beside(&format!("[models]\n{keys}\n")));
    models("cavity = \"lump\"").ends(0);
    models("sheets = \"rigid\"\npanel = \"endless\"").ends(0);
    models("sheet = \"rigid\"").refused(&["sheets"]);
    // Quotes round it would not make it one of the words.
    models("sheets = 0").refused(&["found 0", "write for example `sheets = \"move\"`"]);
    models("panel = \"infinite\"").refused(&["endless"]);
}

/// The bench with another back.
fn backed(keys: &str) -> Bench {
    let bench = whole();
    let text = bench.text(BENCH);
    let back = text.lines().find(|line| line.starts_with("back = ")).unwrap().to_owned();
    bench.change(BENCH, &back, &format!("back = {{ {keys} }}"));
    bench
}

#[test]
fn a_bare_thin_back_is_told_with_what_cures_it() {
    let run = backed("material = \"aluminium\", thickness_mm = 1, edges = \"clamped\"")
        .run(&["design", BENCH, "--json"]);
    let document = run.json();
    let side = &document["sides"][0];
    let numbers = |v: &serde_json::Value| -> Vec<f64> {
        v.as_array().unwrap().iter().map(|n| n.as_f64().unwrap()).collect()
    };
    let (hz, db) = (numbers(&document["frequency_hz"]), numbers(&side["sheet"]["ratio_db"]));
    let above: Vec<f64> = hz.iter().zip(&db).filter(|(_, d)| **d > 0.0).map(|(f, _)| *f).collect();
    assert!((105.0..125.0).contains(&above[0]), "{}", above[0]);
    assert_eq!(numbers(&side["sheet"]["ratio_deg"]).len(), hz.len());
    let told = document["warnings"].as_array().unwrap();
    let told = told.iter().map(|w| w.as_str().unwrap()).find(|w| w.contains("is not a wall"));
    let told = told.expect("a warning");
    assert!(told.contains("mm of the same") && told.contains("plywood instead"), "{told}");
    // With the sheet the resonance is lower than against a rigid back.
    let cavity = |key: &str| side["cavity"][key].as_f64().unwrap();
    assert!(cavity("fc_hz") < 0.9 * cavity("rigid_back_fc_hz"));
}

/// Without foam a standing wave drives the face of the bed head; what cures it is computed, and the
/// example has it.
#[test]
fn a_face_that_sings_is_told_with_what_cures_it() {
    let foam = "kind = \"foam\"\nthickness_mm = 4\nflow_resistivity_pa_s_per_m2 = 10000";
    let told = |bed: &Bench| -> Vec<String> {
        let document = bed.run(&["design", BED, "--json"]).json();
        let told = document["warnings"].as_array().unwrap().iter();
        told.map(|w| w.as_str().unwrap().to_owned()).filter(|w| w.contains("face:")).collect()
    };
    let bed = Bench::of_project();
    assert!(told(&bed).is_empty());
    bed.change(BED, foam, "kind = \"factor\"\ncompliance_factor = 1.15");
    let told = told(&bed);
    assert!(
        told.iter().any(|w| w.contains("is not a wall") && w.contains("foam on the whole back")),
        "{told:?}"
    );
}

#[test]
fn simpler_forms_leave_their_keys_out() {
    let side = |keys: &str| {
        let bench = beside(&format!("[models]\n{keys}\n"));
        bench.run(&["design", BENCH, "--json"]).json()["sides"][0].clone()
    };
    let full = side("");
    assert!(full["sheet"].is_object() && full["edges"]["woofer_db"].is_array());
    assert!(full["face"]["ratio_db"].is_array());
    let wall = side("sheets = \"back\"");
    assert!(wall["sheet"].is_object() && wall["face"].is_null());
    let rigid = side("sheets = \"rigid\"");
    assert!(rigid["face"].is_null());
    assert!(rigid["sheet"].is_null() && rigid["edges"].is_object());
    let endless = side("panel = \"endless\"");
    assert!(endless["edges"].is_null() && endless["sheet"].is_object());
    // Round the edges of a slim panel half of the bass is lost.
    let bass = |side: &serde_json::Value| side["listeners"][0]["woofer_db"][0].as_f64().unwrap();
    assert!((3.0..7.0).contains(&(bass(&endless) - bass(&full))));
}

#[test]
fn how_a_sheet_is_held_and_coated_is_checked() {
    let sheet = |keys: &str| {
        checked(&backed(&format!("material = \"aluminium\", thickness_mm = 2, {keys}")))
    };
    sheet("edges = \"glued\"").refused(&["`panel.back.edges`", "clamped", "supported"]);
    sheet("edge_stiffness_n = 400").ends(0);
    sheet("grain = \"across\"").refused(&["`panel.back.grain`", "width", "height"]);
    sheet("layer = { thickness_mm = 2, modulus_mpa = 1000 }")
        .refused(&["loss_factor", "density_kg_per_m3"]);
}

/// A small source in an endless wall: its power is 2πr² p²/(ρc), and it is twice as loud in front as
/// over the whole sphere, a directivity index of 3 dB (Kinsler, Frey, Coppens and Sanders,
/// *Fundamentals of Acoustics*, radiation into a half space; from memory).
#[test]
fn a_small_source_in_an_endless_wall_has_the_power_and_index_of_a_half_space() {
    let models = "[models]\ncavity = \"lump\"\nsheets = \"rigid\"\npanel = \"endless\"\n";
    let document = beside(models).run(&["design", BENCH, "--json"]).json();
    let side = &document["sides"][0];
    let power = &side["in_panel"]["power"][0];
    let number = |v: &serde_json::Value| v.as_f64().unwrap();
    let at_hz = number(&power["frequency_hz"]);
    assert!((number(&power["directivity_index_db"]) - 10.0 * 2f64.log10()).abs() < 0.1, "{power}");
    let hz = document["frequency_hz"].as_array().unwrap();
    let nearest = (0..hz.len()).min_by(|&a, &b| {
        let off = |i: usize| (number(&hz[i]) / at_hz).ln().abs();
        off(a).total_cmp(&off(b))
    });
    let listener = &side["listeners"][0];
    let (level_db, r) =
        (number(&listener["sum_db"][nearest.unwrap()]), number(&listener["woofer_distance_m"]));
    // 20 µPa squared over ρc is 0.969 pW/m² at 20 °C.
    let expected = level_db + 10.0 * (std::f64::consts::TAU * r * r * 0.969).log10();
    let found = number(&power["power_db"]);
    assert!((found - expected).abs() < 0.2, "{found} {expected}");
}
