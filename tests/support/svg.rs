//! A reader of the little XML that our pictures are made of; it refuses what is not well-formed.

/// One element with the text that stands directly inside it.
#[derive(Debug, Clone, PartialEq)]
pub struct Element {
    pub name: String,
    pub attributes: Vec<(String, String)>,
    pub text: String,
}

impl Element {
    pub fn attribute(&self, key: &str) -> Option<&str> {
        self.attributes.iter().find(|(k, _)| k == key).map(|(_, value)| value.as_str())
    }
}

/// All elements of a document in the order of their opening tags.
///
/// # Errors
/// What is not well-formed, in one sentence.
pub fn read(document: &str) -> Result<Vec<Element>, String> {
    let mut elements: Vec<Element> = Vec::new();
    let mut open: Vec<usize> = Vec::new();
    let mut rest = document;
    while let Some(start) = rest.find('<') {
        text_into(&mut elements, open.last().copied(), &rest[..start])?;
        let end = rest[start..].find('>').ok_or("a tag is not closed")? + start;
        let tag = &rest[start + 1..end];
        rest = &rest[end + 1..];
        if let Some(name) = tag.strip_prefix('/') {
            let closed = open.pop().ok_or(format!("</{name}> closes nothing"))?;
            if elements[closed].name != name.trim_end() {
                return Err(format!("</{name}> closes <{}>", elements[closed].name));
            }
            continue;
        }
        if open.is_empty() && !elements.is_empty() {
            return Err(format!("<{tag}> stands beside the root"));
        }
        let (tag, empty) = tag.strip_suffix('/').map_or((tag, false), |tag| (tag, true));
        elements.push(element(tag)?);
        if !empty {
            open.push(elements.len() - 1);
        }
    }
    text_into(&mut elements, None, rest)?;
    match open.last() {
        Some(&left) => Err(format!("<{}> is never closed", elements[left].name)),
        None if elements.is_empty() => Err("there is no element".into()),
        None => Ok(elements),
    }
}

fn text_into(elements: &mut [Element], parent: Option<usize>, text: &str) -> Result<(), String> {
    sound(text)?;
    match parent {
        Some(parent) => elements[parent].text.push_str(text.trim()),
        None if text.trim().is_empty() => {}
        None => return Err(format!("text outside the root: {text:?}")),
    }
    Ok(())
}

fn element(tag: &str) -> Result<Element, String> {
    let (name, mut rest) = tag.split_once(char::is_whitespace).unwrap_or((tag, ""));
    if name.is_empty() || !name.chars().all(|c| c.is_ascii_alphanumeric()) {
        return Err(format!("`{name}` is no name of an element"));
    }
    let mut attributes: Vec<(String, String)> = Vec::new();
    while !rest.trim().is_empty() {
        let (key, after) =
            rest.trim_start().split_once("=\"").ok_or(format!("no value in <{tag}>"))?;
        let (value, after) = after.split_once('"').ok_or(format!("an open quote in <{tag}>"))?;
        sound(value)?;
        if attributes.iter().any(|(k, _)| k == key) {
            return Err(format!("`{key}` stands twice in <{tag}>"));
        }
        if !key.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | ':')) {
            return Err(format!("`{key}` is no name of an attribute"));
        }
        attributes.push((key.into(), value.into()));
        rest = after;
    }
    Ok(Element { name: name.into(), attributes, text: String::new() })
}

/// Text without bare ampersands and without characters that XML forbids.
fn sound(text: &str) -> Result<(), String> {
    let forbidden = |c: char| (c < ' ' && !matches!(c, '\n' | '\r' | '\t')) || c == '\u{fffe}';
    if let Some(c) = text.chars().find(|c| forbidden(*c)) {
        return Err(format!("the character {c:?} in {text:?}"));
    }
    for (place, _) in text.match_indices('&') {
        let name = text[place + 1..].split(';').next().unwrap_or_default();
        if !matches!(name, "amp" | "lt" | "gt" | "quot" | "apos") && !name.starts_with('#') {
            return Err(format!("a bare ampersand in {text:?}"));
        }
    }
    Ok(())
}
