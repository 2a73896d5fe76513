//! The only place that knows the drawing library.
//!
//! The library counts in whole units, so everything is drawn [`FINE`] times as large and
//! shown at the wanted size through the `viewBox`.

use plotters::backend::SVGBackend;
use plotters::prelude::{DrawingBackend, RGBColor, ShapeStyle};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, FontDesc, FontFamily, FontStyle, IntoTextStyle, TextStyle};

use super::clip::Point;
use super::ink::Ink;
use super::place::Rect;
use super::words::clean;

/// Units of the drawing per pixel.
pub(super) const FINE: f64 = 8.0;
const FONTS: &str = "Helvetica, Arial, sans-serif";
/// The library divides font sizes by this number.
const FONT_FACTOR: f64 = 1.24;

pub(super) const PAPER: (u8, u8, u8) = (255, 255, 255);
pub(super) const TEXT: (u8, u8, u8) = (34, 38, 46);
pub(super) const SOFT_TEXT: (u8, u8, u8) = (84, 90, 100);
/// Labels over lines: this colour alone gets a rim in the colour of the paper.
pub(super) const RIMMED_TEXT: (u8, u8, u8) = (35, 38, 46);

/// Which end of a text its x belongs to.
#[derive(Clone, Copy)]
pub(super) enum Side {
    Start,
    Middle,
    End,
}

/// How a text looks.
#[derive(Clone, Copy)]
pub(super) struct Type {
    pub size: f64,
    pub bold: bool,
    pub colour: (u8, u8, u8),
}

/// A picture in the making; all lengths are pixels, y downwards.
pub(super) struct Canvas<'a> {
    backend: SVGBackend<'a>,
    inks: Vec<Ink>,
}

/// A whole document of `size` pixels with title and description for screen readers.
pub(super) fn document(
    size: (u32, u32),
    title: &str,
    description: &str,
    draw: impl FnOnce(&mut Canvas),
) -> String {
    let mut raw = String::new();
    let units = (size.0 * FINE as u32, size.1 * FINE as u32);
    let inks = {
        let backend = SVGBackend::with_string(&mut raw, units);
        let mut canvas = Canvas { backend, inks: Vec::new() };
        let (width, height) = (f64::from(size.0), f64::from(size.1));
        canvas.block(Rect { left: 0.0, top: 0.0, width, height }, PAPER, 1.0);
        draw(&mut canvas);
        // Into a string the library reports no errors, here and below: it only appends.
        let _ = canvas.backend.present();
        canvas.inks
    };
    finish(&raw, size, title, description, &inks)
}

impl Canvas<'_> {
    /// A curve.
    pub fn curve(&mut self, points: &[Point], ink: Ink) {
        if !self.inks.contains(&ink) {
            self.inks.push(ink);
        }
        self.line(points, ink.colour(), ink.width());
    }

    /// A plain line; points that fall on the same unit are drawn once.
    pub fn line(&mut self, points: &[Point], colour: (u8, u8, u8), width: f64) {
        self.veil(points, colour, width, 1.0);
    }

    /// A line that lets what is under it through.
    pub fn veil(&mut self, points: &[Point], colour: (u8, u8, u8), width: f64, opacity: f64) {
        let mut path: Vec<(i32, i32)> = points.iter().copied().map(units).collect();
        path.dedup();
        if path.len() > 1 {
            let _ =
                self.backend.draw_path(path, &shape(colour, opacity).stroke_width(scaled(width)));
        }
    }

    /// A filled polygon.
    pub fn area(&mut self, points: &[Point], colour: (u8, u8, u8), opacity: f64) {
        let path: Vec<(i32, i32)> = points.iter().copied().map(units).collect();
        let _ = self.backend.fill_polygon(path, &shape(colour, opacity).filled());
    }

    /// A filled rectangle.
    pub fn block(&mut self, rect: Rect, colour: (u8, u8, u8), opacity: f64) {
        let (from, to) = (units((rect.left, rect.top)), units((rect.right(), rect.bottom())));
        let _ = self.backend.draw_rect(from, to, &shape(colour, opacity), true);
    }

    /// A filled disc.
    pub fn disc(&mut self, centre: Point, radius: f64, colour: (u8, u8, u8)) {
        let _ = self.backend.draw_circle(units(centre), scaled(radius), &shape(colour, 1.0), true);
    }

    /// A line of text standing on `foot`.
    pub fn text(&mut self, text: &str, foot: Point, side: Side, kind: Type) {
        let text = clean(text);
        if text.trim().is_empty() {
            return;
        }
        let style = if kind.bold { FontStyle::Bold } else { FontStyle::Normal };
        let h = match side {
            Side::Start => HPos::Left,
            Side::Middle => HPos::Center,
            Side::End => HPos::Right,
        };
        let font = FontDesc::new(FontFamily::Name(FONTS), font_size(kind.size), style);
        let colour = colour(kind.colour);
        let style: TextStyle =
            font.into_text_style(&(1, 1)).color(&colour).pos(Pos::new(h, VPos::Top));
        // The library sets the line 0.76 em below the given place.
        let place = units((foot.0, foot.1 - 0.76 * kind.size));
        let _ = self.backend.draw_text(&text, &style, place);
    }
}

fn units(p: Point) -> (i32, i32) {
    ((p.0 * FINE).round() as i32, (p.1 * FINE).round() as i32)
}

/// The size to ask for, such that a round number of units is written.
fn font_size(pixels: f64) -> f64 {
    let units = (pixels * FINE).round();
    let guess = units * FONT_FACTOR;
    let exact = |s: &f64| *s / FONT_FACTOR == units;
    [guess, guess.next_down(), guess.next_up()].into_iter().find(exact).unwrap_or(guess)
}

fn scaled(length: f64) -> u32 {
    (length * FINE).round().max(1.0) as u32
}

fn colour((r, g, b): (u8, u8, u8)) -> RGBColor {
    RGBColor(r, g, b)
}

fn shape(rgb: (u8, u8, u8), opacity: f64) -> ShapeStyle {
    colour(rgb).mix(opacity).into()
}

fn hex((r, g, b): (u8, u8, u8)) -> String {
    format!("#{r:02X}{g:02X}{b:02X}")
}

/// Puts in what the library cannot say. The searched strings contain quotation marks,
/// which are escaped in all texts, so only attributes are met.
fn finish(raw: &str, size: (u32, u32), title: &str, description: &str, inks: &[Ink]) -> String {
    let body = raw.split_once('\n').map_or("", |(_, rest)| rest);
    let mut body = body
        .replace(" opacity=\"1\"", "")
        .replace(&format!(" font-family=\"{FONTS}\""), "")
        .replace(" \"/>", "\"/>")
        .replace(" stroke=\"none\"", "")
        .replace("\">\n", "\">")
        .replace("\n</text>", "</text>");
    let mut dashed: Vec<(u8, u8, u8)> = Vec::new();
    for ink in inks.iter().filter(|ink| !ink.dash().is_empty()) {
        if dashed.contains(&ink.colour()) {
            continue;
        }
        dashed.push(ink.colour());
        let dash: Vec<String> =
            ink.dash().iter().map(|&d| scaled(f64::from(d)).to_string()).collect();
        let stroke = format!(" stroke=\"{}\"", hex(ink.colour()));
        body = body.replace(&stroke, &format!("{stroke} stroke-dasharray=\"{}\"", dash.join(" ")));
    }
    let fill = format!(" fill=\"{}\"", hex(RIMMED_TEXT));
    let rim = format!(
        "{fill} stroke=\"{}\" stroke-width=\"{}\" paint-order=\"stroke\"",
        hex(PAPER),
        scaled(3.0)
    );
    let body = body.replace(&fill, &rim);
    let desc = match description.trim() {
        "" => String::new(),
        some => format!("<desc>{}</desc>\n", escaped(some)),
    };
    let (width, height) = size;
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" width=\"{width}\" \
         height=\"{height}\" viewBox=\"0 0 {} {}\" font-family=\"{FONTS}\" \
         stroke-linejoin=\"round\">\n<title>{}</title>\n{desc}{body}",
        width * FINE as u32,
        height * FINE as u32,
        escaped(title),
    )
}

fn escaped(text: &str) -> String {
    clean(text).replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
