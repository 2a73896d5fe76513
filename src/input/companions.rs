//! Files that a design names: read beside it, each kept once, with what is wrong inside them.

use super::design_file::Source;
use super::fault::InputError;
use super::files::{self, Files};
use super::reader::Section;
use std::path::{Path, PathBuf};

/// Reads what a design names and remembers it.
pub(super) struct Companions<'f> {
    /// Where texts come from.
    pub(super) files: &'f dyn Files,
    /// The design file, which paths are relative to.
    from: &'f Path,
    /// Faults inside the files.
    pub(super) refused: Vec<InputError>,
    /// Sound files, each once.
    pub(super) read: Vec<Source>,
}

impl<'f> Companions<'f> {
    pub(super) fn new(files: &'f dyn Files, from: &'f Path) -> Self {
        Self { files, from, refused: Vec::new(), read: Vec::new() }
    }

    /// Place and text of the file called `named` under a key; one that cannot be read is a fault of
    /// that key.
    pub(super) fn text(
        &self,
        section: &Section<'_>,
        key: &str,
        named: &str,
    ) -> Option<(PathBuf, String)> {
        let path = files::beside(self.from, named);
        match self.files.read(&path) {
            Ok(text) => Some((path, text)),
            Err(error) => {
                let why = error.faults.first().map_or("", |f| f.message.as_str());
                section.refuse(key, why, "the path is relative to this design file");
                None
            }
        }
    }

    /// Keeps a sound file.
    pub(super) fn keep(&mut self, named: &str, text: String) {
        if self.read.iter().all(|s| s.name != named) {
            self.read.push(Source { name: named.to_owned(), text });
        }
    }

    /// Keeps what is wrong inside files, each once.
    pub(super) fn refuse(&mut self, files: Vec<InputError>) {
        for file in files {
            if !self.refused.contains(&file) {
                self.refused.push(file);
            }
        }
    }
}
