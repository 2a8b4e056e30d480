//! A state file that can't be read is kept for people to look at.

use std::io;
use std::path::{Path, PathBuf};

/// Gives the file a name that is free, beside its own.
pub(super) fn set_aside(path: &Path) -> io::Result<PathBuf> {
    let names = (1_u32..).map(|number| path.with_extension(format!("damaged-{number}")));
    let free =
        names.into_iter().find(|name| !name.exists()).unwrap_or_else(|| path.with_extension("damaged"));
    std::fs::rename(path, &free)?;
    Ok(free)
}
