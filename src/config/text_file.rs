//! Text from files, with bounds: nothing that could block, or fill the memory, is read.

use std::fs::{File, FileType};
use std::io::{self, Read as _};
use std::os::unix::fs::FileTypeExt as _;
use std::path::Path;

/// The most that a configuration or a satellites file may hold, bytes.
pub(super) const SETTINGS_LIMIT: u64 = 1 << 20;
/// The most that a dialect file may hold, bytes: ten times the largest built-in one.
pub(super) const DIALECT_LIMIT: u64 = 64 << 10;
/// The most that an element file may hold, bytes: some fifty thousand sets in the longest format.
pub const ELEMENTS_LIMIT: u64 = 64 << 20;

/// Why a file's text can't be had.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what}")]
pub struct Unreadable {
    /// From 1; 0 where the file as a whole is meant.
    pub line: usize,
    /// In characters, from 1; 0 where the file as a whole is meant.
    pub column: usize,
    /// What is the matter.
    pub what: String,
    /// Whether there is no such file.
    pub is_missing: bool,
}

impl Unreadable {
    fn whole(what: impl Into<String>) -> Self {
        Self { line: 0, column: 0, what: what.into(), is_missing: false }
    }
}

impl From<io::Error> for Unreadable {
    fn from(error: io::Error) -> Self {
        let is_missing = error.kind() == io::ErrorKind::NotFound;
        Self { is_missing, ..Self::whole(format!("can't be read: {error}")) }
    }
}

/// Reads a regular file of at most `limit` bytes of UTF-8.
///
/// # Errors
/// What is no regular file is not even opened: a pipe would block, and a serial port that is
/// opened can key a transmitter.
pub fn read_text(file: &Path, limit: u64) -> Result<String, Unreadable> {
    let kind = file.metadata()?.file_type();
    if !kind.is_file() {
        return Err(Unreadable::whole(format!("is {}, not a file", named(kind))));
    }
    let mut bytes = Vec::new();
    File::open(file)?.take(limit + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > limit {
        let limit =
            if limit < 1 << 20 { format!("{} KiB", limit >> 10) } else { format!("{} MiB", limit >> 20) };
        return Err(Unreadable::whole(format!("is larger than {limit}")));
    }
    String::from_utf8(bytes).map_err(|error| {
        let good = String::from_utf8_lossy(&error.as_bytes()[..error.utf8_error().valid_up_to()]);
        let last = good.rsplit('\n').next().unwrap_or_default();
        Unreadable {
            line: good.matches('\n').count() + 1,
            column: last.chars().count() + 1,
            ..Unreadable::whole("the bytes from here on are not UTF-8")
        }
    })
}

fn named(kind: FileType) -> &'static str {
    match kind {
        _ if kind.is_dir() => "a folder",
        _ if kind.is_fifo() => "a named pipe",
        _ if kind.is_socket() => "a socket",
        _ => "a device",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refusal(file: &Path) -> String {
        read_text(file, 8).unwrap_err().to_string()
    }

    #[test]
    fn only_regular_files_within_the_limit_are_read() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("a");
        std::fs::write(&file, "12345678").unwrap();
        assert_eq!(read_text(&file, 8).unwrap(), "12345678");
        std::fs::write(&file, "123456789").unwrap();
        assert!(refusal(&file).contains("is larger than"));
        assert_eq!(refusal(folder.path()), "is a folder, not a file");
        assert_eq!(refusal(Path::new("/dev/zero")), "is a device, not a file");
        let pipe = folder.path().join("pipe");
        assert!(std::process::Command::new("mkfifo").arg(&pipe).status().unwrap().success());
        assert_eq!(refusal(&pipe), "is a named pipe, not a file");
        assert!(read_text(&folder.path().join("none"), 8).unwrap_err().is_missing);
    }
}
