//! A circuit diagram as SVG.

use super::{Kind, LINE, Schematic, Spot, Symbol, WORD, Words};
use crate::picture::canvas::{Canvas, PAPER, SOFT_TEXT, Side, TEXT, Type, document};
use crate::picture::layout::{BOLD, MARGIN, SUBTITLE, SUBTITLE_LINE, TITLE, TITLE_LINE, stack};
use crate::picture::svg::headings;
use crate::picture::words::wrap;

const PEN: f64 = 1.5;
const NARROWEST: f64 = 480.0;

/// A circuit diagram as an SVG document, under the same rules as [`crate::picture::svg`].
pub fn schematic_svg(schematic: &Schematic) -> String {
    let [left, top, right, bottom] = schematic.bounds();
    let width = (right - left + 2.0 * MARGIN).max(NARROWEST).ceil();
    let room = width - 2.0 * MARGIN;
    let mut y = 10.0;
    let title = stack(wrap(&schematic.title, TITLE * BOLD, room, 3), TITLE_LINE, &mut y);
    let subtitle = stack(wrap(&schematic.subtitle, SUBTITLE, room, 4), SUBTITLE_LINE, &mut y);
    let shift = (0.5 * (width - right - left), y + 20.0 - top);
    let height = (bottom + shift.1 + 16.0).ceil();
    let at = |spot: Spot| (spot.0 + shift.0, spot.1 + shift.1);
    document((width as u32, height as u32), &schematic.title, &schematic.description, |canvas| {
        headings(canvas, &title, &subtitle);
        for [a, b] in schematic.lines() {
            canvas.line(&[at(a), at(b)], TEXT, PEN);
        }
        for symbol in &schematic.symbols {
            draw_symbol(canvas, symbol, &at);
        }
        schematic.dots().into_iter().for_each(|dot| canvas.disc(at(dot), 3.0, TEXT));
        schematic.words.iter().for_each(|words| write(canvas, words, &at));
    })
}

fn write(canvas: &mut Canvas, words: &Words, at: &impl Fn(Spot) -> Spot) {
    let side = if words.centred { Side::Middle } else { Side::Start };
    for (k, line) in words.lines.iter().enumerate() {
        let foot = at((words.at.0, words.at.1 + LINE * k as f64 + 0.85 * WORD));
        let first = k == 0 && !words.soft;
        let colour = if words.soft { SOFT_TEXT } else { TEXT };
        canvas.text(line, foot, side, Type { size: WORD, bold: first, colour });
    }
}

/// Draws a symbol by strokes told along (0 to 1 from pin to pin) and across (pixels, to the right
/// of the way from the first pin to the second where that leads down).
fn draw_symbol(canvas: &mut Canvas, symbol: &Symbol, at: &impl Fn(Spot) -> Spot) {
    let (a, b) = (symbol.from, symbol.to);
    let upright = a.0 == b.0;
    // Cones and arcs bulge to the right or upwards, whichever way the pins lie.
    let place = |along: f64, across: f64| {
        let (x, y) = (a.0 + along * (b.0 - a.0), a.1 + along * (b.1 - a.1));
        at(if upright { (x + across, y) } else { (x, y - across) })
    };
    let mut stroke = |points: &[(f64, f64)], pen: f64| {
        let points: Vec<Spot> = points.iter().map(|(u, v)| place(*u, *v)).collect();
        canvas.line(&points, TEXT, pen);
    };
    match symbol.kind {
        Kind::Resistor => {
            stroke(&[(0.0, -7.0), (1.0, -7.0), (1.0, 7.0), (0.0, 7.0), (0.0, -7.0)], PEN)
        }
        Kind::Inductor => stroke(&arcs(), PEN),
        Kind::Coupled => {
            stroke(&arcs(), PEN);
            canvas.disc(place(0.06, -6.0), 2.2, TEXT);
        }
        Kind::Capacitor => {
            stroke(&[(0.0, 0.0), (0.42, 0.0)], PEN);
            stroke(&[(0.42, -11.0), (0.42, 11.0)], 2.25);
            stroke(&[(0.58, -11.0), (0.58, 11.0)], 2.25);
            stroke(&[(0.58, 0.0), (1.0, 0.0)], PEN);
        }
        Kind::Loudspeaker => {
            stroke(&[(0.0, 0.0), (0.2, 0.0)], PEN);
            stroke(&[(0.8, 0.0), (1.0, 0.0)], PEN);
            stroke(&[(0.2, -7.0), (0.8, -7.0), (0.8, 7.0), (0.2, 7.0), (0.2, -7.0)], PEN);
            stroke(&[(0.2, 7.0), (-0.1, 21.0), (1.1, 21.0), (0.8, 7.0)], PEN);
            let plus = place(0.08, -8.0);
            for [du, dv] in [[4.0, 0.0], [0.0, 4.0]] {
                canvas.line(&[(plus.0 - du, plus.1 - dv), (plus.0 + du, plus.1 + dv)], TEXT, PEN);
            }
        }
        Kind::Terminal => {
            let centre = at((a.0 - 4.0, a.1));
            canvas.disc(centre, 4.0, TEXT);
            canvas.disc(centre, 2.5, PAPER);
        }
        Kind::Ground => {
            let mut bar = |half: f64, down: f64| {
                canvas.line(
                    &[at((a.0 - half, a.1 + down)), at((a.0 + half, a.1 + down))],
                    TEXT,
                    PEN,
                );
            };
            [(9.0, 10.0), (6.0, 14.0), (3.0, 18.0)].into_iter().for_each(|(h, d)| bar(h, d));
            canvas.line(&[at(a), at((a.0, a.1 + 10.0))], TEXT, PEN);
        }
    }
}

/// Four half circles in a row.
fn arcs() -> Vec<(f64, f64)> {
    const STEPS: usize = 12;
    let arc = |k: usize| {
        (0..=STEPS).map(move |n| {
            let (sin, cos) = (n as f64 * std::f64::consts::PI / STEPS as f64).sin_cos();
            (0.25 * k as f64 + 0.125 * (1.0 - cos), 6.5 * sin)
        })
    };
    (0..4).flat_map(arc).collect()
}
