//! Reading a text file whole, with a sentence for each way in which that fails.

use std::fs::File;
use std::io::{self, ErrorKind, Read};
use std::path::Path;

use super::fault::{Fault, InputError};

/// Largest input file, in bytes; a measured curve of a million lines fits.
pub const LARGEST: u64 = 64 << 20;

/// Reads a file as text. A byte order mark at its start is removed.
///
/// # Errors
/// The file is missing, a folder, unreadable, larger than [`LARGEST`], or not UTF-8.
pub fn read(path: &Path) -> Result<String, InputError> {
    let name = path.display().to_string();
    if path.is_dir() {
        return Err(unreadable(&name, &ErrorKind::IsADirectory.into()));
    }
    let mut bytes = Vec::new();
    File::open(path)
        .and_then(|file| file.take(LARGEST + 1).read_to_end(&mut bytes))
        .map_err(|error| unreadable(&name, &error))?;
    if bytes.len() as u64 > LARGEST {
        let fault = Fault::whole(format!("`{name}` is larger than {} MiB", LARGEST >> 20));
        let fault =
            fault.help("check that this is the file you meant: input files are short texts");
        return Err(InputError::new(&name, "", vec![fault]));
    }
    decode(&name, bytes)
}

/// Takes the bytes of a file as UTF-8 text. A byte order mark at its start is removed.
///
/// # Errors
/// The bytes are not UTF-8; the fault names the first bad byte and its line.
pub fn decode(file: &str, bytes: Vec<u8>) -> Result<String, InputError> {
    let mut text = String::from_utf8(bytes).map_err(|error| {
        let place = error.utf8_error().valid_up_to();
        not_utf8(file, error.as_bytes(), place)
    })?;
    if text.starts_with('\u{feff}') {
        text.drain(..'\u{feff}'.len_utf8());
    }
    Ok(text)
}

fn not_utf8(file: &str, bytes: &[u8], place: usize) -> InputError {
    let help = "save the file as UTF-8 (in most editors: File, Save as, Encoding)";
    let (good, bad) = bytes.split_at(place.min(bytes.len()));
    if good.contains(&0) || bad.starts_with(&[0xff, 0xfe]) || bad.starts_with(&[0xfe, 0xff]) {
        let what = format!("`{file}` is not a UTF-8 text, but UTF-16 or not a text at all");
        return InputError::new(file, "", vec![Fault::whole(what).help(help)]);
    }
    let line = good.iter().filter(|byte| **byte == b'\n').count() + 1;
    let first = bad.first().copied().unwrap_or_default();
    let what = format!("byte {place} (0x{first:02X}, in line {line}) is not UTF-8 text");
    let text = String::from_utf8_lossy(bytes).into_owned();
    let fault = Fault::at(place..place + '\u{fffd}'.len_utf8(), what);
    InputError::new(file, &text, vec![fault.label("cannot be read from here on").help(help)])
}

/// The error for a file that the system would not give.
pub fn unreadable(file: &str, error: &io::Error) -> InputError {
    let (what, help, machine) = match error.kind() {
        ErrorKind::NotFound | ErrorKind::NotADirectory => (
            format!("there is no file `{file}`"),
            "check the spelling; a relative path starts at the folder of the file that names it, \
             one on the command line at the current folder",
            false,
        ),
        ErrorKind::IsADirectory => {
            (format!("`{file}` is a folder, expected a file"), "name a file inside it", false)
        }
        ErrorKind::PermissionDenied => (
            format!("no permission to read `{file}`"),
            "allow reading it, or copy it elsewhere",
            false,
        ),
        ErrorKind::InvalidInput | ErrorKind::InvalidFilename => (
            format!("`{}` cannot be the name of a file", file.escape_debug()),
            "correct the path",
            false,
        ),
        _ => (
            format!("reading `{file}` failed: {error}"),
            "check the disk or the connection to it",
            true,
        ),
    };
    InputError { machine, ..InputError::new(file, "", vec![Fault::whole(what).help(help)]) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_missing_file_and_a_folder_say_what_to_do() {
        let folder = tempfile::tempdir().unwrap();
        let missing = read(&folder.path().join("none.toml")).unwrap_err();
        assert!(missing.to_string().contains("none.toml`") && !missing.machine);
        assert!(missing.to_string().contains("check the spelling"));
        let message = read(folder.path()).unwrap_err().to_string();
        assert!(message.contains("is a folder, expected a file"));
        assert!(unreadable("a", &io::Error::other("unplugged")).machine);
    }

    #[test]
    fn a_byte_order_mark_is_removed() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.toml");
        std::fs::write(&path, "\u{feff}a = 1\r\n").unwrap();
        assert_eq!(read(&path).unwrap(), "a = 1\r\n");
    }

    #[test]
    fn a_byte_that_is_not_utf8_is_pointed_at() {
        let error = decode("x.toml", b"a = 1\r\nname = \"\xb5m\"\n".to_vec()).unwrap_err();
        let expected = "\
error: byte 15 (0xB5, in line 2) is not UTF-8 text
 --> x.toml:2:9
  |
2 | name = \"\u{fffd}m\"
  |         ^ cannot be read from here on
  |
  = help: save the file as UTF-8 (in most editors: File, Save as, Encoding)";
        assert_eq!(error.to_string(), expected);
        let wide = decode("x.toml", b"\xff\xfea\0".to_vec()).unwrap_err();
        assert!(wide.to_string().starts_with("error: `x.toml` is not a UTF-8 text"));
    }
}
