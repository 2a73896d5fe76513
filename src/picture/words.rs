//! Room taken by words. There is no font at hand, so widths are estimates on the wide side.

/// Advance widths of the printable ASCII characters in a grotesque face, in 1/1000 em.
const ADVANCES: [u16; 95] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556,
    556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667,
    611, 778, 722, 278, 500, 667, 556, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667,
    667, 611, 278, 278, 278, 469, 556, 333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500,
    222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
];

/// Width of `text` in pixels at `size` pixels of font size.
pub(super) fn width(text: &str, size: f64) -> f64 {
    text.chars().map(advance).sum::<f64>() * size * 1.02
}

/// Typical advance of a character, in em.
fn advance(c: char) -> f64 {
    match c {
        ' '..='~' => f64::from(ADVANCES[c as usize - 32]) / 1000.0,
        '°' | '·' | '²' | '³' => 0.4,
        'Ω' => 0.77,
        '–' | '−' | '±' | '×' => 0.585,
        c if c.is_alphabetic() && c < '\u{600}' => 0.6,
        _ => 1.0,
    }
}

/// `text` without control characters, shortened with `…` to fit into `room` pixels.
pub(super) fn fit(text: &str, size: f64, room: f64) -> String {
    let mut text = clean(text);
    if width(&text, size) <= room {
        return text;
    }
    while !text.is_empty() && width(&text, size) + width("…", size) > room {
        text.pop();
    }
    text.truncate(text.trim_end().len());
    text + "…"
}

/// `text` in at most `lines` lines of `room` pixels; what is left over is cut with `…`.
pub(super) fn wrap(text: &str, size: f64, room: f64, lines: usize) -> Vec<String> {
    let text = clean(text);
    let mut out: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match out.last_mut() {
            Some(line) if overflows(line, word, size, room) => out.push(word.to_owned()),
            Some(line) => {
                line.push(' ');
                line.push_str(word);
            }
            None => out.push(word.to_owned()),
        }
    }
    if out.len() > lines {
        let rest = out.split_off(lines.saturating_sub(1)).join(" ");
        out.push(rest);
    }
    out.iter().map(|line| fit(line, size, room)).collect()
}

fn overflows(line: &str, word: &str, size: f64, room: f64) -> bool {
    width(line, size) + width(" ", size) + width(word, size) > room
}

/// Characters that XML does not allow become blanks.
pub(super) fn clean(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') { ' ' } else { c })
        .collect()
}
