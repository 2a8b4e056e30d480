//! Writes a record on a thread of its own. Who has something to tell never waits: when the thread
//! can't keep up, or the disk takes nothing, entries are dropped and counted, and that is said.

use std::fs::File;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, TrySendError, sync_channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use super::Records;
use super::entry::Entry;
use crate::store;
use crate::terms::Time;

/// What waits to be written is collected for so long: a card is worn by the number of writes.
const COLLECT: Duration = Duration::from_secs(2);
/// So much is written at once, bytes.
const BATCH: usize = 64 << 10;
/// So many entries may wait for the thread.
const QUEUE: usize = 4096;
/// After a write that failed the next is tried so much later.
const RETRY: Duration = Duration::from_secs(10);
/// What is kept free in a record for its last words, bytes.
const LAST_WORDS: u64 = 4096;

/// How large records may be, bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// One record.
    pub each: u64,
    /// All of them.
    pub all: u64,
}

/// What is the matter with a record, in words; nothing for most.
#[derive(Debug, Clone, Default)]
pub struct Trouble(Arc<Mutex<Option<String>>>);

impl Trouble {
    /// What it is, if there is any.
    pub fn said(&self) -> Option<String> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// The first trouble counts, and is logged.
    fn say(&self, what: String) {
        let mut said = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if said.is_none() {
            tracing::warn!("the record of this session has gaps: {what}");
            *said = Some(what);
        }
    }
}

/// Where entries go. Clones write the same record; it ends with the last of them.
#[derive(Debug, Clone)]
pub struct Recorder {
    queue: SyncSender<Entry>,
    dropped: Arc<AtomicU64>,
    trouble: Trouble,
    is_discarded: Arc<AtomicBool>,
    name: Arc<str>,
}

impl Recorder {
    /// Begins a record. The file is made by the thread.
    ///
    /// # Errors
    /// If the thread can't be started.
    pub fn begin(
        records: &Records,
        limits: Limits,
        begun: Time,
        satellite: &str,
    ) -> io::Result<(Self, Writing)> {
        let file = records.file_for(begun, satellite);
        let name: Arc<str> = file.file_stem().unwrap_or_default().to_string_lossy().into();
        let (queue, entries) = sync_channel(QUEUE);
        let (dropped, trouble) = (Arc::new(AtomicU64::new(0)), Trouble::default());
        let is_discarded = Arc::new(AtomicBool::new(false));
        let writer = Writer {
            place: (records.clone(), file),
            limits,
            file: None,
            batch: Batch::default(),
            written: 0,
            lost: 0,
            is_torn: false,
            has_begun: false,
            is_full: false,
            not_before: Instant::now(),
            dropped: dropped.clone(),
            trouble: trouble.clone(),
            is_discarded: is_discarded.clone(),
        };
        let thread =
            std::thread::Builder::new().name("record".to_owned()).spawn(move || writer.run(&entries))?;
        Ok((Self { queue, dropped, trouble, is_discarded, name }, Writing(thread)))
    }

    /// Takes an entry, or drops it where no more fit; never waits.
    pub fn tell(&self, entry: Entry) {
        match self.queue.try_send(entry) {
            Ok(()) => {}
            Err(TrySendError::Full(_) | TrySendError::Disconnected(_)) => {
                self.dropped.fetch_add(1, Ordering::Relaxed);
            }
        }
    }

    /// Nothing of it is to be kept.
    pub fn discard(&self) {
        self.is_discarded.store(true, Ordering::Relaxed);
    }

    /// The record's name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// What is the matter with it.
    pub fn trouble(&self) -> &Trouble {
        &self.trouble
    }
}

/// The thread that writes a record; it ends by itself when nobody has anything to tell any more.
pub struct Writing(JoinHandle<()>);

impl Writing {
    /// Waits for its end, but not for longer than `most`: a disk that hangs is left behind.
    pub fn wait(&self, most: Duration) {
        let patience = Instant::now() + most;
        while !self.0.is_finished() && Instant::now() < patience {
            std::thread::sleep(Duration::from_millis(2));
        }
    }
}

/// Lines that wait to be written.
#[derive(Default)]
struct Batch {
    bytes: Vec<u8>,
    entries: u64,
}

impl Batch {
    fn add(&mut self, entry: &Entry) -> Result<(), serde_json::Error> {
        let before = self.bytes.len();
        match serde_json::to_writer(&mut self.bytes, entry) {
            Ok(()) => {
                self.bytes.push(b'\n');
                self.entries += 1;
                Ok(())
            }
            Err(error) => {
                self.bytes.truncate(before);
                Err(error)
            }
        }
    }
}

struct Writer {
    place: (Records, PathBuf),
    limits: Limits,
    file: Option<File>,
    batch: Batch,
    written: u64,
    /// Entries that are missing at this place.
    lost: u64,
    /// The last write may have left a line without its end.
    is_torn: bool,
    has_begun: bool,
    /// Nothing more is taken.
    is_full: bool,
    not_before: Instant,
    dropped: Arc<AtomicU64>,
    trouble: Trouble,
    is_discarded: Arc<AtomicBool>,
}

impl Writer {
    /// Works until nobody has anything to tell any more.
    fn run(mut self, entries: &Receiver<Entry>) {
        let mut write_at: Option<Instant> = None;
        loop {
            let wait = write_at.map_or(COLLECT, |at| at.saturating_duration_since(Instant::now()));
            match entries.recv_timeout(wait) {
                Ok(entry) => {
                    self.take(&entry);
                    write_at.get_or_insert_with(|| Instant::now() + COLLECT);
                }
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => break,
            }
            if write_at.is_some_and(|at| Instant::now() >= at) || self.batch.bytes.len() >= BATCH {
                self.flush();
                write_at = None;
            }
        }
        if self.is_discarded.load(Ordering::Relaxed) {
            return self.throw_away();
        }
        self.not_before = Instant::now();
        self.flush();
        if let Some(file) = &self.file
            && let Err(error) = file.sync_all()
        {
            self.trouble.say(format!("{}: {error}", self.place.1.display()));
        }
    }

    fn throw_away(&mut self) {
        if self.file.take().is_some()
            && let Err(error) = std::fs::remove_file(&self.place.1)
        {
            tracing::warn!("{}: {error}", self.place.1.display());
        }
    }

    fn take(&mut self, entry: &Entry) {
        // The head comes first, whatever was dropped while it waited. What was dropped came behind all
        // that waits, so that a gap is told too early rather than too late.
        let is_head = !std::mem::replace(&mut self.has_begun, true);
        let dropped = if is_head { 0 } else { self.dropped.swap(0, Ordering::Relaxed) };
        if dropped > 0 {
            self.lose(dropped, "more happened than could be written in time");
        }
        if self.is_full {
            return;
        }
        let room = self.limits.each.saturating_sub(LAST_WORDS);
        if self.written + self.batch.bytes.len() as u64 >= room {
            self.is_full = true;
            let megabytes = self.limits.each as f64 / 1e6;
            self.lose(1, &format!("its limit is reached: session_mb = {megabytes} in [record]"));
            return;
        }
        if let Err(error) = self.batch.add(entry) {
            self.lose(1, &format!("an entry can't be written: {error}"));
        }
    }

    /// So many entries are missing from here on.
    fn lose(&mut self, entries: u64, why: &str) {
        self.trouble.say(why.to_owned());
        // An entry of numbers and words can be written.
        let _ = self.batch.add(&Entry::Lost { entries, why: why.to_owned() });
    }

    fn flush(&mut self) {
        if self.batch.entries == 0 || Instant::now() < self.not_before {
            return self.shed();
        }
        let mut batch = std::mem::take(&mut self.batch);
        let count = batch.entries;
        let mut bytes = Vec::new();
        if self.is_torn {
            bytes.push(b'\n');
        }
        if self.lost > 0 {
            let mut note = Batch::default();
            let why = "they could not be written".to_owned();
            let _ = note.add(&Entry::Lost { entries: self.lost, why });
            bytes.append(&mut note.bytes);
        }
        bytes.append(&mut batch.bytes);
        match self.write(&bytes) {
            Ok(()) => {
                self.written += bytes.len() as u64;
                (self.lost, self.is_torn) = (0, false);
            }
            Err(error) => {
                self.trouble.say(format!("{}: {error}", self.place.1.display()));
                self.lost += count;
                self.is_torn = self.file.is_some();
                self.not_before = Instant::now() + RETRY;
            }
        }
    }

    /// While nothing can be written no more than a batch is kept.
    fn shed(&mut self) {
        if self.batch.bytes.len() >= BATCH {
            self.lost += std::mem::take(&mut self.batch).entries;
        }
    }

    fn write(&mut self, bytes: &[u8]) -> io::Result<()> {
        let file = match &mut self.file {
            Some(file) => file,
            None => {
                let (records, wanted) = &self.place;
                records.make_room(self.limits.all.saturating_sub(self.limits.each))?;
                self.place.1 = free(wanted);
                self.file.insert(store::create_private(&self.place.1)?)
            }
        };
        file.write_all(bytes)
    }
}

/// A second session of the same satellite in the same second gets another name.
fn free(file: &Path) -> PathBuf {
    let ending = file.extension().unwrap_or_default().to_string_lossy();
    let names = (2..100).map(|number| file.with_extension(format!("{number}.{ending}")));
    let all = std::iter::once(file.to_owned()).chain(names);
    all.into_iter().find(|name| !name.exists()).unwrap_or_else(|| file.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::{Record, Stamp, read_file};
    use crate::terms::parse_time;

    const LIMITS: Limits = Limits { each: 2_000_000, all: 20_000_000 };

    fn head() -> Entry {
        let text = "{\"kind\":\"head\",\"format\":1,\"version\":\"0\",\"begun\":\"2026-11-25T18:30:00Z\",\
                    \"mono\":0,\"speed\":1.0,\"wire_speed\":1.0,\"satellite\":\"GANNET-1\",\"link\":\"repeater\",\
                    \"station\":null,\"configuration\":\"\",\"lines\":[]}";
        serde_json::from_str(text).unwrap()
    }

    fn said(number: usize) -> Entry {
        let (at, state) = (Stamp::default(), "following".to_owned());
        Entry::Outcome { at, state, why: format!("{number:0>60}") }
    }

    fn begin(records: &Records, limits: Limits) -> (Recorder, Writing) {
        let begun = parse_time("2026-11-25T18:30:00Z").unwrap();
        let (recorder, writing) = Recorder::begin(records, limits, begun, "GANNET-1").unwrap();
        recorder.tell(head());
        (recorder, writing)
    }

    fn ended(records: &Records, (recorder, writing): (Recorder, Writing)) -> Record {
        drop(recorder);
        writing.wait(Duration::from_secs(20));
        read_file(&records.find("last").unwrap().file).unwrap()
    }

    #[test]
    fn what_is_told_is_written_and_only_the_owner_reads_it() {
        use std::os::unix::fs::PermissionsExt as _;
        let state = tempfile::tempdir().unwrap();
        let records = Records::in_folder(state.path());
        let begun = begin(&records, LIMITS);
        (0..100).for_each(|number| begun.0.clone().tell(said(number)));
        let record = ended(&records, begun);
        assert_eq!(record.entries.len(), 100);
        assert!(record.is_whole() && !record.is_torn);
        let mode = |path: &Path| path.metadata().unwrap().permissions().mode() & 0o777;
        assert_eq!(mode(&records.all().unwrap()[0].file), 0o600);
        assert_eq!(mode(records.folder()), 0o700);
    }

    #[test]
    fn at_its_limit_a_record_says_so_and_ends() {
        let state = tempfile::tempdir().unwrap();
        let records = Records::in_folder(state.path());
        let begun = begin(&records, Limits { each: 20_000, all: 100_000 });
        let trouble = begun.0.trouble.clone();
        (0..2000).for_each(|number| begun.0.tell(said(number)));
        let record = ended(&records, begun);
        assert!(records.all().unwrap()[0].bytes <= 20_000);
        let last = &record.entries.last().unwrap().1;
        assert!(matches!(last, Entry::Lost { why, .. } if why.contains("session_mb = 0.02")), "{last:?}");
        assert!(trouble.said().unwrap().contains("limit"));
    }

    #[test]
    fn old_records_make_room_for_a_new_one() {
        let state = tempfile::tempdir().unwrap();
        let records = Records::in_folder(state.path());
        std::fs::create_dir_all(records.folder()).unwrap();
        for day in ["23", "24"] {
            let old = records.folder().join(format!("2026-11-{day}T10-00-00Z-TERN-1.jsonl"));
            std::fs::write(old, vec![b'x'; 60_000]).unwrap();
        }
        ended(&records, begin(&records, Limits { each: 20_000, all: 100_000 }));
        let names: Vec<String> = records.all().unwrap().into_iter().map(|found| found.name).collect();
        assert_eq!(names, ["2026-11-24T10-00-00Z-TERN-1", "2026-11-25T18-30-00Z-GANNET-1"]);
    }

    #[test]
    fn where_nothing_can_be_written_nobody_waits_and_it_is_said() {
        let state = tempfile::tempdir().unwrap();
        // A file in the folder's place stops even root.
        std::fs::write(state.path().join("records"), "no folder").unwrap();
        let records = Records::in_folder(state.path());
        let (recorder, writing) = begin(&records, LIMITS);
        let trouble = recorder.trouble.clone();
        let begun = Instant::now();
        (0..QUEUE * 4).for_each(|number| recorder.tell(said(number)));
        assert!(begun.elapsed() < Duration::from_secs(2), "{:?}", begun.elapsed());
        drop(recorder);
        writing.wait(Duration::from_secs(20));
        let said = trouble.said().unwrap();
        assert!(said.contains("records") || said.contains("in time"), "{said}");
    }

    #[test]
    fn a_flood_leaves_a_gap_that_is_named() {
        let state = tempfile::tempdir().unwrap();
        let records = Records::in_folder(state.path());
        let begun = begin(&records, LIMITS);
        begun.0.dropped.fetch_add(7, Ordering::Relaxed);
        begun.0.tell(said(1));
        let record = ended(&records, begun);
        let gaps = record.entries.iter().filter(|(_, entry)| matches!(entry, Entry::Lost { entries: 7, .. }));
        assert_eq!(gaps.count(), 1);
        assert!(!record.is_whole());
    }

    #[test]
    fn what_is_discarded_leaves_no_file() {
        let state = tempfile::tempdir().unwrap();
        let records = Records::in_folder(state.path());
        for entries in [1, 2000] {
            let (recorder, writing) = begin(&records, LIMITS);
            (0..entries).for_each(|number| recorder.tell(said(number)));
            recorder.discard();
            drop(recorder);
            writing.wait(Duration::from_secs(20));
            assert_eq!(records.all().unwrap(), []);
        }
    }

    #[test]
    fn two_sessions_of_one_second_have_two_records() {
        let state = tempfile::tempdir().unwrap();
        let records = Records::in_folder(state.path());
        for _ in 0..2 {
            ended(&records, begin(&records, LIMITS));
        }
        assert_eq!(records.all().unwrap().len(), 2);
    }
}
