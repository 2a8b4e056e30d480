//! `beamhand contacts import`.

use std::collections::HashMap;
use std::io::Read as _;
use std::path::{Path, PathBuf};

use clap::Args;

use crate::cli::Failure;
use crate::cli::text::{remark, say};
use crate::contacts::adif::{Names, read};
use crate::contacts::{Complaint, Contact, What};
use crate::store::read_up_to;

use super::book::Book;

/// The most that a file may hold, bytes: some hundred thousand contacts.
const LARGEST: u64 = 32 << 20;

/// So many bad records are named one by one.
const NAMED: usize = 20;

/// Takes in another log's contacts, as ADIF text; those that are there already are passed over
#[derive(Args, Debug)]
pub(super) struct Import {
    /// The file; - is standard input
    #[arg(value_name = "FILE|-")]
    file: PathBuf,
}

impl Import {
    pub(super) fn run(self, path: &Path, names: &Names) -> Result<(), Failure> {
        let (name, bytes) = self.bytes()?;
        let file = read(&bytes, names);
        name_refused(&name, &file.refused);
        if file.contacts.is_empty() {
            return Err(Failure::Failed(format!("{name} holds no contact; nothing was changed")));
        }
        let mut book = Book::open(path)?;
        let all = file.contacts.len();
        // By station and minute: only those can be the same.
        let place = |contact: &Contact| (contact.callsign.clone(), contact.time.timestamp().div_euclid(60));
        let mut known: HashMap<_, Vec<Contact>> = HashMap::new();
        for (_, contact) in book.log.contacts() {
            known.entry(place(contact)).or_default().push(contact.clone());
        }
        let mut id = book.log.next_id();
        let mut added = Vec::new();
        for contact in file.contacts {
            let alike = known.entry(place(&contact)).or_default();
            if alike.iter().any(|known| known.is_same(&contact)) {
                continue;
            }
            alike.push(contact.clone());
            added.push((id, What::Added(contact.into())));
            id = id.saturating_add(1);
        }
        let (new, bad) = (added.len(), file.refused.len());
        if new > 0 {
            book.write(added)?;
        }
        say(format_args!("{name}: {new} new, {} there already, {bad} bad and left out", all - new))
    }

    fn bytes(&self) -> Result<(String, Vec<u8>), Failure> {
        if self.file == Path::new("-") {
            let mut bytes = Vec::new();
            std::io::stdin().lock().take(LARGEST + 1).read_to_end(&mut bytes)?;
            if bytes.len() as u64 > LARGEST {
                return Err(Failure::Failed(format!("standard input is larger than {} MiB", LARGEST >> 20)));
            }
            return Ok(("standard input".to_owned(), bytes));
        }
        let name = self.file.display().to_string();
        let missing = || Failure::Failed(format!("{name}: there is no such file"));
        match read_up_to(&self.file, LARGEST) {
            Ok(bytes) => Ok((name.clone(), bytes.ok_or_else(missing)?)),
            Err(error) => Err(Failure::Failed(format!("{name}: {error}"))),
        }
    }
}

fn name_refused(file: &str, refused: &[Complaint]) {
    for bad in refused.iter().take(NAMED) {
        remark(format_args!("{file}:{}: left out: {}", bad.line, bad.why));
    }
    if refused.len() > NAMED {
        remark(format_args!("{file}: {} more are bad", refused.len() - NAMED));
    }
}
