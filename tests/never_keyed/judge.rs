//! What every judge is.

use std::time::Duration;

/// A device as its family's notes describe it, which remembers the first forbidden command.
pub(crate) trait Judge {
    /// Takes one byte that arrives at `at`, and returns what the device answers to it.
    fn hear(&mut self, byte: u8, at: Duration) -> Vec<u8>;

    /// The forbidden command that was seen, if any.
    fn verdict(&self) -> Option<String>;
}
