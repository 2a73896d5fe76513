//! Which key the user may have meant.

/// Units at the end of keys, one word each; `k_per_w` is three of them.
const UNITS: &[&str] = &[
    "hz", "khz", "mhz", "rad", "deg", "db", "percent", "pct", "m", "mm", "cm", "um", "in", "inch",
    "ft", "m2", "cm2", "mm2", "m3", "cm3", "mm3", "l", "ml", "litre", "liter", "s", "ms", "us",
    "min", "h", "g", "mg", "kg", "n", "kn", "pa", "kpa", "mpa", "gpa", "bar", "ohm", "ohms",
    "mohm", "kohm", "f", "mf", "uf", "nf", "pf", "uh", "nh", "mh", "henry", "farad", "v", "mv",
    "kv", "a", "ma", "w", "mw", "kw", "va", "j", "k", "c", "tm", "nm", "ns", "kg_m3", "per", "eur",
    "usd", "gbp",
];

/// How an unknown key resembles a known one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Likeness {
    /// Only the unit at its end differs, or is missing.
    Unit,
    /// It may be misspelt.
    Spelling,
}

/// The known key that an unknown one most likely stands for, by its place in the list.
pub(super) fn guess<'k>(
    unknown: &str,
    known: impl Iterator<Item = &'k str> + Clone,
) -> Option<(usize, Likeness)> {
    let unknown = fold(unknown);
    let (stem, unit) = split_unit(&unknown);
    let twin = known.clone().position(|key| {
        let (its_stem, its_unit) = split_unit(key);
        its_stem == stem && its_unit != unit && !its_unit.is_empty()
    });
    if let Some(place) = twin {
        return Some((place, Likeness::Unit));
    }
    let near = nearest(&unknown, known.clone())?;
    known.clone().position(|key| key == near).map(|place| (place, Likeness::Spelling))
}

/// The word that differs in the fewest letters, if it is near enough to be meant.
pub(super) fn nearest<'k>(word: &str, known: impl Iterator<Item = &'k str>) -> Option<&'k str> {
    let word = fold(word);
    let allowed = |key: &str| (key.chars().count().max(word.chars().count()) / 3).clamp(1, 4);
    let distance = |key: &&str| strsim::osa_distance(&word, &fold(key));
    let near =
        known.map(|key| (distance(&key), key)).filter(|(distance, key)| *distance <= allowed(key));
    near.min_by_key(|(distance, _)| *distance).map(|(_, key)| key)
}

/// The unit at the end of a key in the form it has there; empty if it has none.
pub(super) fn unit_of(key: &str) -> &str {
    split_unit(key).1
}

/// Capital letters, hyphens and blanks are the slips that cost nothing.
fn fold(word: &str) -> String {
    word.chars()
        .take(80)
        .flat_map(char::to_lowercase)
        .map(|c| if c == '-' || c == ' ' { '_' } else { c })
        .collect()
}

/// `depth_mm` into `depth` and `mm`. Something always stays in front of the unit.
fn split_unit(key: &str) -> (&str, &str) {
    let mut stem = key;
    while let Some((front, last)) = stem.rsplit_once('_') {
        if front.is_empty() || !UNITS.contains(&last) {
            break;
        }
        stem = front;
    }
    (stem, key[stem.len()..].trim_start_matches('_'))
}
