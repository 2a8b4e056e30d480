//! Orbit mean-elements messages as XML: one `<omm>`, or an `<ndm>` with any number of them.

use quick_xml::Reader as Parser;
use quick_xml::events::{BytesStart, Event};

use super::omm::Message;
use super::{ElementFile, Fault};

/// Reads every message. What is not well formed costs the message that it stands in; where the
/// parser can't go on, the rest of the text too.
pub(super) fn read(text: &str) -> ElementFile {
    let mut parser = Parser::from_str(text);
    let mut reader = Reader::default();
    let mut lines = Lines { text, at: 0, line: 1 };
    loop {
        let before = parser.buffer_position();
        let event = parser.read_event();
        let line = lines.of(before);
        match event {
            Ok(Event::Eof) => break,
            Ok(Event::Start(element)) => reader.start(&element, line),
            Ok(Event::Empty(element)) => reader.empty(&element, line),
            Ok(Event::End(element)) => reader.end(element.local_name().as_ref()),
            Ok(Event::Text(text)) => reader.text(&text.xml10_content()),
            Ok(Event::CData(text)) => reader.text(&text.xml10_content()),
            Ok(Event::GeneralRef(name)) => {
                let found = name.resolve_char_ref().ok().flatten().map(String::from);
                let known = quick_xml::escape::resolve_predefined_entity(&name).map(str::to_owned);
                match found.or(known) {
                    Some(text) => reader.text(&text),
                    None => reader.spoil(line, format!("the entity &{}; is not known", &*name)),
                }
            }
            Ok(_) => {}
            Err(error) => {
                reader.spoil(line, error.to_string());
                if parser.buffer_position() <= before {
                    break;
                }
            }
        }
        if reader.is_elsewhere {
            return reader.file;
        }
    }
    reader.stop()
}

/// Where a byte of the text is; asked in rising order.
struct Lines<'a> {
    text: &'a str,
    at: usize,
    line: usize,
}

impl Lines<'_> {
    /// The line of the first byte at or after `offset` that is no white space.
    fn of(&mut self, offset: u64) -> usize {
        let bytes = self.text.as_bytes();
        let offset = usize::try_from(offset).unwrap_or(usize::MAX);
        while let Some(byte) = bytes.get(self.at) {
            if self.at >= offset && !byte.is_ascii_whitespace() {
                break;
            }
            self.line += usize::from(*byte == b'\n');
            self.at += 1;
        }
        self.line
    }
}

/// An element without elements in it, as far as it has been read.
struct Leaf {
    name: String,
    unit: Option<String>,
    text: String,
}

#[derive(Default)]
struct Reader {
    file: ElementFile,
    index: usize,
    message: Option<Message>,
    leaf: Option<Leaf>,
    root_seen: bool,
    /// The text is something else altogether, a web page perhaps.
    is_elsewhere: bool,
}

impl Reader {
    fn start(&mut self, element: &BytesStart<'_>, line: usize) {
        let name = element.local_name();
        let name: &str = name.as_ref();
        if !self.root_seen {
            self.root_seen = true;
            self.is_elsewhere = !["omm", "ndm"].iter().any(|root| name.eq_ignore_ascii_case(root));
            if self.is_elsewhere {
                return self.file.refuse(line, None, &Fault::OtherRoot(name.to_owned()));
            }
        }
        if name.eq_ignore_ascii_case("omm") {
            // One that was left open has lost its end.
            if let Some(message) = &mut self.message {
                message.spoil(Fault::Unfinished("<omm>"));
            }
            self.finish();
            self.message = Some(Message::at(line));
        } else if self.message.is_some() {
            let unit = element.try_get_attribute("units").ok().flatten().map(|unit| unit.value.into_owned());
            self.leaf = Some(Leaf { name: name.to_owned(), unit, text: String::new() });
        }
    }

    fn empty(&mut self, element: &BytesStart<'_>, line: usize) {
        self.start(element, line);
        self.end(element.local_name().as_ref());
    }

    fn text(&mut self, text: &str) {
        if let Some(leaf) = &mut self.leaf {
            leaf.text.push_str(text);
        }
    }

    fn end(&mut self, name: &str) {
        if let (Some(leaf), Some(message)) = (self.leaf.take(), &mut self.message) {
            message.put(&leaf.name, &leaf.text, leaf.unit.as_deref());
        }
        if name.eq_ignore_ascii_case("omm") {
            self.finish();
        }
    }

    /// A fault inside a message is that message's, outside it is the file's.
    fn spoil(&mut self, line: usize, what: String) {
        let fault = Fault::Xml { line, what };
        match &mut self.message {
            Some(message) => message.spoil(fault),
            None => self.file.refuse(line, None, &fault),
        }
    }

    fn finish(&mut self) {
        self.leaf = None;
        if let Some(message) = self.message.take() {
            self.index += 1;
            message.finish(self.index, &mut self.file);
        }
    }

    fn stop(mut self) -> ElementFile {
        if let Some(message) = &mut self.message {
            message.spoil(Fault::Unfinished("<omm>"));
            self.file.cut_off = true;
        }
        self.finish();
        self.file
    }
}
