//! `circuit.cir`: a side as a SPICE netlist that ngspice runs in batch mode.

use crate::analysis::equivalent::{CoilPart, DriverCircuit, Remainder};
use crate::analysis::study::{SideStudy, Study};
use crate::circuit::ladder::Polarity;
use crate::circuit::network::{Network, Node};
use crate::design::{Values, Way, Ways};
use crate::units;
use std::fmt::Write;

/// The network that the curves of a side are for.
pub fn network(side: &SideStudy) -> &Network {
    match side.values {
        Values::Exact => &side.synthesis.network,
        Values::Chosen => &side.chosen.network,
    }
}

/// The netlist of a side with its drivers as `circuits`.
pub fn text(
    study: &Study,
    side: &SideStudy,
    names: &str,
    circuits: &Ways<DriverCircuit>,
) -> String {
    let values = match side.values {
        Values::Exact => "exact values",
        Values::Chosen => "values as bought",
    };
    let shared = side.shared_back.map_or(String::new(), |back| {
        let share = units::significant(100.0 * back.coupling, 2);
        format!("; the air between the drivers (open_back) is left out, |Z12|^2 is up to {share} % of |Z11 Z22|")
    });
    let title = format!("{}, {names}: crossover and drivers, {values}{shared}", study.design.name);
    let reversed = side.response().polarity == Polarity::Inverted;
    let amplifier = &study.design.amplifier;
    let deck = Deck {
        title,
        network: network(side),
        circuits,
        tweeter_reversed: reversed,
        output_ohm: amplifier.output_ohm,
        bridged: amplifier.bridged,
    };
    deck.text()
}

/// What a netlist is made of.
#[derive(Debug, Clone)]
pub struct Deck<'a> {
    /// Its first line.
    pub title: String,
    /// The crossover; its ports are the woofer and the tweeter.
    pub network: &'a Network,
    /// The drivers.
    pub circuits: &'a Ways<DriverCircuit>,
    /// Whether the tweeter's + goes to the second terminal of its port.
    pub tweeter_reversed: bool,
    /// Resistance of the amplifier's output and cable, Ω.
    pub output_ohm: f64,
    /// Both outputs of the amplifier are driven: neither is ground.
    pub bridged: bool,
}

impl Deck<'_> {
    /// The netlist: one volt at the source from 20 Hz to 20 kHz. Printed are level (dB) and phase
    /// (rad) of the voltage at each driver, as the network's ports have it, and of the current (A)
    /// into the network, as the voltage of a node of its own.
    pub fn text(&self) -> String {
        let nodes = Nodes::of(self.network, self.bridged);
        let mut out = String::new();
        head(&mut out, &self.title, self.circuits);
        source(&mut out, self.output_ohm, self.bridged);
        parts(&mut out, self.network, &nodes);
        let mut probes = String::new();
        for (port, way) in self.network.ports.iter().zip(Way::BOTH) {
            let [plus, minus] = port.nodes.map(|n| nodes.name(n));
            let word = way.word();
            let _ = writeln!(probes, "E{word} v_{word} 0 {plus} {minus} 1");
            let turned = way == Way::Tweeter && self.tweeter_reversed;
            let [plus, minus] = if turned { [minus, plus] } else { [plus, minus] };
            let _ = writeln!(out, "X{word} {plus} {minus} {word}");
        }
        let _ = write!(out, "\n* What is printed: voltages at the drivers, current in.\n{probes}");
        out.push_str("Hin i_in 0 Vin 1\n");
        for way in Way::BOTH {
            driver(&mut out, way, self.circuits.of(way));
        }
        out.push_str("\n.ac dec 100 20 20k\n");
        for node in ["v_woofer", "v_tweeter", "i_in"] {
            let _ = writeln!(out, ".print ac vdb({node}) vp({node})");
        }
        out.push_str(".end\n");
        out
    }
}

fn head(out: &mut String, title: &str, circuits: &Ways<DriverCircuit>) {
    let title: String = title.chars().map(plain).collect();
    let _ = writeln!(out, "* {title}\n* Run it with: ngspice -b circuit.cir");
    for way in Way::BOTH {
        let circuit = circuits.of(way);
        let within = |share: f64| match 20.0 * (1.0 + share).log10() {
            db if db < 1e-6 => "exactly the model".to_owned(),
            db => format!("impedance within {} dB of the model", units::significant(db, 2)),
        };
        let (word, alone) = (way.word(), within(circuit.parts_off));
        if circuit.table.is_empty() {
            let _ = writeln!(out, "* {word}: ordinary parts, {alone}");
        } else {
            let _ = writeln!(
                out,
                "* {word}: ordinary parts, alone {alone}, and Bx, a table of {} points in\n\
                 *   series for the rest, together {}.\n\
                 *   Bx holds for .ac alone; replace it by a wire for anything else.",
                circuit.table.len(),
                within(circuit.off)
            );
        }
    }
}

/// Letters that any program reads.
fn plain(c: char) -> char {
    if c.is_ascii() && !c.is_control() { c } else { '?' }
}

fn source(out: &mut String, output_ohm: f64, bridged: bool) {
    out.push('\n');
    let ohm = |share: f64| number((share * output_ohm).max(1e-9));
    if bridged {
        out.push_str("* A bridged amplifier: two outputs against each other. The returns go to\n");
        out.push_str("* the negative one, amp_n; nothing of the crossover meets ground, node 0.\n");
        let _ = writeln!(out, "Vpos src_p 0 DC 0 AC 0.5\nVneg src_n 0 DC 0 AC 0.5 180");
        let _ = writeln!(out, "Rout_p src_p out_p {}\nRout_n src_n amp_n {}", ohm(0.5), ohm(0.5));
    } else {
        let _ = writeln!(out, "Vamp src_p 0 DC 0 AC 1\nRout src_p out_p {}", ohm(1.0));
    }
    out.push_str("Vin out_p amp_p DC 0\n\n");
}

/// Names of nodes that SPICE takes.
struct Nodes(Vec<String>);

impl Nodes {
    fn of(network: &Network, bridged: bool) -> Self {
        let ret = if bridged { "amp_n" } else { "0" };
        let mut names = vec!["amp_p".to_owned(), ret.to_owned()];
        for index in 2..network.node_count() {
            let name = format!("n_{}", safe(network.name(Node(index))));
            names.push(unlike(name, &names));
        }
        Self(names)
    }

    fn name(&self, node: Node) -> &str {
        &self.0[node.0]
    }
}

fn safe(name: &str) -> String {
    let safe = |c: char| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '_' };
    name.chars().map(safe).collect()
}

/// `name`, or with a number if one of `taken` is called so: SPICE does not tell A from a.
fn unlike(name: String, taken: &[String]) -> String {
    let free = |n: &String| taken.iter().all(|t| !t.eq_ignore_ascii_case(n));
    let numbered = (2..).map(|k| format!("{name}_{k}"));
    std::iter::once(name.clone()).chain(numbered).find(free).unwrap_or(name)
}

fn parts(out: &mut String, network: &Network, nodes: &Nodes) {
    let mut names: Vec<String> = Vec::new();
    for part in &network.parts {
        let letter = part.component.letter();
        let safe = safe(&part.reference).to_ascii_uppercase();
        let safe = if safe.starts_with(letter) { safe } else { format!("{letter}_{safe}") };
        names.push(unlike(safe, &names));
    }
    for (part, name) in network.parts.iter().zip(&names) {
        let [a, b] = part.nodes.map(|n| nodes.name(n));
        let value = number(part.component.value());
        let loss = part.component.loss_ohm();
        if loss > 0.0 {
            let inner = format!("i_{}", name.to_ascii_lowercase());
            let _ = writeln!(out, "{name} {a} {inner} {value}");
            let what = if part.component.letter() == 'L' { "dcr" } else { "esr" };
            let _ = writeln!(out, "R{what}_{name} {inner} {b} {}", number(loss));
        } else {
            let _ = writeln!(out, "{name} {a} {b} {value}");
        }
    }
    for (k, coupling) in network.couplings.iter().enumerate() {
        let [a, b] = coupling.parts.map(|p| &names[p]);
        let _ = writeln!(out, "K{} {a} {b} {}", k + 1, number(coupling.factor));
    }
}

fn driver(out: &mut String, way: Way, circuit: &DriverCircuit) {
    let word = way.word();
    let parts = &circuit.parts;
    let _ = writeln!(out, "\n.subckt {word} plus minus\nRe plus c0 {}", number(parts.re_ohm));
    let mut last = 0;
    for part in &parts.coil {
        let (from, to) = (format!("c{last}"), format!("c{}", last + 1));
        last += 1;
        let _ = match *part {
            CoilPart::Resistance(ohm) => writeln!(out, "Rc{last} {from} {to} {}", number(ohm)),
            CoilPart::Inductance(henry) => {
                writeln!(out, "Lc{last} {from} {to} {}", number(henry))
            }
            CoilPart::Shunted(henry, ohm) => writeln!(
                out,
                "Lc{last} {from} {to} {}\nRc{last} {from} {to} {}",
                number(henry),
                number(ohm)
            ),
        };
    }
    let end = if circuit.table.is_empty() { "minus" } else { "x0" };
    for (name, value) in [("Res", parts.res_ohm), ("Lces", parts.lces_h), ("Cmes", parts.cmes_f)] {
        let _ = writeln!(out, "{name} c{last} {end} {}", number(value));
    }
    if let Some(air) = parts.air {
        let _ = writeln!(out, "Lair c{last} air {}", number(air.l_h));
        let _ = writeln!(out, "Rair air {end} {}", number(air.leak_ohm.max(1e-9)));
    }
    table(out, &circuit.table);
    out.push_str(".ends\n");
}

/// A voltage source that is the impedance of a table: resistance times the current, and reactance
/// over ω times the voltage that this current makes at 1 H.
fn table(out: &mut String, points: &[Remainder]) {
    let (Some(first), Some(last)) = (points.first(), points.last()) else { return };
    out.push_str("Vi x0 x1 DC 0\nF1 0 ir Vi 1\nR1 ir 0 1\nF2 0 il Vi 1\nL1 il 0 1\n");
    let ends = [Remainder { hz: 0.0, ..*first }, Remainder { hz: 1e6, ..*last }];
    let all = || ends[..1].iter().chain(points).chain(&ends[1..]);
    let list = |value: fn(&Remainder) -> f64| {
        let pair = |r: &Remainder| format!("{},{}", number(r.hz), number(value(r)));
        let pairs: Vec<String> = all().map(pair).collect();
        pairs.chunks(4).map(|c| c.join(", ")).collect::<Vec<_>>().join(",\n+ ")
    };
    let _ = writeln!(
        out,
        "Bx x1 minus V = pwl(hertz,\n+ {})*v(ir) +\n+ pwl(hertz,\n+ {})*v(il)",
        list(|r| r.ohm),
        list(|r| r.henry)
    );
}

/// Nine digits, with an exponent that any program reads.
fn number(value: f64) -> String {
    format!("{value:.8e}")
}
