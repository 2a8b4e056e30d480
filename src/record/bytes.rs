//! Bytes of a serial line as text: as they are where a person can read them, else as hex digits.

/// What hex digits begin with.
const HEX: &str = "0x";

/// Text stands for itself (with the ends of its lines); everything else is `0x` and two digits a
/// byte. What is text and begins with `0x` is written in digits too, so that there is no doubt.
pub fn to_text(bytes: &[u8]) -> String {
    let is_text = |byte: &u8| matches!(byte, b' '..=b'~' | b'\r' | b'\n');
    match std::str::from_utf8(bytes) {
        Ok(text) if bytes.iter().all(is_text) && !text.starts_with(HEX) => text.to_owned(),
        _ => bytes.iter().fold(HEX.to_owned(), |digits, byte| digits + &format!("{byte:02X}")),
    }
}

/// The bytes that a text stands for; `None` if it is none of [`to_text`]'s.
pub fn from_text(text: &str) -> Option<Vec<u8>> {
    let Some(digits) = text.strip_prefix(HEX) else { return Some(text.as_bytes().to_vec()) };
    if !digits.len().is_multiple_of(2) || !digits.bytes().all(|digit| digit.is_ascii_hexdigit()) {
        return None;
    }
    let pairs = (0..digits.len()).step_by(2);
    pairs.map(|at| u8::from_str_radix(digits.get(at..at + 2)?, 16).ok()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_stays_text_and_the_rest_is_digits() {
        assert_eq!(to_text(b"FA00145950000;"), "FA00145950000;");
        assert_eq!(to_text(b"W180 045\r"), "W180 045\r");
        assert_eq!(to_text(&[0xFE, 0xFE, 0x4C, 0xFD]), "0xFEFE4CFD");
        assert_eq!(to_text(b"0x41"), "0x30783431");
        assert_eq!(to_text(b""), "");
    }

    #[test]
    fn every_byte_comes_back() {
        let all: Vec<u8> = (0..=255).collect();
        for bytes in [all.as_slice(), b"", b"0x", b"plain", &[0], "gr\u{fc}n".as_bytes()] {
            assert_eq!(from_text(&to_text(bytes)).as_deref(), Some(bytes));
        }
    }

    #[test]
    fn odd_or_strange_digits_stand_for_nothing() {
        for text in ["0x1", "0xZZ", "0x+1", "0x\u{e9}\u{e9}"] {
            assert_eq!(from_text(text), None, "{text}");
        }
    }
}
