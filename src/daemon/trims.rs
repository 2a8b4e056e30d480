//! Trims that the operator kept for later sessions of a link, on disk.

use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use serde::{Deserialize, Serialize};

use crate::link::Trim;
use crate::session::{Job, KeptTrim};
use crate::store;
use crate::terms::{Hertz, Time};

/// Oscillators of satellites are off by hundreds of hertz; this is far beyond.
pub(super) const LARGEST_TRIM: Hertz = Hertz(50_000);
/// The format that this version writes and reads.
const FORMAT: u32 = 1;

#[derive(Default, Serialize, Deserialize)]
struct File {
    format: u32,
    trims: Vec<Entry>,
}

#[derive(Clone, Serialize, Deserialize)]
struct Entry {
    catalog_number: u32,
    link: String,
    receive: Hertz,
    transmit: Hertz,
    kept: Time,
}

impl Entry {
    fn is_of(&self, job: &Job) -> bool {
        let link = &job.tuning.link().name;
        self.catalog_number == job.track.catalog_number() && self.link.eq_ignore_ascii_case(link)
    }

    fn kept(&self) -> KeptTrim {
        let trim = Trim { receive: self.receive, transmit: self.transmit };
        KeptTrim { trim, on: self.kept }
    }
}

/// The file of one station. Its functions read and write the disk: not for the daemon's loop.
#[derive(Debug, Clone)]
pub(super) struct KeptTrims(Arc<Mutex<PathBuf>>);

impl KeptTrims {
    pub(super) fn in_folder(state: &Path) -> Self {
        Self(Arc::new(Mutex::new(state.join("trims.json"))))
    }

    /// What is kept for the job's link. A damaged file is set aside, and named in the error.
    pub(super) fn of(&self, job: &Job) -> Result<Option<KeptTrim>, String> {
        self.with(|path| {
            let entries = load(path)?;
            Ok(entries.iter().find(|entry| entry.is_of(job)).map(Entry::kept))
        })
    }

    /// Keeps the job's trim for its link, in place of what was kept; none, where it is zero.
    pub(super) fn keep(&self, job: &Job, on: Time) -> Result<(), String> {
        let trim = job.tuning.trim();
        let entry = Entry {
            catalog_number: job.track.catalog_number(),
            link: job.tuning.link().name.clone(),
            receive: trim.receive,
            transmit: trim.transmit,
            kept: on,
        };
        self.replace(job, Some(entry).filter(|_| trim != Trim::default())).map(|_| ())
    }

    /// Keeps nothing for the job's link any more; returns what was kept.
    pub(super) fn forget(&self, job: &Job) -> Result<Option<KeptTrim>, String> {
        self.replace(job, None)
    }

    fn replace(&self, job: &Job, new: Option<Entry>) -> Result<Option<KeptTrim>, String> {
        self.with(|path| {
            let mut entries = load(path)?;
            let before = entries.iter().find(|entry| entry.is_of(job)).map(Entry::kept);
            entries.retain(|entry| !entry.is_of(job));
            entries.extend(new);
            write(path, entries).map_err(|error| format!("{}: {error}", path.display()))?;
            Ok(before)
        })
    }

    /// One at a time, so that nobody writes over what another one has just kept.
    fn with<T>(&self, act: impl FnOnce(&Path) -> Result<T, String>) -> Result<T, String> {
        act(&self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

fn write(path: &Path, trims: Vec<Entry>) -> io::Result<()> {
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder)?;
    }
    store::write_atomic(path, &serde_json::to_vec_pretty(&File { format: FORMAT, trims })?)
}

fn load(path: &Path) -> Result<Vec<Entry>, String> {
    let bytes = store::read(path).map_err(|error| format!("{}: {error}", path.display()))?;
    let Some(bytes) = bytes else { return Ok(Vec::new()) };
    understood(&bytes).or_else(|why| {
        let aside = store::set_aside(path).map_err(|error| format!("{}: {why}; {error}", path.display()))?;
        Err(format!(
            "no trim is kept any more: {} can't be read ({why}); it is kept as {}",
            path.display(),
            aside.display()
        ))
    })
}

fn understood(bytes: &[u8]) -> Result<Vec<Entry>, String> {
    let file: File = serde_json::from_slice(bytes).map_err(|error| error.to_string())?;
    if file.format != FORMAT {
        return Err(format!("it has format {}, this version reads {FORMAT}", file.format));
    }
    let too_large = |hertz: Hertz| hertz < Hertz(-LARGEST_TRIM.0) || hertz > LARGEST_TRIM;
    let odd = file.trims.iter().find(|entry| too_large(entry.receive) || too_large(entry.transmit));
    odd.map_or(Ok(()), |entry| Err(format!("a trim of {} is too large", entry.link)))?;
    Ok(file.trims)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::{Config, DEMO_ELEMENTS, demo_satellites};
    use crate::daemon::{Catalog, Planner};
    use crate::sky::read_elements;
    use crate::terms::parse_time;

    fn job(link: &str, receive: i64) -> Job {
        let catalog = Catalog::new(demo_satellites().unwrap(), read_elements(DEMO_ELEMENTS).sets);
        let planner = Planner::new(&Config::demo().unwrap(), catalog);
        let job = planner.plan("GANNET-1", Some(link), evening(), 1).unwrap();
        job.with_trim(Trim { receive: Hertz(receive), transmit: Hertz(-200) })
    }

    fn evening() -> Time {
        parse_time("2026-11-25T18:00:00Z").unwrap()
    }

    #[test]
    fn a_trim_is_kept_for_its_link_alone_until_it_is_forgotten() {
        let folder = tempfile::tempdir().unwrap();
        let kept = KeptTrims::in_folder(&folder.path().join("state"));
        let (repeater, beacon) = (job("repeater", 500), job("beacon", -100));
        assert_eq!(kept.of(&repeater), Ok(None));
        kept.keep(&repeater, evening()).unwrap();
        kept.keep(&beacon, evening()).unwrap();
        let again = KeptTrims::in_folder(&folder.path().join("state"));
        let wanted = KeptTrim { trim: repeater.tuning.trim(), on: evening() };
        assert_eq!(again.of(&repeater), Ok(Some(wanted)));
        assert_eq!(wanted.to_string(), "trim receive +500 Hz, transmit -200 Hz as kept on 25 Nov");
        assert_eq!(again.forget(&repeater), Ok(Some(wanted)));
        assert_eq!(again.of(&repeater), Ok(None));
        assert_eq!(again.of(&beacon).unwrap().unwrap().trim.receive, Hertz(-100));
    }

    #[test]
    fn a_trim_of_zero_is_none_to_keep() {
        let folder = tempfile::tempdir().unwrap();
        let kept = KeptTrims::in_folder(folder.path());
        let trimmed = job("repeater", 500);
        kept.keep(&trimmed, evening()).unwrap();
        kept.keep(&trimmed.with_trim(Trim::default()), evening()).unwrap();
        assert_eq!(kept.of(&trimmed), Ok(None));
    }

    #[test]
    fn a_damaged_file_is_named_and_set_aside_and_none_of_those_is_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let (kept, file) = (KeptTrims::in_folder(folder.path()), folder.path().join("trims.json"));
        let large = "{\"format\":1,\"trims\":[{\"catalog_number\":99002,\"link\":\"repeater\",\
                     \"receive\":-9223372036854775808,\"transmit\":0,\"kept\":\"2026-11-21T18:00:00Z\"}]}";
        for (number, text) in ["{\"format\":1,\"tri", "{\"format\":9,\"trims\":[]}", large].iter().enumerate()
        {
            std::fs::write(&file, text).unwrap();
            let error = kept.of(&job("repeater", 500)).unwrap_err();
            let aside = folder.path().join(format!("trims.damaged-{}", number + 1));
            assert!(error.contains(aside.to_str().unwrap()) && error.contains("trims.json"), "{error}");
            assert_eq!(std::fs::read_to_string(aside).unwrap(), *text);
            assert_eq!(kept.of(&job("repeater", 500)), Ok(None));
        }
    }
}
