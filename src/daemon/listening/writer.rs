//! Puts what was heard on the disk, away from the daemon's loop, which never waits for it.

use std::io;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{SyncSender, TrySendError, sync_channel};
use std::thread::JoinHandle;

use crate::daemon::vitals::{Patience, Vitals};
use crate::listening::form;
use crate::store;

use super::collect::Piece;

/// So many pieces may wait, half a minute each; what comes then is lost, and that is said.
const WAITING: usize = 64;
/// A day's file is never larger, bytes: twenty times what a day takes.
const LARGEST_DAY: u64 = 32 << 20;

/// The thread that writes. Dropping it waits for what was asked.
pub(in crate::daemon) struct SpellWriter {
    pieces: Option<SyncSender<Piece>>,
    thread: Option<JoinHandle<()>>,
}

impl SpellWriter {
    /// Starts the thread; `done` hears how each piece fared.
    pub(in crate::daemon) fn start(
        state: &Path,
        total_mb: f64,
        vitals: Vitals,
        done: impl Fn(io::Result<()>) + Send + 'static,
    ) -> io::Result<Self> {
        let folder = state.join(form::FOLDER);
        let total = (total_mb * 1e6) as u64;
        let (pieces, inbox) = sync_channel::<Piece>(WAITING);
        let work = move || {
            vitals.work_off("what was heard", Patience::SLOW, &inbox, |piece| {
                done(write(&folder, &piece, total).map_err(|error| {
                    io::Error::new(error.kind(), format!("{}: {error}", folder.join(&piece.file).display()))
                }));
            });
        };
        let thread = std::thread::Builder::new().name("heard".to_owned()).spawn(work)?;
        Ok(Self { pieces: Some(pieces), thread: Some(thread) })
    }

    /// Has a piece written; whether there was room for it to wait.
    pub(in crate::daemon) fn write(&self, piece: Piece) -> bool {
        let Some(pieces) = &self.pieces else { return false };
        !matches!(pieces.try_send(piece), Err(TrySendError::Full(_)))
    }
}

impl Drop for SpellWriter {
    fn drop(&mut self) {
        self.pieces = None;
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

fn write(folder: &Path, piece: &Piece, total: u64) -> io::Result<()> {
    store::private_folder(folder)?;
    let path = folder.join(&piece.file);
    let is_new = !path.exists();
    store::add(&path, &piece.bytes, piece.is_last, LARGEST_DAY)?;
    if is_new {
        make_room(folder, &piece.file, total)?;
    }
    Ok(())
}

/// Removes the oldest days until the rest takes no more than `total` bytes; never the one that is written.
fn make_room(folder: &Path, written: &str, total: u64) -> io::Result<()> {
    let mut days: Vec<(chrono::NaiveDate, PathBuf, u64)> = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let entry = entry?;
        let name = entry.file_name().to_string_lossy().into_owned();
        if let Some(day) = form::day_of(&name).filter(|_| name != written) {
            days.push((day, entry.path(), entry.metadata()?.len()));
        }
    }
    days.sort();
    let mut all: u64 = days.iter().map(|(_, _, size)| size).sum();
    for (_, path, size) in days {
        if all <= total {
            break;
        }
        tracing::info!("{}: removed, because what was heard takes more than it may", path.display());
        store::remove(&path)?;
        all -= size;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn piece(file: &str, bytes: &[u8]) -> Piece {
        Piece { file: file.to_owned(), bytes: bytes.to_vec(), is_last: true }
    }

    #[test]
    fn the_oldest_days_go_when_a_new_one_begins_and_all_take_too_much() {
        let folder = tempfile::tempdir().unwrap();
        let all = folder.path().join("listening");
        for day in ["2026-11-28.heard", "2026-11-29.heard", "2026-11-30.heard"] {
            write(&all, &piece(day, &[7; 100]), 250).unwrap();
            write(&all, &piece(day, &[7; 20]), 250).unwrap();
        }
        std::fs::write(all.join("notes.txt"), [0; 900]).unwrap();
        write(&all, &piece("2026-12-01.heard", &[7; 100]), 250).unwrap();
        let mut names: Vec<String> = std::fs::read_dir(&all)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        assert_eq!(names, ["2026-11-29.heard", "2026-11-30.heard", "2026-12-01.heard", "notes.txt"]);
    }
}
