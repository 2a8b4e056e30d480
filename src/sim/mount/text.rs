//! Lines of text, as a controller collects them.

/// No line is longer; the rest of one that is gets lost.
const LONGEST: usize = 64;

/// A line that is being collected. It ends in CR, LF or both, and blank ones are none.
#[derive(Debug, Default)]
pub(super) struct Lines(String);

impl Lines {
    /// Takes a byte; gives the line that it ends.
    pub(super) fn hear(&mut self, byte: u8) -> Option<String> {
        match byte {
            b'\r' | b'\n' => Some(std::mem::take(&mut self.0)).filter(|line| !line.trim_ascii().is_empty()),
            _ => {
                if self.0.len() < LONGEST {
                    self.0.push(char::from(byte));
                }
                None
            }
        }
    }
}
