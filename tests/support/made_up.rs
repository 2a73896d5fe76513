//! Made-up results for figures whose real ones come from long computations.

use slabtone::report::directions_figure::{Directions, Plane, SeatAngle};
use slabtone::report::placement_figure::{Obstacle, PlacementMap, Spot};
use std::f64::consts::TAU;

fn span(from: f64, to: f64, count: u32) -> Vec<f64> {
    let step = |k| from + (to - from) * f64::from(k) / f64::from(count - 1);
    (0..count).map(step).collect()
}

/// Frequencies that rise by equal ratios, Hz.
pub fn hertz(from: f64, to: f64, count: u32) -> Vec<f64> {
    span(from.ln(), to.ln(), count).into_iter().map(f64::exp).collect()
}

/// A cavity with one obstacle and one rib.
pub fn placement() -> PlacementMap {
    let (x_mm, y_mm) = (span(-520.0, -240.0, 30), span(-80.0, 80.0, 20));
    let ripple = |x: f64, y: f64| {
        let free = (x + 380.0).hypot(y - 60.0) > 75.0;
        let wave = 4.0 * ((x + 380.0) / 57.0).cos().powi(2) + 1.5 * (y / 38.0).cos().powi(2);
        free.then_some(1.0 + wave)
    };
    let rows = y_mm.iter().flat_map(|&y| x_mm.iter().map(move |&x| ripple(x, y)));
    let corner = |k: u32| {
        let (sin, cos) = (f64::from(k) * TAU / 36.0).sin_cos();
        (-380.0 + 27.0 * cos, 60.0 + 27.0 * sin)
    };
    let rib = vec![(-300.0, -120.0), (-290.0, -120.0), (-290.0, 120.0), (-300.0, 120.0)];
    PlacementMap {
        subject: "Made-up bench, left woofer".into(),
        ripple_db: rows.collect(),
        x_mm,
        y_mm,
        cavity_mm: [(-560.0, -120.0), (-200.0, 120.0)],
        obstacles: vec![
            Obstacle { name: "Tweeter".into(), outline_mm: (0..36).map(corner).collect() },
            Obstacle { name: "Rib".into(), outline_mm: rib },
        ],
        present: Spot { x_mm: -380.0, y_mm: -25.0, ripple_db: 5.4 },
        best: Spot { x_mm: -470.0, y_mm: -60.0, ripple_db: 2.1 },
    }
}

/// Beams that narrow with frequency, the vertical one tilted, and three seats.
pub fn directions() -> Directions {
    let (angle_deg, frequency_hz) = (span(-90.0, 90.0, 37), hertz(200.0, 20_000.0, 97));
    let plane = |tilt: f64, seats: &[(&str, f64)]| {
        let level = |a: f64, f: f64| {
            let narrow = (f / 1250.0 * (a.to_radians().sin() - tilt)).powi(2);
            -4.0 * narrow / (1.0 + 0.12 * narrow)
        };
        let rows = angle_deg.iter().flat_map(|&a| frequency_hz.iter().map(move |&f| level(a, f)));
        let seat = |&(name, angle_deg): &(&str, f64)| SeatAngle { name: name.into(), angle_deg };
        Plane {
            level_db: rows.collect(),
            angle_deg: angle_deg.clone(),
            frequency_hz: frequency_hz.clone(),
            seats: seats.iter().map(seat).collect(),
        }
    };
    Directions {
        subject: "Made-up bench, left side".into(),
        zero: "on the axis".into(),
        horizontal: plane(0.0, &[("reader", 28.0)]),
        vertical: plane(0.3, &[("reader", -24.0), ("neighbour", -18.0)]),
        index_hz: hertz(200.0, 20_000.0, 21),
        index_db: span(0.5, 9.0, 21),
    }
}
