use super::apart;
use crate::picture::contour::{lines, rings};
use crate::picture::hatch::{self, Hatch};
use crate::picture::*;

fn field(x: Vec<f64>, y: Vec<f64>, value: impl Fn(f64, f64) -> Option<f64>) -> Field {
    let values = y.iter().flat_map(|&v| x.iter().map(move |&u| (u, v))).map(|(u, v)| value(u, v));
    let values = values.collect();
    Field { x, y, values, shades: Shades::stepped("Level (dB)", -20.0, 0.0, 5.0) }
}

fn span(from: f64, to: f64, count: u32) -> Vec<f64> {
    let step = |k| from + (to - from) * f64::from(k) / f64::from(count - 1);
    (0..count).map(step).collect()
}

fn map(field: Field, x: Axis, y: Axis) -> Figure {
    let mut figure = Figure::new("Title", "Subtitle", x);
    let mut panel = Panel::new(y);
    panel.field = Some(field);
    figure.panels.push(panel);
    figure
}

fn area(points: &[(f64, f64)]) -> f64 {
    let next = points.iter().cycle().skip(1);
    0.5 * points.iter().zip(next).map(|(a, b)| a.0 * b.1 - b.0 * a.1).sum::<f64>()
}

#[test]
fn the_ramp_darkens_evenly_and_looks_evenly_stepped() {
    let linear = |v: u8| {
        let v = f64::from(v) / 255.0;
        if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
    };
    // CIE 1976 L*a*b* of an sRGB colour (CIE 15, IEC 61966-2-1): another space than that the ramp
    // is made in.
    let lab = |(r, g, b): (u8, u8, u8)| {
        let (r, g, b) = (linear(r), linear(g), linear(b));
        let f = |t: f64| if t > 0.008856 { t.cbrt() } else { 7.787 * t + 16.0 / 116.0 };
        let x = f((0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505);
        let y = f(0.2126 * r + 0.7152 * g + 0.0722 * b);
        let z = f((0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089);
        [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
    };
    let colours: Vec<[f64; 3]> = (0..=10).map(|k| lab(ramp::shade(f64::from(k) / 10.0))).collect();
    let steps: Vec<(f64, f64)> = colours
        .windows(2)
        .map(|w| {
            let d: f64 = w[0].iter().zip(&w[1]).map(|(a, b)| (a - b).powi(2)).sum();
            (w[0][0] - w[1][0], d.sqrt())
        })
        .collect();
    let mean = steps.iter().map(|s| s.1).sum::<f64>() / 10.0;
    for (darker, apart) in &steps {
        assert!((6.0..12.0).contains(darker), "{steps:?}");
        assert!((apart / mean - 1.0).abs() < 0.3, "{steps:?}");
    }
    assert_eq!(ramp::shade(f64::NAN), ramp::shade(0.0));
    assert_eq!(ramp::shade(7.0), ramp::shade(1.0));
}

#[test]
fn a_contour_of_a_cone_is_a_circle_around_the_right_side() {
    let cone = field(span(-1.0, 1.0, 81), span(-1.0, 1.0, 81), |x, y| Some(-20.0 * x.hypot(y)));
    let found = rings(&cone, |x, y| (x, y));
    // Around everything, and around −20, −15, −10 and −5; the peak of 0 is one point of the grid.
    let circles: Vec<_> = found.iter().filter(|r| r.edge == Some(2)).collect();
    assert_eq!(circles.len(), 1);
    for point in &circles[0].points {
        assert!((point.0.hypot(point.1) - 0.5).abs() < 1e-3, "{point:?}");
    }
    assert!((area(&circles[0].points) - std::f64::consts::PI / 4.0).abs() < 2e-3);
    assert_eq!(circles[0].band, Some(3));
    let hollow =
        field(span(-1.0, 1.0, 81), span(-1.0, 1.0, 81), |x, y| Some(20.0 * (x.hypot(y) - 1.0)));
    let holes = rings(&hollow, |x, y| (x, y));
    let hole = holes.iter().find(|r| r.edge == Some(2) && r.rim.iter().all(|r| !r)).unwrap();
    assert!(area(&hole.points) < 0.0);
    assert_eq!(hole.band, Some(2), "inside the hole it is lower");
}

#[test]
fn rings_that_enclose_others_come_first_and_rims_are_no_contours() {
    let wavy = field(span(0.0, 6.0, 40), span(0.0, 4.0, 30), |x, y| {
        ((x - 3.0).hypot(y - 2.0) > 0.5).then(|| 12.0 * (2.0 * x).sin() * (2.0 * y).cos() - 10.0)
    });
    let found = rings(&wavy, |x, y| (x, y));
    let areas: Vec<f64> = found.iter().map(|r| area(&r.points).abs()).collect();
    assert!(areas.windows(2).all(|w| w[0] >= w[1]));
    assert!((areas[0] - 24.0).abs() < 1e-9, "the first goes around everything");
    let hole = found.iter().find(|r| r.band.is_none()).expect("a hole without values");
    assert!(lines(hole).is_empty() && lines(&found[0]).is_empty());
    assert!(found.iter().any(|r| r.edge.is_some() && !lines(r).is_empty()));
}

#[test]
fn hatching_covers_its_outline_and_leaves_holes() {
    let square = |a: f64, b: f64| vec![(a, a), (b, a), (b, b), (a, b)];
    let hatch = Hatch { angle_deg: 30.0, apart: 2.0 };
    let length = |outlines: &[Vec<(f64, f64)>]| -> f64 {
        hatch::lines(outlines, hatch).iter().map(|[a, b]| (a.0 - b.0).hypot(a.1 - b.1)).sum()
    };
    // Lines 2 apart in an area have half its size in length.
    assert!((length(&[square(0.0, 100.0)]) - 5000.0).abs() < 60.0);
    assert!((length(&[square(0.0, 100.0), square(30.0, 60.0)]) - 4550.0).abs() < 60.0);
    assert!(hatch::lines(&[vec![(0.0, f64::NAN); 3]], hatch).is_empty());
}

#[test]
fn a_map_over_frequency_has_the_usual_decades_and_a_bar_with_units() {
    let over =
        field(span(20.0, 2e4, 60), span(-90.0, 90.0, 19), |f, a| Some(-(f / 2e4) * a.abs() / 3.0));
    let mut figure =
        map(over, Axis::frequency(20.0, 2e4), Axis::stepped("Angle (°)", -90.0, 90.0, 30.0, 15.0));
    figure.panels[0].rules.push(Rule { name: "reader".into(), y: 25.0, ink: Ink::Limit });
    figure.panels[0].hatched.push(Hatched::rectangle("No go", (2e3, -90.0), (5e3, -60.0)));
    let drawn = svg(&figure);
    apart::check(&drawn);
    for word in ["20", "50", "100", "1k", "20k", "Level (dB)", "−15", "No go", "reader"] {
        assert!(drawn.contains(&format!(">{word}</text>")), "{word}");
    }
    assert_eq!(drawn, svg(&figure));
    assert!(drawn.len() < 120_000, "{}", drawn.len());
}

#[test]
fn a_plan_has_one_scale_for_both_axes() {
    let plan = field(span(0.0, 300.0, 31), span(0.0, 200.0, 21), |x, y| {
        (x > 30.0).then_some(-(x + y) / 25.0)
    });
    for (width, height) in [(900, 560), (400, 900), (1200, 300)] {
        let mut figure = map(
            plan.clone(),
            Axis::linear("x (mm)", 0.0, 300.0),
            Axis::linear("y (mm)", 0.0, 200.0),
        );
        figure.equal = true;
        (figure.width, figure.height) = (width, height);
        let frame = layout::lay_out(&figure).slots[0].frame;
        assert!((frame.width / 300.0 - frame.height / 200.0).abs() < 0.01);
        figure.panels[0].hatched.push(Hatched::disc("Magnet", (150.0, 100.0), 40.0));
        apart::check(&svg(&figure));
    }
}

#[test]
fn a_field_without_sense_is_drawn_without_panic() {
    let axis = || Axis::linear("x", 0.0, 1.0);
    for values in [vec![], vec![None; 9], vec![Some(f64::NAN); 9], vec![Some(1e300); 4]] {
        for x in [vec![], vec![0.5], vec![0.0, 0.5, 1.0], vec![0.0, f64::NAN, 1.0]] {
            let shades = Shades::stepped("dB", 0.0, 1.0, 0.0);
            let field =
                Field { x: x.clone(), y: vec![0.0, 0.5, 1.0], values: values.clone(), shades };
            let drawn = svg(&map(field, axis(), axis()));
            assert!(drawn.ends_with("</svg>\n") && !drawn.contains("NaN"));
        }
    }
    assert!(Shades::stepped("", 0.0, 1e9, 1.0).edges.is_empty());
}
