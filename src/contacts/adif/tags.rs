//! The text form taken apart: fields, and the two marks that end a head and a record.

/// No name of a field is longer, so that a stray `<` does not swallow the file (our choice).
const LONGEST_TAG: usize = 200;

/// Something between `<` and `>`, with the value behind it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Tag {
    /// `<EOH>`.
    HeadEnds,
    /// `<EOR>`.
    RecordEnds,
    /// A field.
    Field(Field),
    /// A field whose length can't be right; the rest of the record can't be trusted.
    Broken(String),
}

/// A field as it stands in the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Field {
    /// In capitals.
    pub(super) name: String,
    pub(super) kind: Option<String>,
    pub(super) value: String,
}

/// Goes through a file from tag to tag.
pub(super) struct Tags<'b> {
    bytes: &'b [u8],
    at: usize,
    line: usize,
}

impl<'b> Tags<'b> {
    pub(super) fn new(bytes: &'b [u8]) -> Self {
        Self { bytes, at: 0, line: 1 }
    }

    fn go_on_to(&mut self, at: usize) {
        let at = at.min(self.bytes.len());
        self.line += self.bytes[self.at..at].iter().filter(|byte| **byte == b'\n').count();
        self.at = at;
    }

    /// The name's part of the tag at a `<`, and where it ends; `None` where it is no tag.
    fn inside(&self) -> Option<(&'b str, usize)> {
        let rest = &self.bytes[self.at + 1..];
        let end = rest.iter().take(LONGEST_TAG).position(|byte| *byte == b'>')?;
        let inside = std::str::from_utf8(&rest[..end]).ok()?;
        let name = inside.split(':').next().unwrap_or_default();
        let is_name = |c: char| c.is_ascii_alphanumeric() || c == '_';
        (!name.is_empty() && name.chars().all(is_name)).then_some((inside, self.at + 1 + end + 1))
    }

    /// A value of so many bytes; of so many characters, where that and not the bytes leads to the next
    /// tag: some programs count them.
    fn value(&mut self, from: usize, length: usize) -> Option<String> {
        let rest = &self.bytes[from..];
        let by_bytes = rest.get(..length)?;
        let leads_on = |end: usize| rest[end..].trim_ascii_start().first().is_none_or(|byte| *byte == b'<');
        let mut taken = by_bytes;
        if !by_bytes.is_ascii() && !leads_on(length) {
            let text = String::from_utf8_lossy(rest);
            let end: usize = text.chars().take(length).map(char::len_utf8).sum();
            if end <= rest.len() && leads_on(end) {
                taken = &rest[..end];
            }
        }
        self.go_on_to(from + taken.len());
        // What is no UTF-8 is taken as Latin-1, whose bytes are the first 256 characters.
        let latin = || taken.iter().map(|byte| char::from(*byte)).collect();
        Some(std::str::from_utf8(taken).map_or_else(|_| latin(), str::to_owned))
    }
}

impl Iterator for Tags<'_> {
    /// With the line on which it begins, from 1.
    type Item = (usize, Tag);

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            let opens = self.bytes[self.at..].iter().position(|byte| *byte == b'<')?;
            self.go_on_to(self.at + opens);
            let Some((inside, end)) = self.inside() else {
                self.go_on_to(self.at + 1);
                continue;
            };
            let line = self.line;
            let mut parts = inside.split(':').map(str::trim);
            let name = parts.next().unwrap_or_default().to_ascii_uppercase();
            let length = parts.next();
            let kind = parts.next().filter(|kind| is_kind(kind)).map(str::to_owned);
            let tag = match (name.as_str(), length) {
                ("EOH", None) => Tag::HeadEnds,
                ("EOR", None) => Tag::RecordEnds,
                (_, length) => {
                    let length: Option<usize> = length.and_then(|length| length.parse().ok());
                    match length.and_then(|length| self.value(end, length)) {
                        Some(value) => return Some((line, Tag::Field(Field { name, kind, value }))),
                        None if length.is_some() => {
                            Tag::Broken(format!("<{inside}> is longer than the file"))
                        }
                        None => Tag::Broken(format!("<{inside}> has no length")),
                    }
                }
            };
            self.go_on_to(end);
            return Some((line, tag));
        }
    }
}

/// Whether this is a data type indicator: one letter (ADIF 3.1.4, "Data Types"). Anything else is no part of a
/// field, and is not carried on.
fn is_kind(text: &str) -> bool {
    matches!(text.as_bytes(), [letter] if letter.is_ascii_alphabetic())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tags(bytes: &[u8]) -> Vec<(usize, Tag)> {
        Tags::new(bytes).collect()
    }

    fn field(name: &str, kind: Option<&str>, value: &str) -> Tag {
        Tag::Field(Field { name: name.to_owned(), kind: kind.map(str::to_owned), value: value.to_owned() })
    }

    #[test]
    fn fields_are_found_between_anything() {
        let text = b"A head\n<adif_ver:5>3.1.4 and more\n<EOH>\n <Call:5>Q1ABC\n<FREQ:7:N>145.927x<eor>";
        assert_eq!(
            tags(text),
            [
                (2, field("ADIF_VER", None, "3.1.4")),
                (3, Tag::HeadEnds),
                (4, field("CALL", None, "Q1ABC")),
                (5, field("FREQ", Some("N"), "145.927")),
                (5, Tag::RecordEnds)
            ]
        );
    }

    #[test]
    fn what_is_no_letter_is_no_data_type() {
        for odd in ["927 E", "", "7", "EE", "<"] {
            assert_eq!(tags(format!("<A:1:{odd}>x").as_bytes()), [(1, field("A", None, "x"))], "{odd}");
        }
    }

    #[test]
    fn a_length_covers_whatever_stands_there() {
        assert_eq!(tags(b"<NOTE:13>a <EOR>\n<b:2>c<EOR>")[0].1, field("NOTE", None, "a <EOR>\n<b:2>"));
        assert_eq!(
            tags(b"<CALL:0><NAME:2>Al"),
            [(1, field("CALL", None, "")), (1, field("NAME", None, "Al"))]
        );
    }

    #[test]
    fn letters_beyond_ascii_are_counted_as_the_file_counts_them() {
        let named = |text: &str| tags(text.as_bytes())[0].1.clone();
        assert_eq!(named("<NAME:5>José <EOR>"), field("NAME", None, "José"));
        assert_eq!(named("<NAME:4>José <EOR>"), field("NAME", None, "José"));
        assert_eq!(named("<NAME:4>José"), field("NAME", None, "José"));
        assert_eq!(tags(b"<NAME:4>Jos\xE9 <EOR>")[0].1, field("NAME", None, "José"));
    }

    #[test]
    fn what_can_not_be_a_length_is_broken() {
        for (text, why) in [
            ("<CALL>Q1ABC<EOR>", "<CALL> has no length"),
            ("<CALL:x>Q1ABC<EOR>", "has no length"),
            ("<CALL:-1>Q1ABC<EOR>", "has no length"),
            ("<CALL:99>Q1ABC<EOR>", "longer than the file"),
        ] {
            let found = tags(text.as_bytes());
            assert!(matches!(&found[0].1, Tag::Broken(broken) if broken.contains(why)), "{found:?}");
            assert_eq!(found.last().unwrap().1, Tag::RecordEnds);
        }
    }

    #[test]
    fn signs_that_are_no_tags_are_passed_over() {
        for text in ["a < b > c", "<<<", "<", "< >", "<->", "", "<\u{e4}:1>x"] {
            assert_eq!(tags(text.as_bytes()), [], "{text}");
        }
    }
}
