//! Printing, and writing files so that none is ever half-written.

use super::failure::Failure;
use serde::Serialize;
use slabtone::report::json;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// Prints `text` to standard output, styles only where they show.
pub(super) fn print(text: &str) -> Result<(), Failure> {
    let mut stdout = anstream::stdout().lock();
    stdout.write_all(text.as_bytes()).and_then(|()| stdout.flush()).map_err(Failure::printing)
}

/// Says something on standard error that is no failure.
pub(super) fn remark(text: &str) -> Result<(), Failure> {
    writeln!(anstream::stderr(), "note: {text}").map_err(Failure::printing)
}

/// Prints a document as JSON.
pub(super) fn print_json(document: &impl Serialize) -> Result<(), Failure> {
    print(&(json::text(document)? + "\n"))
}

/// Width to wrap text to: the terminal's, within reason, or 100 where there is none.
pub(super) fn width() -> u16 {
    terminal_size::terminal_size().map_or(100, |(terminal_size::Width(w), _)| w.clamp(50, 140))
}

/// Writes all files (path below `dir`, content) or none: each goes to a temporary file beside its
/// place first, and only when all are on the disk do they take their names.
pub(super) fn write_all(dir: &Path, files: &[(PathBuf, impl AsRef<[u8]>)]) -> Result<(), Failure> {
    let mut made = Vec::new();
    let staged = stage_all(dir, files, &mut made);
    if staged.is_err() {
        // Folders made in vain go again; one that is not empty stays.
        made.iter().rev().for_each(|folder| drop(fs::remove_dir(folder)));
    }
    for (file, path) in staged? {
        file.persist(&path).map_err(|e| disk(&path, e.error))?;
    }
    Ok(())
}

/// Whether files can be written to `dir`, before long work whose result goes there: the deepest of
/// its folders that exists takes a file.
pub(super) fn try_folder(dir: &Path) -> Result<(), Failure> {
    let exists = |f: &&Path| f.as_os_str().is_empty() || f.exists();
    let folder = dir.ancestors().find(exists).unwrap_or(Path::new(""));
    if !folder.as_os_str().is_empty() && !folder.is_dir() {
        return Err(disk(folder, io::ErrorKind::NotADirectory.into()));
    }
    stage(folder, &[]).map(drop).map_err(|e| disk(dir, e))
}

fn disk(path: &Path, error: io::Error) -> Failure {
    // The bare reason: temporary names and the like mean nothing to the user.
    let inner = |e: &io::Error| {
        let source = e.get_ref()?.source()?.downcast_ref::<io::Error>()?;
        source.raw_os_error()
    };
    let error = match error.raw_os_error().or_else(|| inner(&error)) {
        Some(code) => io::Error::from_raw_os_error(code),
        None => error,
    };
    Failure::Disk { path: path.to_owned(), error }
}

fn stage_all(
    dir: &Path,
    files: &[(PathBuf, impl AsRef<[u8]>)],
    made: &mut Vec<PathBuf>,
) -> Result<Vec<(NamedTempFile, PathBuf)>, Failure> {
    let stage = |(name, content): &(PathBuf, _)| {
        let path = dir.join(name);
        let folder = path.parent().unwrap_or(Path::new("."));
        make_folder(folder, made).map_err(|e| disk(folder, e))?;
        if path.is_dir() {
            return Err(disk(&path, io::ErrorKind::IsADirectory.into()));
        }
        Ok((stage(folder, AsRef::as_ref(content)).map_err(|e| disk(&path, e))?, path))
    };
    files.iter().map(stage).collect()
}

/// Makes a folder and those above it, and notes which were not there.
fn make_folder(folder: &Path, made: &mut Vec<PathBuf>) -> io::Result<()> {
    let missing: Vec<&Path> =
        folder.ancestors().take_while(|f| !f.as_os_str().is_empty() && !f.exists()).collect();
    for step in missing.into_iter().rev() {
        fs::create_dir(step)?;
        made.push(step.to_owned());
    }
    if folder.as_os_str().is_empty() || folder.is_dir() {
        Ok(())
    } else {
        Err(io::ErrorKind::NotADirectory.into())
    }
}

fn stage(folder: &Path, content: &[u8]) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".slabtone-");
    // The system's umask still applies, as to any new file.
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let mut staged = builder.tempfile_in(folder)?;
    staged.write_all(content)?;
    Ok(staged)
}
