//! Coils that are wound or placed by the design: their recipes, and the field they share.

use super::finding::Finding;
use super::side::{SideModel, SideResponse};
use crate::circuit::mutual;
use crate::circuit::network::{Component, Coupling, Network};
use crate::circuit::solve::SolveError;
use crate::circuit::winding::Winding;
use crate::circuit::winding::recipe::{NoRecipe, Recipe};
use crate::design::{CoilRule, Make, PolarityRule};
use crate::grid::level_db;
use crate::units;

/// A coupling below this does nothing that a part's tolerance would not hide.
const TOLD_FACTOR: f64 = 1e-3;
/// A change of the response below this is not told as something to look at, dB.
const TOLD_DB: f64 = 0.3;
/// The band that changes are sought in, Hz.
const LOWEST_HZ: f64 = 100.0;
const HIGHEST_HZ: f64 = 15_000.0;
/// Turns that stand for a bought coil's; its coupling factor does not hang on them.
const SOME_TURNS: u32 = 100;

/// Two coils near one another.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// Their reference names.
    pub references: [String; 2],
    /// Coupling factor; its sign goes by the first nodes of both.
    pub factor: f64,
    /// Mutual inductance, H.
    pub mutual_h: f64,
    /// Whether they need the same room.
    pub overlap: bool,
}

/// The coils of a network that the design says more of.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Coils {
    /// How those are wound that are.
    pub wound: Vec<(String, Recipe)>,
    /// Those that cannot be.
    pub refused: Vec<(String, NoRecipe)>,
    /// What shares field.
    pub pairs: Vec<Pair>,
    /// Names that are no coil's, with those that are.
    pub strangers: Vec<String>,
    /// Names of the network's coils.
    pub known: Vec<String>,
}

impl Coils {
    /// Of `network` by `rules`.
    pub fn of(rules: &[CoilRule], network: &Network) -> Self {
        let inductors = network.parts.iter().filter(|p| p.component.letter() == 'L');
        let mut coils =
            Self { known: inductors.map(|p| p.reference.clone()).collect(), ..Self::default() };
        let mut placed: Vec<(&CoilRule, f64, Winding)> = Vec::new();
        for rule in rules {
            let Some(henry) = henry_of(network, &rule.reference) else {
                coils.strangers.push(rule.reference.clone());
                continue;
            };
            match winding(rule, henry) {
                Ok((winding, recipe)) => {
                    coils.wound.extend(recipe.map(|r| (rule.reference.clone(), r)));
                    placed.push((rule, henry, winding));
                }
                Err(why) => coils.refused.push((rule.reference.clone(), why)),
            }
        }
        for (k, first) in placed.iter().enumerate() {
            coils.pairs.extend(placed[k + 1..].iter().filter_map(|second| pair(first, second)));
        }
        coils
    }

    /// The recipe of a coil that is wound.
    pub fn recipe(&self, reference: &str) -> Option<&Recipe> {
        self.wound.iter().find(|(name, _)| name == reference).map(|(_, recipe)| recipe)
    }

    /// Gives wound coils of `network` the resistance of their wire.
    pub fn wind(&self, network: &mut Network) {
        for part in &mut network.parts {
            if let Some(recipe) = self.recipe(&part.reference) {
                part.component = part.component.with_loss(recipe.dcr_ohm);
            }
        }
    }

    /// Puts the shared field into `network`, pairs that overlap left out.
    pub fn couple(&self, network: &mut Network) {
        let at = |name: &String| network.parts.iter().position(|p| p.reference == *name);
        let pairs = self.pairs.iter().filter(|p| !p.overlap && p.factor.abs() < 1.0);
        let found = pairs.filter_map(|pair| {
            let [first, second] = &pair.references;
            Some(Coupling { parts: [at(first)?, at(second)?], factor: pair.factor })
        });
        network.couplings.extend(found.collect::<Vec<_>>());
    }

    /// What cannot be, and what couples more than it should.
    pub fn findings(&self, side: &str) -> Vec<Finding> {
        let known = || match self.known.is_empty() {
            true => "the network has no coil".to_owned(),
            false => format!("its coils are {}", self.known.join(", ")),
        };
        let strangers = self.strangers.iter().map(|name| {
            Finding::unfit(format!("{side} {name}"), format!("[[coil]] names no coil: {}", known()))
        });
        let refused = self
            .refused
            .iter()
            .map(|(name, why)| Finding::unfit(format!("{side} {name}"), why.to_string()));
        let overlapping = self.pairs.iter().filter(|p| p.overlap).map(|pair| {
            let subject = format!("{side} {}", pair.references.join(" and "));
            Finding::unfit(subject, "the coils need the same room as they are placed")
        });
        strangers.chain(refused).chain(overlapping).collect()
    }

    /// Pairs whose coupling is worth telling.
    pub fn told(&self) -> impl Iterator<Item = &Pair> {
        self.pairs.iter().filter(|p| p.factor.abs() >= TOLD_FACTOR)
    }
}

/// What the shared field changes at a seat.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// The seat.
    pub seat: String,
    /// Level with the field over that without, where they differ most, dB.
    pub most_db: f64,
    /// There, Hz.
    pub at_hz: f64,
}

/// The coils of a side and what their field does to it.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacedCoils {
    /// The coils.
    pub coils: Coils,
    /// At each seat; empty where no coils share field.
    pub changes: Vec<Change>,
    /// Lowest impedance without the shared field, Ω, where there is one.
    pub lowest_apart_ohm: Option<f64>,
}

impl PlacedCoils {
    /// Compares `response`, which `network` has, with that of the same parts far apart.
    ///
    /// # Errors
    /// What the solver finds wrong with the network.
    pub fn of(
        coils: Coils,
        model: &SideModel,
        network: &Network,
        response: &SideResponse,
    ) -> Result<Self, SolveError> {
        if network.couplings.is_empty() {
            return Ok(Self { coils, changes: Vec::new(), lowest_apart_ohm: None });
        }
        let mut apart = network.clone();
        apart.couplings.clear();
        let apart = model.through(&apart, PolarityRule::Fixed(response.polarity))?;
        let hz = response.impedance.grid().frequency_hz();
        let seats = response.seats.iter().zip(&apart.seats).filter_map(|(with, without)| {
            let pairs = with.sum.values().iter().zip(without.sum.values());
            let changes = hz.iter().zip(pairs.map(|(w, o)| level_db(w.norm(), o.norm())));
            let inside = changes.filter(|(f, _)| (LOWEST_HZ..=HIGHEST_HZ).contains(*f));
            let (at_hz, most_db) = inside.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
            Some(Change { seat: with.name.clone(), most_db, at_hz: *at_hz })
        });
        let lowest = apart.impedance.magnitude().into_iter().min_by(f64::total_cmp);
        Ok(Self { coils, changes: seats.collect(), lowest_apart_ohm: lowest })
    }

    /// What to look at.
    pub fn findings(&self, side: &str) -> Vec<Finding> {
        let mut findings = self.coils.findings(side);
        let told = |p: &Pair| format!("{} by k = {:+.3}", p.references.join(" and "), p.factor);
        let pairs: Vec<String> = self.coils.told().map(told).collect();
        let worst = self.changes.iter().max_by(|a, b| a.most_db.abs().total_cmp(&b.most_db.abs()));
        if let Some(change) = worst.filter(|c| c.most_db.abs() > TOLD_DB && !pairs.is_empty()) {
            let text = format!(
                "the field of the coils as placed changes the sum at {} by {:+.1} dB at {} ({}): move them apart or turn one by a quarter",
                change.seat,
                change.most_db,
                units::hertz(change.at_hz),
                pairs.join(", ")
            );
            findings.push(Finding::caution(format!("{side} coils"), text));
        }
        findings
    }
}

fn henry_of(network: &Network, reference: &str) -> Option<f64> {
    let part = network.parts.iter().find(|p| p.reference == reference)?;
    match part.component {
        Component::Inductor { henry, .. } => Some(henry),
        _ => None,
    }
}

fn winding(rule: &CoilRule, henry: f64) -> Result<(Winding, Option<Recipe>), NoRecipe> {
    match (rule.make, rule.make.wish(henry)) {
        (_, Some(wish)) => Recipe::of(&wish).map(|r| (r.winding, Some(r))),
        (Make::Bought { inner_m, outer_m, height_m }, _) => {
            let winding = Winding {
                turns: SOME_TURNS,
                mean_radius_m: 0.25 * (inner_m + outer_m),
                length_m: height_m,
                depth_m: 0.5 * (outer_m - inner_m),
            };
            Ok((winding, None))
        }
        (Make::Wound { wire_m, .. }, None) => Err(NoRecipe::OutOfReach { wire_m, henry }),
    }
}

fn pair(first: &(&CoilRule, f64, Winding), second: &(&CoilRule, f64, Winding)) -> Option<Pair> {
    let place = first.0.stand?.sees(&second.0.stand?);
    let overlap = mutual::overlap(&first.2, &second.2, &place);
    let own_h = [first.2.section_h(), second.2.section_h()];
    let factor = match overlap {
        true => 0.0,
        false => mutual::coupling_factor(mutual::windings_h(&first.2, &second.2, &place), own_h),
    };
    Some(Pair {
        references: [first.0.reference.clone(), second.0.reference.clone()],
        factor,
        mutual_h: factor * (first.1 * second.1).sqrt(),
        overlap,
    })
}
