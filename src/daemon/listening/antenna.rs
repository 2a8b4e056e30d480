//! What the antenna is called, over restarts: as the operator last said, until the configuration says
//! something new.

use std::io;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::store;

/// The format that this version writes and reads.
const FORMAT: u32 = 1;

#[derive(Serialize, Deserialize)]
struct File {
    format: u32,
    /// As the operator said.
    label: String,
    /// What the configuration said then.
    configured: String,
}

/// The label in force, and the file that keeps it. Loading and keeping touch the disk.
#[derive(Debug, Clone)]
pub(in crate::daemon) struct Antenna {
    file: PathBuf,
    configured: String,
    said: Option<String>,
}

impl Antenna {
    /// As the last daemon was told, or else as the configuration says. What can't be read is told in the
    /// log.
    pub(in crate::daemon) fn load(state: &Path, configured: &str) -> Self {
        let file = state.join("antenna.json");
        let kept = kept(&file).unwrap_or_else(|why| {
            tracing::warn!("{}: {why}; the antenna is called as the configuration says", file.display());
            None
        });
        let said = kept.filter(|kept| kept.configured == configured).map(|kept| kept.label);
        Self { file, configured: configured.to_owned(), said }
    }

    /// The label; empty where nobody gave one.
    pub(in crate::daemon) fn label(&self) -> &str {
        self.said.as_deref().unwrap_or(&self.configured)
    }

    /// From now on it is called so.
    pub(in crate::daemon) fn call(&mut self, label: String) {
        self.said = Some(label);
    }

    /// The configuration was read again: what is new in it counts.
    pub(in crate::daemon) fn configure(&mut self, configured: &str) {
        if self.configured != configured {
            (self.configured, self.said) = (configured.to_owned(), None);
        }
    }

    /// Stores it.
    ///
    /// # Errors
    /// What the system said.
    pub(in crate::daemon) fn keep(&self) -> io::Result<()> {
        let Some(label) = self.said.clone() else { return store::remove(&self.file) };
        if let Some(folder) = self.file.parent() {
            std::fs::create_dir_all(folder)?;
        }
        let file = File { format: FORMAT, label, configured: self.configured.clone() };
        store::write_atomic(&self.file, &serde_json::to_vec_pretty(&file)?)
    }
}

/// A damaged file is set aside, and that is said in the error.
fn kept(file: &Path) -> Result<Option<File>, String> {
    let Some(bytes) = store::read(file).map_err(|error| error.to_string())? else { return Ok(None) };
    understood(&bytes).map(Some).or_else(|why| {
        let aside = store::set_aside(file).map_err(|error| format!("{why}; {error}"))?;
        Err(format!("{why}; it is kept as {}", aside.display()))
    })
}

fn understood(bytes: &[u8]) -> Result<File, String> {
    let file: File = serde_json::from_slice(bytes).map_err(|error| error.to_string())?;
    match file.format {
        FORMAT => Ok(file),
        other => Err(format!("it has format {other}, this version reads {FORMAT}")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_said_last_counts_until_the_configuration_says_something_new() {
        let folder = tempfile::tempdir().unwrap();
        let state = folder.path().join("state");
        let mut antenna = Antenna::load(&state, "wire");
        assert_eq!(antenna.label(), "wire");
        antenna.call("beam".to_owned());
        antenna.keep().unwrap();
        assert_eq!(Antenna::load(&state, "wire").label(), "beam");
        assert_eq!(Antenna::load(&state, "dish").label(), "dish");
        antenna.configure("wire");
        assert_eq!(antenna.label(), "beam");
        antenna.configure("dish");
        assert_eq!(antenna.label(), "dish");
        std::fs::write(state.join("antenna.json"), "{").unwrap();
        assert_eq!(Antenna::load(&state, "wire").label(), "wire");
        assert_eq!(std::fs::read_to_string(state.join("antenna.damaged-1")).unwrap(), "{");
        assert!(!state.join("antenna.json").exists());
    }
}
