//! Crossovers that cannot be: slopes, frequencies, networks written out part by part.

use crate::support::{BENCH, Bench, DESK, Run};

fn spoiled(file: &str, changes: &[(&str, &str)]) -> Run {
    let bench = Bench::new();
    for (from, to) in changes {
        bench.change(file, from, to);
    }
    let before = bench.listing("");
    let run = bench.run(&["design", file, "--out", "out"]);
    if run.code > 1 {
        assert_eq!(bench.listing(""), before, "nothing is written");
    }
    run
}

/// `part` of the desk's network with `more` after it.
fn with_part(more: &str) -> Run {
    let ports = "[crossover.ports]";
    spoiled(DESK, &[(ports, &format!("[[crossover.part]]\n{more}\n\n{ports}"))])
}

#[test]
fn a_frequency_outside_the_audible_band_is_refused() {
    for bad in ["19.9", "20000.1", "0", "-2600", "1e9", "nan", "inf"] {
        spoiled(BENCH, &[("at_hz = 2600", &format!("at_hz = {bad}"))]).refused(&[
            &format!("`crossover.at_hz`: found {bad}, expected a number from 20 to 20000 Hz"),
            "--> examples/reading-bench.toml:49:9",
        ]);
    }
}

#[test]
fn frequencies_at_the_edges_of_the_band_do_their_job() {
    for edge in ["20", "20000"] {
        let run = spoiled(BENCH, &[("at_hz = 2600", &format!("at_hz = {edge}"))]);
        assert!(run.code <= 1, "{}", run.err);
    }
}

#[test]
fn a_slope_of_odd_linkwitz_riley_order_says_why_and_what_is_near() {
    for (slope, nearest) in [("lr1", "bw1 and lr2"), ("lr3", "lr2, lr4 and bw3")] {
        spoiled(BENCH, &[("\"lr4\"", &format!("\"{slope}\""))]).refused(&[
            &format!("`crossover.slope`: found text \"{slope}\": there is no {slope}: "),
            "so its order is even",
            &format!("the nearest are {nearest}"),
            "--> examples/reading-bench.toml:48:9",
        ]);
    }
}

#[test]
fn a_slope_that_is_none_names_those_that_are() {
    spoiled(BENCH, &[("\"lr4\"", "\"bw5\"")]).refused(&["order 5 is not offered", "bw1 to bw4"]);
    spoiled(BENCH, &[("\"lr4\"", "\"foo\"")])
        .refused(&["`foo` is not a slope; write one of bw1 bw2 bw3 bw4 lr2 lr4"]);
    spoiled(BENCH, &[("\"lr4\"", "4")]).refused(&["`crossover.slope`: found 4, expected text"]);
    spoiled(BENCH, &[("slope = \"lr4\"\n", "")]).refused(&["`slope` is missing in `crossover`"]);
}

#[test]
fn a_level_told_twice_is_refused() {
    let both = "tweeter_level = \"match\"\ntweeter_lowered_db = 3";
    spoiled(BENCH, &[("tweeter_level = \"match\"", both)]).refused(&["the level is told twice"]);
}

#[test]
fn a_slope_does_not_go_with_a_list_of_parts() {
    spoiled(DESK, &[("at_hz = 2000", "at_hz = 2000\nslope = \"lr4\"")]).refused(&[
        "`crossover.slope`: does not go with [[crossover.part]]",
        "--> examples/study-desk.toml:",
    ]);
}

#[test]
fn an_open_end_is_told_at_the_part_that_has_it() {
    let loose = "ref = \"R9\"\nresistance_ohm = 10\nbetween = [\"low\", \"nowhere\"]";
    with_part(loose).refused(&[
        "`crossover.part[9].between`: node `nowhere` has one connection only: R9 ends there",
        "the amplifier's terminals are `amp+` and `amp-`",
    ]);
    spoiled(DESK, &[("between = [\"low\", \"flat\"]", "between = [\"low\", \"falt\"]")])
        .refused(&["has one connection only", "check the node names for a slip"]);
}

#[test]
fn a_floating_island_is_told() {
    let one = "ref = \"R9\"\nresistance_ohm = 10\nbetween = [\"island\", \"beach\"]\n\n";
    let two =
        "[[crossover.part]]\nref = \"R10\"\nresistance_ohm = 10\nbetween = [\"beach\", \"island\"]";
    with_part(&format!("{one}{two}")).refused(&[
        "floats: no path of parts leads from it to `amp+` or `amp-`",
        "`crossover.part[10].between`",
    ]);
}

#[test]
fn a_port_that_floats_is_told_at_the_port() {
    spoiled(DESK, &[("tweeter = [\"dome\", \"amp-\"]", "tweeter = [\"a\", \"b\"]")])
        .refused(&["`crossover.ports.tweeter`: node `a`", "has one connection only"]);
}

#[test]
fn a_name_used_twice_is_told_at_the_second_part() {
    spoiled(DESK, &[("ref = \"L2\"", "ref = \"L1\"")])
        .refused(&["`crossover.part[6].ref`: two parts are called L1"]);
}

#[test]
fn both_ends_on_one_node_are_told_at_the_part_or_the_port() {
    spoiled(DESK, &[("between = [\"low\", \"flat\"]", "between = [\"low\", \"low\"]")])
        .refused(&["R1 has both ends on node `low`: it does nothing", "crossover.part[3]"]);
    for (port, nodes) in [("woofer", "\"low\", \"amp-\""), ("tweeter", "\"dome\", \"amp-\"")] {
        let short = format!("{port} = [\"amp-\", \"amp-\"]");
        spoiled(DESK, &[(&format!("{port} = [{nodes}]"), &short)])
            .refused(&[&format!("`crossover.ports.{port}`: {port} has both ends on node `amp-`")]);
    }
}

#[test]
fn missing_ports_are_told() {
    let ports = "[crossover.ports]\nwoofer = [\"low\", \"amp-\"]\ntweeter = [\"dome\", \"amp-\"]\n";
    spoiled(DESK, &[(ports, "")]).refused(&["`ports` is missing in `crossover`"]);
    spoiled(DESK, &[("tweeter = [\"dome\", \"amp-\"]\n", "")])
        .refused(&["`tweeter` is missing in `crossover.ports`"]);
    spoiled(DESK, &[("woofer = [\"low\", \"amp-\"]", "woofer = [\"low\"]")])
        .refused(&["`crossover.ports.woofer`", "expected a list of 2 texts"]);
}

#[test]
fn a_part_needs_one_value_in_its_range() {
    let value = "inductance_mh = 0.82\ndcr_ohm = 0.28\n";
    spoiled(DESK, &[(value, "")]).refused(&["`crossover.part[1].ref`: the part has no value"]);
    spoiled(DESK, &[(value, "inductance_mh = 0.82\nresistance_ohm = 1\n")])
        .refused(&["the part has more than one value"]);
    for bad in ["0", "-0.82", "nan", "inf", "1e9", "\"0.82\""] {
        spoiled(DESK, &[("inductance_mh = 0.82", &format!("inductance_mh = {bad}"))])
            .refused(&["`crossover.part[1].inductance_mh`: found "]);
    }
    spoiled(DESK, &[("dcr_ohm = 0.28", "dcr_ohm = -0.28")]).refused(&["dcr_ohm`: found -0.28"]);
    spoiled(DESK, &[("dcr_ohm = 0.28", "esr_ohm = 0.28")]).refused(&["unknown key `esr_ohm`"]);
}

#[test]
fn parts_need_two_nodes_and_a_name() {
    let between = "between = [\"amp+\", \"low\"]";
    spoiled(DESK, &[(between, "between = [\"amp+\"]")]).refused(&["expected a list of 2 texts"]);
    spoiled(DESK, &[(between, "between = [\"amp+\", \"low\", \"x\"]")])
        .refused(&["found a list of 3, expected a list of 2"]);
    spoiled(DESK, &[(between, "between = [1, 2]")]).refused(&["`crossover.part[1].between"]);
    spoiled(DESK, &[(between, "")]).refused(&["`between` is missing in `crossover.part[1]`"]);
    spoiled(DESK, &[("ref = \"L1\"\n", "")]).refused(&["`ref` is missing in `crossover.part[1]`"]);
}

#[test]
fn coils_without_resistance_must_not_close_a_loop() {
    let spoils = [("capacitance_uf = 8.2", "inductance_mh = 8.2"), ("dcr_ohm = 0.22\n", "")];
    spoiled(DESK, &spoils).refused(&["closes a loop of coils without resistance", "dcr_ohm"]);
}

#[test]
fn coils_without_resistance_are_no_fault() {
    let run = spoiled(DESK, &[("dcr_ohm = 0.28\n", ""), ("dcr_ohm = 0.22\n", "")]);
    assert!(run.code <= 1, "{}", run.err);
}

#[test]
fn a_loss_free_resonance_on_the_axis_is_told_with_the_way_out() {
    // 1 mH and 1/(w²L) at the lowest frequency of the axis, in series across the amplifier.
    let omega = 20.0 * std::f64::consts::TAU;
    let uf = 1e6 / (omega * omega * 1e-3);
    let coil = "ref = \"L9\"\ninductance_mh = 1\nbetween = [\"amp+\", \"trap\"]\n\n";
    let trap = format!(
        "{coil}[[crossover.part]]\nref = \"C9\"\ncapacitance_uf = {uf}\nbetween = [\"trap\", \"amp-\"]"
    );
    let run = with_part(&trap);
    assert_eq!(run.code, 2, "{} {}", run.out, run.err);
    let told = "node `trap` has no finite voltage at 20.000000 Hz: loss-free parts resonate there";
    assert!(run.err.contains(told) && run.err.contains("give the coil its DCR"), "{}", run.err);
}

#[test]
fn parts_bought_in_pairs_get_names_that_nobody_has() {
    let bench = Bench::new();
    bench.change(DESK, "ref = \"C2\"", "ref = \"C1a\"");
    bench.change(DESK, "capacitance_uf = 10\n", "capacitance_uf = 10.77\n");
    bench.change(DESK, "series = \"E12\"", "series = \"E12\"\npairs_above_percent = 1");
    bench.run(&["design", DESK, "--json"]).ends(0).json();
    let listed = bench.run(&["parts", DESK, "--csv"]).ends(0).out;
    let names = listed.lines().filter_map(|line| line.split(',').next());
    let mut names: Vec<&str> = names.filter(|name| !name.is_empty()).collect();
    let all = names.len();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), all, "{listed}");
}
