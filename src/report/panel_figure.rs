//! `panel.svg`: the panel to scale, from the front and cut open, and where the seats are.

use super::panel_section;
use crate::analysis::clearance::RibLine;
use crate::design::{Design, Mounted, Side};
use crate::picture::{
    Dimension, Drawing, Form, Ink, Label, Measure, Row, Shape, Stand, Substance, View,
};

/// A head is drawn this wide, mm. Common practice, no source.
const HEAD_MM: f64 = 180.0;
/// Section lines reach over the panel by this share of its larger side.
const OVERHANG: f64 = 0.02;

/// Where the panel is cut open.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Cut {
    /// Along x at this y, mm.
    Level(f64),
    /// Along y at this x, mm.
    Upright(f64),
}

/// A cut through a side, with the sides that look the same there.
pub(super) struct Section<'d> {
    pub letter: char,
    pub cut: Cut,
    pub side: &'d Side,
    pub names: String,
}

/// Front view, sections through every side that differs, and the seats in plan and from the side.
pub fn figure(design: &Design, ribs: &[RibLine]) -> Drawing {
    let sections = sections(design);
    let mut drawing = Drawing::new(
        "How everything sits in the panel",
        format!("{}; to scale, lengths in mm; the insides of drivers are not shown", design.name),
    );
    drawing.rows.push(Row { views: vec![front(design, ribs, &sections)], highest: 420.0 });
    for section in &sections {
        let view = panel_section::view(design, section);
        drawing.rows.push(Row { views: vec![view], highest: 150.0 });
    }
    drawing.rows.push(Row { views: vec![plan(design), elevation(design)], highest: 170.0 });
    let panel = &design.panel;
    drawing.description = format!(
        "Front view of a panel {:.0} mm wide and {:.0} mm high with its cavities and drivers, {} sections through it, and the seats from above and from the side.",
        mm(panel.width_m),
        mm(panel.height_m),
        sections.len()
    );
    drawing
}

pub(super) fn mm(metres: f64) -> f64 {
    1e3 * metres
}

/// The two drivers of a side with the words for them.
pub(super) fn both(side: &Side) -> [(&'static str, &Mounted); 2] {
    [("woofer", &side.drivers.woofer), ("tweeter", &side.drivers.tweeter)]
}

/// A level cut through each woofer, and an upright one through each tweeter that the first misses;
/// sides that mirror or repeat an earlier one share its cuts.
fn sections(design: &Design) -> Vec<Section<'_>> {
    let mut distinct: Vec<(&Side, String)> = Vec::new();
    for side in &design.sides {
        match distinct.iter_mut().find(|(other, _)| alike(other, side)) {
            Some((_, names)) => *names = format!("{names} and {}", side.name),
            None => distinct.push((side, side.name.clone())),
        }
    }
    let mut letters = 'A'..='Z';
    let mut out = Vec::new();
    for (side, names) in distinct {
        let Side { drivers, .. } = side;
        let level = Cut::Level(mm(drivers.woofer.y_m));
        let missed = !is_cut(&drivers.tweeter, level);
        let upright = missed.then_some(Cut::Upright(mm(drivers.tweeter.x_m)));
        for cut in std::iter::once(level).chain(upright) {
            // Beyond 26 sections a sheet is of no use.
            let Some(letter) = letters.next() else { break };
            out.push(Section { letter, cut, side, names: names.clone() });
        }
    }
    out
}

/// Whether a cut meets the hole of a driver.
pub(super) fn is_cut(mounted: &Mounted, cut: Cut) -> bool {
    let away = match cut {
        Cut::Level(y) => y - mm(mounted.y_m),
        Cut::Upright(x) => x - mm(mounted.x_m),
    };
    away.abs() < 0.5 * mm(mounted.driver.size.cutout_m)
}

/// Whether two sides look alike, or as in a mirror.
fn alike(a: &Side, b: &Side) -> bool {
    let same = |p: f64, q: f64| (p - q).abs() < 1e-9;
    let (p, q) = (&a.cavity, &b.cavity);
    let sizes = same(p.width_m, q.width_m)
        && same(p.height_m, q.height_m)
        && same(p.depth_m, q.depth_m)
        && same(p.y_m, q.y_m)
        && p.fill == q.fill;
    let pairs = || both(a).into_iter().zip(both(b)).map(|((_, m), (_, n))| (m, n));
    let drivers = pairs().all(|(m, n)| m.driver.size == n.driver.size && same(m.y_m, n.y_m));
    let across = |mirror: f64| pairs().all(|(m, n)| same(m.x_m - p.x_m, mirror * (n.x_m - q.x_m)));
    sizes && drivers && (across(1.0) || across(-1.0))
}

/// The panel as the listener sees it.
fn front(design: &Design, ribs: &[RibLine], sections: &[Section<'_>]) -> View {
    let mut view = View::new("Front, as the listener sees it");
    let (w, h) = (mm(design.panel.width_m), mm(design.panel.height_m));
    let (left, bottom) = (-0.5 * w, -0.5 * h);
    let outline = Form::Rectangle((left, bottom), (-left, -bottom));
    view.shapes.push(Shape::outline(outline, Ink::Edge));
    for rib in ribs {
        view.shapes.push(Shape::solid(rib_outline(rib), Substance::Device));
    }
    for side in &design.sides {
        front_of_side(&mut view, side);
    }
    if let Some(rib) = ribs.first() {
        let at = |share: f64| {
            let between = |a: f64, b: f64| mm(a + share * (b - a));
            (between(rib.from_m.0, rib.to_m.0), between(rib.from_m.1, rib.to_m.1))
        };
        let at = if rib.from_m.1 < rib.to_m.1 { at(0.1) } else { at(0.9) };
        view.labels.push(Label { text: "rib".into(), at, stand: Stand::Beside });
    }
    for section in sections {
        cut_line(&mut view, section, (w, h));
    }
    let wide = ((left, bottom), (-left, bottom));
    view.dimensions.push(Dimension { from: wide.0, to: wide.1, measure: Measure::Below(1) });
    let high = ((left, bottom), (left, -bottom));
    view.dimensions.push(Dimension { from: high.0, to: high.1, measure: Measure::Left(1) });
    if let Some(side) = design.sides.first() {
        front_dimensions(&mut view, side, (left, bottom));
    }
    view
}

/// The four corners of a rib.
fn rib_outline(rib: &RibLine) -> Form {
    let (from, to) = (rib.from_m, rib.to_m);
    let length = (to.0 - from.0).hypot(to.1 - from.1).max(1e-6);
    let half = 0.5 * rib.width_m / length;
    let across = (-(to.1 - from.1) * half, (to.0 - from.0) * half);
    let corner = |(x, y): (f64, f64), side: f64| (mm(x + side * across.0), mm(y + side * across.1));
    Form::Polygon(vec![corner(from, 1.0), corner(to, 1.0), corner(to, -1.0), corner(from, -1.0)])
}

/// Cavity, flanges and cut-outs of a side, with its drivers' names.
fn front_of_side(view: &mut View, side: &Side) {
    let (from, to) = cavity_corners(side);
    view.shapes.push(Shape::outline(Form::Rectangle(from, to), Ink::Hidden));
    view.labels.push(Label {
        text: format!("{} cavity", side.name),
        at: (from.0 + 0.03 * (to.0 - from.0), from.1 + 0.1 * (to.1 - from.1)),
        stand: Stand::Beside,
    });
    for (role, mounted) in both(side) {
        let centre = (mm(mounted.x_m), mm(mounted.y_m));
        let size = &mounted.driver.size;
        let (flange, hole) = (0.5 * mm(size.flange_m), 0.5 * mm(size.cutout_m));
        view.shapes.push(Shape::outline(Form::Circle(centre, flange), Ink::Edge));
        view.shapes.push(Shape::outline(Form::Circle(centre, hole), Ink::Hidden));
        // The woofer is named at its left, the tweeter at its right: the names stay apart.
        let across = if role == "woofer" { -0.78 } else { 0.78 };
        view.labels.push(Label {
            text: mounted.driver.name.clone(),
            at: (centre.0 + across * flange, centre.1 + 0.5 * flange),
            stand: Stand::Above,
        });
    }
}

/// Two opposite corners of a cavity, mm.
pub(super) fn cavity_corners(side: &Side) -> ((f64, f64), (f64, f64)) {
    let c = &side.cavity;
    let (x, y) = (mm(c.x_m), mm(c.y_m));
    let (w, h) = (0.5 * mm(c.width_m), 0.5 * mm(c.height_m));
    ((x - w, y - h), (x + w, y + h))
}

/// Places of the first side's drivers from the panel's lower left corner, and its cavity's size.
fn front_dimensions(view: &mut View, side: &Side, (left, bottom): (f64, f64)) {
    let (from, to) = cavity_corners(side);
    let mut across = vec![left, from.0, to.0];
    across.extend(both(side).map(|(_, m)| mm(m.x_m)));
    let mut up = vec![bottom, from.1, to.1];
    up.extend(both(side).map(|(_, m)| mm(m.y_m)));
    for (list, level) in [(&mut across, true), (&mut up, false)] {
        list.sort_by(f64::total_cmp);
        list.dedup_by(|a, b| (*a - *b).abs() < 0.05);
        for pair in list.windows(2) {
            let (from, to, measure) = match level {
                true => ((pair[0], bottom), (pair[1], bottom), Measure::Below(0)),
                false => ((left, pair[0]), (left, pair[1]), Measure::Left(0)),
            };
            view.dimensions.push(Dimension { from, to, measure });
        }
    }
}

/// The chain line of a cut with its letter at both ends.
fn cut_line(view: &mut View, section: &Section<'_>, (w, h): (f64, f64)) {
    let over = OVERHANG * w.max(h);
    let (from, to) = cavity_corners(section.side);
    let (a, b) = match section.cut {
        Cut::Level(y) => ((from.0 - over, y), (to.0 + over, y)),
        Cut::Upright(x) => ((x, -0.5 * h - over), (x, 0.5 * h + over)),
    };
    view.shapes.push(Shape::outline(Form::Line(vec![a, b]), Ink::Cut));
    for at in [a, b] {
        view.labels.push(Label { text: section.letter.to_string(), at, stand: Stand::Beside });
    }
}

/// How far a place of the panel is before the middle of its face and above it, in the room, mm: a
/// panel that leans back turns its own axes.
fn in_room(design: &Design, y_m: f64, z_m: f64) -> (f64, f64) {
    let (sin, cos) = design.panel.tilt_rad.sin_cos();
    (mm(cos * z_m - sin * y_m), mm(cos * y_m + sin * z_m))
}

/// The slab from the side, as (in front, up) in the room, mm.
fn slab(design: &Design) -> Vec<(f64, f64)> {
    let depths = design.sides.iter().map(|s| s.cavity.depth_m);
    let back = -design.panel.thickness_m(depths.fold(0.0, f64::max));
    let half = 0.5 * design.panel.height_m;
    [(-half, 0.0), (half, 0.0), (half, back), (-half, back)]
        .map(|(y, z)| in_room(design, y, z))
        .to_vec()
}

/// Panel and seats from above: the panel at the top, the listeners before it.
fn plan(design: &Design) -> View {
    let half = 0.5 * mm(design.panel.width_m);
    let mut view = View::new("Seats from above");
    let front = slab(design).into_iter().map(|p| p.0);
    let (low, high) = front.fold((f64::MAX, f64::MIN), |(a, b), z| (a.min(z), b.max(z)));
    let form = Form::Rectangle((-half, -low), (half, -high));
    view.shapes.push(Shape::solid(form, Substance::Device));
    for listener in &design.listeners {
        let (front, _) = in_room(design, listener.place.y_m, listener.place.z_m);
        let at = (mm(listener.place.x_m), -front);
        let text = format!("{}, {front:.0} mm in front", listener.name);
        let from = design.sides.iter().map(|s| {
            let tweeter = &s.drivers.tweeter;
            (mm(tweeter.x_m), -in_room(design, tweeter.y_m, 0.0).0)
        });
        seat(&mut view, text, at, from.collect());
    }
    view
}

/// Panel and seats from the right: the panel at the left, the listeners before it.
fn elevation(design: &Design) -> View {
    let mut view = View::new("Seats from the side");
    view.shapes.push(Shape::solid(Form::Polygon(slab(design)), Substance::Device));
    let mut heads: Vec<((f64, f64), String)> = Vec::new();
    for listener in &design.listeners {
        let at = in_room(design, listener.place.y_m, listener.place.z_m);
        let same = |p: (f64, f64)| (p.0 - at.0).hypot(p.1 - at.1) < 1.0;
        match heads.iter_mut().find(|(p, _)| same(*p)) {
            Some((_, names)) => *names = format!("{names} and {}", listener.name),
            None => heads.push((at, listener.name.clone())),
        }
    }
    for (at, names) in heads {
        let way = if at.1 < 0.0 { "down" } else { "up" };
        let text = format!("{names}, {:.0} mm {way}", at.1.abs());
        let from = design.sides.iter().map(|s| in_room(design, s.drivers.tweeter.y_m, 0.0));
        let mut from: Vec<(f64, f64)> = from.collect();
        from.dedup();
        seat(&mut view, text, at, from);
    }
    view
}

/// A head with lines to what it hears, and its name.
fn seat(view: &mut View, text: String, at: (f64, f64), from: Vec<(f64, f64)>) {
    for start in from {
        view.shapes.push(Shape::outline(Form::Line(vec![start, at]), Ink::Quiet));
    }
    view.shapes.push(Shape::solid(Form::Circle(at, 0.5 * HEAD_MM), Substance::Device));
    let edge = (at.0 + 0.5 * HEAD_MM, at.1);
    view.labels.push(Label { text, at: edge, stand: Stand::Beside });
}
