//! What crossover parts cost at the quantity of the run.

use super::shelf::Good;
use crate::design::{Article, Design};
use std::sync::Arc;

/// What parts cost in the run.
#[derive(Debug, Clone, Copy)]
pub struct Till<'d> {
    design: &'d Design,
}

impl<'d> Till<'d> {
    /// The prices of a design.
    pub fn of(design: &'d Design) -> Self {
        Self { design }
    }

    /// Price of one such part where a panel needs `per_panel` of them.
    pub fn price(&self, good: &Good, per_panel: f64) -> Option<f64> {
        let stated = || self.design.purchase.prices.of(&good.component);
        let own = |a: &Arc<Article>| a.price_at(self.design.run.needs(per_panel, true));
        good.article.as_ref().and_then(own).or_else(stated)
    }

    /// Cost of a panel whose sides each hold these parts; `None` where a price is not known.
    pub fn panel<'g>(&self, goods: impl Iterator<Item = &'g Good>) -> Option<f64> {
        let sides = self.design.sides.len() as f64;
        let mut counted: Vec<(&Good, f64)> = Vec::new();
        for good in goods {
            match counted.iter_mut().find(|(g, _)| good.article.is_some() && *g == good) {
                Some((_, count)) => *count += sides,
                None => counted.push((good, sides)),
            }
        }
        counted.into_iter().map(|(good, n)| self.price(good, n).map(|p| p * n)).sum()
    }
}
