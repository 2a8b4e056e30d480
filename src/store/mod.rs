//! What must survive: bytes in a file, replaced whole or not at all, or lines that are only ever added.
//! Nothing here knows what the bytes mean.

mod growing;
mod journal;

use std::fs::{DirBuilder, File, Permissions};
use std::io::{self, ErrorKind, Write};
use std::os::unix::fs::{DirBuilderExt as _, OpenOptionsExt as _, PermissionsExt as _};
use std::path::{Path, PathBuf};

pub use growing::add;
pub use journal::{Journal, read_journal};

/// Replaces the file's bytes so that, whatever happens (a full disk, a pulled plug), it afterwards
/// holds either the old ones or the new ones. The folder must exist.
///
/// # Errors
/// What the system said; then the old bytes are still there, or, if only the very last step
/// failed, the new ones are but may not have reached the disk.
pub fn write_atomic(path: &Path, bytes: &[u8]) -> io::Result<()> {
    replace(path, |file| file.write_all(bytes))
}

/// The same for what other users of the computer may read.
///
/// # Errors
/// As [`write_atomic`].
pub fn write_shared(path: &Path, bytes: &[u8]) -> io::Result<()> {
    replace(path, |file| {
        file.write_all(bytes)?;
        file.set_permissions(Permissions::from_mode(0o644))
    })
}

/// How the name of a file begins that is not whole yet.
const UNFINISHED: &str = ".beamhand-";

/// Removes what writes that were killed have left in a folder. Only for who knows that nobody else
/// writes there meanwhile.
///
/// # Errors
/// What the system said.
pub fn sweep(folder: &Path) -> io::Result<()> {
    for entry in std::fs::read_dir(folder)? {
        let entry = entry?;
        if entry.file_name().as_encoded_bytes().starts_with(UNFINISHED.as_bytes()) {
            std::fs::remove_file(entry.path())?;
        }
    }
    Ok(())
}

fn replace(path: &Path, fill: impl FnOnce(&mut File) -> io::Result<()>) -> io::Result<()> {
    let folder = folder_of(path);
    // In the same folder, because a rename does not cross file systems; gone if anything fails.
    let mut temporary = tempfile::Builder::new().prefix(UNFINISHED).tempfile_in(folder)?;
    fill(temporary.as_file_mut())?;
    temporary.as_file().sync_all()?;
    temporary.persist(path).map_err(|error| error.error)?;
    // The rename itself is on the disk only when the folder is.
    File::open(folder)?.sync_all()
}

/// Gives a file that can't be understood a name that is free, beside its own, so that people can look at it and
/// another takes its place. Says which.
///
/// # Errors
/// What the system said.
pub fn set_aside(path: &Path) -> io::Result<PathBuf> {
    let names = (1_u32..).map(|number| path.with_extension(format!("damaged-{number}")));
    let free =
        names.into_iter().find(|name| !name.exists()).unwrap_or_else(|| path.with_extension("damaged"));
    std::fs::rename(path, &free)?;
    File::open(folder_of(path))?.sync_all()?;
    Ok(free)
}

/// A new file that only its owner reads and writes, for what grows and need not be whole.
///
/// # Errors
/// What the system said, also where there is a file of this name.
pub fn create_private(path: &Path) -> io::Result<File> {
    File::options().append(true).create_new(true).mode(0o600).open(path)
}

/// Makes a folder that only its owner looks into, if it is not there.
///
/// # Errors
/// What the system said.
pub fn private_folder(path: &Path) -> io::Result<()> {
    DirBuilder::new().recursive(true).mode(0o700).create(path)
}

/// Removes the file, if there is one, so that no pulled plug brings it back.
///
/// # Errors
/// What the system said.
pub fn remove(path: &Path) -> io::Result<()> {
    match std::fs::remove_file(path) {
        Ok(()) => File::open(folder_of(path))?.sync_all(),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(()),
        failed => failed,
    }
}

/// How large a file of ours is at most, unless more is asked for.
const LARGEST: u64 = 1 << 20;

/// The file's bytes; `None` if there is no such file.
///
/// # Errors
/// What the system said; and for what is no regular file, which might never end or never begin,
/// or is larger than 1 MiB.
pub fn read(path: &Path) -> io::Result<Option<Vec<u8>>> {
    read_up_to(path, LARGEST)
}

/// The same for a file that may be larger, in bytes.
///
/// # Errors
/// As [`read`], with that limit.
pub fn read_up_to(path: &Path, largest: u64) -> io::Result<Option<Vec<u8>>> {
    match std::fs::metadata(path) {
        Ok(found) if !found.is_file() => Err(unfit("is no regular file")),
        Ok(found) if found.len() > largest => Err(unfit(&format!("is larger than {} MiB", largest >> 20))),
        Ok(_) => std::fs::read(path).map(Some),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
        Err(error) => Err(error),
    }
}

fn unfit(why: &str) -> io::Error {
    io::Error::new(ErrorKind::InvalidData, why)
}

fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if folder != Path::new("") => folder,
        _ => Path::new("."),
    }
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let entries = fs::read_dir(folder).unwrap();
        entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect()
    }

    #[test]
    fn what_was_written_is_read_and_nothing_else_is_left() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("state");
        assert_eq!(read(&file).unwrap(), None);
        for bytes in [b"first".as_slice(), b"", &[0, 255, 10]] {
            write_atomic(&file, bytes).unwrap();
            assert_eq!(read(&file).unwrap().as_deref(), Some(bytes));
        }
        assert_eq!(names(folder.path()), ["state"]);
    }

    #[test]
    fn what_a_killed_write_left_is_swept_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        for name in [".beamhand-x1y2z3", "state", ".hidden"] {
            fs::write(folder.path().join(name), b"x").unwrap();
        }
        sweep(folder.path()).unwrap();
        let mut left = names(folder.path());
        left.sort();
        assert_eq!(left, [".hidden", "state"]);
    }

    #[test]
    fn what_is_no_file_or_far_too_large_is_not_read() {
        let folder = tempfile::tempdir().unwrap();
        let pipe = folder.path().join("pipe");
        nix::unistd::mkfifo(&pipe, nix::sys::stat::Mode::S_IRWXU).unwrap();
        assert!(read(&pipe).unwrap_err().to_string().contains("no regular file"));
        assert!(read(folder.path()).is_err());
        let huge = folder.path().join("huge");
        fs::File::create(&huge).unwrap().set_len(LARGEST + 1).unwrap();
        assert!(read(&huge).unwrap_err().to_string().contains("larger than 1 MiB"));
        assert_eq!(
            read_up_to(&huge, 2 * LARGEST).unwrap().map(|bytes| bytes.len() as u64),
            Some(LARGEST + 1)
        );
    }

    #[test]
    fn only_the_owner_can_read_it_unless_it_is_shared() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("state");
        write_atomic(&file, b"x").unwrap();
        assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o600);
        write_shared(&file, b"y").unwrap();
        assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o644);
    }

    /// A folder under the file's name makes the rename, the last step, fail, for root as well.
    #[test]
    fn a_write_that_fails_leaves_what_was_there_and_no_litter() {
        let folder = tempfile::tempdir().unwrap();
        let taken = folder.path().join("state");
        fs::create_dir(&taken).unwrap();
        fs::write(taken.join("old"), b"old").unwrap();
        assert!(write_atomic(&taken, b"new").is_err());
        assert_eq!(names(folder.path()), ["state"]);
        assert_eq!(fs::read(taken.join("old")).unwrap(), b"old");
    }

    #[test]
    fn a_disk_that_fills_up_half_way_leaves_the_old_bytes() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("state");
        write_atomic(&file, b"old").unwrap();
        let half = |file: &mut File| file.write_all(b"ne").and(Err(ErrorKind::StorageFull.into()));
        assert_eq!(replace(&file, half).unwrap_err().kind(), ErrorKind::StorageFull);
        assert_eq!(read(&file).unwrap().as_deref(), Some(b"old".as_slice()));
        assert_eq!(names(folder.path()), ["state"]);
    }

    /// A reader that comes at any time sees one of the two, never a mixture or a part.
    #[test]
    fn a_reader_in_between_sees_the_old_bytes_or_the_new_ones() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("state");
        write_atomic(&file, &[0; 65_536]).unwrap();
        std::thread::scope(|scope| {
            let writer = scope.spawn(|| (1..=50).try_for_each(|n| write_atomic(&file, &[n; 65_536])));
            while !writer.is_finished() {
                let seen = read(&file).unwrap().unwrap();
                assert!(seen.len() == 65_536 && seen.iter().all(|byte| *byte == seen[0]));
            }
            writer.join().unwrap().unwrap();
        });
    }

    #[test]
    fn a_missing_folder_is_an_error_and_not_a_missing_file() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("none/state");
        assert_eq!(write_atomic(&file, b"x").unwrap_err().kind(), ErrorKind::NotFound);
        fs::write(folder.path().join("plain"), b"").unwrap();
        assert!(read(&folder.path().join("plain/state")).is_err());
    }

    #[test]
    fn a_name_without_a_folder_is_in_the_current_one() {
        assert_eq!(folder_of(Path::new("state")), Path::new("."));
        assert_eq!(folder_of(Path::new("/a/state")), Path::new("/a"));
    }
}
