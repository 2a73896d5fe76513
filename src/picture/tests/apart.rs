//! Words of a finished picture: inside it, and none over another.

use crate::picture::words;

/// A line of text as it stands in the picture, in pixels.
struct Word {
    text: String,
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
}

fn attribute<'l>(line: &'l str, name: &str) -> Option<&'l str> {
    line.split(&format!(" {name}=\"")).nth(1)?.split('"').next()
}

/// Every text element, taken as a box that its letters without descenders fill.
fn all(svg: &str) -> Vec<Word> {
    let lines = svg.lines().filter(|line| line.starts_with("<text"));
    lines
        .map(|line| {
            let number = |name| attribute(line, name).and_then(|v| v.parse::<f64>().ok()).unwrap();
            let shift = attribute(line, "dy").and_then(|v| v.strip_suffix("em")).unwrap();
            let size = number("font-size") / 8.0;
            let text = line.split_once('>').unwrap().1.replace("</text>", "");
            let text = text.replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&");
            let (x, y) = (number("x") / 8.0, number("y") / 8.0);
            let foot = y + shift.parse::<f64>().unwrap() * size;
            // The estimate of widths is on the wide side.
            let width = 0.97 * words::width(&text, size);
            let left = match attribute(line, "text-anchor").unwrap() {
                "start" => x,
                "middle" => x - width / 2.0,
                _ => x - width,
            };
            Word { text, left, right: left + width, top: foot - 0.72 * size, bottom: foot }
        })
        .collect()
}

/// Panics where words of the picture meet or leave it; returns how many there are.
#[track_caller]
pub(super) fn check(svg: &str) -> usize {
    let root = svg.lines().next().unwrap();
    let size = |name| attribute(root, name).and_then(|v| v.parse::<f64>().ok()).unwrap();
    let words = all(svg);
    for (n, a) in words.iter().enumerate() {
        let inside =
            a.left >= 0.0 && a.right <= size("width") && a.top >= 0.0 && a.bottom <= size("height");
        assert!(inside, "{:?} leaves the picture: {} to {}", a.text, a.left, a.right);
        for b in &words[n + 1..] {
            let apart =
                a.right <= b.left || b.right <= a.left || a.bottom <= b.top || b.bottom <= a.top;
            assert!(apart, "{:?} is over {:?}", a.text, b.text);
        }
    }
    words.len()
}
