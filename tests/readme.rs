//! README.md and DEVELOPERS.md: every command in them does what it should, every link leads
//! somewhere, every example is named.

use assert_cmd::cargo::cargo_bin_cmd;
use std::fs;
use std::path::{Path, PathBuf};

const PAGES: [&str; 2] = ["README.md", "DEVELOPERS.md"];

/// Lines that are not run here, since they build, test or measure the whole project.
const NOT_RUN: [&str; 5] =
    ["cargo test", "cargo install --path .", "cargo bench", ".ci/run", "cargo build --release"];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn text(page: &str) -> String {
    fs::read_to_string(root().join(page)).unwrap_or_else(|e| panic!("{page}: {e}"))
}

/// The lines of all fenced blocks of `language`, comments and blank lines aside.
fn lines_of(text: &str, language: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut inside: Option<bool> = None;
    for line in text.lines() {
        match (line.trim_start().strip_prefix("```"), inside) {
            (Some(word), None) => inside = Some(word.trim() == language),
            (Some(_), Some(_)) => inside = None,
            (None, Some(true)) => found.push(line.trim().to_owned()),
            (None, _) => {}
        }
    }
    assert_eq!(inside, None, "a block is not closed");
    found.retain(|line| !line.is_empty() && !line.starts_with('#'));
    found
}

/// What the program is called with, if the line calls it.
fn arguments(line: &str) -> Option<Vec<&str>> {
    let ways = ["slabtone ", "cargo run --release -- ", "cargo run -- "];
    let rest = ways.iter().find_map(|way| line.strip_prefix(way))?;
    let shell = ['"', '\'', '|', '>', '<', '$', '*', '\\', ';', '&', '`', '~'];
    assert!(!rest.contains(shell), "this test reads plain words only: {line}");
    Some(rest.split_whitespace().take_while(|word| *word != "#").collect())
}

/// A scratch copy of what the commands name.
fn bench() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for kind in ["drivers", "examples", "examples/stock"] {
        fs::create_dir(folder.path().join(kind)).unwrap();
        for (name, path) in entries(kind) {
            fs::copy(path, folder.path().join(kind).join(name)).unwrap();
        }
    }
    folder
}

/// The files of a folder of the project by name, sorted.
fn entries(folder: &str) -> Vec<(String, PathBuf)> {
    let entries = fs::read_dir(root().join(folder)).unwrap().map(|e| e.unwrap().path());
    let mut files: Vec<_> = entries
        .filter(|path| path.is_file())
        .map(|path| (path.file_name().unwrap().to_string_lossy().into_owned(), path))
        .collect();
    files.sort();
    assert!(!files.is_empty(), "{folder} is empty");
    files
}

#[test]
fn every_command_does_what_it_should() {
    let bench = bench();
    let mut run = 0;
    for page in PAGES {
        for line in lines_of(&text(page), "sh") {
            let Some(arguments) = arguments(&line) else {
                assert!(NOT_RUN.contains(&line.as_str()), "{page}: `{line}` is not checked");
                continue;
            };
            let mut command = cargo_bin_cmd!("slabtone");
            let output = command.current_dir(bench.path()).args(arguments).output().unwrap();
            let err = String::from_utf8_lossy(&output.stderr);
            assert_eq!((output.status.code(), &*err), (Some(0), ""), "{page}: {line}");
            assert!(!output.stdout.is_empty(), "{page}: {line} prints nothing");
            run += 1;
        }
    }
    assert!(run >= 6, "only {run} commands were found");
}

#[test]
fn the_help_of_every_command_shows_one_that_works() {
    let bench = bench();
    let mut run = 0;
    // `explore` takes its time, `offset` and `extract` need sweeps; they have tests of their own.
    for name in
        ["demo", "design", "compare", "tune", "parts", "check", "crossover", "fit", "stimulus"]
    {
        let help = cargo_bin_cmd!("slabtone").args([name, "--help"]).output().unwrap();
        let help = String::from_utf8(help.stdout).unwrap();
        let (_, example) = help.split_once("Example: ").expect("an example");
        let example = example.split_whitespace().collect::<Vec<_>>().join(" ");
        let arguments = arguments(&example).expect("a command of slabtone");
        assert_eq!(arguments[0], name);
        let mut command = cargo_bin_cmd!("slabtone");
        command.current_dir(bench.path()).args(arguments).assert().code(0);
        run += 1;
    }
    assert_eq!(run, 9);
}

#[test]
fn files_that_the_text_says_are_written_are_written() {
    let bench = bench();
    let mut command = cargo_bin_cmd!("slabtone");
    command.current_dir(bench.path()).args(["demo", "--out", "out"]).assert().code(0);
    let readme = text("README.md");
    for name in ["response.svg", "impedance.svg", "phase.svg", "curves.csv", "report.html"] {
        assert!(readme.contains(name), "README.md does not name {name}");
        assert!(bench.path().join("out").join(name).is_file(), "{name} is not written");
    }
}

/// The targets of `[text](target)` and `![text](target)`.
fn links(text: &str) -> Vec<&str> {
    let behind = text.split("](").skip(1);
    behind.filter_map(|rest| rest.split_once(')')).map(|(target, _)| target).collect()
}

#[test]
fn every_relative_link_and_picture_is_there() {
    let mut found = 0;
    for page in PAGES {
        let text = text(page);
        for target in links(&text) {
            if target.contains("://") {
                continue;
            }
            let (path, anchor) = target.split_once('#').unwrap_or((target, ""));
            assert!(root().join(path).exists(), "{page}: {target} leads nowhere");
            if path.is_empty() {
                let heading = |line: &str| {
                    let words = line.trim_start_matches('#').trim().to_lowercase();
                    words.replace(' ', "-").replace(|c: char| !c.is_alphanumeric() && c != '-', "")
                };
                let all = text.lines().filter(|line| line.starts_with('#'));
                assert!(all.map(heading).any(|h| h == anchor), "{page}: {target}");
            }
            found += 1;
        }
    }
    assert!(found >= 8, "only {found} links were found");
}

#[test]
fn every_picture_of_the_gallery_is_shown() {
    let readme = text("README.md");
    for (name, _) in entries("plots") {
        assert!(readme.contains(&format!("](plots/{name})")), "README.md does not show {name}");
    }
}

#[test]
fn every_example_is_named() {
    let readme = text("README.md");
    for (name, _) in entries("examples") {
        assert!(readme.contains(&format!("examples/{name}")), "README.md is silent on {name}");
    }
}

#[test]
fn every_command_is_named() {
    let readme = text("README.md");
    for name in [
        "demo",
        "design",
        "compare",
        "tune",
        "explore",
        "parts",
        "check",
        "crossover",
        "offset",
        "fit",
        "stimulus",
        "extract",
    ] {
        let told = [format!("slabtone {name} "), format!("-- {name} ")];
        assert!(told.iter().any(|t| readme.contains(t)), "README.md has no `slabtone {name}`");
    }
}

#[test]
fn blocks_are_read_as_they_are_written() {
    let text = "a\n```sh\n# c\nslabtone check x # y\n\n```\n```text\nslabtone no\n```\n";
    assert_eq!(lines_of(text, "sh"), ["slabtone check x # y"]);
    assert_eq!(arguments("slabtone check x # y"), Some(vec!["check", "x"]));
    assert_eq!(arguments("cargo run --release -- demo --out out").unwrap().len(), 3);
    assert_eq!(arguments("cargo test"), None);
    assert_eq!(links("[a](b.md) and ![c](d.svg)."), ["b.md", "d.svg"]);
}
