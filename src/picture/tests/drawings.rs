use super::{apart, polylines};
use crate::picture::sheet::{lay_out, number};
use crate::picture::*;

fn plate(width: f64, height: f64) -> View {
    let mut view = View::new("A plate with a hole, seen from the front");
    view.shapes.push(Shape::solid(Form::Rectangle((0.0, 0.0), (width, height)), Substance::Wood));
    let hole = Form::Circle((0.3 * width, 0.5 * height), 0.2 * height);
    view.shapes.push(Shape::outline(hole, Ink::Hidden));
    let mut measure = |from, to, measure| view.dimensions.push(Dimension { from, to, measure });
    measure((0.0, 0.0), (width, 0.0), Measure::Below(1));
    measure((0.0, 0.0), (0.02 * width, 0.0), Measure::Below(0));
    measure((0.02 * width, 0.0), (0.3 * width, 0.0), Measure::Below(0));
    measure((0.0, 0.0), (0.0, height), Measure::Left(0));
    measure((width, 0.0), (width, 0.1 * height), Measure::Right(0));
    measure((0.7 * width, 0.2 * height), (0.7 * width, height), Measure::Upright);
    for (n, text) in ["hole", "a name that is long", "another", "edge"].into_iter().enumerate() {
        let at = (0.3 * width + n as f64, 0.5 * height);
        let stand = if n < 3 { Stand::Above } else { Stand::Below };
        view.labels.push(Label { text: text.into(), at, stand });
    }
    view.labels.push(Label { text: "A".into(), at: (width, 0.5 * height), stand: Stand::Beside });
    view
}

fn sheet_of(rows: Vec<Vec<View>>) -> Drawing {
    let mut drawing = Drawing::new("What it looks like", "Lengths in mm");
    drawing.rows = rows.into_iter().map(|views| Row { views, highest: 200.0 }).collect();
    drawing
}

#[test]
fn names_and_numbers_stay_apart_at_every_shape_and_width() {
    for (w, h) in [(1200.0, 320.0), (300.0, 300.0), (60.0, 900.0), (5000.0, 40.0)] {
        for width in [600, 900, 1400] {
            let mut drawing = sheet_of(vec![vec![plate(w, h)], vec![plate(w, h), plate(h, w)]]);
            drawing.width = width;
            assert!(apart::check(&drawing_svg(&drawing)) > 20);
        }
    }
}

#[test]
fn a_drawing_is_to_scale_and_its_bar_too() {
    let drawing = sheet_of(vec![vec![plate(1200.0, 320.0)]]);
    let sheet = lay_out(&drawing);
    let frame = sheet.views[0].frame;
    assert!((frame.width / 1200.0 - frame.height / 320.0).abs() < 1e-9);
    let hole = &polylines(&drawing_svg(&drawing), Ink::Hidden)[0];
    let across = |of: fn(&(f64, f64)) -> f64| {
        let low = hole.iter().map(of).fold(f64::INFINITY, f64::min);
        (hole.iter().map(of).fold(f64::NEG_INFINITY, f64::max) - low) / 8.0
    };
    let px_per_mm = sheet.views[0].px_per_mm;
    assert!((across(|p| p.0) / px_per_mm - 128.0).abs() < 0.5);
    assert!((across(|p| p.1) / px_per_mm - 128.0).abs() < 0.5);
    assert_eq!(sheet.bars[0].text, "100 mm");
    assert!((sheet.bars[0].length - 100.0 * px_per_mm).abs() < 1e-9);
}

#[test]
fn a_dimension_says_what_it_spans() {
    let dimension = |measure| Dimension { from: (10.0, 5.0), to: (-26.04, 9.0), measure };
    assert_eq!(number(&dimension(Measure::Below(0))), "36");
    assert_eq!(number(&dimension(Measure::Upright)), "4");
    let drawn = drawing_svg(&sheet_of(vec![vec![plate(1200.0, 320.0)]]));
    for text in ["1200", "24", "336", "320", "32", "256"] {
        assert!(drawn.contains(&format!(">{text}</text>")), "{text}");
    }
}

#[test]
fn every_substance_is_hatched_and_the_drawing_the_same_every_time() {
    let all = [
        Substance::Wood,
        Substance::Fibre,
        Substance::Metal,
        Substance::Plastic,
        Substance::Foam,
        Substance::Device,
    ];
    let drawn = all.map(|substance| {
        let mut view = View::new("");
        let form = Form::Rectangle((0.0, 0.0), (100.0, 50.0));
        view.shapes.push(Shape { form, ink: None, substance: Some(substance) });
        let drawing = sheet_of(vec![vec![view]]);
        assert_eq!(drawing_svg(&drawing), drawing_svg(&drawing));
        drawing_svg(&drawing)
    });
    for (n, one) in drawn.iter().enumerate() {
        assert!(drawn[n + 1..].iter().all(|other| other != one));
    }
}

#[test]
fn lengths_without_sense_are_drawn_without_panic() {
    for bad in [f64::NAN, f64::INFINITY, 1e300, 0.0] {
        let mut view = plate(bad, 10.0);
        view.shapes.push(Shape::outline(Form::Polygon(vec![(bad, bad)]), Ink::Edge));
        view.shapes.push(Shape::outline(Form::Line(vec![]), Ink::Edge));
        let drawn = drawing_svg(&sheet_of(vec![vec![view], vec![]]));
        assert!(drawn.ends_with("</svg>\n") && !drawn.contains("NaN") && !drawn.contains("inf"));
    }
}
