//! Each part of a crossover taken out in turn and the rest tuned anew: what is saved, what is lost.

use super::compare::{self, Variant};
use super::explore::merit::{Candidate, Yardstick};
use super::study::StudyError;
use super::synthesis;
use super::tune::{self, Effort};
use crate::circuit::network::{Component, Network, Node};
use crate::design::Design;
use crate::grid::Grid;

/// What taking parts out saves and loses.
#[derive(Debug, Clone)]
pub struct Saving {
    /// The parts taken out, "R1 C3"; empty for the design as it is.
    pub reference: String,
    /// "left out", "bridged by a wire", or "as it is".
    pub how: &'static str,
    /// The tuned candidate without them.
    pub candidate: Candidate,
}

/// The design tuned as it is, then without each part in turn, the rest tuned anew. What a part
/// leaves dangling goes with it, so that a branch is taken out whole. A coil or resistor in the
/// way is bridged by a wire instead; a capacitor never is, since it keeps direct current and bass
/// from what stands behind it. A part that the target holds fixed stays.
///
/// # Errors
/// A design that cannot be studied.
pub fn cost_down(design: &Design, effort: Effort<'_>) -> Result<Vec<Saving>, StudyError> {
    let full = synthesis::network_for(design, &design.sides[0])?.network;
    let mut savings = vec![saving(design, String::new(), "as it is", &full, effort)?];
    let mut tried: Vec<String> = Vec::new();
    for (k, part) in full.parts.iter().enumerate() {
        if !(effort.go_on)() {
            break;
        }
        let ways = [(full.without(k).pruned(), "left out"), (full.bridged(k), "bridged by a wire")];
        let bridgeable = !matches!(part.component, Component::Capacitor { .. })
            && !part.nodes.contains(&Node::RETURN);
        for (network, how) in ways.into_iter().take(if bridgeable { 2 } else { 1 }) {
            let gone = missing(&full, &network);
            let name = format!("{gone} {how}");
            let alive = network.check().and_then(|()| network.check_ports()).is_ok();
            let held = design.target().fixed.iter().any(|f| gone.split(' ').any(|g| g == f));
            if !alive || held || network.parts.is_empty() || tried.contains(&name) {
                continue;
            }
            tried.push(name);
            savings.extend(saving(design, gone, how, &network, effort).ok());
        }
    }
    Ok(savings)
}

/// References of the parts that `less` has no more.
fn missing(full: &Network, less: &Network) -> String {
    let kept = |name: &String| less.parts.iter().any(|p| p.reference == *name);
    let gone = full.parts.iter().map(|p| &p.reference).filter(|name| !kept(name));
    gone.cloned().collect::<Vec<_>>().join(" ")
}

fn saving(
    design: &Design,
    reference: String,
    how: &'static str,
    network: &Network,
    effort: Effort<'_>,
) -> Result<Saving, StudyError> {
    let start = design.with_network(network.clone(), design.crossover.polarity);
    let chosen = tune::tune(&start, &design.target(), effort)?.chosen;
    let label = if reference.is_empty() { how.to_owned() } else { format!("{reference} {how}") };
    let variant = Variant { label, design: chosen.clone() };
    let mut outcomes = compare::outcomes(vec![variant], &Grid::audible(480)?)?;
    let yardstick = Yardstick::of(design, &outcomes)?;
    let candidate = yardstick.measure(outcomes.remove(0), chosen);
    Ok(Saving { reference, how, candidate })
}
