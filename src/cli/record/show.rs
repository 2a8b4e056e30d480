//! `beamhand record show`.

use std::io::{self, Write};

use clap::Args;

use crate::cli::text::{remark, say, wrap_at};
use crate::record::{Entry, read_file};
use crate::store;

use super::telling::Telling;
use super::{Failure, Place, Wanted};

/// So much of a record is shown as it is, bytes.
const LARGEST: u64 = 1 << 30;

/// What happened in a session, moment by moment
#[derive(Args, Debug)]
pub(super) struct Show {
    #[command(flatten)]
    wanted: Wanted,
    /// Leave out the bytes on the lines
    #[arg(long)]
    decisions: bool,
    /// The record's own lines, as they are
    #[arg(long, conflicts_with = "decisions")]
    json: bool,
}

impl Show {
    pub(super) fn run(self, place: &Place) -> Result<(), Failure> {
        let found = self.wanted.find(place)?;
        if self.json {
            return raw(&found.file);
        }
        let record = read_file(&found.file).map_err(Failure::Failed)?;
        let mut telling = Telling::of(&record.head);
        telling.beginning(&found.name).iter().try_for_each(say)?;
        for (_, entry) in &record.entries {
            let is_bytes = matches!(entry, Entry::Step(_) | Entry::Pause(_));
            if is_bytes && self.decisions {
                continue;
            }
            for line in telling.lines(entry) {
                say(wrap_at(&line, 13))?;
            }
        }
        for line in telling.rest() {
            say(wrap_at(&line, 13))?;
        }
        for damage in &record.passed_over {
            remark(format_args!("line {} was passed over: {}", damage.line, damage.what));
        }
        if record.not_named > 0 {
            remark(format_args!("{} more lines were passed over", record.not_named));
        }
        if record.is_torn {
            remark("its last line is torn: the daemon or the computer stopped there");
        }
        Ok(())
    }
}

/// Its lines as they are.
fn raw(file: &std::path::Path) -> Result<(), Failure> {
    let bytes = store::read_up_to(file, LARGEST)?;
    let bytes = bytes.ok_or_else(|| Failure::Failed(format!("{} is not there", file.display())))?;
    let mut out = io::stdout().lock();
    match out.write_all(&bytes).and_then(|()| out.flush()) {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Err(Failure::NobodyReads),
        written => Ok(written?),
    }
}
