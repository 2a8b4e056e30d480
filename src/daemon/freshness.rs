//! Satellites and element sets as the files have them now; they are read only when they changed.

use std::os::unix::fs::MetadataExt as _;
use std::path::Path;
use std::sync::{Mutex, PoisonError};

use crate::almanac::Shelf;
use crate::config::{Config, load_satellites};

use super::Catalog;

/// What tells one version of a file from another: its inode, size, and time of change to the
/// nanosecond. `None`: there is no file.
type Mark = Option<(u64, u64, i64, i64)>;

/// The files that a configuration names, and what was last read of them. Its functions look at
/// the disk: not for the daemon's loop.
pub struct Files {
    config: Config,
    read: Mutex<Option<(Vec<Mark>, Catalog)>>,
}

impl Files {
    /// Nothing is read yet.
    pub fn new(config: Config) -> Self {
        Self { config, read: Mutex::default() }
    }

    /// What names them.
    pub fn config(&self) -> &Config {
        &self.config
    }

    /// The catalog, read again if any file is another one than the last time.
    ///
    /// # Errors
    /// The satellites file can't be used, in words.
    pub fn catalog(&self) -> Result<Catalog, String> {
        let mut read = self.read.lock().unwrap_or_else(PoisonError::into_inner);
        // Before reading: what changes meanwhile is then noticed the next time.
        let marks = self.marks();
        if let Some((_, catalog)) = read.as_ref().filter(|(known, _)| *known == marks) {
            return Ok(catalog.clone());
        }
        let satellites =
            load_satellites(&self.config.files.satellites).map_err(|errors| errors.to_string())?;
        let (catalog, complaints) = Catalog::load(&self.config, satellites);
        if read.is_some() {
            tracing::info!("satellites or elements have changed and were read again");
            complaints.iter().for_each(|complaint| tracing::warn!("{complaint}"));
        }
        *read = Some((marks, catalog.clone()));
        Ok(catalog)
    }

    fn marks(&self) -> Vec<Mark> {
        let files = &self.config.files;
        let sets = Shelf::in_folder(&files.state).sets_file();
        let all = files.elements.iter().chain([&files.satellites, &sets]);
        all.map(|file| mark(file)).collect()
    }
}

fn mark(file: &Path) -> Mark {
    let data = file.metadata().ok()?;
    Some((data.ino(), data.size(), data.mtime(), data.mtime_nsec()))
}
