//! The two files.

use std::fs::File;
use std::io;
use std::path::{Path, PathBuf};

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use super::{Held, Record, Sets};
use crate::store;

/// The format that this version writes and reads.
const FORMAT: u32 = 1;

/// How large either file is at most, bytes: 70,000 satellites, each with all its misses.
const LARGEST: u64 = 64 << 20;

/// Either file.
#[derive(Serialize, Deserialize)]
struct Filed<T> {
    format: u32,
    entries: Vec<T>,
}

/// The folder with the files. Whoever changes one holds a lock meanwhile; who reads needs none.
#[derive(Debug, Clone)]
pub struct Shelf {
    folder: PathBuf,
}

impl Shelf {
    /// In a station's state folder.
    pub fn in_folder(state: &Path) -> Self {
        Self { folder: state.join("elements") }
    }

    /// The file of the sets.
    pub fn sets_file(&self) -> PathBuf {
        self.folder.join("sets.json")
    }

    fn sources_file(&self) -> PathBuf {
        self.folder.join("sources.json")
    }

    /// The sets; none where there is no file yet.
    ///
    /// # Errors
    /// In words, with the file's name.
    pub fn sets(&self) -> Result<Sets, String> {
        Ok(load::<Held>(&self.sets_file()).map_err(Unread::told)?.into_iter().collect())
    }

    /// Changes the sets; they are written only if `act` says that they are other than before.
    ///
    /// # Errors
    /// In words, with the file's name.
    pub fn change_sets<T>(&self, act: impl FnOnce(&mut Sets) -> (T, bool)) -> Result<T, String> {
        let _lock = self.lock()?;
        let mut sets = self.sets()?;
        let (answer, changed) = act(&mut sets);
        if changed {
            write(&self.sets_file(), sets.iter().collect())?;
        }
        Ok(answer)
    }

    /// What is known of the sources.
    ///
    /// # Errors
    /// In words, with the file's name.
    pub fn records(&self) -> Result<Vec<Record>, String> {
        load(&self.sources_file()).map_err(Unread::told)
    }

    /// Writes down what is known of a source, in place of what was.
    ///
    /// # Errors
    /// In words, with the file's name.
    pub fn note(&self, record: &Record) -> Result<(), String> {
        self.change_record(&record.name, |_| (Some(record.clone()), ()))
    }

    /// Changes what is known of the source of this name; nobody else does meanwhile. What `act` gives is
    /// written down, if it gives anything.
    ///
    /// # Errors
    /// In words, with the file's name.
    pub fn change_record<T>(
        &self,
        name: &str,
        act: impl FnOnce(Option<Record>) -> (Option<Record>, T),
    ) -> Result<T, String> {
        let _lock = self.lock()?;
        let mut records = self.records()?;
        let place = records.iter().position(|record| record.name == name);
        let (new, answer) = act(place.map(|place| records.remove(place)));
        if let Some(new) = new {
            records.push(new);
            write(&self.sources_file(), records)?;
        }
        Ok(answer)
    }

    /// Sets aside, under other names, whichever of the files can't be understood, so that what comes in next
    /// begins a new one; says so, in words.
    ///
    /// # Errors
    /// In words, with the file's name.
    pub fn mend(&self) -> Result<Vec<String>, String> {
        let _lock = self.lock()?;
        let mended = [mended::<Held>(&self.sets_file())?, mended::<Record>(&self.sources_file())?];
        Ok(mended.into_iter().flatten().collect())
    }

    /// Held until it is dropped; waits for whoever else has it.
    fn lock(&self) -> Result<File, String> {
        let lock = || -> io::Result<File> {
            std::fs::create_dir_all(&self.folder)?;
            let folder = File::open(&self.folder)?;
            folder.lock()?;
            // Whoever was writing has the lock no more: it was killed.
            store::sweep(&self.folder)?;
            Ok(folder)
        };
        lock().map_err(|error| format!("{}: {error}", self.folder.display()))
    }
}

/// Why a file was not read, in words.
enum Unread {
    /// The system did not let it be read.
    Failed(String),
    /// It holds something else.
    NotUnderstood(String),
}

impl Unread {
    fn told(self) -> String {
        match self {
            Self::Failed(why) => why,
            Self::NotUnderstood(why) => {
                format!("{why}; `beamhand elements update` or `import` sets it aside and begins another")
            }
        }
    }
}

fn load<T: DeserializeOwned>(path: &Path) -> Result<Vec<T>, Unread> {
    let name = path.display();
    let read = store::read_up_to(path, LARGEST);
    let Some(bytes) = read.map_err(|error| Unread::Failed(format!("{name}: {error}")))? else {
        return Ok(Vec::new());
    };
    let filed: Filed<T> = serde_json::from_slice(&bytes)
        .map_err(|error| Unread::NotUnderstood(format!("{name} can't be read ({error})")))?;
    if filed.format != FORMAT {
        let why = format!("{name} has format {}, this version reads {FORMAT}", filed.format);
        return Err(Unread::NotUnderstood(why));
    }
    Ok(filed.entries)
}

fn mended<T: DeserializeOwned>(path: &Path) -> Result<Option<String>, String> {
    match load::<T>(path) {
        Ok(_) => Ok(None),
        Err(Unread::Failed(why)) => Err(why),
        Err(Unread::NotUnderstood(why)) => {
            let aside = store::set_aside(path).map_err(|error| format!("{why}, nor set aside: {error}"))?;
            Ok(Some(format!("{why}; it is kept as {}", aside.display())))
        }
    }
}

fn write<T: Serialize>(path: &Path, entries: Vec<T>) -> Result<(), String> {
    let bytes = serde_json::to_vec(&Filed { format: FORMAT, entries }).map_err(io::Error::from);
    let fits = |bytes: Vec<u8>| {
        // What could not be read again must not take the place of what can.
        let is_fit = bytes.len() as u64 <= LARGEST;
        let why = format!("it would become larger than {} MiB; nothing was changed", LARGEST >> 20);
        is_fit.then_some(bytes).ok_or_else(|| io::Error::other(why))
    };
    let written = bytes.and_then(fits).and_then(|bytes| store::write_shared(path, &bytes));
    written.map_err(|error| format!("{}: {error}", path.display()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sky::{ElementSet, read_elements};
    use crate::terms::{Time, later};

    const DEMO: &str = include_str!("../../config/demo/elements.txt");

    fn fill(shelf: &Shelf, source: &str) {
        let take = |sets: &mut Sets| {
            let tally = sets.take(read_elements(DEMO).sets, source, read_elements(DEMO).sets[0].epoch);
            (tally, tally.is_change())
        };
        shelf.change_sets(take).unwrap();
    }

    #[test]
    fn what_was_taken_in_is_there_again_to_the_last_digit() {
        let folder = tempfile::tempdir().unwrap();
        let shelf = Shelf::in_folder(folder.path());
        assert!(shelf.sets().unwrap().is_empty());
        fill(&shelf, "a");
        let held: Vec<_> = shelf.sets().unwrap().iter().map(|held| held.set.clone()).collect();
        let mut wanted = read_elements(DEMO).sets;
        wanted.sort_by_key(|set| set.catalog_number);
        assert_eq!(held, wanted);
        let text = std::fs::read_to_string(shelf.sets_file()).unwrap();
        assert!(text.starts_with("{\"format\":1,"), "{text}");
    }

    /// Shelves that were filled before misses were remembered have none.
    #[test]
    fn misses_are_there_again_and_may_be_absent() {
        let folder = tempfile::tempdir().unwrap();
        let shelf = Shelf::in_folder(folder.path());
        fill(&shelf, "a");
        let text = std::fs::read_to_string(shelf.sets_file()).unwrap();
        assert!(!text.contains("misses"), "{text}");
        let miss = r#""came":"2026-11-25T12:00:00Z","misses":[{"age_days":0.5,"along_km":-1.25,"cross_km":0.1,"radial_km":0.0}]"#;
        let came = text.find("\"came\"").unwrap();
        let end = came + text[came..].find('}').unwrap();
        std::fs::write(shelf.sets_file(), [&text[..came], miss, &text[end..]].concat()).unwrap();
        let misses: Vec<_> = shelf.sets().unwrap().iter().map(|held| held.misses.clone()).collect();
        assert_eq!(misses.concat().len(), 1);
        assert_eq!((misses[0][0].age_days, misses[0][0].along_km), (0.5, -1.25));
    }

    #[test]
    fn nothing_is_written_where_nothing_changed() {
        let folder = tempfile::tempdir().unwrap();
        let shelf = Shelf::in_folder(folder.path());
        fill(&shelf, "a");
        let before = std::fs::metadata(shelf.sets_file()).unwrap();
        fill(&shelf, "a");
        let after = std::fs::metadata(shelf.sets_file()).unwrap();
        assert_eq!(std::os::unix::fs::MetadataExt::ino(&before), std::os::unix::fs::MetadataExt::ino(&after));
    }

    #[test]
    fn a_file_that_is_not_understood_is_named_and_left_alone_until_it_is_mended() {
        let folder = tempfile::tempdir().unwrap();
        let shelf = Shelf::in_folder(folder.path());
        fill(&shelf, "a");
        for (text, says) in [("{\"format\":2,\"entries\":[]}", "has format 2"), ("{\"form", "can't be read")]
        {
            std::fs::write(shelf.sets_file(), text).unwrap();
            let error = shelf.change_sets(|_| ((), true)).unwrap_err();
            assert!(
                error.contains("sets.json") && error.contains(says) && error.contains("sets it aside"),
                "{error}"
            );
            assert_eq!(std::fs::read_to_string(shelf.sets_file()).unwrap(), text);
            let said = shelf.mend().unwrap().concat();
            let (_, aside) = said.split_once("it is kept as ").unwrap();
            assert!(said.contains("sets.json") && said.contains(says), "{said}");
            assert_eq!(std::fs::read_to_string(aside).unwrap(), text);
            fill(&shelf, "a");
            assert_eq!(shelf.mend(), Ok(Vec::new()));
            assert!(!shelf.sets().unwrap().is_empty());
        }
    }

    #[test]
    fn what_could_not_be_read_again_is_not_written() {
        let folder = tempfile::tempdir().unwrap();
        let shelf = Shelf::in_folder(folder.path());
        fill(&shelf, "a");
        let before = std::fs::read(shelf.sets_file()).unwrap();
        let far_too_long = "x".repeat(13 << 20);
        let now = read_elements(DEMO).sets[0].epoch;
        let newer = read_elements(DEMO)
            .sets
            .into_iter()
            .map(|set| ElementSet { epoch: later(set.epoch, 60.0), ..set });
        let error =
            shelf.change_sets(|sets| (sets.take(newer.collect(), &far_too_long, now), true)).unwrap_err();
        assert!(
            error.contains("sets.json: it would become larger than 64 MiB; nothing was changed"),
            "{error}"
        );
        assert_eq!(std::fs::read(shelf.sets_file()).unwrap(), before);
    }

    #[test]
    fn one_who_changes_waits_for_another_and_loses_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let shelf = Shelf::in_folder(folder.path());
        let note =
            |name: String| shelf.note(&Record { name, asked: Some(Time::default()), ..Record::default() });
        std::thread::scope(|scope| {
            for thread in 0..4 {
                scope.spawn(move || (0..10).for_each(|n| note(format!("{thread}-{n}")).unwrap()));
            }
        });
        assert_eq!(shelf.records().unwrap().len(), 40);
    }
}
