//! `beamhand elements import`.

use std::io::Read as _;
use std::path::{Path, PathBuf};

use chrono::Utc;
use clap::Args;

use crate::config::{Config, ELEMENTS_LIMIT, read_text};
use crate::sky::read_elements;

use super::{Failure, mended_shelf, tell};
use crate::cli::source::name_refused;

/// Takes in a file of element sets
#[derive(Args, Debug)]
pub(super) struct Import {
    /// Two or three lines a set, or OMM as JSON, XML, key-value notation or CSV; - is standard input
    #[arg(value_name = "FILE|-")]
    file: PathBuf,
}

impl Import {
    pub(super) fn run(self, config: &Config) -> Result<(), Failure> {
        let (name, text) = if self.file == Path::new("-") {
            ("standard input".to_owned(), standard_input()?)
        } else {
            let path = self.file.display();
            let text = read_text(&self.file, ELEMENTS_LIMIT)
                .map_err(|error| Failure::Failed(format!("{path}: {error}")))?;
            let name = self.file.file_name().unwrap_or(self.file.as_os_str());
            (name.to_string_lossy().into_owned(), text)
        };
        let read = read_elements(&text);
        name_refused(&name, &read.refused);
        if read.sets.is_empty() {
            return Err(Failure::Failed(format!("{name} holds no good element set; nothing was changed")));
        }
        let now = Utc::now();
        let tally = mended_shelf(config)?
            .change_sets(|sets| {
                let tally = sets.take(read.sets, &name, now);
                (tally, tally.is_change())
            })
            .map_err(Failure::Failed)?;
        tell(&name, tally, read.refused.len())
    }
}

fn standard_input() -> Result<String, Failure> {
    let mut bytes = Vec::new();
    std::io::stdin().lock().take(ELEMENTS_LIMIT + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > ELEMENTS_LIMIT {
        return Err(Failure::Failed(format!("standard input is larger than {} MiB", ELEMENTS_LIMIT >> 20)));
    }
    String::from_utf8(bytes).map_err(|_| Failure::Failed("standard input is not UTF-8".to_owned()))
}
