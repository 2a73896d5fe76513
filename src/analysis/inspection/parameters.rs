//! What differs from unit to unit and from sweep to sweep without being a fault.

use super::measuring::Measuring;
use crate::analysis::chance::normal_quantile;
use crate::analysis::spread::{Factor, SideUnit, Spread, What};
use crate::design::Way;

/// One quantity that may differ; 0 is nominal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Quantity {
    /// Logarithm of the gain of the sweep.
    Gain,
    /// Resistance of leads and contacts, Ω.
    Leads,
    /// Copper warmer than nominal, K.
    Kelvin,
    /// Logarithm of the gain of the response.
    Level,
    /// Logarithm of a part's value over nominal.
    Part(usize),
    /// Logarithm of an element of a driver over nominal: Mms, Cms, Rms, Bl, Re, Le.
    Element(Way, usize),
    /// Logarithm of the depth of the cavity over nominal.
    Depth,
    /// Logarithm of the effect of the fill over nominal.
    Fill,
}

/// Places of the quantities of a sweep among all; those of the unit come behind.
pub(super) const GAIN: usize = 0;
pub(super) const LEADS: usize = 1;
pub(super) const KELVIN: usize = 2;
pub(super) const LEVEL: usize = 3;
/// How many belong to the sweep.
pub(super) const OF_SWEEP: usize = 4;

/// Every quantity of a side whose network has this many parts.
pub(super) fn quantities(parts: usize) -> Vec<Quantity> {
    let sweep = [Quantity::Gain, Quantity::Leads, Quantity::Kelvin, Quantity::Level];
    let elements = |way| (0..6).map(move |k| Quantity::Element(way, k));
    sweep
        .into_iter()
        .chain((0..parts).map(Quantity::Part))
        .chain(elements(Way::Woofer))
        .chain(elements(Way::Tweeter))
        .chain([Quantity::Depth, Quantity::Fill])
        .collect()
}

/// One standard deviation of each quantity of side `side`, by measuring and by making.
pub(super) fn deviations(spread: &Spread, side: usize, measuring: &Measuring) -> Vec<f64> {
    let of_unit = |wanted: What| {
        let found = spread.factors.iter().find(|f| f.side == side && f.what == wanted);
        found.map_or(0.0, deviation)
    };
    let one = |quantity: &Quantity| match *quantity {
        Quantity::Gain => measuring.gain,
        Quantity::Leads => measuring.leads_ohm,
        Quantity::Kelvin => measuring.temperature_k,
        Quantity::Level => measuring.level_db * std::f64::consts::LN_10 / 20.0,
        Quantity::Part(k) => of_unit(What::Part(k)),
        Quantity::Element(way, k) => of_unit(What::Element(way, k)),
        Quantity::Depth => of_unit(What::Depth),
        Quantity::Fill => of_unit(What::Fill),
    };
    quantities(spread.networks[side].parts.len()).iter().map(one).collect()
}

/// Standard deviation of a factor's logarithm, whatever its distribution.
fn deviation(factor: &Factor) -> f64 {
    const STEPS: usize = 256;
    let (lot, unit) = (factor.lot_share.sqrt(), (1.0 - factor.lot_share).sqrt());
    let value = |k: usize| {
        let z = normal_quantile((k as f64 + 0.5) / STEPS as f64);
        factor.value(lot * z, unit * z).max(1e-3).ln()
    };
    let mean = (0..STEPS).map(value).sum::<f64>() / STEPS as f64;
    let variance = (0..STEPS).map(|k| (value(k) - mean).powi(2)).sum::<f64>() / STEPS as f64;
    variance.sqrt()
}

/// The quantities of a unit on a perfect fixture.
pub(super) fn of_unit(unit: &SideUnit) -> Vec<f64> {
    let drivers = [&unit.drivers.woofer, &unit.drivers.tweeter];
    let elements = drivers.into_iter().flat_map(|d| [d.mms, d.cms, d.rms, d.bl, d.re, d.le]);
    let factors = unit.parts.iter().copied().chain(elements).chain([unit.depth, unit.fill]);
    let logs = factors.map(|f: f64| f.max(1e-3).ln());
    std::iter::repeat_n(0.0, OF_SWEEP).chain(logs).collect()
}
