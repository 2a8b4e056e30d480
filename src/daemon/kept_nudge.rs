//! The shift of the beam that the operator found for the mount and kept, on disk.

use std::io;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::store;
use crate::terms::{AzEl, Time};

/// The format that this version writes and reads.
const FORMAT: u32 = 1;
/// More than a nudge can be, degrees.
const TOO_FAR: f64 = 45.0;

#[derive(Serialize, Deserialize)]
struct File {
    format: u32,
    rotator: String,
    azimuth: f64,
    elevation: f64,
    kept: Time,
}

/// The file of one station's rotator. Its functions read and write the disk: not for the daemon's
/// loop.
#[derive(Debug, Clone)]
pub(super) struct KeptNudge {
    path: PathBuf,
    rotator: String,
}

impl KeptNudge {
    pub(super) fn in_folder(state: &Path, rotator: &str) -> Self {
        Self { path: state.join("nudge.json"), rotator: rotator.to_owned() }
    }

    /// What is kept for this rotator. A damaged file is set aside, and named in the error.
    pub(super) fn load(&self) -> Result<Option<AzEl>, String> {
        let Some(bytes) = store::read(&self.path).map_err(|error| self.failed(&error))? else {
            return Ok(None);
        };
        match understood(&bytes) {
            Ok(file) => {
                let of_this_one = file.rotator == self.rotator;
                Ok(of_this_one.then(|| AzEl::new(file.azimuth, file.elevation)))
            }
            Err(why) => {
                let aside = store::set_aside(&self.path).map_err(|error| self.failed(&error))?;
                let (path, aside) = (self.path.display(), aside.display());
                Err(format!("no nudge is kept any more: {path} can't be read ({why}); it is kept as {aside}"))
            }
        }
    }

    /// Keeps this shift in place of what was kept.
    pub(super) fn keep(&self, by: AzEl, kept: Time) -> Result<(), String> {
        let AzEl { azimuth, elevation } = by;
        let file = File { format: FORMAT, rotator: self.rotator.clone(), azimuth, elevation, kept };
        self.write(&file).map_err(|error| self.failed(&error))
    }

    fn write(&self, file: &File) -> io::Result<()> {
        if let Some(folder) = self.path.parent() {
            std::fs::create_dir_all(folder)?;
        }
        store::write_atomic(&self.path, &serde_json::to_vec_pretty(file)?)
    }

    fn failed(&self, error: &io::Error) -> String {
        format!("{}: {error}", self.path.display())
    }
}

fn understood(bytes: &[u8]) -> Result<File, String> {
    let file: File = serde_json::from_slice(bytes).map_err(|error| error.to_string())?;
    if file.format != FORMAT {
        return Err(format!("it has format {}, this version reads {FORMAT}", file.format));
    }
    // What is no number fails here as well.
    let is_near = |degrees: f64| degrees.abs() <= TOO_FAR;
    if !is_near(file.azimuth) || !is_near(file.elevation) {
        return Err("it is too far".to_owned());
    }
    Ok(file)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::parse_time;

    #[test]
    fn a_shift_is_kept_for_its_rotator_until_another_one_is() {
        let folder = tempfile::tempdir().unwrap();
        let evening = parse_time("2026-11-25T18:00:00Z").unwrap();
        let mast = KeptNudge::in_folder(&folder.path().join("state"), "mast");
        assert_eq!(mast.load(), Ok(None));
        mast.keep(AzEl::new(1.5, -0.5), evening).unwrap();
        assert_eq!(mast.load(), Ok(Some(AzEl::new(1.5, -0.5))));
        assert_eq!(KeptNudge::in_folder(&folder.path().join("state"), "tower").load(), Ok(None));
        mast.keep(AzEl::new(0.0, 0.0), evening).unwrap();
        assert_eq!(mast.load(), Ok(Some(AzEl::new(0.0, 0.0))));
    }

    #[test]
    fn a_damaged_file_is_named_and_set_aside() {
        let folder = tempfile::tempdir().unwrap();
        let mast = KeptNudge::in_folder(folder.path(), "mast");
        let far = "{\"format\":1,\"rotator\":\"mast\",\"azimuth\":400,\"elevation\":0,\
                   \"kept\":\"2026-11-21T18:00:00Z\"}";
        for text in ["{\"format\":1", "{\"format\":9}", far] {
            std::fs::write(folder.path().join("nudge.json"), text).unwrap();
            let error = mast.load().unwrap_err();
            assert!(error.contains("nudge.damaged-"), "{error}");
            assert_eq!(mast.load(), Ok(None));
        }
    }
}
