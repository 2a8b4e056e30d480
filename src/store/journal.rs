//! Lines that are only ever added: a file that several programs may write to, each in its turn.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, ErrorKind, Read as _, Seek as _, SeekFrom, Write as _};
use std::os::unix::fs::OpenOptionsExt as _;
use std::path::Path;
use std::time::{Duration, Instant};

use super::{folder_of, unfit};

/// How large such a file is at most, bytes.
const LARGEST: u64 = 64 << 20;

/// How long another program may hold the file; one that adds lines holds it for some milliseconds.
const PATIENCE: Duration = Duration::from_secs(5);
const BETWEEN_TRIES: Duration = Duration::from_millis(2);

/// The file, held: nobody else adds to it meanwhile.
#[derive(Debug)]
pub struct Journal {
    file: File,
    folder: File,
}

impl Journal {
    /// Opens and holds the file; makes it, and the folders to it, where it is not there. Only its owner
    /// may read it.
    ///
    /// # Errors
    /// What the system said; and for what is no regular file, which is not even opened, or is held by
    /// another program for five seconds.
    pub fn open(path: &Path) -> io::Result<Self> {
        let folder = folder_of(path);
        make_folders(folder)?;
        refuse_odd(path)?;
        let mut options = OpenOptions::new();
        let file = options.read(true).write(true).create(true).truncate(false).mode(0o600).open(path)?;
        hold(|| file.try_lock())?;
        Ok(Self { file, folder: File::open(folder)? })
    }

    /// All of it.
    ///
    /// # Errors
    /// What the system said, or a file above 64 MiB.
    pub fn read(&mut self) -> io::Result<Vec<u8>> {
        read_all(&mut self.file)
    }

    /// Adds lines, each with its end, as a whole or not at all; they are on the disk when this returns.
    /// What a killed write has left of a line before gets an end first.
    ///
    /// # Errors
    /// What the system said; then nothing was added, or, where even taking it back failed, a line
    /// without its end.
    pub fn append(&mut self, lines: &[u8]) -> io::Result<()> {
        let before = self.file.seek(SeekFrom::End(0))?;
        let mut bytes = Vec::with_capacity(lines.len() + 1);
        if before > 0 {
            let mut last = [0];
            self.file.seek(SeekFrom::End(-1))?;
            self.file.read_exact(&mut last)?;
            bytes.extend((last != *b"\n").then_some(b'\n'));
        }
        bytes.extend(lines);
        let written = self.file.write_all(&bytes).and_then(|()| self.file.sync_data());
        if written.is_err() {
            // The error counts that was met first.
            let _ = self.file.set_len(before).and_then(|()| self.file.sync_data());
        }
        written?;
        // The file itself may be new, by this program or by one that was killed before this.
        self.folder.sync_all()
    }
}

/// The file's bytes, none of them in the middle of being written; `None` if there is no such file.
///
/// # Errors
/// As [`Journal::open`] and [`Journal::read`].
pub fn read_journal(path: &Path) -> io::Result<Option<Vec<u8>>> {
    refuse_odd(path)?;
    let mut file = match File::open(path) {
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(None),
        opened => opened?,
    };
    hold(|| file.try_lock_shared())?;
    read_all(&mut file).map(Some)
}

fn read_all(file: &mut File) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    file.seek(SeekFrom::Start(0))?;
    file.take(LARGEST + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > LARGEST {
        return Err(unfit(&format!("is larger than {} MiB", LARGEST >> 20)));
    }
    Ok(bytes)
}

/// A pipe might never end, and a serial port that is opened can key a transmitter.
fn refuse_odd(path: &Path) -> io::Result<()> {
    match std::fs::metadata(path) {
        Ok(found) if !found.is_file() => Err(unfit("is no regular file")),
        Err(error) if error.kind() != ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}

fn hold(try_it: impl Fn() -> Result<(), TryLockError>) -> io::Result<()> {
    let end = Instant::now() + PATIENCE;
    loop {
        match try_it() {
            Ok(()) => return Ok(()),
            Err(TryLockError::Error(error)) => return Err(error),
            Err(TryLockError::WouldBlock) if Instant::now() >= end => {
                return Err(io::Error::new(
                    ErrorKind::TimedOut,
                    "another program holds it and does not let go",
                ));
            }
            Err(TryLockError::WouldBlock) => std::thread::sleep(BETWEEN_TRIES),
        }
    }
}

/// Makes a folder and those above it, each on the disk before the next one.
fn make_folders(folder: &Path) -> io::Result<()> {
    if folder.is_dir() {
        return Ok(());
    }
    let above = folder_of(folder);
    make_folders(above)?;
    match std::fs::create_dir(folder) {
        Err(error) if error.kind() == ErrorKind::AlreadyExists && folder.is_dir() => Ok(()),
        made => made.and_then(|()| File::open(above)?.sync_all()),
    }
}

#[cfg(test)]
mod tests {
    use std::fs;
    use std::os::unix::fs::PermissionsExt as _;

    use super::*;

    #[test]
    fn lines_are_added_one_after_the_other() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("new/folders/journal");
        assert_eq!(read_journal(&file).unwrap(), None);
        for line in ["one\n", "two\n", "three\nfour\n"] {
            Journal::open(&file).unwrap().append(line.as_bytes()).unwrap();
        }
        assert_eq!(read_journal(&file).unwrap().unwrap(), b"one\ntwo\nthree\nfour\n");
        assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o600);
    }

    #[test]
    fn what_was_cut_off_gets_an_end_first() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("journal");
        fs::write(&file, "one\ntw").unwrap();
        let mut journal = Journal::open(&file).unwrap();
        assert_eq!(journal.read().unwrap(), b"one\ntw");
        journal.append(b"three\n").unwrap();
        journal.append(b"four\n").unwrap();
        assert_eq!(journal.read().unwrap(), b"one\ntw\nthree\nfour\n");
    }

    #[test]
    fn many_that_add_at_once_lose_no_line() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("journal");
        std::thread::scope(|scope| {
            for writer in 0..4 {
                let file = &file;
                scope.spawn(move || {
                    for count in 0..25 {
                        let mut journal = Journal::open(file).unwrap();
                        let seen = journal.read().unwrap();
                        assert!(seen.is_empty() || seen.ends_with(b"\n"), "nothing half-written is seen");
                        journal.append(format!("{writer} {count}\n").as_bytes()).unwrap();
                    }
                });
            }
        });
        let text = String::from_utf8(read_journal(&file).unwrap().unwrap()).unwrap();
        let mut lines: Vec<&str> = text.lines().collect();
        lines.sort_unstable();
        lines.dedup();
        assert_eq!(lines.len(), 100);
    }

    #[test]
    fn what_is_no_file_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        let pipe = folder.path().join("pipe");
        nix::unistd::mkfifo(&pipe, nix::sys::stat::Mode::S_IRWXU).unwrap();
        assert!(Journal::open(&pipe).unwrap_err().to_string().contains("no regular file"));
        assert!(read_journal(folder.path()).is_err());
        assert!(Journal::open(&folder.path().join("pipe/journal")).is_err());
    }
}
