//! Where texts come from: the disk, or what the program carries inside.

use super::fault::{Fault, InputError};
use super::file;
use std::path::{Component, Path, PathBuf};

/// A place to read texts from.
pub trait Files {
    /// The text at `path`.
    ///
    /// # Errors
    /// What is wrong with the file as a whole: missing, a folder, not UTF-8, unreadable.
    fn read(&self, path: &Path) -> Result<String, InputError>;
}

/// The file system.
#[derive(Debug, Clone, Copy, Default)]
pub struct Disk;

impl Files for Disk {
    fn read(&self, path: &Path) -> Result<String, InputError> {
        file::read(path)
    }
}

/// The example and the drivers inside the program.
#[derive(Debug, Clone, Copy, Default)]
pub struct Embedded;

/// Path of the example that `demo` runs, inside [`Embedded`].
pub const DEMO: &str = "examples/reading-bench.toml";

/// Path of the parts table that `stock = "generic"` stands for, inside [`Embedded`].
pub const GENERIC_STOCK: &str = "examples/stock/generic.toml";

macro_rules! embedded {
    ($($path:literal),* $(,)?) => {
        /// Path and text of every embedded file.
        pub const EMBEDDED: &[(&str, &str)] =
            &[$(($path, include_str!(concat!("../../", $path)))),*];
    };
}

embedded!(
    "examples/reading-bench.toml",
    "examples/stock/shelf.toml",
    "examples/stock/generic.toml",
    "drivers/bramble.toml",
    "drivers/clover.toml",
    "drivers/sorrel.toml",
    "drivers/fennel.toml",
    "drivers/tansy.toml",
    "drivers/yarrow.toml",
);

impl Files for Embedded {
    fn read(&self, path: &Path) -> Result<String, InputError> {
        let plain = without_dots(path);
        let found = EMBEDDED.iter().find(|(name, _)| Path::new(name) == plain);
        found.map(|(_, text)| (*text).to_owned()).ok_or_else(|| {
            let name = path.display().to_string();
            let fault = Fault::whole(format!("the program carries no file `{name}`"));
            InputError::new(&name, "", vec![fault])
        })
    }
}

/// `a/../b` as `b`, without asking the disk.
fn without_dots(path: &Path) -> PathBuf {
    let mut plain = PathBuf::new();
    for part in path.components() {
        match part {
            Component::ParentDir if plain.file_name().is_some() => {
                plain.pop();
            }
            Component::CurDir => {}
            other => plain.push(other),
        }
    }
    plain
}

/// The path of a file that `from` names as `named`: relative paths are relative to the file that
/// names them.
pub fn beside(from: &Path, named: &str) -> PathBuf {
    from.parent().unwrap_or(Path::new("")).join(named)
}
