//! `template.svg` and `template.dxf`: what is cut into the face, at 1:1 in millimetres, on layers.
//!
//! Seen from the front; the origin is the lower left corner of the face. The DXF is ASCII of
//! release 12 (AC1009; group codes from memory): closed POLYLINEs, LINEs, CIRCLEs and TEXT.

use super::panel_figure::{both, cavity_corners, mm};
use crate::analysis::clearance::RibLine;
use crate::design::{Design, Mounted, Mounting};
use std::fmt::Write;

/// A layer: its name, its colour in DXF, its colour on paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Layer {
    /// Its name.
    pub name: &'static str,
    colour: u8,
    stroke: &'static str,
}

const fn layer(name: &'static str, colour: u8, stroke: &'static str) -> Layer {
    Layer { name, colour, stroke }
}

const EDGE: Layer = layer("FACE_EDGE", 7, "#111111");
const HOLE: Layer = layer("CUT_THROUGH", 1, "#b02020");
const RECESS: Layer = layer("FLANGE_RECESS", 5, "#1f4fa0");
const COVER: Layer = layer("FLANGE_OUTLINE", 4, "#2a8a9a");
const SCREW: Layer = layer("SCREW_HOLES", 6, "#8a2a8a");
const CAVITY: Layer = layer("CAVITY_INSIDE", 3, "#2c7a3f");
const RIB: Layer = layer("RIBS_INSIDE", 30, "#b8741a");
const KEEP: Layer = layer("KEEP_OUT", 2, "#8a7a00");
const CENTRE: Layer = layer("CENTRE_MARKS", 8, "#666666");
const NOTE: Layer = layer("SCALE_AND_NOTES", 9, "#444444");

/// Every layer.
pub const LAYERS: [Layer; 10] = [EDGE, HOLE, RECESS, COVER, SCREW, CAVITY, RIB, KEEP, CENTRE, NOTE];

/// Height of the notes, and from the face to the scale bar, mm.
const NOTE_MM: f64 = 6.0;
const BELOW_MM: f64 = 14.0;
/// Length of the scale bar, mm.
const BAR_MM: f64 = 100.0;
/// Centre marks reach this far out of the cut-out, mm.
const CROSS_MM: f64 = 4.0;

/// A shape on a layer, mm.
#[derive(Debug, Clone, PartialEq)]
pub enum Mark {
    /// Centre and radius.
    Circle((f64, f64), f64),
    /// A closed outline.
    Outline(Vec<(f64, f64)>),
    /// A straight line.
    Line([(f64, f64); 2]),
    /// Words from a place to the right.
    Words((f64, f64), String),
}

/// A template.
#[derive(Debug, Clone, PartialEq)]
pub struct Template {
    /// Width and height of the face, mm.
    pub face_mm: (f64, f64),
    /// What is on it.
    pub marks: Vec<(Layer, Mark)>,
}

impl Template {
    /// The face of a design.
    pub fn of(design: &Design, ribs: &[RibLine]) -> Self {
        let (w, h) = (mm(design.panel.width_m), mm(design.panel.height_m));
        let mut template = Self { face_mm: (w, h), marks: Vec::new() };
        template.rectangle(EDGE, (0.0, 0.0), (w, h));
        for side in &design.sides {
            let (from, to) = cavity_corners(side);
            template.rectangle(CAVITY, template.at(from), template.at(to));
            for keep in &side.cavity.keep_out {
                let corner = |[x, y]: [f64; 2]| template.at((mm(x), mm(y)));
                let (low, high) = (corner(keep.low_m), corner(keep.high_m));
                template.rectangle(KEEP, low, high);
            }
            for (_, mounted) in both(side) {
                template.driver(mounted);
            }
        }
        for rib in ribs {
            let end = |(x, y): (f64, f64)| template.at((mm(x), mm(y)));
            let (a, b) = (end(rib.from_m), end(rib.to_m));
            let half = 0.5 * mm(rib.width_m);
            let (dx, dy) = if a.1 == b.1 { (0.0, half) } else { (half, 0.0) };
            template.rectangle(RIB, (a.0 - dx, a.1 - dy), (b.0 + dx, b.1 + dy));
        }
        template.notes();
        template
    }

    /// From the middle of the face to its lower left corner.
    fn at(&self, (x, y): (f64, f64)) -> (f64, f64) {
        (x + 0.5 * self.face_mm.0, y + 0.5 * self.face_mm.1)
    }

    fn rectangle(&mut self, layer: Layer, a: (f64, f64), b: (f64, f64)) {
        self.marks.push((layer, Mark::Outline(vec![a, (b.0, a.1), b, (a.0, b.1)])));
    }

    fn driver(&mut self, mounted: &Mounted) {
        let centre = self.at((mm(mounted.x_m), mm(mounted.y_m)));
        let size = &mounted.driver.size;
        let radius = 0.5 * mm(size.cutout_m);
        self.marks.push((HOLE, Mark::Circle(centre, radius)));
        let flange = if mounted.mounting == Mounting::Flush { RECESS } else { COVER };
        self.marks.push((flange, Mark::Circle(centre, 0.5 * mm(size.flange_m))));
        if let Some(screws) = size.screws {
            for k in 0..screws.count {
                let turn = std::f64::consts::TAU * f64::from(k) / f64::from(screws.count);
                let (sin, cos) = turn.sin_cos();
                let reach = 0.5 * mm(screws.circle_m);
                let at = (centre.0 + reach * sin, centre.1 + reach * cos);
                self.marks.push((SCREW, Mark::Circle(at, 0.5 * mm(screws.hole_m))));
            }
        }
        let reach = radius + CROSS_MM;
        let level = [(centre.0 - reach, centre.1), (centre.0 + reach, centre.1)];
        let upright = [(centre.0, centre.1 - reach), (centre.0, centre.1 + reach)];
        self.marks.extend([level, upright].map(|line| (CENTRE, Mark::Line(line))));
    }

    fn notes(&mut self) {
        let y = -BELOW_MM;
        let lines = [
            [(0.0, y), (BAR_MM, y)],
            [(0.0, y - 3.0), (0.0, y + 3.0)],
            [(BAR_MM, y - 3.0), (BAR_MM, y + 3.0)],
        ];
        self.marks.extend(lines.map(|line| (NOTE, Mark::Line(line))));
        let words = [
            ((BAR_MM + 5.0, y - 0.5 * NOTE_MM), "100 mm: measure it before you cut"),
            ((0.0, y - 3.0 * NOTE_MM), "Millimetres, 1:1. The face from the front."),
            ((0.0, y - 4.7 * NOTE_MM), "Origin: its lower left corner."),
        ];
        self.marks.extend(words.map(|(at, text)| (NOTE, Mark::Words(at, text.to_owned()))));
    }

    /// The template as SVG in true millimetres.
    pub fn svg(&self) -> String {
        const MARGIN: f64 = 10.0;
        let (width, height) = self.face_mm;
        let wide = width.max(240.0) + 2.0 * MARGIN;
        let high = height + 2.0 * MARGIN + BELOW_MM + 5.0 * NOTE_MM;
        let mut out = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{wide}mm\" height=\"{high}mm\" \
             viewBox=\"0 0 {wide} {high}\" fill=\"none\" stroke-width=\"0.25\">\n\
             <title>Template of the face, 1:1</title>\n"
        );
        let at = |(x, y): (f64, f64)| (places(x + MARGIN), places(height + MARGIN - y));
        for layer in LAYERS {
            let _ = writeln!(out, "<g id=\"{}\" stroke=\"{}\">", layer.name, layer.stroke);
            for (_, mark) in self.marks.iter().filter(|(l, _)| *l == layer) {
                let _ = match mark {
                    Mark::Circle(c, r) => {
                        let (x, y) = at(*c);
                        writeln!(out, "<circle cx=\"{x}\" cy=\"{y}\" r=\"{}\"/>", places(*r))
                    }
                    Mark::Outline(points) => {
                        let list: Vec<String> = points
                            .iter()
                            .map(|p| at(*p))
                            .map(|(x, y)| format!("{x},{y}"))
                            .collect();
                        writeln!(out, "<polygon points=\"{}\"/>", list.join(" "))
                    }
                    Mark::Line([a, b]) => {
                        let ((x1, y1), (x2, y2)) = (at(*a), at(*b));
                        writeln!(out, "<line x1=\"{x1}\" y1=\"{y1}\" x2=\"{x2}\" y2=\"{y2}\"/>")
                    }
                    Mark::Words(p, text) => {
                        let (x, y) = at(*p);
                        writeln!(
                            out,
                            "<text x=\"{x}\" y=\"{y}\" font-family=\"Helvetica, Arial, sans-serif\" \
                             font-size=\"{NOTE_MM}\" fill=\"{}\" stroke=\"none\">{text}</text>",
                            layer.stroke
                        )
                    }
                };
            }
            out.push_str("</g>\n");
        }
        out.push_str("</svg>\n");
        out
    }

    /// The template as DXF, release 12.
    pub fn dxf(&self) -> String {
        let mut out = String::new();
        let (w, h) = self.face_mm;
        put(&mut out, &[(999, "Millimetres, 1:1; origin: lower left corner of the face")]);
        put(&mut out, &[(0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1009")]);
        put(&mut out, &[(9, "$INSUNITS"), (70, "4"), (9, "$MEASUREMENT"), (70, "1")]);
        put(&mut out, &[(9, "$EXTMIN"), (10, "0.0")]);
        let low = number(-BELOW_MM - 4.7 * NOTE_MM);
        put(&mut out, &[(20, &low), (30, "0.0"), (9, "$EXTMAX"), (10, &number(w))]);
        put(&mut out, &[(20, &number(h)), (30, "0.0"), (0, "ENDSEC")]);
        put(&mut out, &[(0, "SECTION"), (2, "TABLES"), (0, "TABLE"), (2, "LAYER")]);
        put(&mut out, &[(70, &LAYERS.len().to_string())]);
        for layer in LAYERS {
            let colour = layer.colour.to_string();
            put(&mut out, &[(0, "LAYER"), (2, layer.name), (70, "0"), (62, &colour)]);
            put(&mut out, &[(6, "CONTINUOUS")]);
        }
        put(&mut out, &[(0, "ENDTAB"), (0, "ENDSEC"), (0, "SECTION"), (2, "ENTITIES")]);
        for (layer, mark) in &self.marks {
            entity(&mut out, layer.name, mark);
        }
        put(&mut out, &[(0, "ENDSEC"), (0, "EOF")]);
        out
    }
}

fn entity(out: &mut String, layer: &str, mark: &Mark) {
    let place = |out: &mut String, first: u16, (x, y): (f64, f64)| {
        put(out, &[(first, &number(x)), (first + 10, &number(y)), (first + 20, "0.0")]);
    };
    match mark {
        Mark::Circle(centre, radius) => {
            put(out, &[(0, "CIRCLE"), (8, layer)]);
            place(out, 10, *centre);
            put(out, &[(40, &number(*radius))]);
        }
        Mark::Line([a, b]) => {
            put(out, &[(0, "LINE"), (8, layer)]);
            place(out, 10, *a);
            place(out, 11, *b);
        }
        Mark::Outline(points) => {
            put(out, &[(0, "POLYLINE"), (8, layer), (66, "1"), (70, "1")]);
            place(out, 10, (0.0, 0.0));
            for point in points {
                put(out, &[(0, "VERTEX"), (8, layer)]);
                place(out, 10, *point);
            }
            put(out, &[(0, "SEQEND"), (8, layer)]);
        }
        Mark::Words(at, text) => {
            put(out, &[(0, "TEXT"), (8, layer)]);
            place(out, 10, *at);
            put(out, &[(40, &number(NOTE_MM)), (1, text)]);
        }
    }
}

fn put(out: &mut String, pairs: &[(u16, &str)]) {
    for (code, value) in pairs {
        let _ = write!(out, "{code:>3}\r\n{value}\r\n");
    }
}

fn number(value: f64) -> String {
    format!("{value:.4}")
}

fn places(value: f64) -> f64 {
    (value * 1e4).round() / 1e4
}
