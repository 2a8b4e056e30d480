//! The log's file, and what its lines come to.

use std::path::{Path, PathBuf};

use chrono::Utc;

use crate::cli::Failure;
use crate::cli::text::remark;
use crate::config::{Config, contact_log};
use crate::contacts::{Entry, Event, Log, What};
use crate::store::{Journal, read_journal};

/// So many bad lines are named one by one.
const NAMED: usize = 20;

/// The log, held: nobody else writes to it meanwhile.
pub(in crate::cli) struct Book {
    path: PathBuf,
    journal: Journal,
    pub(in crate::cli) log: Log,
}

impl Book {
    /// Makes the file where there is none.
    pub(in crate::cli) fn open(path: &Path) -> Result<Self, Failure> {
        let opened = Journal::open(path).and_then(|mut journal| {
            let bytes = journal.read()?;
            Ok((journal, bytes))
        });
        let (journal, bytes) = opened.map_err(|error| failed(path, &error))?;
        Ok(Self { path: path.to_owned(), journal, log: understood(path, &bytes) })
    }

    /// Writes down what happened to contacts; it is on the disk when this returns. In the log it is then
    /// too.
    pub(in crate::cli) fn write(&mut self, happened: Vec<(u32, What)>) -> Result<(), Failure> {
        let now = Utc::now();
        let events: Vec<Event> = happened.into_iter().map(|(id, what)| Event::new(id, now, what)).collect();
        let lines: String = events.iter().map(Event::line).collect();
        self.journal.append(lines.as_bytes()).map_err(|error| failed(&self.path, &error))?;
        events.into_iter().try_for_each(|event| self.log.take(event)).map_err(Failure::Failed)
    }

    /// A contact by its number.
    pub(in crate::cli) fn entry(&self, id: u32) -> Result<&Entry, Failure> {
        self.log.entry(id).ok_or_else(|| {
            let path = self.path.display();
            Failure::Failed(format!("{path} has no contact {id}; `beamhand contacts list` shows the numbers"))
        })
    }
}

/// The log as it is; nothing where there is no file yet.
pub(super) fn read_log(path: &Path) -> Result<Log, Failure> {
    let bytes = read_journal(path).map_err(|error| failed(path, &error))?;
    Ok(understood(path, &bytes.unwrap_or_default()))
}

/// The file that is named, else the configuration's, else the user's own.
pub(in crate::cli) fn log_path(named: Option<&Path>, config: Option<&Config>) -> Result<PathBuf, Failure> {
    let configured = config.and_then(|config| config.contact_log.as_deref());
    let own = || contact_log(&|name| std::env::var_os(name));
    named.or(configured).map(Path::to_owned).or_else(own).ok_or_else(|| {
        Failure::Failed("where is the log? HOME is not set: name a file with --log".to_owned())
    })
}

fn understood(path: &Path, bytes: &[u8]) -> Log {
    let log = Log::read(bytes);
    let bad = log.complaints();
    for complaint in bad.iter().take(NAMED) {
        remark(format_args!("{}:{}: passed over: {}", path.display(), complaint.line, complaint.why));
    }
    if bad.len() > NAMED {
        remark(format_args!("{}: {} more lines are bad", path.display(), bad.len() - NAMED));
    }
    log
}

fn failed(path: &Path, error: &std::io::Error) -> Failure {
    Failure::Failed(format!("{}: {error}", path.display()))
}
