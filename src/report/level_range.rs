//! The range of a level axis.

use crate::picture::Axis;

/// An axis for levels in dB that holds the highest of them and reaches at most `span_db` down,
/// in fives. Values that are not finite are passed over.
pub fn level_axis(label: &str, levels_db: &[&[f64]], span_db: f64) -> Axis {
    let finite = || levels_db.iter().flat_map(|l| l.iter().copied()).filter(|v| v.is_finite());
    let high = finite().fold(f64::NEG_INFINITY, f64::max);
    let low = finite().fold(f64::INFINITY, f64::min);
    let top = 5.0 * ((high + 0.5) / 5.0).ceil();
    let bottom = (5.0 * ((low - 0.5) / 5.0).floor()).max(top - span_db);
    Axis::level_db(label, bottom, top)
}
