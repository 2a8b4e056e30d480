//! `beamhand contacts remove` and `restore`.

use std::path::Path;

use clap::Args;

use crate::cli::Failure;
use crate::cli::text::{say, wrap};
use crate::contacts::What;

use super::book::Book;
use super::words::sentence;

/// Lets a contact count no more; its lines stay in the file
#[derive(Args, Debug)]
pub(super) struct Remove {
    /// Its number, as `beamhand contacts list` shows it
    id: u32,
}

/// Lets a contact that was removed count again
#[derive(Args, Debug)]
pub(super) struct Restore {
    /// Its number, as `beamhand contacts list --removed` shows it
    id: u32,
}

impl Remove {
    pub(super) fn run(self, path: &Path) -> Result<(), Failure> {
        let mut book = Book::open(path)?;
        let id = self.id;
        let entry = book.entry(id)?;
        if entry.is_removed {
            return Err(Failure::Failed(format!("contact {id} was removed before")));
        }
        let told = sentence(&entry.contact);
        book.write(vec![(id, What::Removed)])?;
        say(wrap(&format!("contact {id} is removed: {told}")).join("\n"))?;
        say(format_args!("`beamhand contacts restore {id}` brings it back."))
    }
}

impl Restore {
    pub(super) fn run(self, path: &Path) -> Result<(), Failure> {
        let mut book = Book::open(path)?;
        let id = self.id;
        let entry = book.entry(id)?;
        if !entry.is_removed {
            return Err(Failure::Failed(format!("contact {id} was not removed")));
        }
        let told = sentence(&entry.contact);
        book.write(vec![(id, What::Restored)])?;
        say(wrap(&format!("contact {id} is back: {told}")).join("\n"))
    }
}
