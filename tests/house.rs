//! The rules of the house, as tests: sizes, the direction of imports, what stays out of `src/`.

use slabtone::input::files::{DEMO, EMBEDDED};
use std::fs;
use std::path::{Path, PathBuf};

const LONGEST_FILE: usize = 400;
const LONGEST_FUNCTION: usize = 60;

/// What each layer may import; a layer may always import itself.
const LAYERS: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("grid", &["units"]),
    ("signal", &["units", "grid"]),
    ("model", &["units", "grid", "signal"]),
    ("circuit", &["units", "grid"]),
    ("design", &["units", "grid", "model", "circuit"]),
    ("input", &["units", "grid", "signal", "model", "circuit", "design"]),
    ("analysis", &["units", "grid", "signal", "model", "circuit", "design"]),
    ("picture", &[]),
    ("report", &["units", "grid", "signal", "model", "circuit", "design", "analysis", "picture"]),
    ("cli", &[]),
];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Every file below `folder`, as a path from the project's root with `/`, and its text; files that
/// are no text are left out.
fn texts(folder: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut open: Vec<PathBuf> = vec![root().join(folder)];
    while let Some(here) = open.pop() {
        for entry in fs::read_dir(&here).into_iter().flatten() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            if path.is_dir() {
                // What git does not keep.
                if !name.starts_with("target") && ![".git", "out"].contains(&name.as_str()) {
                    open.push(path);
                }
            } else if let Ok(text) = fs::read_to_string(&path) {
                let short = path.strip_prefix(root()).unwrap().to_string_lossy().replace('\\', "/");
                found.push((short, text));
            }
        }
    }
    found.sort();
    found
}

fn sources() -> Vec<(String, String)> {
    let found: Vec<_> = texts("src").into_iter().filter(|(p, _)| p.ends_with(".rs")).collect();
    assert!(found.len() > 50, "only {} sources found", found.len());
    found
}

/// The code with comments and the insides of texts and characters blanked, line by line the same.
fn bare(code: &str) -> String {
    let chars: Vec<char> = code.chars().collect();
    let starts =
        |at: usize, what: &str| chars[at..].iter().copied().take(what.len()).eq(what.chars());
    let mut out = String::with_capacity(code.len());
    let mut at = 0;
    while at < chars.len() {
        let end = if starts(at, "//") {
            chars[at..].iter().position(|c| *c == '\n').map_or(chars.len(), |n| at + n)
        } else if chars[at] == '"' {
            end_of_text(&chars, at)
        } else if starts(at, "r#\"") || starts(at, "r\"") {
            end_of_raw_text(&chars, at)
        } else if chars[at] == '\'' {
            end_of_character(&chars, at)
        } else {
            out.push(chars[at]);
            at += 1;
            continue;
        };
        out.extend(chars[at..end].iter().map(|c| if *c == '\n' { '\n' } else { ' ' }));
        at = end;
    }
    out
}

fn end_of_text(chars: &[char], start: usize) -> usize {
    let mut at = start + 1;
    while at < chars.len() && chars[at] != '"' {
        at += if chars[at] == '\\' { 2 } else { 1 };
    }
    (at + 1).min(chars.len())
}

fn end_of_raw_text(chars: &[char], start: usize) -> usize {
    let hashes = chars[start + 1..].iter().take_while(|c| **c == '#').count();
    let close: String = std::iter::once('"').chain(std::iter::repeat_n('#', hashes)).collect();
    let rest: String = chars[start + 2 + hashes..].iter().collect();
    let length = rest.split(&close).next().unwrap_or_default().chars().count();
    (start + 2 + hashes + length + close.len()).min(chars.len())
}

/// A lifetime has no closing quote and is only its own mark.
fn end_of_character(chars: &[char], start: usize) -> usize {
    match chars[start + 1..] {
        ['\\', _, '\'', ..] => start + 4,
        ['\\', ..] => chars[start + 1..]
            .iter()
            .position(|c| *c == '\'')
            .map_or(chars.len(), |n| start + n + 2),
        [_, '\'', ..] => start + 3,
        _ => start + 1,
    }
}

/// Name, first line and number of lines of every function with a body.
fn functions(code: &str) -> Vec<(String, usize, usize)> {
    let code = bare(code);
    let mut found = Vec::new();
    for (at, _) in code.match_indices("fn ") {
        let before = code[..at].chars().next_back();
        let name: String =
            code[at + 3..].chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
        if name.is_empty() || before.is_some_and(|c| c.is_alphanumeric() || c == '_') {
            continue;
        }
        let Some(body) = code[at..].find(['{', ';']).filter(|n| code[at + n..].starts_with('{'))
        else {
            continue;
        };
        let mut depth = 0;
        let length = code[at + body..].find(|c: char| {
            depth += i32::from(c == '{') - i32::from(c == '}');
            depth == 0
        });
        let end = at + body + length.expect("braces are in pairs");
        let line = |place: usize| code[..place].matches('\n').count() + 1;
        found.push((name, line(at), line(end) - line(at) + 1));
    }
    found
}

/// The first words behind every `prefix::` in code, also of lists in braces.
fn imported(code: &str, prefix: &str) -> Vec<(String, usize)> {
    let word = |text: &str| -> String {
        text.trim().chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect()
    };
    let mut found = Vec::new();
    for (at, _) in code.match_indices(prefix) {
        if code[..at].ends_with(|c: char| c.is_alphanumeric() || matches!(c, '_' | ':')) {
            continue;
        }
        let (line, rest) = (code[..at].matches('\n').count() + 1, &code[at + prefix.len()..]);
        let Some(list) = rest.strip_prefix('{') else {
            found.push((word(rest), line));
            continue;
        };
        let mut depth = 1;
        let inside = list.split(|c: char| {
            depth += i32::from(c == '{') - i32::from(c == '}');
            depth == 0 || (c == ',' && depth == 1)
        });
        let closed = list.find("};").map_or(usize::MAX, |end| list[..end].matches(',').count() + 1);
        found.extend(inside.take(closed).map(|item| (word(item), line)));
    }
    found.retain(|(name, _)| !name.is_empty());
    found
}

fn layer_of(path: &str) -> &str {
    let inner = path.trim_start_matches("src/");
    inner.split('/').next().unwrap_or(inner).trim_end_matches(".rs")
}

#[track_caller]
fn none(faults: Vec<String>) {
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

#[test]
fn no_source_file_is_longer_than_400_lines() {
    let all = sources().into_iter().chain(texts("tests")).chain(texts("benches"));
    let long =
        all.filter(|(path, text)| path.ends_with(".rs") && text.lines().count() > LONGEST_FILE);
    none(long.map(|(path, text)| format!("{path}: {} lines", text.lines().count())).collect());
}

#[test]
fn no_function_is_longer_than_60_lines() {
    let mut faults = Vec::new();
    let all = sources().into_iter().chain(texts("tests")).chain(texts("benches"));
    for (path, text) in all.filter(|(path, _)| path.ends_with(".rs")) {
        let functions = functions(&text);
        let long = functions.iter().filter(|(_, _, lines)| *lines > LONGEST_FUNCTION);
        faults.extend(
            long.map(|(name, line, lines)| format!("{path}:{line}: {name} has {lines} lines")),
        );
    }
    none(faults);
}

#[test]
fn imports_go_down_the_layers_only() {
    let mut faults = Vec::new();
    for (path, text) in sources() {
        let layer = layer_of(&path);
        if ["lib", "main"].contains(&layer) {
            continue;
        }
        let allowed = LAYERS.iter().find(|(name, _)| *name == layer).map(|(_, allowed)| *allowed);
        let Some(allowed) = allowed else {
            faults.push(format!("{path}: the layer `{layer}` has no place in tests/house.rs"));
            continue;
        };
        let code = bare(&text);
        for (name, line) in imported(&code, "crate::") {
            if name != layer && !allowed.contains(&name.as_str()) {
                faults.push(format!("{path}:{line}: {layer} imports {name}"));
            }
        }
        let strange = if layer == "cli" { "crate::" } else { "slabtone::" };
        let away = imported(&code, strange).into_iter().filter(|(name, _)| name != layer);
        faults
            .extend(away.map(|(name, line)| format!("{path}:{line}: {strange}{name} in {layer}")));
        if code.contains("super::super::super") {
            faults.push(format!("{path}: super::super::super"));
        }
    }
    none(faults);
}

#[test]
fn the_library_knows_no_arguments_and_its_drawing_library_in_one_file() {
    let mut faults = Vec::new();
    for (path, text) in sources() {
        let code = bare(&text);
        for (word, home) in [
            ("clap::", "src/cli/"),
            ("terminal_size::", "src/cli/"),
            ("tempfile::", "src/cli/"),
            ("std::process", "src/cli/"),
            ("plotters::", "src/picture/canvas.rs"),
            ("toml::", "src/input/"),
            ("hound::", "src/input/wave_file.rs"),
            ("realfft::", "src/signal/fft.rs"),
            ("annotate_snippets::", "src/input/"),
            ("comfy_table::", "src/report/"),
        ] {
            let at_home =
                path.starts_with(home) || path == "src/main.rs" || path.contains("/tests");
            let in_test = code.find("#[cfg(test)]").unwrap_or(code.len());
            let met = imported(&code[..in_test], word).first().map(|(_, line)| *line);
            if let Some(line) = met.filter(|_| !at_home) {
                faults.push(format!("{path}:{line}: {word} outside {home}"));
            }
        }
    }
    none(faults);
}

#[test]
fn nothing_prints_past_the_command_lines_writer() {
    let mut faults = Vec::new();
    for (path, text) in sources() {
        for (n, line) in bare(&text).lines().enumerate() {
            let macros = ["println!", "print!", "dbg!", "todo!", "unimplemented!"];
            if let Some(found) = macros.iter().find(|name| line.contains(*name)) {
                faults.push(format!("{path}:{}: {found}", n + 1));
            }
        }
    }
    none(faults);
}

#[test]
fn every_driver_and_the_demo_are_inside_the_program() {
    let toml = |folder| texts(folder).into_iter().filter(|(path, _)| path.ends_with(".toml"));
    let drivers: Vec<_> = toml("drivers").collect();
    assert!(drivers.len() >= 6);
    for (path, text) in drivers.iter().cloned().chain(toml("examples").filter(|(p, _)| p == DEMO)) {
        let inside = EMBEDDED.iter().find(|(name, _)| *name == path);
        assert_eq!(inside.map(|(_, text)| *text), Some(text.as_str()), "{path}");
    }
    assert!(EMBEDDED.iter().any(|(name, _)| *name == DEMO));
    // The other examples are run by tests/tool, which reads the folder.
    assert!(toml("examples").count() >= 3);
}

#[test]
fn the_changelog_begins_with_the_version_of_the_crate() {
    let text = fs::read_to_string(root().join("CHANGELOG.md")).expect("there is a CHANGELOG.md");
    let heading = text.lines().filter_map(|line| line.strip_prefix("## ")).find_map(|heading| {
        let version = heading.trim_start_matches(['[', 'v']);
        version.starts_with(|c: char| c.is_ascii_digit()).then(|| version.to_owned())
    });
    let first = heading.expect("a heading `## 0.0.0`");
    let version = first.split(|c: char| c.is_whitespace() || c == ']').next();
    assert_eq!(version, Some(env!("CARGO_PKG_VERSION")), "in `## {first}`");
}

#[test]
fn no_file_names_a_place_on_somebodys_machine() {
    let places = [["/ho", "me/"], ["/ro", "ot/"], ["/wo", "rk/"], ["/tm", "p/"], ["/Use", "rs/"]];
    let mut faults = Vec::new();
    for (path, text) in texts("") {
        for (n, line) in text.lines().enumerate() {
            if let Some(place) = places.iter().map(|p| p.concat()).find(|p| line.contains(p)) {
                faults.push(format!("{path}:{}: {place}", n + 1));
            }
        }
    }
    none(faults);
}

#[test]
fn the_rules_themselves_see_what_they_should() {
    let code = "fn a() {\n    let b = '{'; // }\n    \"}\\\"\";\n    r#\"{\"}\"#;\n}\nfn c<'x>(d: &'x str);\n";
    assert_eq!(functions(code), [("a".to_owned(), 1, 5)]);
    let code = "use crate::{model::{air, coil}, circuit};\nlet x = crate::grid::Grid;\nscrate::no;";
    let names: Vec<String> = imported(code, "crate::").into_iter().map(|(name, _)| name).collect();
    assert_eq!(names, ["model", "circuit", "grid"]);
    assert_eq!(
        bare("a // crate::x\n\"crate::y\" b").split_whitespace().collect::<Vec<_>>(),
        ["a", "b"]
    );
    assert_eq!((layer_of("src/grid.rs"), layer_of("src/input/reader/ask.rs")), ("grid", "input"));
}
