//! `beamhand dialects check`: what a file of the user's own does.

use std::path::Path;

use crate::config::{ConfigError, ConfigErrors, Dialects, Location};
use crate::device::dialect::{Dialect, Proof, StillSent};

use super::super::Failure;
use super::super::text::{say, wrap, wrap_at};
use super::{LEGEND, abilities, lacks};

/// What makes it a radio's or a rotator's language.
const SERVES: [&str; 4] = ["do.hz", "do.rx_hz", "do.aim", "do.azimuth"];

/// Reads the file, shows what it sends, and proves that it reads what it sets.
pub(super) fn run(file: &Path) -> Result<(), Failure> {
    let dialect = read(file)?;
    let root = dialect.root().map_or("a language of its own".to_owned(), |root| format!("built on {root}"));
    say(format_args!("{}: {root}, family {}", dialect.name(), dialect.family().name()))?;
    say(format_args!("\neverything that it can say; {LEGEND}"))?;
    abilities(&dialect)?;
    say("\nwhat it can be used for, and what it lacks")?;
    lacks::lines(&dialect).iter().try_for_each(|line| say(wrap(line).join("\n")))?;
    still_sent(&dialect).iter().try_for_each(|line| say(wrap_at(line, 4)))?;
    let proof = dialect.proof();
    say("\nwhether it reads what it sets")?;
    what_is_proven(&proof).iter().try_for_each(|line| say(wrap_at(line, 4)))?;
    if !SERVES.iter().any(|verb| dialect.can(verb)) {
        let nothing = format!("it serves no radio and no rotator; it needs one of {}", SERVES.join(", "));
        return Err(Failure::Configuration(ConfigErrors::new(vec![ConfigError::new(
            Location::whole(file),
            nothing,
        )])));
    }
    if proof.faults.is_empty() {
        return say("in order; only your radio can tell whether the codes are its own");
    }
    let refused = proof.faults.into_iter().map(|fault| {
        let at = Location { file: file.to_owned(), line: fault.line, column: fault.column };
        ConfigError::new(at, fault.text)
    });
    Err(Failure::Configuration(ConfigErrors::new(refused.collect())))
}

/// Codes of abilities that the file takes away, and that are sent nevertheless.
fn still_sent(dialect: &Dialect) -> Vec<String> {
    let line = |StillSent { verb, code, by }| {
        format!("  {verb} is switched off, but its code {code} is still sent by {}", by.join(", "))
    };
    dialect.still_sent().into_iter().map(line).collect()
}

/// What is proven, what is not and why, and what can't be said at all.
fn what_is_proven(proof: &Proof) -> Vec<String> {
    let mut lines = vec![format!("  {} values were set and read as they were meant", proof.proven)];
    if proof.unproven > 0 {
        lines.push(format!("  {} values are not proven", proof.unproven));
    }
    lines
        .extend(proof.doubts.iter().map(|(why, verbs)| format!("  not proven: {}: {why}", verbs.join(", "))));
    lines.extend(proof.limits.iter().map(|limit| format!("  limit: {limit}")));
    lines
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
