//! A crossover without any file: textbook sections, a network, the nodal solver.
//!
//! `cargo run --example two_way_by_hand` prints the level of each way into resistors at a few
//! frequencies, and the impedance that the amplifier sees.
#![allow(clippy::print_stdout)]

use num_complex::Complex64;
use slabtone::circuit::branch::{self, Namer, Stage};
use slabtone::circuit::ladder::{self, Pass};
use slabtone::circuit::load::Load;
use slabtone::circuit::network::{Network, Node};
use slabtone::circuit::slope::Slope;
use slabtone::circuit::solve::solve;
use slabtone::grid::{Grid, Impedance, Spectrum};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let slope: Slope = "lr4".parse()?;
    let (at_hz, woofer_ohm, tweeter_ohm) = (2500.0, 6.2, 5.4);

    let mut network = Network::new("amp+", "amp-");
    let mut namer = Namer::default();
    for (pass, ohm, name) in
        [(Pass::Low, woofer_ohm, "woofer"), (Pass::High, tweeter_ohm, "tweeter")]
    {
        let stages: Vec<Stage> =
            ladder::section(slope, pass, at_hz, ohm)?.into_iter().map(Stage::from).collect();
        let terminal = branch::lay(&mut network, &mut namer, &stages, name, &format!("{name}+"));
        network.add_port(name, [terminal, Node::RETURN]);
    }

    let grid = Grid::from_points(vec![500.0, 1250.0, 2500.0, 5000.0, 12_500.0])?;
    let resistor =
        |ohm: f64| -> Impedance { Spectrum::from_fn(&grid, |_| Complex64::new(ohm, 0.0)) };
    let (woofer, tweeter) = (resistor(woofer_ohm), resistor(tweeter_ohm));
    let solution =
        solve(&network, &grid, &Load::diagonal(&grid, &[Some(&woofer), Some(&tweeter)]))?;

    let level = |port: usize| solution.between(network.ports[port].nodes).level_db(1.0);
    let (low, high) = (level(0), level(1));
    let impedance = solution.input_impedance().magnitude();
    println!("{:>9} {:>10} {:>11} {:>8}", "Hz", "woofer dB", "tweeter dB", "ohm");
    for (i, hz) in grid.frequency_hz().iter().enumerate() {
        println!("{hz:>9} {:>10.2} {:>11.2} {:>8.2}", low[i], high[i], impedance[i]);
    }
    Ok(())
}
