//! Two- and three-line files: which lines belong together.

use super::{ElementFile, Fault, line_pair};

/// A line with its place in the file, counted from 1.
#[derive(Debug, Clone, Copy)]
pub(super) struct Line<'a> {
    pub(super) number: usize,
    pub(super) text: &'a str,
}

enum Kind {
    Nothing,
    Name,
    First,
    Second,
}

/// What was read, and what still waits for the line below it.
#[derive(Default)]
struct Reader<'a> {
    file: ElementFile,
    name: Option<Line<'a>>,
    first: Option<Line<'a>>,
}

/// Reads every set of the text; blank lines and lines that start with `#` are passed over.
pub(super) fn read(text: &str) -> ElementFile {
    let mut reader = Reader::default();
    for (index, text) in text.lines().enumerate() {
        let line = Line { number: index + 1, text: text.trim() };
        match kind(line.text) {
            Kind::Nothing => {}
            Kind::Name => reader.name(line),
            Kind::First => reader.first(line),
            Kind::Second => reader.second(line),
        }
    }
    reader.file.cut_off = reader.first.is_some();
    match reader.name.filter(|_| reader.first.is_none() && !reader.file.sets.is_empty()) {
        Some(name) => reader.file.refuse(name.number, Some(&plain_name(name.text)), &Fault::LastName),
        None => reader.abandon(),
    }
    reader.file
}

impl<'a> Reader<'a> {
    fn name(&mut self, line: Line<'a>) {
        self.abandon();
        self.name = Some(line);
    }

    fn first(&mut self, line: Line<'a>) {
        if self.first.is_some() {
            self.abandon();
        }
        self.first = Some(line);
    }

    fn second(&mut self, line: Line<'a>) {
        let name = self.name.take().map(|name| plain_name(name.text));
        let Some(first) = self.first.take() else {
            return self.file.refuse(line.number, name.as_deref(), &Fault::NoFirstLine);
        };
        let set = line_pair::read(name.as_deref(), first, line);
        self.file.add(first.number, name, set);
    }

    /// Gives up on what waits, because something else came, or the end.
    fn abandon(&mut self) {
        let name = self.name.take();
        if let Some(first) = self.first.take() {
            let name = name.map(|name| plain_name(name.text));
            self.file.refuse(first.number, name.as_deref(), &Fault::NoSecondLine);
        } else if let Some(name) = name {
            self.file.refuse(name.number, None, &Fault::Stray);
        }
    }
}

fn kind(text: &str) -> Kind {
    match text.as_bytes() {
        [] | [b'#', ..] => Kind::Nothing,
        [b'1', b' ', rest @ ..] if is_element_line(rest) => Kind::First,
        [b'2', b' ', rest @ ..] if is_element_line(rest) => Kind::Second,
        _ => Kind::Name,
    }
}

/// A name may begin with "1 " as well: an element line goes on with a catalog number, or is
/// longer than any name (24 columns).
fn is_element_line(after_line_number: &[u8]) -> bool {
    let numbered = after_line_number.len() >= 5 && after_line_number[1..5].iter().all(u8::is_ascii_digit);
    numbered || after_line_number.len() > 22
}

/// Without the "0 " that some files put before a name, and without control characters.
fn plain_name(text: &str) -> String {
    let text = text.strip_prefix("0 ").unwrap_or(text).trim();
    text.chars().filter(|character| !character.is_control()).collect()
}
