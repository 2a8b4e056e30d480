//! What the radios had before the first change, on disk, so that a crash can still give it back.

use std::io;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Sender, channel};
use std::thread::JoinHandle;

use serde::{Deserialize, Serialize};

use crate::device::{DialMemory, RadioMemory};
use crate::store;
use crate::terms::{Hertz, Mode};

/// The format that this version writes and reads.
const FORMAT: u32 = 1;

#[derive(Serialize, Deserialize)]
struct File {
    format: u32,
    radios: Vec<Entry>,
}

#[derive(Serialize, Deserialize)]
struct Entry {
    name: String,
    receive: Dial,
    transmit: Dial,
}

#[derive(Serialize, Deserialize)]
struct Dial {
    hertz: Option<Hertz>,
    mode: Option<Mode>,
}

/// The file of one station.
#[derive(Debug, Clone)]
pub(super) struct Keepsake(PathBuf);

impl Keepsake {
    pub(super) fn in_folder(state: &Path) -> Self {
        Self(state.join("radios-before-session.json"))
    }

    /// Stores what each radio had, by name.
    pub(super) fn save(&self, radios: &[(String, RadioMemory)]) -> io::Result<()> {
        let entry = |(name, memory): &(String, RadioMemory)| Entry {
            name: name.clone(),
            receive: dial(memory.receive),
            transmit: dial(memory.transmit),
        };
        let file = File { format: FORMAT, radios: radios.iter().map(entry).collect() };
        if let Some(folder) = self.0.parent() {
            std::fs::create_dir_all(folder)?;
        }
        store::write_atomic(&self.0, &serde_json::to_vec_pretty(&file)?)
    }

    /// What a session that did not end left behind; nothing where there is none. A file that
    /// can't be read is left where it is.
    pub(super) fn load(&self) -> io::Result<Vec<(String, RadioMemory)>> {
        let Some(bytes) = store::read(&self.0)? else { return Ok(Vec::new()) };
        let file: File = serde_json::from_slice(&bytes)?;
        if file.format != FORMAT {
            let what =
                format!("{} has format {}, this version reads {FORMAT}", self.0.display(), file.format);
            return Err(io::Error::new(io::ErrorKind::InvalidData, what));
        }
        let memory = |entry: Entry| {
            (
                entry.name,
                RadioMemory { receive: remembered(&entry.receive), transmit: remembered(&entry.transmit) },
            )
        };
        Ok(file.radios.into_iter().map(memory).collect())
    }

    /// It is given back.
    pub(super) fn forget(&self) -> io::Result<()> {
        match std::fs::remove_file(&self.0) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
            _ => Ok(()),
        }
    }
}

/// Writes the file away from the daemon's loop, in the order in which it was asked to. Dropping it
/// waits for what was asked.
pub(super) struct KeepsakeWriter {
    jobs: Option<Sender<Job>>,
    thread: Option<JoinHandle<()>>,
}

enum Job {
    Save(u64, Vec<(String, RadioMemory)>),
    Forget,
}

impl KeepsakeWriter {
    /// Starts the thread; `done` hears of every request to save by its number.
    pub(super) fn start(
        keepsake: Keepsake,
        done: impl Fn(u64, io::Result<()>) + Send + 'static,
    ) -> io::Result<Self> {
        let (jobs, inbox) = channel();
        let work = move || {
            for job in inbox {
                match job {
                    Job::Save(request, radios) => done(request, keepsake.save(&radios)),
                    Job::Forget => {
                        if let Err(error) = keepsake.forget() {
                            tracing::warn!("the radios' state of before can't be removed: {error}");
                        }
                    }
                }
            }
        };
        let thread = std::thread::Builder::new().name("keepsake".to_owned()).spawn(work)?;
        Ok(Self { jobs: Some(jobs), thread: Some(thread) })
    }

    /// Stores what each radio had, by name.
    pub(super) fn save(&self, request: u64, radios: Vec<(String, RadioMemory)>) {
        self.send(Job::Save(request, radios));
    }

    /// What was stored is given back.
    pub(super) fn forget(&self) {
        self.send(Job::Forget);
    }

    fn send(&self, job: Job) {
        if let Some(jobs) = &self.jobs {
            // The thread lives as long as this sender.
            let _ = jobs.send(job);
        }
    }
}

impl Drop for KeepsakeWriter {
    fn drop(&mut self) {
        self.jobs = None;
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

fn dial(memory: DialMemory) -> Dial {
    Dial { hertz: memory.hertz, mode: memory.mode }
}

fn remembered(dial: &Dial) -> DialMemory {
    DialMemory { hertz: dial.hertz, mode: dial.mode }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_stored_comes_back_and_can_be_forgotten() {
        let folder = tempfile::tempdir().unwrap();
        let keepsake = Keepsake::in_folder(&folder.path().join("state"));
        assert_eq!(keepsake.load().unwrap(), []);
        let receive = DialMemory { hertz: Some(Hertz(145_500_000)), mode: Some(Mode::Fm) };
        let radios = vec![("shack".to_owned(), RadioMemory { receive, transmit: DialMemory::default() })];
        keepsake.save(&radios).unwrap();
        assert_eq!(keepsake.load().unwrap(), radios);
        keepsake.forget().unwrap();
        keepsake.forget().unwrap();
        assert_eq!(keepsake.load().unwrap(), []);
    }

    #[test]
    fn a_file_of_another_format_or_cut_short_is_an_error_and_stays() {
        let folder = tempfile::tempdir().unwrap();
        let keepsake = Keepsake::in_folder(folder.path());
        for text in ["{\"format\":9,\"radios\":[]}", "{\"format\":1,\"rad"] {
            std::fs::write(&keepsake.0, text).unwrap();
            assert!(keepsake.load().is_err(), "{text}");
            assert!(keepsake.0.exists());
        }
    }
}
