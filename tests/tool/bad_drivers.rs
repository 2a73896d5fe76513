//! Driver files with impossible contents.

use crate::support::{Bench, Run, WOOFER};

/// `check` on the Bramble with `from` replaced by `to`.
fn spoiled(from: &str, to: &str) -> Run {
    let bench = Bench::new();
    bench.change(WOOFER, from, to);
    bench.run(&["check", WOOFER])
}

/// Every line `key = number` of a text: line number, key and number.
fn numbers(text: &str) -> Vec<(usize, String, String)> {
    let lines = text.lines().enumerate().filter_map(|(n, line)| {
        let (key, value) = line.split_once(" = ")?;
        value.parse::<f64>().ok()?;
        (!key.starts_with('#') && key != "slabtone").then(|| (n, key.into(), value.into()))
    });
    lines.collect()
}

/// `text` with line `at` replaced.
fn with_line(text: &str, at: usize, line: &str) -> String {
    let lines = text.lines().enumerate().map(|(n, old)| if n == at { line } else { old });
    lines.map(|line| format!("{line}\n")).collect()
}

#[test]
fn every_number_of_a_driver_refuses_what_is_not_finite_absurd_or_text() {
    for file in ["drivers/bramble.toml", "drivers/sorrel.toml", "drivers/tansy.toml"] {
        let bench = Bench::new();
        let good = bench.text(file);
        let numbers = numbers(&good);
        assert!(numbers.len() >= 14, "{file}");
        for (line, key, _) in numbers {
            for bad in ["nan", "inf", "-inf", "1e12", "-1e12", "1e400", "\"4 x\"", "true", "[1]"] {
                bench.write(file, with_line(&good, line, &format!("{key} = {bad}")));
                let run = bench.run(&["check", file]);
                let place = format!("--> {file}:{}:{}", line + 1, key.len() + 4);
                run.refused(&[&format!("{key}`: found "), "expected a number ", &place]);
            }
        }
    }
}

#[test]
fn zero_and_negative_numbers_are_accepted_nowhere_by_accident() {
    // A plain coil may have no inductance, a magnet no volume, an acoustic centre be in front.
    let allowed = ["le_mh", "shunted_le_mh", "displaced_volume_cm3", "acoustic_centre_mm"];
    for file in ["drivers/bramble.toml", "drivers/sorrel.toml", "drivers/tansy.toml"] {
        let bench = Bench::new();
        let good = bench.text(file);
        for (line, key, value) in numbers(&good) {
            for bad in ["0", "0.0", "-0.0", &format!("-{value}")] {
                bench.write(file, with_line(&good, line, &format!("{key} = {bad}")));
                let run = bench.run(&["check", file]);
                if allowed.contains(&&*key) && run.code == 0 {
                    continue;
                }
                run.refused(&[&format!("{key}`: found {bad}")]);
            }
        }
    }
}

#[test]
fn the_message_of_an_impossible_number_names_the_limits() {
    spoiled("fs_hz = 78", "fs_hz = 0")
        .refused(&["`thiele_small.fs_hz`: found 0, expected a number from 10 to 10000 Hz"]);
    spoiled("fs_hz = 78", "fs_hz = -78").refused(&["found -78, expected a number from 10"]);
    spoiled("fs_hz = 78", "fs_hz = 1e9").refused(&["found 1e9, expected", "above 10000 Hz"]);
    spoiled("fs_hz = 78", "fs_hz = nan").refused(&["found nan, expected", "not a finite number"]);
    spoiled("fs_hz = 78", "fs_hz = inf").refused(&["found inf, expected", "not a finite number"]);
    spoiled("fs_hz = 78", "fs_hz = \"78\"")
        .refused(&["write the number without quotes: `fs_hz = 78`"]);
    spoiled("fs_hz = 78", "fs_hz = \"78 Hz\"").refused(&["write the number alone, `fs_hz = 78`"]);
    spoiled("fs_hz = 78", "fs_hz = 78,5").refused(&["write a decimal point, `fs_hz = 78.5`"]);
    spoiled("fs_hz = 78", "fs_hz = 78 Hz").refused(&["bramble.toml:8:"]);
    spoiled("fs_hz = 78", "fs_hz =").refused(&["the value is missing"]);
}

#[test]
fn all_unknown_keys_are_told_at_once_with_the_nearest_known_ones() {
    let bench = Bench::new();
    bench.change(WOOFER, "fs_hz", "fs_khz");
    bench.change(WOOFER, "xmax_mm", "x_max_mm");
    bench.change(WOOFER, "flange_mm", "flannge_mm");
    bench.change(WOOFER, "[voice_coil]", "[voicecoil]");
    bench.run(&["check", WOOFER]).refused(&[
        "unknown key `fs_khz` in `thiele_small`",
        "expected `fs_hz`, in Hz",
        "unknown key `x_max_mm` in `limits`",
        "did you mean `xmax_mm`?",
        "unknown key `flannge_mm` in `size`",
        "did you mean `flange_mm`?",
        "unknown table `voicecoil`",
        "did you mean `voice_coil`?",
        "drivers/bramble.toml: 4 faults",
    ]);
}

#[test]
fn a_missing_key_is_told_with_a_line_to_copy() {
    spoiled("re_ohm = 5.6\n", "").refused(&["`re_ohm` is missing in `thiele_small`", "re_ohm = "]);
    spoiled("mms_measured = \"free_air\"\n", "").refused(&["`mms_measured` is missing"]);
    spoiled("name = \"Bramble 90\"\n", "").refused(&["`name` is missing"]);
    spoiled("[limits]\nxmax_mm = 3.2\nnoise_power_w = 20\n", "").refused(&["`limits` is missing"]);
}

#[test]
fn a_key_given_twice_is_told() {
    spoiled("qms = 4.1", "qms = 4.1\nqms = 4.2")
        .refused(&["`qms` stands here for the second time"]);
}

#[test]
fn an_insufficient_set_says_which_parameters_would_do() {
    spoiled("vas_l = 2.1", "")
        .ends(0)
        .out
        .contains("sound")
        .then_some(())
        .expect("Mms stands in for Vas");
    let bench = Bench::new();
    bench.change(WOOFER, "vas_l = 2.1", "").change(WOOFER, "mms_g = 3.9", "");
    bench.run(&["check", WOOFER]).refused(&[
        "mass and compliance are not fixed: state fs and one of Vas, Mms, Cms",
        "a usual set is fs_hz, qms, qes, vas_l, sd_cm2, re_ohm",
    ]);
    let bench = Bench::new();
    bench.change(WOOFER, "qms = 4.1", "").change(WOOFER, "qes = 0.62", "");
    bench.run(&["check", WOOFER]).refused(&["the mechanical loss is not fixed: state Qms"]);
}

#[test]
fn a_total_q_above_its_parts_is_told() {
    let bench = Bench::new();
    bench.change(WOOFER, "qms = 4.1", "").change(WOOFER, "qts = 0.54", "qts = 0.63");
    bench
        .run(&["check", WOOFER])
        .refused(&["Qts = 0.63 must be smaller than Qes = 0.62", "drivers/bramble.toml:"]);
}

#[test]
fn parameters_that_cannot_belong_to_one_driver_are_refused() {
    spoiled("mms_g = 3.9", "mms_g = 39")
        .refused(&["`thiele_small.mms_g`: +860 % from what the other parameters give"]);
    spoiled("qts = 0.54", "qts = 0.1").refused(&["`thiele_small.qts`: -81 % from"]);
}

#[test]
fn a_flange_smaller_than_the_cut_out_is_told() {
    spoiled("flange_mm = 93", "flange_mm = 79")
        .refused(&["`size.flange_mm`: smaller than the cut-out"]);
}

#[test]
fn a_coil_with_two_models_or_half_of_one_is_told() {
    spoiled("le_mh = 0.34", "le_mh = 0.34\npower_law_k = 0.006")
        .refused(&["`voice_coil.power_law_k`: stands alone"]);
    spoiled("le_mh = 0.34", "le_mh = 0.34\npower_law_k = 0.006\npower_law_n = 0.7")
        .refused(&["the coil has two models"]);
    spoiled("le_mh = 0.34", "le_mh = 0.34\nshunt_ohm = 3")
        .refused(&["`voice_coil.shunt_ohm`: stands alone"]);
    spoiled("le_mh = 0.34", "").refused(&["`le_mh` is missing in `voice_coil`"]);
}

#[test]
fn a_role_and_a_condition_must_be_among_the_words() {
    spoiled("\"woofer\"", "\"wofer\"")
        .refused(&["`role`: found text \"wofer\"", "did you mean \"woofer\"?"]);
    spoiled("\"free_air\"", "\"vacuum\"").refused(&["expected \"free_air\" or \"baffle\""]);
}

#[test]
fn an_empty_name_is_no_name() {
    for name in ["\"\"", "\"  \""] {
        spoiled("\"Bramble 90\"", name).refused(&["`name`: found", "expected some text"]);
    }
}
