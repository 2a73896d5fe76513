//! Printing, and writing files so that none is ever half-written.

use super::failure::Failure;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// Prints `text` to standard output, styles only where they show.
pub(super) fn print(text: &str) -> Result<(), Failure> {
    let mut stdout = anstream::stdout().lock();
    stdout.write_all(text.as_bytes()).and_then(|()| stdout.flush()).map_err(Failure::printing)
}

/// Width to wrap text to: the terminal's, within reason, or 100 where there is none.
pub(super) fn width() -> u16 {
    terminal_size::terminal_size().map_or(100, |(terminal_size::Width(w), _)| w.clamp(50, 140))
}

/// Writes all files (path below `dir`, content) or none: each goes to a temporary file beside its
/// place first, and only when all are on the disk do they take their names.
pub(super) fn write_all(dir: &Path, files: &[(PathBuf, String)]) -> Result<(), Failure> {
    let mut ready = Vec::with_capacity(files.len());
    for (name, content) in files {
        let path = dir.join(name);
        let staged =
            stage(&path, content).map_err(|error| Failure::Disk { path: path.clone(), error })?;
        ready.push((staged, path));
    }
    for (staged, path) in ready {
        staged.persist(&path).map_err(|e| Failure::Disk { path: path.clone(), error: e.error })?;
    }
    Ok(())
}

fn stage(path: &Path, content: &str) -> std::io::Result<NamedTempFile> {
    let folder = path.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(folder)?;
    if path.is_dir() {
        return Err(std::io::ErrorKind::IsADirectory.into());
    }
    let mut builder = tempfile::Builder::new();
    builder.prefix(".slabtone-");
    // The system's umask still applies, as to any new file.
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut staged = builder.tempfile_in(folder)?;
    staged.write_all(content.as_bytes())?;
    Ok(staged)
}
