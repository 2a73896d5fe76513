//! Paths between folders, and names for files.

use std::path::{Component, Path, PathBuf, absolute};

/// The path of `file` as written in a file inside `folder`: relative, with forward slashes, where
/// both lie on one disk.
pub(super) fn relative(folder: &Path, file: &Path) -> String {
    let (from, to) = (plain(folder), plain(file));
    let (a, b): (Vec<_>, Vec<_>) = (from.components().collect(), to.components().collect());
    let shared = a.iter().zip(&b).take_while(|(x, y)| x == y).count();
    if shared == 0 {
        return to.display().to_string();
    }
    let up = a[shared..].iter().map(|_| "..".to_owned());
    let down = b[shared..].iter().map(|part| part.as_os_str().to_string_lossy().into_owned());
    up.chain(down).collect::<Vec<_>>().join("/")
}

/// The absolute path without `.` and `..`.
fn plain(path: &Path) -> PathBuf {
    let mut plain = PathBuf::new();
    for part in absolute(path).unwrap_or_else(|_| path.to_owned()).components() {
        match part {
            Component::ParentDir => {
                plain.pop();
            }
            Component::CurDir => {}
            other => plain.push(other),
        }
    }
    plain
}

/// A file's or folder's name from what people call a thing: what no file system likes becomes a
/// dash, and a name that would meet one of `taken` on some disk (case set aside) gets a number.
pub(super) fn file_name(name: &str, taken: &[String]) -> String {
    let safe = |c: char| if c.is_alphanumeric() || c == '-' || c == '_' { c } else { '-' };
    let plain: String = name.chars().take(60).map(safe).collect();
    let free = |n: &String| taken.iter().all(|t| t.to_lowercase() != n.to_lowercase());
    let numbered = (2..).map(|n| format!("{plain}-{n}"));
    std::iter::once(plain.clone()).chain(numbered).find(free).unwrap_or(plain)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_driver_is_found_from_another_folder() {
        let got = relative(Path::new("out/tuned"), Path::new("examples/../drivers/a.toml"));
        assert_eq!(got, "../../drivers/a.toml");
        assert_eq!(relative(Path::new("."), Path::new("a.toml")), "a.toml");
    }

    #[test]
    fn a_name_stays_inside_its_folder_and_apart_from_others() {
        assert_eq!(file_name("without-R/../../R1", &[]), "without-R-------R1");
        assert_eq!(file_name("C1", &["c1".into(), "C1-2".into()]), "C1-3");
        assert_eq!(file_name(&"x".repeat(300), &[]).len(), 60);
    }
}
