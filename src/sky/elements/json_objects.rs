//! Cuts a JSON text into its outermost objects, so that each can be read by itself: a whole-file
//! parser stops at the first fault.

/// A stretch of the text, and the line on which it begins, counted from 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Piece<'a> {
    pub(super) line: usize,
    pub(super) kind: Kind<'a>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Kind<'a> {
    /// An outermost object, braces included.
    Object(&'a str),
    /// An outermost object that the text's end cuts off.
    Unfinished,
    /// Anything else but white space, commas and the array's brackets, up to the next object.
    Outside,
}

/// Where the cutter stands.
enum Place {
    Between,
    InStray,
    InObject { start: usize, line: usize, depth: usize },
    InString { start: usize, line: usize, depth: usize, escaped: bool },
}

/// The pieces in order.
pub(super) fn pieces(text: &str) -> Vec<Piece<'_>> {
    use Place::{Between, InObject, InStray, InString};
    let mut found = Vec::new();
    let mut place = Between;
    let mut line = 1;
    for (at, byte) in text.bytes().enumerate() {
        line += usize::from(byte == b'\n');
        place = match (place, byte) {
            (Between | InStray, b'{') => InObject { start: at, line, depth: 1 },
            (Between, b'[' | b']' | b',') => Between,
            (Between, _) if byte.is_ascii_whitespace() => Between,
            (Between, _) => {
                found.push(Piece { line, kind: Kind::Outside });
                InStray
            }
            (InObject { start, line, depth: 1 }, b'}') => {
                found.push(Piece { line, kind: Kind::Object(&text[start..=at]) });
                Between
            }
            (InObject { start, line, depth }, b'{') => InObject { start, line, depth: depth + 1 },
            (InObject { start, line, depth }, b'}') => InObject { start, line, depth: depth - 1 },
            (InObject { start, line, depth }, b'"') => InString { start, line, depth, escaped: false },
            (InString { start, line, depth, escaped: false }, b'"') => InObject { start, line, depth },
            (InString { start, line, depth, escaped }, _) => {
                InString { start, line, depth, escaped: !escaped && byte == b'\\' }
            }
            (same, _) => same,
        };
    }
    if let InObject { line, .. } | InString { line, .. } = place {
        found.push(Piece { line, kind: Kind::Unfinished });
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn braces_and_quotes_inside_strings_cut_nothing() {
        let objects = [r#"{"a": "}\"{"}"#, r#"{"b": {"c": 1}}"#, r#"{"d": "\\"}"#];
        let text = format!("[\n{}\n]", objects.join(",\n"));
        let pieces: Vec<(usize, Kind)> = pieces(&text).iter().map(|piece| (piece.line, piece.kind)).collect();
        let expected: Vec<(usize, Kind)> = (2..).zip(objects.map(Kind::Object)).collect();
        assert_eq!(pieces, expected);
    }

    #[test]
    fn what_lies_between_and_what_does_not_end_is_told_apart() {
        let kinds: Vec<Kind> =
            pieces("[nonsense, {}, 5 6 {} {\"a\"").iter().map(|piece| piece.kind).collect();
        let object = Kind::Object("{}");
        assert_eq!(kinds, [Kind::Outside, object, Kind::Outside, object, Kind::Unfinished]);
    }
}
