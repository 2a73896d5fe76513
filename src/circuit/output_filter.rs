//! The filter at the output of a switching amplifier: a coil and a capacitor on each output, as an
//! explicit network ahead of what the amplifier feeds.

use super::network::{Component, Network, Node};
use num_complex::Complex64;

/// Node between the amplifier's stage and the filter's coil, and its counterpart of a bridge.
const STAGE: [&str; 2] = ["filter stage+", "filter stage-"];
/// Node that the legs' capacitors meet on.
const GROUND: &str = "filter ground";

/// A resistor in series with a capacitor, beside the filter's capacitor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Damping {
    /// Capacitance, F.
    pub farad: f64,
    /// Resistance, Ω.
    pub ohm: f64,
}

/// The parts of one output leg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutputFilter {
    /// Inductance in series with the output, H.
    pub henry: f64,
    /// Its resistance, Ω.
    pub dcr_ohm: f64,
    /// Capacitance from the output to ground, F.
    pub farad: f64,
    /// Its series resistance, Ω.
    pub esr_ohm: f64,
    /// What damps it.
    pub damping: Option<Damping>,
}

impl OutputFilter {
    /// Resonance of coil and capacitor, Hz.
    pub fn resonance_hz(&self) -> f64 {
        1.0 / (std::f64::consts::TAU * (self.henry * self.farad).sqrt())
    }

    /// Characteristic resistance √(L/C), Ω.
    pub fn characteristic_ohm(&self) -> f64 {
        (self.henry / self.farad).sqrt()
    }

    /// `fed` behind this filter: a leg on its input, another on its return where the outputs are
    /// `bridged`. Input and return of the result are the amplifier's stages; the nodes of `fed` keep
    /// their names, its ports their order.
    pub fn ahead_of(&self, fed: &Network, bridged: bool) -> Network {
        let (hot, cold) = (fed.name(Node::INPUT).to_owned(), fed.name(Node::RETURN).to_owned());
        let mut whole = Network::new(STAGE[0], if bridged { STAGE[1] } else { &cold });
        let terminals = [whole.node(&hot), whole.node(&cold)];
        let ground = if bridged { whole.node(GROUND) } else { Node::RETURN };
        let legs = if bridged { 2 } else { 1 };
        for (k, stage) in [Node::INPUT, Node::RETURN].into_iter().enumerate().take(legs) {
            self.add_leg(&mut whole, [stage, terminals[k], ground], ["+", "-"][k]);
        }
        for part in &fed.parts {
            let nodes = part.nodes.map(|n| whole.node(fed.name(n)));
            whole.add(part.reference.clone(), part.component, nodes);
        }
        let before = whole.parts.len() - fed.parts.len();
        whole.couplings = fed.couplings.clone();
        for coupling in &mut whole.couplings {
            coupling.parts = coupling.parts.map(|i| i + before);
        }
        for port in &fed.ports {
            let nodes = port.nodes.map(|n| whole.node(fed.name(n)));
            whole.add_port(port.name.clone(), nodes);
        }
        whole
    }

    fn add_leg(&self, whole: &mut Network, [stage, terminal, ground]: [Node; 3], sign: &str) {
        let &Self { henry, dcr_ohm, farad, esr_ohm, damping } = self;
        let name = |part: &str| format!("filter {part}{sign}");
        whole.add(name("L"), Component::Inductor { henry, dcr_ohm }, [stage, terminal]);
        whole.add(name("C"), Component::Capacitor { farad, esr_ohm }, [terminal, ground]);
        if let Some(Damping { farad, ohm }) = damping {
            let middle = whole.node(&name("damping"));
            let capacitor = Component::Capacitor { farad, esr_ohm: 0.0 };
            whole.add(name("damping C"), capacitor, [terminal, middle]);
            whole.add(name("damping R"), Component::Resistor { ohm }, [middle, ground]);
        }
    }
}

/// The damping by a capacitor of `ratio` times the filter's own that leaves the least peak of
/// |V/V source| with nothing connected and loss-free parts, and that peak. Whatever the resistor,
/// the response is (2 + n)/n at ω² = 2/((2 + n) L C), where a short and an open resistor agree
/// (n the ratio; derived here); the best resistor puts the maximum there.
pub fn best_damping(filter: &OutputFilter, ratio: f64) -> (Damping, f64) {
    let zeta = |ln_ohm: f64| highest(ratio, ln_ohm.exp());
    let (mut low, mut high) = (-4.0_f64, 4.0_f64);
    // The peak is unimodal in ln R: thirds narrow it to 1e-5.
    for _ in 0..32 {
        let (a, b) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
        if zeta(a) < zeta(b) { high = b } else { low = a }
    }
    let ohm = filter.characteristic_ohm() * (0.5 * (low + high)).exp();
    (Damping { farad: ratio * filter.farad, ohm }, zeta(0.5 * (low + high)))
}

/// Largest |H| of L = C = 1 with a damping branch of `ratio` and `ohm` beside the capacitor.
fn highest(ratio: f64, ohm: f64) -> f64 {
    let gain = |k: i32| {
        let omega = 2f64.powf(f64::from(k - 1600) / 800.0);
        let s = Complex64::new(0.0, omega);
        let branch = s * ratio / (1.0 + s * ratio * ohm);
        (1.0 + s * (s + branch)).inv().norm()
    };
    (0..2000).map(gain).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_best_damping_leaves_what_the_fixed_point_allows() {
        let filter =
            OutputFilter { henry: 10e-6, dcr_ohm: 0.0, farad: 1e-6, esr_ohm: 0.0, damping: None };
        for ratio in [1.0, 2.0, 4.0] {
            let (damping, peak) = best_damping(&filter, ratio);
            assert!((peak / ((2.0 + ratio) / ratio) - 1.0).abs() < 2e-3, "{ratio}: {peak}");
            assert!(damping.ohm > 1.0 && damping.ohm < 10.0);
        }
    }
}
