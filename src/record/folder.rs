//! The folder of records: their names, how large they are, and which have to go.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use crate::store;
use crate::terms::Time;

/// What a record's name ends with.
const ENDING: &str = ".jsonl";

/// The folder of one station's records.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Records(PathBuf);

/// A record in the folder.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Found {
    /// What it is called: when it began, in UTC, and the satellite.
    pub name: String,
    /// Its file.
    pub file: PathBuf,
    /// Its size, bytes.
    pub bytes: u64,
}

impl Records {
    /// The records of the station with this state folder.
    pub fn in_folder(state: &Path) -> Self {
        Self(state.join("records"))
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.0
    }

    /// All records, the oldest first: their names begin with the time.
    ///
    /// # Errors
    /// What the system said; a folder that is not there has none.
    pub fn all(&self) -> io::Result<Vec<Found>> {
        let entries = match fs::read_dir(&self.0) {
            Ok(entries) => entries,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
            Err(error) => return Err(error),
        };
        let mut all = Vec::new();
        for entry in entries {
            let entry = entry?;
            let file_name = entry.file_name();
            let Some(name) = file_name.to_str().and_then(|name| name.strip_suffix(ENDING)) else { continue };
            // One that is removed at this moment is none.
            let Ok(data) = entry.metadata() else { continue };
            if data.is_file() {
                all.push(Found { name: name.to_owned(), file: entry.path(), bytes: data.len() });
            }
        }
        all.sort();
        Ok(all)
    }

    /// The record of this name, or the newest one for `last`. A name may be cut short where that
    /// leaves no doubt.
    ///
    /// # Errors
    /// In words, with what there is.
    pub fn find(&self, name: &str) -> Result<Found, String> {
        let folder = self.0.display();
        let mut all = self.all().map_err(|error| format!("{folder}: {error}"))?;
        if all.is_empty() {
            return Err(format!("there is no record in {folder}: one is made of each session of the daemon"));
        }
        if name == "last" {
            return all.pop().ok_or_else(|| format!("there is no record in {folder}"));
        }
        let name = name.strip_suffix(ENDING).unwrap_or(name);
        let meant: Vec<&Found> = match all.iter().find(|found| found.name == name) {
            Some(found) => vec![found],
            None => all.iter().filter(|found| found.name.contains(name)).collect(),
        };
        match meant.as_slice() {
            [one] => Ok((*one).clone()),
            [] => Err(format!("there is no record \"{name}\" in {folder}: see `beamhand record list`")),
            many => Err(format!("{} records are called so: see `beamhand record list`", many.len())),
        }
    }

    /// The file for a session that begins now.
    pub fn file_for(&self, begun: Time, satellite: &str) -> PathBuf {
        let is_plain = |c: char| c.is_ascii_alphanumeric() || c == '-';
        let satellite: String =
            satellite.chars().map(|c| if is_plain(c) { c } else { '-' }).take(40).collect();
        self.0.join(format!("{}-{satellite}{ENDING}", begun.format("%Y-%m-%dT%H-%M-%SZ")))
    }

    /// Removes the oldest records until no more than so many bytes are left. Makes the folder.
    ///
    /// # Errors
    /// What the system said.
    pub fn make_room(&self, most: u64) -> io::Result<()> {
        store::private_folder(&self.0)?;
        let all = self.all()?;
        let mut left: u64 = all.iter().map(|found| found.bytes).sum();
        for found in all {
            if left <= most {
                break;
            }
            fs::remove_file(&found.file)?;
            left = left.saturating_sub(found.bytes);
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::parse_time;

    fn folder_with(names: &[&str]) -> (tempfile::TempDir, Records) {
        let state = tempfile::tempdir().unwrap();
        let records = Records::in_folder(state.path());
        fs::create_dir_all(records.folder()).unwrap();
        for name in names {
            fs::write(records.folder().join(format!("{name}.jsonl")), [b'x'; 100]).unwrap();
        }
        (state, records)
    }

    fn names(records: &Records) -> Vec<String> {
        records.all().unwrap().into_iter().map(|found| found.name).collect()
    }

    #[test]
    fn a_name_tells_when_and_which_satellite_and_is_no_path() {
        let state = Path::new("/state");
        let begun = parse_time("2026-11-25T18:30:24.9Z").unwrap();
        let file = Records::in_folder(state).file_for(begun, "../GANNET 1/\u{f6}");
        assert_eq!(file, Path::new("/state/records/2026-11-25T18-30-24Z----GANNET-1--.jsonl"));
    }

    #[test]
    fn the_oldest_go_first_and_nothing_else() {
        let (_state, records) = folder_with(&["2026-11-25-c", "2026-11-23-a", "2026-11-24-b"]);
        fs::write(records.folder().join("letter.txt"), [0; 500]).unwrap();
        records.make_room(300).unwrap();
        assert_eq!(names(&records).len(), 3);
        records.make_room(299).unwrap();
        assert_eq!(names(&records), ["2026-11-24-b", "2026-11-25-c"]);
        records.make_room(0).unwrap();
        assert!(names(&records).is_empty() && records.folder().join("letter.txt").exists());
    }

    #[test]
    fn a_record_is_found_by_its_name_or_part_of_it_or_as_the_last() {
        let (_state, records) = folder_with(&["2026-11-23T10-GANNET-1", "2026-11-24T10-TERN-1"]);
        let name = |wanted| records.find(wanted).map(|found| found.name);
        assert_eq!(name("last").unwrap(), "2026-11-24T10-TERN-1");
        assert_eq!(name("GANNET").unwrap(), "2026-11-23T10-GANNET-1");
        assert_eq!(name("2026-11-23T10-GANNET-1.jsonl").unwrap(), "2026-11-23T10-GANNET-1");
        assert!(name("2026").unwrap_err().contains("2 records are called so"));
        assert!(name("SKUA").unwrap_err().contains("beamhand record list"));
    }

    #[test]
    fn where_there_is_no_folder_there_is_no_record() {
        let state = tempfile::tempdir().unwrap();
        let records = Records::in_folder(state.path());
        assert_eq!(records.all().unwrap(), []);
        assert!(records.find("last").unwrap_err().contains("there is no record"));
    }
}
