//! `beamhand contacts export`.

use std::path::{Path, PathBuf};

use chrono::Utc;
use clap::Args;

use crate::cli::Failure;
use crate::cli::text::{remark, show};
use crate::contacts::adif::{Names, write};
use crate::contacts::{Contact, Entry};
use crate::store::write_shared;

use super::book::read_log;
use super::list::Which;

/// Writes the contacts in the form in which logs are exchanged
#[derive(Args, Debug)]
pub(super) struct Export {
    /// As ADIF text, into this file, which is replaced; - is standard output
    #[arg(long, value_name = "FILE|-")]
    adif: PathBuf,
    #[command(flatten)]
    which: Which,
}

impl Export {
    pub(super) fn run(self, path: &Path, names: &Names) -> Result<(), Failure> {
        let log = read_log(path)?;
        let found = self.which.of(&log);
        let counts = |(_, entry): &(u32, &Entry)| !entry.is_removed;
        let contacts: Vec<&Contact> =
            found.into_iter().filter(counts).map(|(_, entry)| &entry.contact).collect();
        let text = write(contacts.iter().copied(), names, Utc::now());
        if !text.is_ascii() {
            remark(
                "some names or notes have letters beyond ASCII, which the format does not know: programs that \
                 read the file may show them wrong",
            );
        }
        if self.adif == Path::new("-") {
            return show(text);
        }
        let same = |one: &Path, other: &Path| one.canonicalize().ok().zip(other.canonicalize().ok());
        if same(&self.adif, path).is_some_and(|(one, other)| one == other) {
            return Err(Failure::Usage("that is the log itself: name another file".to_owned()));
        }
        write_shared(&self.adif, text.as_bytes())
            .map_err(|error| Failure::Failed(format!("{}: {error}", self.adif.display())))?;
        show(format_args!("{}: {} contacts\n", self.adif.display(), contacts.len()))
    }
}
