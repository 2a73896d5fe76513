//! The pictures in `plots/`, which the README shows, are what the program draws today.
//!
//! They are compared by their elements, words and places, not by bytes: rounding differs from
//! machine to machine. `SLABTONE_BLESS=1 cargo test --test pictures` draws them anew: look at them
//! before you keep them.

#[path = "support/made_up.rs"]
mod made_up;
#[path = "support/svg.rs"]
mod svg;

use slabtone::analysis::inspection::gate::{Gate, Rule};
use slabtone::analysis::inspection::measuring::Measuring;
use slabtone::analysis::inspection::population::Population;
use slabtone::analysis::inspection::twin::Twin;
use slabtone::analysis::spread::Spread;
use slabtone::analysis::study::Study;
use slabtone::analysis::{clearance, compare};
use slabtone::circuit::slope::Slope;
use slabtone::design::{Design, Sheet};
use slabtone::grid::Grid;
use slabtone::input::design_file;
use slabtone::input::files::{DEMO, Disk, Embedded};
use slabtone::model::sheet::Walls;
use slabtone::picture;
use slabtone::report::{
    cavity_figure, compare_figure, directions_figure, figures, limits_figure, panel_figure,
    placement_figure, sheet_figure,
};
use std::path::{Path, PathBuf};
use svg::Element;

/// Places may differ by this much, in pixels as shown.
const TOLERANCE_PX: f64 = 0.5;

/// Attributes that hold places; all others must be equal to the letter.
const PLACES: &[&str] = &[
    "points", "d", "x", "y", "x1", "y1", "x2", "y2", "cx", "cy", "r", "width", "height", "dx", "dy",
];

/// The figures of a design that are in the gallery.
const SHOWN: &[&str] = &[
    "response.svg",
    "impedance.svg",
    "phase.svg",
    "values.svg",
    "loudest.svg",
    "amplifier.svg",
    "cavity.svg",
    "sheet.svg",
    "placement.svg",
    "directions.svg",
];

fn kept(name: &str) -> PathBuf {
    let plots = Path::new(env!("CARGO_MANIFEST_DIR")).join("plots");
    plots.join(format!("reading-bench-{name}"))
}

fn demo() -> Design {
    design_file::load(&Embedded, Path::new(DEMO)).expect("the demo is sound")
}

fn drawn() -> Vec<(String, String)> {
    let mut study =
        Study::new(demo(), &Grid::audible(480).unwrap()).expect("the demo has a solution");
    study.look_closer().expect("the demo has a cavity");
    let sides = study.distinct_sides();
    assert_eq!(sides.len(), 1, "both sides of the reading bench are alike");
    let figures = figures::all(&study, sides[0].1, &sides[0].0);
    let shown = figures.iter().filter(|(name, _)| SHOWN.contains(name));
    shown.map(|(name, figure)| ((*name).to_owned(), picture::svg(figure))).collect()
}

/// Every slope over each other.
fn compared() -> (String, String) {
    let variants = compare::slopes(&demo(), &Slope::ALL);
    let outcomes = compare::outcomes(variants, &Grid::audible(480).unwrap()).expect("a solution");
    let figure = compare_figure::figure(&outcomes).expect("there is something to draw");
    ("compare.svg".into(), picture::svg(&figure))
}

/// Limits for the factory.
fn limits() -> (String, String) {
    let design = demo();
    let (measuring, grid) = (Measuring::default(), Grid::audible(120).unwrap());
    let spread = Spread::of(&design).expect("a run");
    let twin = Twin::new(&design, &spread, 0, &measuring, &grid).expect("a side");
    let drawn = Population::drawn(&design, &spread, &twin, 0, 500, 1).expect("units");
    let gate = Gate::of(&twin, &drawn, &measuring, Rule::default(), 1).expect("limits");
    ("limits.svg".into(), picture::svg(&limits_figure::figure(&gate, "left")))
}

/// The panel to scale.
fn panel() -> (String, String) {
    (
        "panel.svg".into(),
        picture::drawing_svg(&panel_figure::figure(&demo(), &clearance::rib_lines(&demo()))),
    )
}

/// What a bare, thin back would do.
fn bare() -> (String, String) {
    let mut design = demo();
    design.panel.back = Sheet { thickness_m: 1e-3, coating: None, ..design.panel.back };
    design.sides.iter_mut().for_each(|side| side.cavity.ribs.clear());
    let mut study = Study::new(design, &Grid::audible(480).unwrap()).expect("a solution");
    study.look_closer().expect("a cavity");
    let sides = study.distinct_sides();
    let figures = figures::all(&study, sides[0].1, &sides[0].0);
    let (_, sheet) = figures.iter().find(|(name, _)| *name == "sheet.svg").expect("it moves");
    ("bare-sheet.svg".into(), picture::svg(sheet))
}

#[test]
fn the_reading_bench_is_drawn_as_in_plots() {
    let bless = std::env::var_os("SLABTONE_BLESS").is_some();
    let mut drawn = drawn();
    drawn.extend([compared(), panel(), bare(), limits()]);
    for name in SHOWN.iter().chain(&["panel.svg", "compare.svg"]) {
        assert!(drawn.iter().any(|(other, _)| other == name), "{name} is drawn no more");
    }
    for (name, today) in drawn {
        let path = kept(&name);
        if bless {
            std::fs::write(&path, &today).unwrap();
        }
        let expected = std::fs::read_to_string(&path).unwrap_or_else(|e| {
            panic!(
                "plots/reading-bench-{name}: {e}\n  SLABTONE_BLESS=1 cargo test --test pictures  creates it"
            )
        });
        if let Err(difference) = alike(&expected, &today) {
            panic!(
                "plots/reading-bench-{name} is not what is drawn today: {difference}\n  \
                 SLABTONE_BLESS=1 cargo test --test pictures  draws it anew, if it should change"
            );
        }
    }
}

#[test]
fn plots_holds_no_picture_that_is_drawn_no_more() {
    let today: Vec<PathBuf> = drawn()
        .iter()
        .chain([&compared(), &panel(), &bare(), &limits()])
        .map(|(name, _)| kept(name))
        .collect();
    for entry in std::fs::read_dir(kept("").parent().unwrap()).unwrap() {
        let path = entry.unwrap().path();
        assert!(today.contains(&path), "{} is not drawn by this test", path.display());
    }
}

#[test]
fn the_panels_of_all_examples_are_drawn_with_whole_words() {
    for name in ["reading-bench", "study-desk", "bed-head"] {
        let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
        let design = design_file::load(&Disk, &examples.join(format!("{name}.toml"))).unwrap();
        let drawn =
            picture::drawing_svg(&panel_figure::figure(&design, &clearance::rib_lines(&design)));
        assert!(!drawn.contains('…'), "a name is cut off in {name}");
        says(&drawn, &["cavity", "Seats from above", "Front, as the listener sees it"]);
    }
}

/// What must stand in a picture, as a whole line of text.
#[track_caller]
fn says(picture: &str, words: &[&str]) {
    let elements = svg::read(picture).unwrap();
    for word in words {
        assert!(elements.iter().any(|e| e.text == *word), "{word} is not written");
    }
}

#[test]
fn maps_of_made_up_results_name_their_places_seats_and_units() {
    let places = picture::svg(&placement_figure::figure(&made_up::placement()));
    says(&places, &["here: 5.4 dB", "best: 2.1 dB", "Ripple (dB)", "Tweeter", "Rib", "Cavity"]);
    let directions = picture::svg(&directions_figure::figure(&made_up::directions()));
    says(&directions, &["reader, 28°", "reader, −24°", "neighbour, −18°", "Level (dB)", "20k"]);
    for (name, drawn) in [("placement.svg", places), ("directions.svg", directions)] {
        save(name, &drawn);
    }
}

#[test]
fn figures_of_sheet_and_cavity_take_plain_slices() {
    let hz = made_up::hertz(20.0, 2000.0, 200);
    let of = |value: fn(f64) -> f64| hz.iter().map(|f| value(*f)).collect::<Vec<f64>>();
    let cone = of(|f| 85.0 - 10.0 * (1.0 + (90.0 / f).powi(4)).log10());
    let sheet = of(|f| 65.0 - 20.0 * (1.0 - (f / 140.0).powi(2)).hypot(0.05).log10());
    let walls = Walls { back: Some(sheet), face: Some(of(|f| 55.0 - 3.0 * (f / 900.0).powi(2))) };
    let sheet =
        picture::svg(&sheet_figure::figure("Made-up bench, left", &hz, cone.clone(), walls, cone));
    says(&sheet, &["Cone", "Back sheet", "Face", "All together", "Made-up bench, left"]);
    let lump = of(|f| 7.4e6 / f);
    let wave = of(|f| 7.4e6 / f * (1.0 + 0.2 / (1.0 - (f / 450.0).powi(2)).hypot(0.1)));
    let ripple = of(|f| -0.4 / (1.0 - (f / 450.0).powi(2)).hypot(0.1));
    let conditions = "Made-up bench, left cavity";
    let cavity = picture::svg(&cavity_figure::figure(conditions, &hz, &wave, &lump, &ripple));
    says(&cavity, &["One lump of air", "With its waves", conditions]);
    for (name, drawn) in [("sheet.svg", sheet), ("cavity.svg", cavity)] {
        save(name, &drawn);
    }
}

/// Keeps a made-up picture to look at, where `SLABTONE_MADE_UP` names a folder.
fn save(name: &str, drawn: &str) {
    if let Some(folder) = std::env::var_os("SLABTONE_MADE_UP") {
        std::fs::write(Path::new(&folder).join(name), drawn).unwrap();
    }
}

#[test]
fn the_comparison_finds_what_was_moved_renamed_recoloured_or_left_out() {
    let (_, picture) = drawn().swap_remove(0);
    alike(&picture, &picture).unwrap();
    let ten_pixels = |text: &str| {
        let x: f64 = text.parse().unwrap();
        (x + 80.0).to_string()
    };
    let first_text = picture.find("<text x=\"").expect("a text") + "<text x=\"".len();
    let end = picture[first_text..].find('"').unwrap() + first_text;
    let mut moved = picture.clone();
    moved.replace_range(first_text..end, &ten_pixels(&picture[first_text..end]));
    let polyline = picture.rfind("<polyline").expect("a curve");
    let after = polyline + picture[polyline..].find('>').unwrap() + 1;
    let mut without = picture.clone();
    without.replace_range(polyline..after, "");
    let mut longer = picture.clone();
    let points = polyline + picture[polyline..].find("points=\"").unwrap() + "points=\"".len();
    longer.insert_str(points, "0,0 ");
    for (spoilt, told) in [
        (moved, "`x`"),
        (picture.replacen("Woofer", "Wolf", 1), "Wolf"),
        (picture.replacen("stroke=\"#", "stroke=\"#F", 1), "`stroke`"),
        (without, "elements"),
        (longer, "`points`"),
    ] {
        let difference = alike(&picture, &spoilt).expect_err(told);
        assert!(difference.contains(told), "{told} is not in {difference}");
    }
}

#[test]
fn rounding_is_no_difference() {
    let (_, picture) = drawn().swap_remove(0);
    let end = picture.rfind("points=\"").unwrap() + "points=\"".len();
    let comma = end + picture[end..].find(',').unwrap();
    let x: i32 = picture[end..comma].parse().unwrap();
    for shift in [-1, 1] {
        let mut other = picture.clone();
        other.replace_range(end..comma, &(x + shift).to_string());
        alike(&picture, &other).unwrap();
        // A point that fell on its neighbour is drawn once.
        other = picture.clone();
        other.insert_str(
            end,
            &format!("{}{} ", x + shift, &picture[comma..].split(' ').next().unwrap()),
        );
        alike(&picture, &other).unwrap();
    }
}

/// Whether two pictures show the same.
fn alike(expected: &str, found: &str) -> Result<(), String> {
    let (expected, found) = (svg::read(expected)?, svg::read(found)?);
    let words = |elements: &[Element]| -> Vec<String> {
        elements.iter().filter(|e| !e.text.is_empty()).map(|e| e.text.clone()).collect()
    };
    let (before, now) = (words(&expected), words(&found));
    if let Some((a, b)) = before.iter().zip(&now).find(|(a, b)| a != b) {
        return Err(format!("the text {a:?} is now {b:?}"));
    }
    let names = |elements: &[Element]| elements.iter().map(|e| e.name.clone()).collect::<Vec<_>>();
    if names(&expected) != names(&found) {
        return Err(format!(
            "it had {} elements, or in another order than {} now",
            expected.len(),
            found.len()
        ));
    }
    let units = units_per_pixel(&expected[0]).ok_or("the root has no size")?;
    let pairs = expected.iter().zip(&found);
    pairs.into_iter().try_for_each(|(a, b)| same_element(a, b, TOLERANCE_PX * units))
}

/// Units of the view box per pixel of the width.
fn units_per_pixel(root: &Element) -> Option<f64> {
    let width: f64 = root.attribute("width")?.parse().ok()?;
    let view: f64 = root.attribute("viewBox")?.split(' ').nth(2)?.parse().ok()?;
    Some(view / width)
}

fn same_element(a: &Element, b: &Element, tolerance: f64) -> Result<(), String> {
    let keys = |e: &Element| e.attributes.iter().map(|(key, _)| key.clone()).collect::<Vec<_>>();
    if keys(a) != keys(b) {
        return Err(format!("<{}> has other attributes: {a:?} and {b:?}", a.name));
    }
    for ((key, before), (_, now)) in a.attributes.iter().zip(&b.attributes) {
        let same = match key.as_str() {
            "points" => same_line(&points(before)?, &points(now)?, tolerance),
            key if PLACES.contains(&key) => same_numbers(before, now, tolerance),
            _ => before == now,
        };
        if !same {
            let short = |text: &str| text.chars().take(120).collect::<String>();
            let (name, text) = (&a.name, short(&a.text));
            return Err(format!(
                "`{key}` of <{name}> {text:?}: {} and {}",
                short(before),
                short(now)
            ));
        }
    }
    Ok(())
}

fn same_numbers(a: &str, b: &str, tolerance: f64) -> bool {
    let number = |c: char| c.is_ascii_digit() || matches!(c, '.' | '-');
    let numbers = |text: &str| -> Vec<f64> {
        text.split(|c: char| !number(c)).filter_map(|part| part.parse().ok()).collect()
    };
    let rest = |text: &str| text.replace(number, "");
    let (p, q) = (numbers(a), numbers(b));
    p.len() == q.len()
        && rest(a) == rest(b)
        && p.iter().zip(&q).all(|(p, q)| (p - q).abs() <= tolerance)
}

type Point = (f64, f64);

fn points(text: &str) -> Result<Vec<Point>, String> {
    let point = |pair: &str| -> Option<Point> {
        let (x, y) = pair.split_once(',')?;
        Some((x.parse().ok()?, y.parse().ok()?))
    };
    let points: Option<Vec<Point>> = text.split_whitespace().map(point).collect();
    points.filter(|points| !points.is_empty()).ok_or(format!("no list of points: {text}"))
}

/// Both lines run within the tolerance of one another, from the same start to the same end.
fn same_line(a: &[Point], b: &[Point], tolerance: f64) -> bool {
    let near = |p: &Point, q: &Point| (p.0 - q.0).hypot(p.1 - q.1) <= tolerance * 1.5;
    if a.len() == b.len() {
        return a.iter().zip(b).all(|(p, q)| (p.0 - q.0).abs().max((p.1 - q.1).abs()) <= tolerance);
    }
    let few = a.len().abs_diff(b.len()) <= 1 + a.len() / 50;
    let ends = near(&a[0], &b[0]) && near(&a[a.len() - 1], &b[b.len() - 1]);
    few && ends && follows(a, b, tolerance) && follows(b, a, tolerance)
}

fn follows(a: &[Point], line: &[Point], tolerance: f64) -> bool {
    a.iter().all(|p| line.windows(2).any(|ends| distance(*p, ends[0], ends[1]) <= tolerance))
}

/// From a point to a piece of a line.
fn distance(p: Point, a: Point, b: Point) -> f64 {
    let (along, to) = ((b.0 - a.0, b.1 - a.1), (p.0 - a.0, p.1 - a.1));
    let length = along.0 * along.0 + along.1 * along.1;
    let share = if length == 0.0 { 0.0 } else { (along.0 * to.0 + along.1 * to.1) / length };
    let share = share.clamp(0.0, 1.0);
    (to.0 - share * along.0).hypot(to.1 - share * along.1)
}
