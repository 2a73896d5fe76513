//! From exact values to values one can buy: the nearest preferred ones or articles of a stock, or
//! two of them combined.

use super::coils::Coils;
use super::finding::Finding;
use super::ratings::Ratings;
use super::shelf::{Good, Pick, Shelf};
use crate::circuit::network::{Component, Network, Part};
use crate::circuit::preferred::{Choice, Connection};
use crate::circuit::rules;
use crate::circuit::winding::recipe::Recipe;
use crate::design::{Design, Guard, Side, Stock};
use crate::units;

/// A part of the exact network and what is bought for it.
#[derive(Debug, Clone, PartialEq)]
pub struct ChosenPart {
    /// Reference name in the exact network ("L1").
    pub reference: String,
    /// The exact part.
    pub exact: Component,
    /// The value or pair chosen.
    pub choice: Choice,
    /// The parts that go on the board: one, or two called L1a and L1b.
    pub bought: Vec<(String, Good)>,
    /// How it is wound, where the design says that it is.
    pub recipe: Option<Recipe>,
}

impl ChosenPart {
    /// Chosen over exact value − 1, in percent.
    pub fn error_percent(&self) -> f64 {
        self.choice.error_percent(self.exact.value())
    }

    /// That nothing in the stock comes near enough, where it is so.
    fn missed(&self, stock: &Stock) -> Option<String> {
        let error = self.error_percent();
        let kind = self.exact.kind();
        let help = "tune with this stock, allow pairs (pairs_above_percent), or widen the stock";
        if self.recipe.is_some() {
            return None;
        }
        if self.bought.iter().any(|(_, good)| good.article.is_none()) {
            return Some(format!("the stock `{}` has no {kind} that may be used", stock.name));
        }
        (error.abs() > stock.within_percent).then(|| {
            format!(
                "the nearest in the stock `{}` is {error:+.1} % off, told beyond {} %: {help}",
                stock.name, stock.within_percent
            )
        })
    }
}

/// The network as bought.
#[derive(Debug, Clone, PartialEq)]
pub struct Chosen {
    /// Parts in the order of the exact network.
    pub parts: Vec<ChosenPart>,
    /// The exact network with the bought parts in it.
    pub network: Network,
}

impl Chosen {
    /// Chooses for each part of `exact` by the design's rules: the nearest by ratio in the series of
    /// its kind or in the design's stock, two parts where the rules allow them and they come nearer.
    /// A coil of a preferred value keeps the wire of the exact one, one that is wound is made as it
    /// is wanted.
    pub fn of(exact: &Network, design: &Design) -> Self {
        Self::standing(exact, design, None)
    }

    /// The same, of a stock first what stands its rating.
    pub fn standing(exact: &Network, design: &Design, ratings: Option<&Ratings>) -> Self {
        let coils = Coils::of(&design.coils, exact);
        // A coil that shares its field stays one coil.
        let alone = |i: usize, name: &str| {
            exact.couplings.iter().any(|c| c.parts.contains(&i))
                || design.coils.iter().any(|c| c.reference == name && c.stand.is_some())
        };
        let guarded = design.crossover.guard.is_some();
        let pick = |(i, part): (usize, &Part)| {
            // What protects the tweeter is bought by its own data.
            if guarded && part.reference == Guard::REFERENCE {
                return Pick::own(part.component);
            }
            if let Some(recipe) = coils.recipe(&part.reference) {
                return Pick::own(
                    part.component.with_value(recipe.henry).with_loss(recipe.dcr_ohm),
                );
            }
            let rating = ratings.and_then(|r| r.of_part(&part.reference));
            let shelf = Shelf::standing(design, &part.component, rating.map(|r| &r.need));
            if alone(i, &part.reference) { shelf.of_singles().choose() } else { shelf.choose() }
        };
        let mut chosen = Self::with(exact, exact.parts.iter().enumerate().map(pick).collect());
        for part in &mut chosen.parts {
            part.recipe = coils.recipe(&part.reference).copied();
        }
        chosen
    }

    /// The network with these picks, one for each part of `exact`.
    pub fn with(exact: &Network, picks: Vec<Pick>) -> Self {
        let mut network = exact.clone();
        network.parts.clear();
        let mut first_of = Vec::with_capacity(picks.len());
        let mut parts = Vec::with_capacity(picks.len());
        for (part, pick) in exact.parts.iter().zip(picks) {
            first_of.push(network.parts.len());
            let choice = pick.choice;
            let bought = named(exact, part, pick);
            put(&mut network, part, &choice, &bought);
            let reference = part.reference.clone();
            parts.push(ChosenPart {
                reference,
                exact: part.component,
                choice,
                bought,
                recipe: None,
            });
        }
        for coupling in &mut network.couplings {
            coupling.parts = coupling.parts.map(|i| first_of[i]);
        }
        Self { parts, network }
    }

    /// Every part on the board.
    pub fn goods(&self) -> impl Iterator<Item = &Good> {
        self.parts.iter().flat_map(|part| part.bought.iter().map(|(_, good)| good))
    }

    /// Parts that the design's stock cannot supply near enough.
    pub fn findings(&self, design: &Design, side: &str) -> Vec<Finding> {
        let Some(stock) = &design.stock else { return Vec::new() };
        let told = self.parts.iter().filter_map(|part| {
            let text = part.missed(stock)?;
            Some(Finding::caution(format!("{side} {}", part.reference), text))
        });
        told.collect()
    }
}

impl Chosen {
    /// Resistors too hot to touch foam or wood, in one sentence.
    pub fn hot(&self, ratings: &Ratings, side: &str) -> Option<Finding> {
        let goods = self.parts.iter().flat_map(|part| &part.bought);
        let told: Vec<String> = goods
            .filter_map(|(name, good)| {
                let need = &ratings.of_part(name)?.need;
                let surface = need.surface(good.article.as_deref(), ratings.ambient_c)?;
                let cool = surface.cool_w.map_or(String::new(), |w| format!(", {w} W would do"));
                (surface.celsius > rules::FOAM_LIMIT_C).then(|| {
                    format!("{name} {:.0} °C with {} W{cool}", surface.celsius, surface.rated_w)
                })
            })
            .collect();
        (!told.is_empty()).then(|| {
            Finding::note(
                format!("{side} resistors"),
                format!(
                    "get hot outside in air of {:.0} °C: {}; foam bears {:.0} °C, wood {:.0} °C: keep them off both",
                    ratings.ambient_c,
                    told.join("; "),
                    rules::FOAM_LIMIT_C,
                    rules::WOOD_LIMIT_C
                ),
            )
        })
    }

    /// Articles of the stock that do not stand what they bear, by `ratings` of the bought network.
    pub fn too_weak(&self, ratings: &Ratings, side: &str) -> Vec<Finding> {
        let goods = self.parts.iter().flat_map(|part| &part.bought);
        let told = goods.filter_map(|(name, good)| {
            let article = good.article.as_deref()?;
            let why = ratings.of_part(name)?.need.refusal(article, ratings.ambient_c)?;
            Some(Finding::caution(format!("{side} {name}"), format!("{} {why}", article.code)))
        });
        told.collect()
    }
}

impl Chosen {
    /// Parts higher than the side's cavity is deep.
    pub fn too_high(&self, design: &Design, side: &Side) -> Vec<Finding> {
        let depth_m = side.cavity.depth_m;
        let heights = self.parts.iter().flat_map(|part| {
            let wound = part.recipe.iter().map(|r| (part.reference.clone(), r.height_m()));
            let bought = part
                .bought
                .iter()
                .filter_map(|(name, good)| Some((name.clone(), good.article.as_ref()?.height_m?)));
            wound.chain(bought)
        });
        let high = heights.filter(|(_, height_m)| *height_m > depth_m);
        let told = high.map(|(name, height_m)| {
            let mm = |m: f64| units::significant(1e3 * m, 3);
            let limit = if design.stock.is_some() { ": set max_height_mm" } else { "" };
            let text =
                format!("is {} mm high, the cavity {} mm deep{limit}", mm(height_m), mm(depth_m));
            Finding::caution(format!("{} {name}", side.name), text)
        });
        told.collect()
    }
}

/// The goods of a pick under the names they have on the board.
fn named(network: &Network, part: &Part, pick: Pick) -> Vec<(String, Good)> {
    let names = match pick.goods.len() {
        1 => vec![part.reference.clone()],
        _ => ['a', 'b'].map(|letter| free_name(network, &part.reference, letter)).to_vec(),
    };
    names.into_iter().zip(pick.goods).collect()
}

/// `L1a`, or `L1.a`, `L1..a` where a part of the network has that name already.
fn free_name(network: &Network, reference: &str, letter: char) -> String {
    let mut stem = reference.to_owned();
    while network.parts.iter().any(|p| p.reference == format!("{stem}{letter}")) {
        stem.push('.');
    }
    format!("{stem}{letter}")
}

fn put(network: &mut Network, part: &Part, choice: &Choice, bought: &[(String, Good)]) {
    match (choice.second, bought) {
        (Some((_, Connection::Series)), [first, second]) => {
            let middle = network.node(&format!("inside {}", part.reference));
            network.add(&first.0, first.1.component, [part.nodes[0], middle]);
            network.add(&second.0, second.1.component, [middle, part.nodes[1]]);
        }
        (_, bought) => {
            for (name, good) in bought {
                network.add(name, good.component, part.nodes);
            }
        }
    }
}
