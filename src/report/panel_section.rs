//! A section through one side of a panel: face, cavity, fill, drivers and back to scale, the face
//! at the bottom, as on a bench.

use super::panel_figure::{Cut, Section, both, cavity_corners, is_cut, mm};
use crate::analysis::clearance;
use crate::design::{Along, Design, Material, Mounted};
use crate::model::fill::Fill;
use crate::picture::{Dimension, Form, Ink, Label, Measure, Shape, Stand, Substance, View};

/// How far the section reaches beyond the cavity, mm.
const BEYOND_MM: f64 = 25.0;
/// Share of its cut-out that a driver's motor is drawn as, and of its depth that the basket is: an
/// outline only, as driver files hold no more.
const MOTOR: f64 = 0.62;
const BASKET: f64 = 0.45;

/// Lengths of the section, mm: `from` and `to` along the cut, the rest upward from the face.
struct Sizes {
    from: f64,
    to: f64,
    cavity: (f64, f64),
    face: f64,
    inside: f64,
    outside: f64,
}

/// A driver in the section: where it is along the cut, and whether the cut meets it.
struct Met<'d> {
    role: &'static str,
    mounted: &'d Mounted,
    at: f64,
    cut: bool,
}

/// The view of one section.
pub(super) fn view(design: &Design, section: &Section<'_>) -> View {
    let letter = section.letter;
    let seen = match section.cut {
        Cut::Level(_) => "from above",
        Cut::Upright(_) => "lower edge at the left",
    };
    let title = format!("Section {letter}–{letter}, {}, {seen}, face down", section.names);
    let mut view = View::new(title);
    let sizes = sizes(design, section);
    let met = met(section);
    sheets(&mut view, design, &sizes, &met);
    fill(&mut view, section, &sizes, &met);
    ribs(&mut view, section, &sizes);
    for driver in met.iter().filter(|m| !m.cut).chain(met.iter().filter(|m| m.cut)) {
        draw_driver(&mut view, driver);
    }
    for driver in met.iter().filter(|m| m.cut) {
        driver_dimensions(&mut view, driver, &sizes);
    }
    depth_dimensions(&mut view, &sizes);
    names(&mut view, design, &sizes);
    view
}

fn sizes(design: &Design, section: &Section<'_>) -> Sizes {
    let (low, high) = cavity_corners(section.side);
    let panel = &design.panel;
    let (cavity, half) = match section.cut {
        Cut::Level(_) => ((low.0, high.0), 0.5 * mm(panel.width_m)),
        Cut::Upright(_) => ((low.1, high.1), 0.5 * mm(panel.height_m)),
    };
    let face = mm(panel.face.thickness_m);
    let inside = face + mm(section.side.cavity.depth_m);
    let outside = inside + mm(panel.back.thickness_m);
    let from = (cavity.0 - BEYOND_MM).max(-half).min(cavity.0);
    let to = (cavity.1 + BEYOND_MM).min(half).max(cavity.1);
    Sizes { from, to, cavity, face, inside, outside }
}

/// The drivers of the side; one that the cut misses is left out where another hides it.
fn met<'d>(section: &Section<'d>) -> Vec<Met<'d>> {
    let along = |m: &Mounted| match section.cut {
        Cut::Level(_) => mm(m.x_m),
        Cut::Upright(_) => mm(m.y_m),
    };
    let met = |(role, mounted): (&'static str, &'d Mounted)| {
        let (at, cut) = (along(mounted), is_cut(mounted, section.cut));
        Met { role, mounted, at, cut }
    };
    let all = both(section.side).map(met);
    let hides = |a: &Met<'_>, b: &Met<'_>| a.cut && (a.at - b.at).abs() + hole(b) <= hole(a);
    let [woofer, tweeter] = all;
    let hidden = !tweeter.cut && hides(&woofer, &tweeter);
    std::iter::once(woofer).chain((!hidden).then_some(tweeter)).collect()
}

pub(super) fn substance(material: Material) -> Substance {
    match material {
        Material::Plywood => Substance::Wood,
        Material::Mdf => Substance::Fibre,
        Material::Aluminium | Material::Steel => Substance::Metal,
        Material::Acrylic => Substance::Plastic,
    }
}

/// Half of a driver's hole, mm.
fn hole(m: &Met<'_>) -> f64 {
    0.5 * mm(m.mounted.driver.size.cutout_m)
}

/// Face between the holes, the walls of the cavity, and the back.
fn sheets(view: &mut View, design: &Design, sizes: &Sizes, met: &[Met<'_>]) {
    let face = substance(design.panel.face.material);
    let holes = met.iter().filter(|m| m.cut).map(|m| (m.at - hole(m), m.at + hole(m)));
    for (from, to) in between(sizes.from, sizes.to, holes.collect()) {
        let form = Form::Rectangle((from, 0.0), (to, sizes.face));
        view.shapes.push(Shape::solid(form, face));
    }
    for (from, to) in [(sizes.from, sizes.cavity.0), (sizes.cavity.1, sizes.to)] {
        if to - from > 1e-6 {
            let form = Form::Rectangle((from, sizes.face), (to, sizes.inside));
            view.shapes.push(Shape::solid(form, Substance::Device));
        }
    }
    let back = Form::Rectangle((sizes.from, sizes.inside), (sizes.to, sizes.outside));
    view.shapes.push(Shape::solid(back, substance(design.panel.back.material)));
}

/// What of a stretch is left between some gaps.
fn between(from: f64, to: f64, mut gaps: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    gaps.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut here = from;
    let mut out = Vec::new();
    for (low, high) in gaps {
        if low.min(to) > here {
            out.push((here, low.min(to)));
        }
        here = here.max(high);
    }
    if to > here {
        out.push((here, to));
    }
    out
}

/// Foam on the back, cut away behind a driver that needs the depth.
fn fill(view: &mut View, section: &Section<'_>, sizes: &Sizes, met: &[Met<'_>]) {
    let Fill::Foam { fraction, .. } = section.side.cavity.fill else { return };
    let under = sizes.inside - fraction * mm(section.side.cavity.depth_m);
    let rear = |m: &Met<'_>| mm(m.mounted.set_back_m + m.mounted.driver.size.mounting_depth_m);
    let deep = |m: &&Met<'_>| m.cut && rear(m) > under;
    let gaps = met.iter().filter(deep).map(|m| {
        let half = MOTOR * hole(m) + 4.0;
        (m.at - half, m.at + half)
    });
    let stretches = between(sizes.cavity.0, sizes.cavity.1, gaps.collect());
    for (from, to) in &stretches {
        let form = Form::Rectangle((*from, under), (*to, sizes.inside));
        view.shapes.push(Shape { form, ink: Some(Ink::Quiet), substance: Some(Substance::Foam) });
    }
    if let Some((from, to)) = stretches.first() {
        let at = (from + 0.3 * (to - from), 0.5 * (under + sizes.inside));
        view.labels.push(Label { text: "foam".into(), at, stand: Stand::Above });
    }
}

/// Dividing ribs that the cut crosses; how high the others are is not known.
fn ribs(view: &mut View, section: &Section<'_>, sizes: &Sizes) {
    let across = match section.cut {
        Cut::Level(_) => Along::Height,
        Cut::Upright(_) => Along::Width,
    };
    let all = section.side.cavity.ribs.iter();
    for rib in all.filter(|rib| rib.divides && rib.along == across) {
        let (at, half) = (mm(rib.at_m), 0.5 * mm(rib.width_m));
        let form = Form::Rectangle((at - half, sizes.face), (at + half, sizes.inside));
        view.shapes.push(Shape::solid(form, Substance::Device));
    }
}

/// The outline of a driver; dashed where it stands behind the cut.
fn draw_driver(view: &mut View, m: &Met<'_>) {
    let size = &m.mounted.driver.size;
    let (half, depth) = (hole(m), mm(size.mounting_depth_m));
    let plane = mm(m.mounted.set_back_m);
    let motor = MOTOR * half;
    let corner = |x: f64, y: f64| (m.at + x, plane + y);
    let body = Form::Polygon(vec![
        corner(-half, 0.0),
        corner(half, 0.0),
        corner(motor, BASKET * depth),
        corner(motor, depth),
        corner(-motor, depth),
        corner(-motor, BASKET * depth),
    ]);
    let flange = 0.5 * mm(size.flange_m);
    let rim = Form::Line(vec![corner(-flange, 0.0), corner(flange, 0.0)]);
    if m.cut {
        view.shapes.push(Shape::solid(body, Substance::Device));
        view.shapes.push(Shape::outline(rim, Ink::Sum));
    } else {
        view.shapes.push(Shape::outline(body, Ink::Hidden));
    }
    let behind = if m.cut { "" } else { " (behind)" };
    view.labels.push(Label {
        text: format!("{} {}{behind}", m.mounted.driver.name, m.role),
        at: corner(-0.3 * half, 0.2 * depth),
        stand: Stand::Below,
    });
}

/// Depth of a driver, and what is left behind it.
fn driver_dimensions(view: &mut View, m: &Met<'_>, sizes: &Sizes) {
    let size = &m.mounted.driver.size;
    let plane = mm(m.mounted.set_back_m);
    let rear = plane + mm(size.mounting_depth_m);
    let x = m.at + 0.4 * MOTOR * hole(m);
    view.dimensions.push(Dimension { from: (x, plane), to: (x, rear), measure: Measure::Upright });
    let left = sizes.inside - rear;
    let needed = mm(clearance::rear_clearance_m(&m.mounted.driver));
    let at = m.at - 0.65 * MOTOR * hole(m);
    let (from, to) = ((at, rear), (at, sizes.inside));
    if left.abs() > 0.05 {
        view.dimensions.push(Dimension { from, to, measure: Measure::Upright });
    }
    let text = if left < -0.05 {
        format!("{:.1} mm too deep", -left)
    } else {
        format!("{left:.1} mm clear, {needed:.1} wanted")
    };
    let at = (m.at + 0.25 * MOTOR * hole(m), sizes.inside.min(rear));
    view.labels.push(Label { text, at, stand: Stand::Above });
}

/// Thickness of face, cavity and back, and the whole.
fn depth_dimensions(view: &mut View, sizes: &Sizes) {
    let steps = [(0.0, sizes.face), (sizes.face, sizes.inside), (sizes.inside, sizes.outside)];
    for (low, high) in steps {
        let (from, to) = ((sizes.to, low), (sizes.to, high));
        view.dimensions.push(Dimension { from, to, measure: Measure::Right(0) });
    }
    let (from, to) = ((sizes.from, 0.0), (sizes.from, sizes.outside));
    view.dimensions.push(Dimension { from, to, measure: Measure::Left(0) });
}

/// Names of face and back.
fn names(view: &mut View, design: &Design, sizes: &Sizes) {
    let panel = &design.panel;
    let (from, to) = sizes.cavity;
    let at = |share: f64, y: f64| (from + share * (to - from), y);
    view.labels.push(Label {
        text: format!("{} back", panel.back.material.word()),
        at: at(0.9, 0.5 * (sizes.inside + sizes.outside)),
        stand: Stand::Above,
    });
    view.labels.push(Label {
        text: format!("{} face", panel.face.material.word()),
        at: at(0.06, 0.5 * sizes.face),
        stand: Stand::Below,
    });
    let at = at(0.94, 0.5 * (sizes.face + sizes.inside));
    view.labels.push(Label { text: "cavity".into(), at, stand: Stand::Below });
}
