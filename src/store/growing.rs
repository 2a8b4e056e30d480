//! Bytes that are only ever added, by one program: what may tear at its end, and is read so.

use std::fs::{File, OpenOptions};
use std::io::{self, Write as _};
use std::os::unix::fs::OpenOptionsExt as _;
use std::path::Path;

use super::{folder_of, unfit};

/// Adds bytes to a file, which is made where it is not there; only its owner may read it. `settled`: they
/// are on the disk when this returns, and all that was added before. Returns how large it is now.
///
/// # Errors
/// What the system said, and for a file that would be larger than `largest` bytes; then nothing was added,
/// or, where even taking it back failed, a part.
pub fn add(path: &Path, bytes: &[u8], settled: bool, largest: u64) -> io::Result<u64> {
    if std::fs::metadata(path).is_ok_and(|found| !found.is_file()) {
        return Err(unfit("is no regular file"));
    }
    let mut file = OpenOptions::new().append(true).create(true).mode(0o600).open(path)?;
    let before = file.metadata()?.len();
    let after = before.saturating_add(bytes.len() as u64);
    if after > largest {
        return Err(unfit(&format!("would be larger than {} MiB", largest >> 20)));
    }
    let written = file.write_all(bytes).and_then(|()| if settled { file.sync_data() } else { Ok(()) });
    if written.is_err() {
        // The error counts that was met first.
        let _ = file.set_len(before);
    }
    written?;
    if before == 0 {
        // The file itself may be new.
        File::open(folder_of(path))?.sync_all()?;
    }
    Ok(after)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bytes_are_added_up_to_a_size_and_not_beyond() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("day");
        assert_eq!(add(&file, b"abc", false, 8).unwrap(), 3);
        assert_eq!(add(&file, b"defg", true, 8).unwrap(), 7);
        assert!(add(&file, b"hi", true, 8).unwrap_err().to_string().contains("larger"));
        assert_eq!(std::fs::read(&file).unwrap(), b"abcdefg");
        assert!(add(folder.path(), b"x", false, 8).is_err());
    }
}
