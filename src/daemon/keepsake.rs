//! What the radios had before the first change, on disk, so that a crash can still give it back;
//! whether motors are halted, and whether the agenda is worked unattended.

use std::io;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Sender, channel};
use std::thread::JoinHandle;
use std::time::Instant;

use serde::{Deserialize, Serialize};

use crate::device::{DialMemory, RadioMemory};
use crate::store;
use crate::terms::{Hertz, Mode, Time};

use super::lasting::LastingFault;
use super::undertaking::{Undertaking, UndertakingFile};
use super::vitals::{Patience, Vitals};

/// The format that this version writes and reads.
const FORMAT: u32 = 1;

#[derive(Serialize, Deserialize)]
struct File {
    format: u32,
    /// Until when a daemon that starts anew gives it back by itself; null for not at all.
    #[serde(default)]
    give_back_until: Option<Time>,
    radios: Vec<Entry>,
}

#[derive(Serialize, Deserialize)]
struct Entry {
    name: String,
    receive: Dial,
    transmit: Dial,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    receive_only: bool,
}

#[derive(Serialize, Deserialize)]
struct Dial {
    hertz: Option<Hertz>,
    mode: Option<Mode>,
}

/// What the radios had, by name.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Keepsakes {
    pub(super) radios: Vec<(String, RadioMemory)>,
    /// Until when it is given back without being asked for; `None` for not at all.
    pub(super) until: Option<Time>,
}

impl Keepsakes {
    /// What the radio of this name had.
    pub(super) fn of(&self, name: &str) -> Option<&RadioMemory> {
        self.radios.iter().find(|(own, _)| own == name).map(|(_, memory)| memory)
    }
}

/// The file of one station.
#[derive(Debug, Clone)]
pub(super) struct Keepsake(PathBuf);

impl Keepsake {
    pub(super) fn in_folder(state: &Path) -> Self {
        Self(state.join("radios-before-session.json"))
    }

    /// Stores what each radio had.
    pub(super) fn save(&self, what: &Keepsakes) -> io::Result<()> {
        let entry = |(name, memory): &(String, RadioMemory)| Entry {
            name: name.clone(),
            receive: dial(memory.receive),
            transmit: dial(memory.transmit),
            receive_only: memory.receive_only,
        };
        let radios = what.radios.iter().map(entry).collect();
        let file = File { format: FORMAT, give_back_until: what.until, radios };
        if let Some(folder) = self.0.parent() {
            std::fs::create_dir_all(folder)?;
        }
        store::write_atomic(&self.0, &serde_json::to_vec_pretty(&file)?)
    }

    /// What a session that did not end left behind; nothing where there is none. A damaged file
    /// is set aside, and named in the error.
    pub(super) fn load(&self) -> io::Result<Keepsakes> {
        let named = |error: io::Error| io::Error::new(error.kind(), format!("{}: {error}", self.0.display()));
        let Some(bytes) = store::read(&self.0).map_err(named)? else { return Ok(Keepsakes::default()) };
        let file = match understood(&bytes) {
            Ok(file) => file,
            Err(why) => {
                let aside = store::set_aside(&self.0).map_err(named)?;
                let why = format!("{why}; it is kept as {}", aside.display());
                return Err(named(io::Error::new(io::ErrorKind::InvalidData, why)));
            }
        };
        let memory = |entry: Entry| {
            let (receive, transmit) = (remembered(&entry.receive), remembered(&entry.transmit));
            (entry.name, RadioMemory { receive, transmit, receive_only: entry.receive_only })
        };
        let radios = file.radios.into_iter().map(memory).collect();
        Ok(Keepsakes { radios, until: file.give_back_until })
    }

    /// It stays, but is not given back by itself any more.
    fn shelve(&self) -> io::Result<()> {
        self.save(&Keepsakes { until: None, ..self.load()? })
    }

    /// It is given back.
    pub(super) fn forget(&self) -> io::Result<()> {
        store::remove(&self.0)
    }

    /// Whether motors were halted when the last daemon ended.
    pub(super) fn is_halted(&self) -> bool {
        self.halt_mark().exists()
    }

    /// Whether the agenda was worked unattended when the last daemon ended.
    pub(super) fn is_auto(&self) -> bool {
        self.auto_mark().exists()
    }

    /// Whether the caution about a mount that moves by itself was said once.
    pub(super) fn is_cautioned(&self) -> bool {
        self.caution_mark().exists()
    }

    /// The caution was said.
    pub(super) fn cautioned(&self) -> io::Result<()> {
        mark(&self.caution_mark(), true)
    }

    fn caution_mark(&self) -> PathBuf {
        self.0.with_file_name("cautioned.json")
    }

    fn auto_mark(&self) -> PathBuf {
        self.0.with_file_name("auto.json")
    }

    fn halt_mark(&self) -> PathBuf {
        self.0.with_file_name("halted.json")
    }
}

/// A file that is there while something is so.
fn mark(mark: &Path, is_so: bool) -> io::Result<()> {
    if !is_so {
        return store::remove(mark);
    }
    if let Some(folder) = mark.parent() {
        std::fs::create_dir_all(folder)?;
    }
    store::write_atomic(mark, format!("{{ \"format\": {FORMAT} }}\n").as_bytes())
}

/// Writes the file away from the daemon's loop, in the order in which it was asked to. Dropping it
/// waits for what was asked.
pub(super) struct KeepsakeWriter {
    jobs: Option<Sender<Job>>,
    thread: Option<JoinHandle<()>>,
}

enum Job {
    Save(u64, Keepsakes),
    Forget,
    Shelve,
    Halted(bool),
    Auto(bool),
    Undertake(Option<Undertaking>),
}

impl KeepsakeWriter {
    /// Starts the thread; `done` hears of every request to save by its number.
    pub(super) fn start(
        (keepsake, undertaking): (Keepsake, UndertakingFile),
        vitals: Vitals,
        done: impl Fn(u64, io::Result<()>) + Send + 'static,
    ) -> io::Result<Self> {
        let (jobs, inbox) = channel();
        let work = move || {
            let mut fault = LastingFault::default();
            vitals.work_off("what is stored", Patience::SLOW, &inbox, |job| {
                let changed = match job {
                    Job::Save(request, what) => {
                        done(request, keepsake.save(&what));
                        Ok(())
                    }
                    Job::Forget => keepsake.forget(),
                    Job::Shelve => keepsake.shelve(),
                    Job::Halted(halted) => mark(&keepsake.halt_mark(), halted),
                    Job::Auto(on) => mark(&keepsake.auto_mark(), on),
                    Job::Undertake(what) => undertaking.store(what),
                };
                tell(&mut fault, changed);
            });
        };
        let thread = std::thread::Builder::new().name("keepsake".to_owned()).spawn(work)?;
        Ok(Self { jobs: Some(jobs), thread: Some(thread) })
    }

    /// Stores what each radio had.
    pub(super) fn save(&self, request: u64, what: Keepsakes) {
        self.send(Job::Save(request, what));
    }

    /// What was stored stays, but is not given back by itself any more.
    pub(super) fn shelve(&self) {
        self.send(Job::Shelve);
    }

    /// What was stored is given back.
    pub(super) fn forget(&self) {
        self.send(Job::Forget);
    }

    /// Motors are halted, or may move again: a daemon that starts anew is to know.
    pub(super) fn halted(&self, halted: bool) {
        self.send(Job::Halted(halted));
    }

    /// The agenda is worked unattended, or not any more: a daemon that starts anew goes on.
    pub(super) fn auto(&self, on: bool) {
        self.send(Job::Auto(on));
    }

    /// The session is at this, or at nothing any more: a daemon that is killed is to be followed by
    /// one that goes on.
    pub(super) fn undertake(&self, what: Option<Undertaking>) {
        self.send(Job::Undertake(what));
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

/// A full disk is said and not repeated with every change of what is stored.
fn tell(fault: &mut LastingFault, changed: io::Result<()>) {
    match changed {
        Ok(()) => {
            if let Some(said) = fault.is_over("the state on the disk can be changed again") {
                tracing::info!("{said}");
            }
        }
        Err(error) => {
            let what = format!("the state on the disk can't be changed: {error}");
            if let Some(said) = fault.came(&what, Instant::now()) {
                tracing::warn!("{said}");
            }
        }
    }
}

fn understood(bytes: &[u8]) -> Result<File, String> {
    let file: File = serde_json::from_slice(bytes).map_err(|error| error.to_string())?;
    match file.format {
        FORMAT => Ok(file),
        other => Err(format!("it has format {other}, this version reads {FORMAT}")),
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
        assert_eq!(keepsake.load().unwrap(), Keepsakes::default());
        let receive = DialMemory { hertz: Some(Hertz(145_500_000)), mode: Some(Mode::Fm) };
        let memory = RadioMemory { receive, ..RadioMemory::default() };
        let what = Keepsakes { radios: vec![("shack".to_owned(), memory)], until: Some(Time::default()) };
        keepsake.save(&what).unwrap();
        assert_eq!(keepsake.load().unwrap(), what);
        keepsake.shelve().unwrap();
        assert_eq!(keepsake.load().unwrap(), Keepsakes { until: None, ..what });
        keepsake.forget().unwrap();
        keepsake.forget().unwrap();
        assert_eq!(keepsake.load().unwrap(), Keepsakes::default());
    }

    #[test]
    fn a_file_of_another_format_or_cut_short_is_named_and_set_aside() {
        let folder = tempfile::tempdir().unwrap();
        let keepsake = Keepsake::in_folder(folder.path());
        for text in ["{\"format\":9,\"radios\":[]}", "{\"format\":1,\"rad"] {
            std::fs::write(&keepsake.0, text).unwrap();
            let error = keepsake.load().unwrap_err().to_string();
            let (_, aside) = error.split_once("it is kept as ").unwrap();
            assert_eq!(std::fs::read_to_string(aside).unwrap(), text);
            assert_eq!(keepsake.load().unwrap(), Keepsakes::default());
        }
    }
}
