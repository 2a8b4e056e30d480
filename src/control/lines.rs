//! Lines of bounded length out of a stream of bytes, and back.

use serde::Serialize;

/// The longest line that either side accepts, bytes without its end.
pub const MAX_LINE: usize = 64 * 1024;

/// A line that can't be taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum LineError {
    /// It is longer than [`MAX_LINE`]; it is skipped to its end.
    #[error("a line is longer than {MAX_LINE} bytes")]
    TooLong,
    /// It is no text.
    #[error("a line is not UTF-8")]
    NotUtf8,
    /// It can't be made, because JSON can't say it.
    #[error("a message can't be written as JSON")]
    NotJson,
}

/// Collects the bytes of one direction of a connection and gives out its lines. It never holds
/// more than one line and what was last fed, if the lines are taken after every feed.
#[derive(Debug, Default)]
pub struct LineBuffer {
    bytes: Vec<u8>,
    /// How many of the bytes are known to hold no line end.
    searched: usize,
    /// The rest of a line that was too long is being passed over.
    skipping: bool,
}

impl LineBuffer {
    /// Adds what came in, cut anywhere.
    pub fn feed(&mut self, bytes: &[u8]) {
        self.bytes.extend_from_slice(bytes);
    }

    /// The next whole line without its end, be it LF or CR LF; blank lines are passed over.
    /// `None` until more is fed.
    pub fn next_line(&mut self) -> Option<Result<String, LineError>> {
        loop {
            let Some(line) = self.take_line() else {
                return self.overflow().map(Err);
            };
            if std::mem::take(&mut self.skipping) {
                continue;
            }
            if line.len() > MAX_LINE {
                return Some(Err(LineError::TooLong));
            }
            match String::from_utf8(line) {
                Ok(line) if line.trim().is_empty() => {}
                Ok(line) => return Some(Ok(line)),
                Err(_) => return Some(Err(LineError::NotUtf8)),
            }
        }
    }

    /// How many bytes it holds.
    pub fn held(&self) -> usize {
        self.bytes.len()
    }

    /// What was begun and not ended, as far as it is text.
    pub fn unfinished(&self) -> String {
        if self.skipping { String::new() } else { String::from_utf8_lossy(&self.bytes).into_owned() }
    }

    fn take_line(&mut self) -> Option<Vec<u8>> {
        let Some(end) = self.bytes[self.searched..].iter().position(|byte| *byte == b'\n') else {
            self.searched = self.bytes.len();
            return None;
        };
        let mut line: Vec<u8> = self.bytes.drain(..=self.searched + end).collect();
        self.searched = 0;
        line.pop();
        if line.last() == Some(&b'\r') {
            line.pop();
        }
        Some(line)
    }

    /// Drops an unfinished line as soon as it is too long, so that nobody can fill the memory;
    /// says so once.
    fn overflow(&mut self) -> Option<LineError> {
        // One more byte may be the CR of the line's end.
        if !self.skipping && self.bytes.len() <= MAX_LINE + 1 {
            return None;
        }
        self.bytes.clear();
        self.searched = 0;
        let first = !std::mem::replace(&mut self.skipping, true);
        first.then_some(LineError::TooLong)
    }
}

/// A message as one line with its end.
///
/// # Errors
/// If it is too long for a line, or can't be said in JSON.
pub fn to_line(message: &impl Serialize) -> Result<Vec<u8>, LineError> {
    let mut line = serde_json::to_vec(message).map_err(|_| LineError::NotJson)?;
    if line.len() > MAX_LINE {
        return Err(LineError::TooLong);
    }
    line.push(b'\n');
    Ok(line)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn drain(buffer: &mut LineBuffer) -> Vec<Result<String, LineError>> {
        std::iter::from_fn(|| buffer.next_line()).collect()
    }

    #[test]
    fn lines_end_in_lf_or_cr_lf_and_blank_ones_are_passed_over() {
        let mut buffer = LineBuffer::default();
        buffer.feed(b"a\r\n\n  \nb\nc");
        assert_eq!(drain(&mut buffer), [Ok("a".into()), Ok("b".into())]);
        buffer.feed(b"d\n");
        assert_eq!(drain(&mut buffer), [Ok("cd".into())]);
    }

    #[test]
    fn the_longest_line_is_taken_and_one_byte_more_is_not() {
        for end in ["\n", "\r\n"] {
            let mut buffer = LineBuffer::default();
            buffer.feed("x".repeat(MAX_LINE).as_bytes());
            assert_eq!(buffer.next_line(), None);
            buffer.feed(end.as_bytes());
            assert_eq!(buffer.next_line().unwrap().unwrap().len(), MAX_LINE);
            buffer.feed("x".repeat(MAX_LINE + 1).as_bytes());
            buffer.feed(end.as_bytes());
            assert_eq!(drain(&mut buffer), [Err(LineError::TooLong)]);
        }
    }

    #[test]
    fn an_endless_line_is_reported_once_held_in_no_memory_and_the_next_line_is_good() {
        let mut buffer = LineBuffer::default();
        let mut errors = 0;
        for _ in 0..100 {
            buffer.feed(&[b'x'; 10_000]);
            errors += drain(&mut buffer).len();
            assert!(buffer.bytes.len() <= MAX_LINE + 1);
        }
        buffer.feed(b"x\ngood\n");
        assert_eq!((errors, drain(&mut buffer)), (1, vec![Ok("good".into())]));
    }

    #[test]
    fn a_line_that_is_no_text_is_reported_and_the_next_is_good() {
        let mut buffer = LineBuffer::default();
        buffer.feed(b"\xFF\ngood\n");
        assert_eq!(drain(&mut buffer), [Err(LineError::NotUtf8), Ok("good".into())]);
    }

    #[test]
    fn a_message_too_long_for_a_line_is_not_written() {
        assert_eq!(to_line(&"a").unwrap(), b"\"a\"\n");
        assert_eq!(to_line(&"a\nb").unwrap(), b"\"a\\nb\"\n");
        assert_eq!(to_line(&"x".repeat(MAX_LINE - 2)).unwrap().len(), MAX_LINE + 1);
        assert_eq!(to_line(&"x".repeat(MAX_LINE - 1)), Err(LineError::TooLong));
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn how_the_bytes_are_cut_does_not_matter(
            bytes in proptest::collection::vec(prop_oneof![Just(b'\n'), Just(b'\r'), any::<u8>()], 0..200),
            cuts in proptest::collection::vec(1_usize..9, 1..20),
        ) {
            let mut whole = LineBuffer::default();
            whole.feed(&bytes);
            let mut pieces = LineBuffer::default();
            let mut lines = Vec::new();
            let (mut rest, mut cuts) = (bytes.as_slice(), cuts.iter().cycle());
            while !rest.is_empty() {
                let (now, later) = rest.split_at((*cuts.next().unwrap()).min(rest.len()));
                pieces.feed(now);
                lines.extend(drain(&mut pieces));
                rest = later;
            }
            prop_assert_eq!(lines, drain(&mut whole));
        }
    }
}
