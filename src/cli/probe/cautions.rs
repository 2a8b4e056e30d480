//! What somebody has to read before a port is tried.

use crate::cli::text::wrap_at;
use crate::cli::wire;
use crate::device::dialect::Dialect;
use crate::device::family::Family;

const CAUTIONS: &str = "\
CAUTION. A question in one language can be a command in another, and opening a
port raises two of its lines for an instant. Before you go on:
- transmitter: off, or at its lowest power into a dummy load
- keying by DTR or RTS: off in the radio's menu, and in any interface
- mount: nobody and nothing near where it turns, its cables free, the switch
  that cuts its motors' power in reach
";

/// The cautions for this language.
pub(super) fn of(dialect: &Dialect) -> String {
    let greeting = greeting(dialect).map(|line| wrap_at(&format!("- {line}"), 2) + "\n");
    CAUTIONS.to_owned() + &greeting.unwrap_or_default()
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
