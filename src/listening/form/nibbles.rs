//! Whole numbers in half bytes: three bits of the number and one that says whether more follow.
//!
//! Nearly every number of a spell is a small difference, and so takes half a byte.

/// What is written, half a byte at a time.
#[derive(Debug, Default)]
pub(super) struct Writer {
    bytes: Vec<u8>,
    is_half: bool,
}

impl Writer {
    fn nibble(&mut self, nibble: u8) {
        match self.bytes.last_mut() {
            Some(last) if self.is_half => *last |= nibble << 4,
            _ => self.bytes.push(nibble),
        }
        self.is_half = !self.is_half;
    }

    /// A number that is not negative.
    pub(super) fn count(&mut self, mut number: u64) {
        while number > 7 {
            self.nibble((number & 7) as u8 | 8);
            number >>= 3;
        }
        self.nibble(number as u8);
    }

    /// A number of either sign: 0, -1, 1, -2, 2 ... are counted through.
    pub(super) fn number(&mut self, number: i64) {
        self.count(((number << 1) ^ (number >> 63)) as u64);
    }

    /// At most 255 bytes of a text, cut between two letters.
    pub(super) fn text(&mut self, text: &str) {
        let mut end = text.len().min(255);
        while !text.is_char_boundary(end) {
            end -= 1;
        }
        self.count(end as u64);
        for byte in &text.as_bytes()[..end] {
            self.nibble(byte & 15);
            self.nibble(byte >> 4);
        }
    }

    /// How many half bytes there are.
    pub(super) fn len(&self) -> usize {
        self.bytes.len() * 2 - usize::from(self.is_half)
    }

    /// Adds all that another one wrote.
    pub(super) fn append(&mut self, other: &Self) {
        for at in 0..other.len() {
            self.nibble(other.bytes[at / 2] >> (4 * (at % 2)) & 15);
        }
    }

    /// All of it.
    pub(super) fn into_bytes(self) -> Vec<u8> {
        self.bytes
    }
}

/// The same, read. Each answer is `None` where the bytes end or make no such number.
#[derive(Debug)]
pub(super) struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl<'a> Reader<'a> {
    pub(super) fn new(bytes: &'a [u8]) -> Self {
        Self { bytes, at: 0 }
    }

    fn nibble(&mut self) -> Option<u8> {
        let byte = *self.bytes.get(self.at / 2)?;
        let nibble = if self.at.is_multiple_of(2) { byte & 15 } else { byte >> 4 };
        self.at += 1;
        Some(nibble)
    }

    pub(super) fn count(&mut self) -> Option<u64> {
        let mut number = 0;
        for shift in (0..u64::BITS).step_by(3) {
            let nibble = self.nibble()?;
            number |= u64::from(nibble & 7) << shift;
            if nibble & 8 == 0 {
                return Some(number);
            }
        }
        None
    }

    /// A count that may be at most so large.
    pub(super) fn count_up_to(&mut self, most: usize) -> Option<usize> {
        usize::try_from(self.count()?).ok().filter(|count| *count <= most)
    }

    pub(super) fn number(&mut self) -> Option<i64> {
        let count = self.count()?;
        Some((count >> 1) as i64 ^ -((count & 1) as i64))
    }

    pub(super) fn text(&mut self) -> Option<String> {
        let length = self.count_up_to(255)?;
        let byte = |this: &mut Self| Some(this.nibble()? | this.nibble()? << 4);
        let bytes: Option<Vec<u8>> = (0..length).map(|_| byte(self)).collect();
        String::from_utf8(bytes?).ok()
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn small_numbers_take_half_a_byte() {
        let mut writer = Writer::default();
        for number in -4..4 {
            writer.number(number);
        }
        assert_eq!(writer.len(), 8);
        writer.number(4);
        assert_eq!(writer.len(), 10);
    }

    proptest! {
        #[test]
        fn what_was_written_is_read(numbers: Vec<i64>, text in ".{0,80}") {
            let mut writer = Writer::default();
            writer.text(&text);
            for number in &numbers {
                writer.number(*number);
            }
            let mut doubled = Writer::default();
            doubled.count(5);
            doubled.append(&writer);
            let bytes = doubled.into_bytes();
            let mut reader = Reader::new(&bytes);
            prop_assert_eq!(reader.count(), Some(5));
            let read = reader.text();
            prop_assert!(read.is_some_and(|read| text.starts_with(&read) && (text.len() > 255 || read == text)));
            for number in numbers {
                prop_assert_eq!(reader.number(), Some(number));
            }
        }
    }
}
