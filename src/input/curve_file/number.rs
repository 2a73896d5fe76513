//! One number as it stands in a column.

/// Characters of the user's own text that a message repeats.
const QUOTED: usize = 40;

/// Why a text is no number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::input) enum NotNumber {
    /// There is nothing.
    Missing,
    /// It is something else.
    Word,
    /// It is infinite, undefined, or too large.
    Infinite,
    /// It has a decimal point and a comma, or several of them.
    Marks,
}

impl NotNumber {
    /// A few words beside the caret.
    pub(in crate::input) fn label(self) -> &'static str {
        match self {
            Self::Missing => "nothing here",
            Self::Word => "not a number",
            Self::Infinite => "not a finite number",
            Self::Marks => "more than one decimal mark",
        }
    }
}

/// A finite number, with a decimal point, or with a comma where that is allowed. A true minus sign
/// is taken for a hyphen.
pub(in crate::input) fn number(text: &str, comma: bool) -> Result<f64, NotNumber> {
    let word = |c: char| !matches!(c, '0'..='9' | '+' | '-' | '\u{2212}' | '.' | ',' | 'e' | 'E');
    if text.is_empty() {
        return Err(NotNumber::Missing);
    }
    if text.contains(word) {
        let bare = text.trim_start_matches(['+', '-', '\u{2212}']).to_ascii_lowercase();
        let infinite = bare.starts_with("inf") || bare.starts_with("nan") || bare.contains("#in");
        return Err(if infinite { NotNumber::Infinite } else { NotNumber::Word });
    }
    let (commas, points) = (text.matches(',').count(), text.matches('.').count());
    if commas > 0 && !comma {
        return Err(NotNumber::Word);
    }
    if commas + points > 1 {
        return Err(NotNumber::Marks);
    }
    let value: Result<f64, _> = if commas == 0 && text.is_ascii() {
        text.parse()
    } else {
        text.replace(',', ".").replace('\u{2212}', "-").parse()
    };
    match value {
        Ok(value) if value.is_finite() => Ok(value),
        Ok(_) => Err(NotNumber::Infinite),
        Err(_) => Err(NotNumber::Word),
    }
}

/// Whether a text begins as a number does.
pub(super) fn begins_like_one(text: &str) -> bool {
    let rest = text.trim_start_matches(['+', '-', '\u{2212}']);
    let rest = rest.strip_prefix(['.', ',']).unwrap_or(rest);
    rest.starts_with(|c: char| c.is_ascii_digit())
}

/// A text of the user's in a message: short, and without control characters.
pub(in crate::input) fn quoted(text: &str) -> String {
    match text.char_indices().nth(QUOTED) {
        Some((end, _)) => format!("`{}...`", text[..end].escape_debug()),
        None => format!("`{}`", text.escape_debug()),
    }
}
