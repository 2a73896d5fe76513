//! How much a listener hears change when the head moves about its place.

use super::seat::{SeatVerdict, spread_db};
use super::side::SideModel;
use super::study::StudyError;
use crate::circuit::ladder::Polarity;
use crate::circuit::network::Network;
use crate::design::{Design, Listener, PolarityRule, Side};
use crate::grid::Grid;
use crate::model::place::Point;
use std::sync::Arc;

/// Largest minus smallest level of the sum over the place and four more a `spread_m` to the left,
/// right, above and below it, each against its own mean, averaged over the two octaves around the
/// crossover, dB: one value for each listener, `None` for one who sits still.
///
/// # Errors
/// What the solver or a measured curve has against it.
pub fn wander_db(
    design: &Design,
    side: &Side,
    network: &Network,
    polarity: Polarity,
    grid: &Arc<Grid>,
) -> Result<Vec<Option<f64>>, StudyError> {
    let around = |listener: &Listener| {
        if listener.spread_m <= 0.0 {
            return Ok(None);
        }
        let mut moved = design.clone();
        moved.listeners = places(listener);
        let response =
            SideModel::new(&moved, side, grid)?.through(network, PolarityRule::Fixed(polarity))?;
        let at_hz = design.crossover.at_hz;
        let verdicts: Vec<SeatVerdict> =
            response.seats.iter().filter_map(|s| SeatVerdict::of(s, at_hz)).collect();
        Ok(Some(spread_db(&verdicts)))
    };
    design.listeners.iter().map(around).collect()
}

fn places(listener: &Listener) -> Vec<Listener> {
    let s = listener.spread_m;
    let steps = [(0.0, 0.0), (-s, 0.0), (s, 0.0), (0.0, s), (0.0, -s)];
    let at = |(dx, dy)| {
        let p = listener.place;
        Listener { place: Point::new(p.x_m + dx, p.y_m + dy, p.z_m), ..listener.clone() }
    };
    steps.into_iter().map(at).collect()
}
