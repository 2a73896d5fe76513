//! A scratch copy of the project's files, and the real program run in it.

use assert_cmd::cargo::cargo_bin_cmd;
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// The project, for reading.
pub fn project() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The names of the TOML files in a folder of the project, sorted.
pub fn files_in(folder: &str) -> Vec<String> {
    let entries = fs::read_dir(project().join(folder)).expect("the folder is there");
    let names = entries.map(|e| e.unwrap().file_name().to_string_lossy().into_owned());
    let mut names: Vec<String> = names.filter(|name| name.ends_with(".toml")).collect();
    names.sort();
    assert!(!names.is_empty(), "no files in {folder}");
    names.into_iter().map(|name| format!("{folder}/{name}")).collect()
}

/// What a run of the program left behind.
#[derive(Debug)]
pub struct Run {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Run {
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|e| panic!("{e}\n{}", self.out))
    }

    /// Ends with `code`, and nobody sees the program's insides.
    #[track_caller]
    pub fn ends(self, code: i32) -> Self {
        let all = format!("{}{}", self.out, self.err);
        assert!(!all.contains("panicked") && !all.contains("RUST_BACKTRACE"), "{all}");
        assert_eq!(self.code, code, "exit code\n{all}");
        self
    }

    /// Refused as malformed: exit 2, nothing printed as a result, and every sentence told.
    #[track_caller]
    pub fn refused(self, sentences: &[&str]) -> Self {
        let run = self.ends(2);
        assert_eq!(run.out, "", "a refusal prints no result");
        for sentence in sentences {
            assert!(run.err.contains(sentence), "no `{sentence}` in\n{}", run.err);
        }
        run
    }

    /// Well-formed but unfit: exit 1, the result printed with every sentence, line breaks aside.
    #[track_caller]
    pub fn unfit(self, sentences: &[&str]) -> Self {
        let run = self.ends(1);
        assert_eq!(run.err, "");
        let words: Vec<&str> = run.out.split_whitespace().collect();
        let flat = words.join(" ");
        for sentence in sentences {
            assert!(flat.contains(sentence), "no `{sentence}` in\n{}", run.out);
        }
        run
    }
}

/// A folder with copies of `drivers/` and `examples/` that a test may spoil.
pub struct Bench {
    folder: TempDir,
}

pub const BENCH: &str = "examples/reading-bench.toml";
pub const DESK: &str = "examples/study-desk.toml";
pub const BED: &str = "examples/bed-head.toml";
pub const WOOFER: &str = "drivers/bramble.toml";
pub const TWEETER: &str = "drivers/fennel.toml";

/// What comes along with the priced bench.
const EXTRAS: &str = "[[extra]]
name = \"amplifier module, 2 x 15 W\"
price = 11.5

[[extra]]
name = \"terminal, \\\"2 poles\\\"\"
per_panel = 6
price = 0.22

[[extra]]
name = \"twin wire\"
per_panel = 2.4
unit = \"m\"
price = 0.55

[run]";

/// A CSV table by RFC 4180: lines end with CR LF, every row is as long as the header.
pub fn table(text: &str) -> Vec<BTreeMap<String, String>> {
    assert!(text.ends_with("\r\n"), "the last line ends too: {text:?}");
    assert_eq!(text.matches('\n').count(), text.matches("\r\n").count(), "{text:?}");
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let header = reader.headers().unwrap().clone();
    let row = |record: csv::StringRecord| {
        header.iter().map(str::to_owned).zip(record.iter().map(str::to_owned)).collect()
    };
    reader.records().map(|record| row(record.expect("a whole row"))).collect()
}

impl Bench {
    /// The files that tests spoil: kept in `tests/tool/good/`, so that a better example spoils no
    /// test, and files of the first version stay good.
    pub fn new() -> Self {
        Self::with_copies_from("tests/tool/good/")
    }

    /// The files that the project gives to its users.
    pub fn of_project() -> Self {
        Self::with_copies_from("")
    }

    fn with_copies_from(folder: &str) -> Self {
        let bench = Self::empty();
        let kinds = ["drivers", "examples", "examples/stock"].map(|kind| format!("{folder}{kind}"));
        for kind in kinds.iter().filter(|kind| project().join(kind).exists()) {
            for file in files_in(kind) {
                let text = fs::read(project().join(&file)).unwrap();
                bench.write(file.trim_start_matches(folder), text);
            }
        }
        bench
    }

    pub fn empty() -> Self {
        Self { folder: tempfile::tempdir().unwrap() }
    }

    pub fn at(&self, path: &str) -> PathBuf {
        self.folder.path().join(path)
    }

    pub fn text(&self, path: &str) -> String {
        fs::read_to_string(self.at(path)).unwrap()
    }

    pub fn write(&self, path: &str, content: impl AsRef<[u8]>) {
        let path = self.at(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, content).unwrap();
    }

    /// Replaces `from` by `to` wherever it stands in `path`; it must stand there.
    #[track_caller]
    pub fn change(&self, path: &str, from: &str, to: &str) -> &Self {
        let text = self.text(path);
        assert!(text.contains(from), "`{from}` is not in {path}:\n{text}");
        self.write(path, text.replace(from, to));
        self
    }

    /// The reading bench with every price stated: parts, drivers, extras.
    pub fn priced() -> Self {
        let bench = Self::new();
        let prices = "[parts]\ncurrency = \"EUR\"\nresistor_price = 0.18\ninductor_price = 1.45\ncapacitor_price = 0.85";
        bench.change(BENCH, "[parts]", prices).change(BENCH, "[run]", EXTRAS);
        for (driver, price) in [(WOOFER, "8.4"), (TWEETER, "4.9")] {
            let text = bench.text(driver);
            bench.write(driver, format!("{text}\n[price]\neach = {price}\ncurrency = \"EUR\"\n"));
        }
        bench
    }

    /// Runs the program in this folder; its output is no terminal.
    pub fn run(&self, arguments: &[&str]) -> Run {
        self.run_with(arguments, &[])
    }

    pub fn run_with(&self, arguments: &[&str], environment: &[(&str, &str)]) -> Run {
        let mut command = cargo_bin_cmd!("slabtone");
        for name in ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "RUST_BACKTRACE"] {
            command.env_remove(name);
        }
        command.envs(environment.iter().copied());
        let output = command.current_dir(self.folder.path()).args(arguments).output().unwrap();
        let text = |bytes| String::from_utf8(bytes).expect("the program prints UTF-8");
        Run {
            code: output.status.code().expect("no signal ends the program"),
            out: text(output.stdout),
            err: text(output.stderr),
        }
    }

    /// Every file and folder below `path` with its size, sorted: what "untouched" is told by.
    pub fn listing(&self, path: &str) -> Vec<(PathBuf, u64)> {
        let mut found = Vec::new();
        let mut open = vec![self.at(path)];
        while let Some(folder) = open.pop() {
            for entry in fs::read_dir(folder).unwrap() {
                let entry = entry.unwrap();
                let about = entry.metadata().unwrap();
                if about.is_dir() {
                    open.push(entry.path());
                }
                found.push((entry.path(), if about.is_file() { about.len() } else { 0 }));
            }
        }
        found.sort();
        found
    }
}
