//! What somebody has to read and confirm before a port is tried.

use std::io::{self, IsTerminal};

use crate::cli::Failure;
use crate::cli::text::{say, show, wrap_at};
use crate::cli::wire;
use crate::device::dialect::Dialect;
use crate::device::family::Family;

/// The word to type.
const WORD: &str = "safe";

const CAUTIONS: &str = "\
CAUTION. A question in one language can be a command in another, and opening a
port raises two of its lines for an instant. Before you go on:
- transmitter: off, or at its lowest power into a dummy load
- keying by DTR or RTS: off in the radio's menu, and in any interface
- mount: nobody and nothing near where it turns, its cables free, the switch
  that cuts its motors' power in reach
";

/// Shows the cautions and waits for the word, unless `given` says that it was given already.
pub(super) fn obtain(given: bool, dialect: &Dialect) -> Result<(), Failure> {
    if given {
        return Ok(());
    }
    show(CAUTIONS)?;
    greeting(dialect).iter().try_for_each(|line| say(wrap_at(&format!("- {line}"), 2)))?;
    if !io::stdin().is_terminal() {
        return Err(Failure::Usage(
            "this is no terminal to confirm that at: if all of that is so, add --yes".to_owned(),
        ));
    }
    say(format_args!("If all of that is so, type {WORD} and press Enter; anything else ends this."))?;
    let mut typed = String::new();
    io::stdin().read_line(&mut typed)?;
    if typed.trim().eq_ignore_ascii_case(WORD) {
        return Ok(());
    }
    Err(Failure::Failed("not confirmed: nothing was opened".to_owned()))
}

/// What is said besides questions, and what it could do to another radio.
fn greeting(dialect: &Dialect) -> Option<String> {
    let greeting = wire::greeting(dialect)?;
    let elsewhere = match dialect.family() {
        Family::FiveByteDuplex => {
            "; a radio of the `five-byte` language locks its dial on that: if yours may be one, try that \
             language first"
        }
        _ => "",
    };
    Some(format!(
        "greeting: a radio of this language is deaf before it hears {greeting}, so that is sent too, \
         besides the questions{elsewhere}"
    ))
}
