mod apart;
mod drawings;
mod maps;

use super::clip::{areas, pieces};
use super::*;

fn figure(traces: Vec<Trace>) -> Figure {
    let mut panel = Panel::new(Axis::level_db("Level (dB)", 60.0, 100.0));
    panel.traces = traces;
    let mut figure = Figure::new("Title", "Subtitle", Axis::frequency(20.0, 20_000.0));
    figure.panels.push(panel);
    figure
}

fn line(x: &[f64], y: &[f64]) -> Trace {
    Trace::new("Line", Ink::Sum, x.to_vec(), y.to_vec())
}

fn unit_axes() -> (Axis, Axis) {
    (Axis::linear("x", 0.0, 1.0), Axis::linear("y", 0.0, 1.0))
}

/// Points of all polylines in the colour of an ink, in units of the drawing.
fn polylines(svg: &str, ink: Ink) -> Vec<Vec<(f64, f64)>> {
    let (r, g, b) = ink.colour();
    let stroke = format!("stroke=\"#{r:02X}{g:02X}{b:02X}\"");
    svg.lines()
        .filter(|l| l.starts_with("<polyline") && l.contains(&stroke))
        .map(|l| {
            let points = l.split("points=\"").nth(1).and_then(|p| p.split('"').next());
            let pair =
                |p: &str| p.split_once(',').map(|(x, y)| (x.parse().unwrap(), y.parse().unwrap()));
            points.unwrap_or("").split_whitespace().filter_map(pair).collect()
        })
        .collect()
}

#[test]
fn a_log_axis_places_decades_evenly() {
    let axis = Axis::frequency(10.0, 10_000.0);
    for (value, place) in [(10.0, 0.0), (100.0, 1.0 / 3.0), (1000.0, 2.0 / 3.0), (10_000.0, 1.0)] {
        assert!((axis.place(value) - place).abs() < 1e-12);
    }
    assert!(!axis.place(0.0).is_finite() && axis.place(-1.0).is_nan());
}

#[test]
fn grid_lines_are_at_the_usual_values() {
    let axis = Axis::frequency(20.0, 20_000.0);
    let numbers: Vec<String> = axis.bold.iter().map(|&v| axis.number(v)).collect();
    assert_eq!(numbers.join(" "), "20 50 100 200 500 1k 2k 5k 10k 20k");
    assert!(Axis::frequency(900.0, 1100.0).bold.len() >= 3);
    let axis = Axis::linear("x", -0.3, 0.3);
    let numbers: Vec<String> = axis.bold.iter().map(|&v| axis.number(v)).collect();
    assert_eq!(numbers.join(" "), "−0.2 0 0.2");
    assert_eq!(Axis::level_db("", 60.0, 95.0).bold, [60.0, 70.0, 80.0, 90.0]);
    assert_eq!(Axis::phase_deg().bold, [-180.0, -90.0, 0.0, 90.0, 180.0]);
}

#[test]
fn unusable_ranges_are_replaced() {
    let bad = [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 0.0, 1e308, -1e308, 1e-300, 5.0];
    for min in bad {
        for max in bad {
            let made = [
                Axis::frequency(min, max),
                Axis::linear("", min, max),
                Axis::level_db("", min, max),
                Axis::stepped("", min, max, max, min),
            ];
            for mut axis in made {
                assert!(axis.min < axis.max && (axis.max - axis.min).is_finite());
                assert!(axis.bold.iter().chain(&axis.light).all(|v| v.is_finite()));
                (axis.min, axis.max) = (min, max);
                let mut figure = figure(vec![line(&[20.0, 2e4], &[60.0, 100.0])]);
                figure.x = axis.clone();
                figure.panels[0].y = axis;
                assert!(svg(&figure).ends_with("</svg>\n"));
            }
        }
    }
}

#[test]
fn lines_are_cut_at_the_frame_with_interpolated_ends() {
    let (x, y) = unit_axes();
    let zigzag = line(&[0.0, 0.5, 1.0], &[0.5, 1.5, 0.5]);
    assert_eq!(pieces(&zigzag, &x, &y), [[(0.0, 0.5), (0.25, 1.0)], [(0.75, 1.0), (1.0, 0.5)]]);
    let through = line(&[-1.0, 2.0], &[-1.0, 2.0]);
    assert_eq!(pieces(&through, &x, &y).concat().len(), 2);
    let outside = line(&[0.0, 1.0], &[2.0, 3.0]);
    assert!(pieces(&outside, &x, &y).is_empty());
}

#[test]
fn values_that_are_not_finite_interrupt_a_line() {
    let (x, y) = unit_axes();
    for gap in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        let broken = line(&[0.0, 0.2, 0.4, 0.6, 0.8], &[0.1, 0.2, gap, 0.3, 0.4]);
        assert_eq!(pieces(&broken, &x, &y), [[(0.0, 0.1), (0.2, 0.2)], [(0.6, 0.3), (0.8, 0.4)]]);
    }
    let wild = line(&[0.0, 0.5, 1.0], &[1e300, -1e300, 1e300]);
    assert!(pieces(&wild, &x, &y).concat().iter().all(|p| p.0.is_finite() && p.1.is_finite()));
    let drawn = svg(&figure(vec![line(&[20.0, 0.0, 100.0, 1e3], &[f64::NAN, 70.0, 80.0, 1e300])]));
    assert!(!drawn.contains("NaN") && !drawn.contains("inf"));
}

#[test]
fn a_wrapped_phase_leaves_and_comes_back_at_the_edges() {
    let x = Axis::linear("x", 0.0, 1.0);
    let wrapped = Trace::wrapped("", Ink::Sum, vec![0.2, 0.6], vec![-170.0, 170.0]);
    let parts = pieces(&wrapped, &x, &Axis::phase_deg());
    assert_eq!(parts.len(), 2);
    assert!((parts[0][1].0 - 0.4).abs() < 1e-12 && parts[0][1].1 == 0.0);
    assert!((parts[1][0].0 - 0.4).abs() < 1e-12 && parts[1][0].1 == 1.0);
    let plain = Trace { wraps: false, ..wrapped };
    assert_eq!(pieces(&plain, &x, &Axis::phase_deg()).len(), 1);
}

#[test]
fn areas_may_be_open_and_are_cut_at_the_frame() {
    let (x, y) = unit_axes();
    let low = vec![0.5, 0.5];
    let band = Band::new("", Ink::Limit, vec![-1.0, 2.0], low, vec![f64::INFINITY; 2]);
    let polygons = areas(&band, &x, &y);
    assert_eq!(polygons.len(), 1);
    for corner in [(0.0, 0.5), (1.0, 0.5), (0.0, 1.0), (1.0, 1.0)] {
        assert!(polygons[0].contains(&corner), "{polygons:?}");
    }
}

#[test]
fn markup_in_words_is_escaped() {
    let mut figure = figure(vec![line(&[20.0, 2e4], &[70.0, 80.0])]);
    figure.title = "R < 5 & \"R\" > 2\u{0}".into();
    figure.description = "</desc><script>".into();
    figure.panels[0].traces[0].name = "a<b & c".into();
    let drawn = svg(&figure);
    assert!(drawn.contains("<title>R &lt; 5 &amp; \"R\" &gt; 2 </title>"));
    assert!(drawn.contains("a&lt;b &amp; c") && !drawn.contains("<script>"));
    assert!(!drawn.contains('\u{0}') && drawn.contains("role=\"img\""));
}

#[test]
fn drawn_points_are_the_data() {
    let x: Vec<f64> = (0..200).map(|k| 20.0 * 1000f64.powf(f64::from(k) / 199.0)).collect();
    let y: Vec<f64> = x.iter().map(|f| 80.0 + 15.0 * (f.ln() * 2.0).sin()).collect();
    let figure = figure(vec![Trace::new("", Ink::Inverted, x.clone(), y.clone())]);
    let lines = polylines(&svg(&figure), Ink::Inverted);
    assert_eq!(lines.len(), 1);
    assert_eq!(lines[0].len(), x.len());
    let frame = layout::lay_out(&figure).slots[0].frame;
    for ((px, py), (vx, vy)) in lines[0].iter().zip(x.iter().zip(&y)) {
        let across = (px / 8.0 - frame.left) / frame.width;
        let up = (frame.bottom() - py / 8.0) / frame.height;
        assert!((20.0 * 1000f64.powf(across) / vx - 1.0).abs() < 1e-3);
        assert!((60.0 + 40.0 * up - vy).abs() < 0.02);
    }
}

#[test]
fn a_long_legend_takes_more_rows_and_stays_in_the_picture() {
    let many = |n: u8| {
        let named =
            |k| Trace { name: format!("Curve number {k}"), ink: Ink::Order(k), ..line(&[], &[]) };
        figure((0..n).map(named).collect())
    };
    let (short, long) = (layout::lay_out(&many(2)), layout::lay_out(&many(20)));
    assert!(long.slots[0].frame.top > short.slots[0].frame.top + 30.0);
    let mut endless = many(1);
    endless.panels[0].traces[0].name = "long ".repeat(100);
    for sheet in [long, layout::lay_out(&endless)] {
        for line in sheet.slots[0].legend.iter().map(|e| &e.line) {
            let end = line.x + layout::SAMPLE + words::width(&line.text, layout::LABEL);
            assert!(line.x >= 0.0 && end <= f64::from(sheet.width));
        }
    }
}

#[test]
fn labels_of_points_stay_apart_and_inside() {
    let frame = place::Rect { left: 0.0, top: 0.0, width: 200.0, height: 100.0 };
    let mut room = place::Room::new(frame);
    let size = place::Rect { left: 180.0, top: -5.0, width: 60.0, height: 16.0 };
    let lower = place::Rect { top: 40.0, ..size };
    let first = room.choose(&[size, lower], None).unwrap();
    let second = room.choose(&[size, lower], None).unwrap();
    for rect in [first, second] {
        assert!(rect.left >= 0.0 && rect.right() <= 200.0 && rect.top >= 0.0);
    }
    assert!((first.top - second.top).abs() >= 16.0);
}

#[test]
fn every_ink_has_a_colour_of_its_own() {
    let named = [
        Ink::Sum,
        Ink::Woofer,
        Ink::Tweeter,
        Ink::Inverted,
        Ink::Limit,
        Ink::Reference,
        Ink::Quiet,
    ];
    let inks: Vec<Ink> = named.into_iter().chain((0..8).map(Ink::Order)).collect();
    let colours: std::collections::BTreeSet<_> = inks.iter().map(|i| i.colour()).collect();
    assert_eq!(colours.len(), inks.len());
    assert_eq!(Ink::Order(8).colour(), Ink::Order(0).colour());
}

#[test]
fn a_dashed_ink_is_dashed_and_the_file_is_small() {
    let x: Vec<f64> = (0..480).map(|k| 20.0 * 1000f64.powf(f64::from(k) / 479.0)).collect();
    let inks = [Ink::Sum, Ink::Woofer, Ink::Tweeter];
    let curve =
        |ink| Trace::new("Line", ink, x.clone(), x.iter().map(|f| 80.0 + f.ln().sin()).collect());
    let drawn = svg(&figure(inks.map(curve).into()));
    assert!(drawn.len() < 40_000, "{}", drawn.len());
    assert_eq!(drawn.matches("stroke-dasharray").count(), 2);
    assert_eq!(drawn, svg(&figure(inks.map(curve).into())));
}
