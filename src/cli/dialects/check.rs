//! `beamhand dialects check`: what a file of the user's own does.

use std::path::Path;

use crate::config::{ConfigError, ConfigErrors, Dialects, Location};
use crate::device::dialect::Dialect;

use super::super::Failure;
use super::super::text::{say, wrap, wrap_at};
use super::{LEGEND, abilities, lacks};

/// Reads the file, shows what it sends, and proves that it reads what it sets.
pub(super) fn run(file: &Path) -> Result<(), Failure> {
    let dialect = read(file)?;
    let root = dialect.root().map_or("a language of its own".to_owned(), |root| format!("built on {root}"));
    say(format_args!("{}: {root}, family {}", dialect.name(), dialect.family().name()))?;
    say(format_args!("\neverything that it can say; {LEGEND}"))?;
    abilities(&dialect)?;
    say("\nwhat it can be used for, and what it lacks")?;
    lacks::lines(&dialect).iter().try_for_each(|line| say(wrap(line).join("\n")))?;
    let proof = dialect.proof();
    say("\nwhether it reads what it sets")?;
    say(format_args!("  {} values were set and read as they were meant", proof.tried))?;
    proof.limits.iter().try_for_each(|limit| say(wrap_at(&format!("  limit: {limit}"), 4)))?;
    if proof.faults.is_empty() {
        return say("in order; only your radio can tell whether the codes are its own");
    }
    let refused = proof.faults.into_iter().map(|fault| ConfigError::new(Location::whole(file), fault));
    Err(Failure::Configuration(ConfigErrors::new(refused.collect())))
}

/// The dialect in `file`; those that it builds on may stand beside it.
fn read(file: &Path) -> Result<std::sync::Arc<Dialect>, Failure> {
    let name = file.file_stem().and_then(|name| name.to_str());
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let beside = Dialects::in_folder(folder).unwrap_or_else(|_| Dialects::built_in());
    let dialects = beside.with(file.to_owned());
    let own = name.filter(|name| dialects.file(name) == Some(file));
    match own.and_then(|name| dialects.get(name)) {
        Some(read) => Ok(read?),
        None => Err(Failure::Usage(format!("{} is not named like a dialect, NAME.toml", file.display()))),
    }
}
