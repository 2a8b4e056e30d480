//! The pass that the session is at, on disk: a daemon that was killed in the middle of it goes on.

use std::io;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::control::StartParams;
use crate::link::Trim;
use crate::session::{Job, Phase, Session};
use crate::store;
use crate::terms::{AzEl, Hertz, Time};

/// The format that this version writes and reads.
const FORMAT: u32 = 1;

#[derive(Serialize, Deserialize)]
struct File {
    format: u32,
    undertaking: Undertaking,
}

/// What is begun again: how it was asked for, and what the operator has found since.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Undertaking {
    /// The pass's LOS; after that there is nothing to go on with.
    pub(super) until: Time,
    pub(super) start: StartParams,
    trim_receive: Hertz,
    trim_transmit: Hertz,
    /// The session's shift of the beam.
    pub(super) nudge: AzEl,
}

impl Undertaking {
    /// What the session is at; what it is only ending is not.
    pub(super) fn of(session: &Session) -> Option<Self> {
        let on = session.job().filter(|_| !matches!(session.phase(), Phase::Idle | Phase::Finishing));
        // What is only listened to begins again by itself.
        let job = session.next().or(on).filter(|job| !job.only_listens())?;
        let link = job.tuning.link();
        let trim = job.tuning.trim();
        Some(Self {
            until: job.span.until,
            start: StartParams {
                satellite: job.satellite.clone(),
                link: Some(link.name.clone()),
                fixed_uplink: link.uplink.as_ref().is_some_and(|uplink| uplink.fixed),
                when_free: job.when_free,
                instead: false,
            },
            trim_receive: trim.receive,
            trim_transmit: trim.transmit,
            nudge: session.nudge(),
        })
    }

    /// The job of before, planned anew.
    pub(super) fn go_on(&self, job: &Job) -> Job {
        job.with_trim(Trim { receive: self.trim_receive, transmit: self.trim_transmit })
    }
}

/// The file of one station. Its functions read and write the disk: not for the daemon's loop.
#[derive(Debug, Clone)]
pub(super) struct UndertakingFile(PathBuf);

impl UndertakingFile {
    pub(super) fn in_folder(state: &Path) -> Self {
        Self(state.join("session.json"))
    }

    /// What the last daemon was at when it was killed. A damaged file is set aside, and named in the
    /// error.
    pub(super) fn load(&self) -> Result<Option<Undertaking>, String> {
        let Some(bytes) = store::read(&self.0).map_err(|error| self.failed(&error))? else { return Ok(None) };
        understood(&bytes).map(Some).or_else(|why| {
            let aside = store::set_aside(&self.0).map_err(|error| self.failed(&error))?;
            let (path, aside) = (self.0.display(), aside.display());
            Err(format!("{path} can't be read ({why}); it is kept as {aside}"))
        })
    }

    /// Stores it in place of what was there; or removes that.
    pub(super) fn store(&self, undertaking: Option<Undertaking>) -> io::Result<()> {
        let Some(undertaking) = undertaking else { return store::remove(&self.0) };
        if let Some(folder) = self.0.parent() {
            std::fs::create_dir_all(folder)?;
        }
        store::write_atomic(&self.0, &serde_json::to_vec_pretty(&File { format: FORMAT, undertaking })?)
    }

    fn failed(&self, error: &io::Error) -> String {
        format!("{}: {error}", self.0.display())
    }
}

fn understood(bytes: &[u8]) -> Result<Undertaking, String> {
    let file: File = serde_json::from_slice(bytes).map_err(|error| error.to_string())?;
    match file.format {
        FORMAT => Ok(file.undertaking),
        other => Err(format!("it has format {other}, this version reads {FORMAT}")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn undertaking() -> Undertaking {
        Undertaking {
            until: Time::default(),
            start: StartParams {
                satellite: "GANNET-1".into(),
                link: Some("repeater".into()),
                ..Default::default()
            },
            trim_receive: Hertz(-300),
            trim_transmit: Hertz(0),
            nudge: AzEl::new(1.5, -0.5),
        }
    }

    #[test]
    fn what_was_stored_comes_back_and_is_gone_when_it_is_over() {
        let folder = tempfile::tempdir().unwrap();
        let file = UndertakingFile::in_folder(&folder.path().join("state"));
        assert_eq!(file.load(), Ok(None));
        file.store(Some(undertaking())).unwrap();
        assert_eq!(file.load(), Ok(Some(undertaking())));
        file.store(None).unwrap();
        file.store(None).unwrap();
        assert_eq!(file.load(), Ok(None));
    }

    #[test]
    fn cut_at_any_byte_it_is_set_aside_and_the_next_start_finds_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let file = UndertakingFile::in_folder(folder.path());
        file.store(Some(undertaking())).unwrap();
        let whole = std::fs::read(&file.0).unwrap();
        for length in 0..whole.len() {
            std::fs::write(&file.0, &whole[..length]).unwrap();
            assert!(file.load().is_err(), "{length} of {} bytes", whole.len());
            assert_eq!(file.load(), Ok(None));
        }
    }
}
