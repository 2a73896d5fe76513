//! A reader for the small part of the SPICE language that the netlists use: R, L, C, K and one
//! voltage source, `*` comments, a title line, and dot lines and control blocks that are skipped.
//! Values are plain numbers (no suffixes). The first node of a coil is its dotted end.

use slabtone::circuit::network::{Component, Coupling, Network, Node};

/// A line `Xname node node value`.
pub struct Element {
    pub name: String,
    pub nodes: [String; 2],
    pub value: f64,
}

/// A netlist.
pub struct Deck {
    /// Resistors, coils and capacitors.
    pub elements: Vec<Element>,
    /// Names of two coils and their coupling factor.
    pub couplings: Vec<(String, String, f64)>,
    /// The source's hot node; it stands against node `0`.
    pub source_node: String,
    /// The source's alternating voltage, V rms.
    pub source_v: f64,
}

impl Deck {
    /// Reads a netlist.
    pub fn read(text: &str) -> Self {
        let mut deck = Self {
            elements: Vec::new(),
            couplings: Vec::new(),
            source_node: String::new(),
            source_v: f64::NAN,
        };
        for line in element_lines(text) {
            deck.read_line(line);
        }
        assert!(deck.source_v > 0.0, "the netlist has a source");
        deck
    }

    fn read_line(&mut self, line: &str) {
        let words: Vec<String> = line.split_whitespace().map(str::to_ascii_lowercase).collect();
        let word = |k: usize| words.get(k).cloned().unwrap_or_else(|| panic!("too short: {line}"));
        let last = words.last().and_then(|w| w.parse::<f64>().ok());
        let value = last.unwrap_or_else(|| panic!("no plain number at the end: {line}"));
        match line.chars().next().map(|c| c.to_ascii_uppercase()) {
            Some('R' | 'L' | 'C') => {
                assert_eq!(words.len(), 4, "name, two nodes, value: {line}");
                let nodes = [word(1), word(2)];
                self.elements.push(Element { name: word(0), nodes, value });
            }
            Some('K') => self.couplings.push((word(1), word(2), value)),
            Some('V') => {
                assert!(self.source_node.is_empty(), "one source: {line}");
                assert_eq!((word(2).as_str(), word(5).as_str()), ("0", "ac"), "{line}");
                (self.source_node, self.source_v) = (word(1), value);
            }
            _ => panic!("not a line that is understood: {line}"),
        }
    }

    /// Takes the named elements out; each must be there.
    pub fn remove(&mut self, names: &[&str]) {
        for name in names {
            self.value(name);
            self.elements.retain(|e| !e.name.eq_ignore_ascii_case(name));
        }
    }

    /// Value of the named element.
    pub fn value(&self, name: &str) -> f64 {
        let found = self.elements.iter().find(|e| e.name.eq_ignore_ascii_case(name));
        found.unwrap_or_else(|| panic!("no element {name}")).value
    }

    /// The netlist as the crate's network, without ports.
    pub fn network(&self) -> Network {
        let mut network = Network::new(&self.source_node, "0");
        for element in &self.elements {
            let component = match element.name.chars().next() {
                Some('r') => Component::Resistor { ohm: element.value },
                Some('l') => Component::Inductor { henry: element.value, dcr_ohm: 0.0 },
                _ => Component::Capacitor { farad: element.value, esr_ohm: 0.0 },
            };
            let nodes = [network.node(&element.nodes[0]), network.node(&element.nodes[1])];
            network.add(element.name.as_str(), component, nodes);
        }
        for (a, b, factor) in &self.couplings {
            let part = |name: &str| {
                let at = network.parts.iter().position(|p| p.reference == name);
                at.unwrap_or_else(|| panic!("no coil {name}"))
            };
            let parts = [part(a), part(b)];
            network.couplings.push(Coupling { parts, factor: *factor });
        }
        assert_eq!(network.node("0"), Node::RETURN);
        network
    }
}

/// The lines that hold elements: neither title, comment, dot line nor control block.
pub fn element_lines(text: &str) -> impl Iterator<Item = &str> {
    let mut in_control = false;
    text.lines().skip(1).filter(move |line| {
        let is = |word: &str| line.trim().eq_ignore_ascii_case(word);
        in_control = (in_control || is(".control")) && !is(".endc");
        let first = line.trim_start().chars().next();
        !in_control && !matches!(first, None | Some('*' | '.'))
    })
}
