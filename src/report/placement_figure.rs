//! `placement.svg`: how the place of a driver in its cavity changes the ripple.

use crate::picture::{Axis, Field, Figure, Hatched, Ink, Mark, Panel, Shades, Trace};

/// A place and what it gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// Centre of the driver, x in the panel, mm.
    pub x_mm: f64,
    /// Centre of the driver, y in the panel, mm.
    pub y_mm: f64,
    /// Ripple there, dB.
    pub ripple_db: f64,
}

/// What is in the way: an outline or a disc that the driver's centre must stay out of.
#[derive(Debug, Clone, PartialEq)]
pub struct Obstacle {
    /// What it is; those of one name share an entry in the legend.
    pub name: String,
    /// Its corners, mm, in order.
    pub outline_mm: Vec<(f64, f64)>,
}

/// Ripple over the places that a driver may take.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacementMap {
    /// Of which design, side and driver.
    pub subject: String,
    /// Places along x, mm, ascending.
    pub x_mm: Vec<f64>,
    /// Places along y, mm, ascending.
    pub y_mm: Vec<f64>,
    /// Ripple in dB, a row for each `y_mm`, each as long as `x_mm`; `None` where the driver may not
    /// be.
    pub ripple_db: Vec<Option<f64>>,
    /// Two opposite corners of the cavity, mm.
    pub cavity_mm: [(f64, f64); 2],
    /// What is in the way inside the cavity.
    pub obstacles: Vec<Obstacle>,
    /// Where the driver is.
    pub present: Spot,
    /// The place with the least ripple.
    pub best: Spot,
}

/// Ripple over the places for the driver's centre, with the present and the best one.
pub fn figure(map: &PlacementMap) -> Figure {
    let [(x0, y0), (x1, y1)] = map.cavity_mm;
    let (left, right) = (x0.min(x1), x0.max(x1));
    let (bottom, top) = (y0.min(y1), y0.max(y1));
    let air = 0.03 * (right - left);
    let mut panel = Panel::new(Axis::linear("y (mm)", bottom - air, top + air));
    panel.field = Some(Field {
        x: map.x_mm.clone(),
        y: map.y_mm.clone(),
        values: map.ripple_db.clone(),
        shades: shades(&map.ripple_db),
    });
    panel.traces.push(Trace::new(
        "Cavity",
        Ink::Sum,
        vec![left, right, right, left, left],
        vec![bottom, bottom, top, top, bottom],
    ));
    for obstacle in &map.obstacles {
        let outline = obstacle.outline_mm.clone();
        panel.hatched.push(Hatched { name: obstacle.name.clone(), outline });
    }
    let mark = |what: &str, spot: &Spot, solid| Mark {
        text: format!("{what}: {:.1} dB", spot.ripple_db),
        x: spot.x_mm,
        y: spot.y_mm,
        ink: Ink::Limit,
        solid,
    };
    panel.marks.push(mark("here", &map.present, false));
    let moved = (map.best.x_mm - map.present.x_mm).hypot(map.best.y_mm - map.present.y_mm);
    if moved > 0.5 {
        panel.marks.push(mark("best", &map.best, true));
    }
    let subtitle = format!(
        "{}; ripple in dB against the centre of the driver, which cannot be where nothing is coloured",
        map.subject
    );
    let x = Axis::linear("x (mm)", left - air, right + air);
    let mut figure = Figure::new("Where in the cavity the driver rings least", subtitle, x);
    figure.description = format!(
        "Map of the ripple over the cavity: {:.1} dB at the present place, {:.1} dB at x = {:.0} mm, y = {:.0} mm.",
        map.present.ripple_db, map.best.ripple_db, map.best.x_mm, map.best.y_mm
    );
    figure.panels = vec![panel];
    figure.equal = true;
    figure.height = 660;
    figure
}

/// Round steps over what the values span, at most nine.
fn shades(values: &[Option<f64>]) -> Shades {
    let finite = || values.iter().flatten().copied().filter(|v| v.is_finite());
    let low = finite().fold(f64::INFINITY, f64::min);
    let high = finite().fold(f64::NEG_INFINITY, f64::max);
    let steps = [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0];
    let step = steps.into_iter().find(|s| (high - low) / s <= 9.0).unwrap_or(50.0);
    let first = (low / step).ceil() * step;
    Shades::stepped("Ripple (dB)", first, (high / step).floor() * step, step)
}
