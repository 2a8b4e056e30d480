//! What somebody has to read and confirm before equipment is touched.

use std::io::{self, IsTerminal};

use super::Failure;
use super::text::{say, show};

/// The word to type.
const WORD: &str = "safe";

/// Shows the cautions and waits for the word; `declined` says what was not done without it.
pub(super) fn obtain(cautions: &str, declined: &str) -> Result<(), Failure> {
    show(cautions)?;
    if !io::stdin().is_terminal() {
        return Err(Failure::Usage(
            "nobody can confirm that here: see to it, and say so with --yes".to_owned(),
        ));
    }
    say(format_args!("If all of that is so, type {WORD} and press Enter; anything else ends this."))?;
    let mut typed = String::new();
    io::stdin().read_line(&mut typed)?;
    if typed.trim().eq_ignore_ascii_case(WORD) {
        return Ok(());
    }
    Err(Failure::Failed(format!("not confirmed: {declined}")))
}
