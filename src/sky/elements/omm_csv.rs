//! Orbit mean-elements messages as a table with commas: keywords in the first line, in any order,
//! and a message on each line below.

use super::omm::Message;
use super::{ElementFile, Fault};

/// Whether the text is one: its first line names keywords that every message needs.
pub(super) fn is_one(text: &str) -> bool {
    let mut lines = text.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with('#'));
    let plain = |name: &str| name.trim().trim_matches('"').to_ascii_uppercase();
    lines.next().is_some_and(|head| {
        head.contains(',')
            && head.split(',').map(plain).any(|name| matches!(name.as_str(), "EPOCH" | "NORAD_CAT_ID"))
    })
}

/// Reads every row by itself.
pub(super) fn read(text: &str) -> ElementFile {
    let mut file = ElementFile::default();
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .has_headers(false)
        .trim(csv::Trim::All)
        .comment(Some(b'#'))
        .from_reader(text.as_bytes());
    let mut rows = reader.records();
    let Some(Ok(head)) = rows.next() else { return file };
    for (index, row) in rows.enumerate() {
        let line = |position: Option<&csv::Position>| {
            position.map_or(0, |position| usize::try_from(position.line()).unwrap_or(usize::MAX))
        };
        let message = match row {
            Ok(row) => filled(&head, &row, line(row.position())),
            Err(error) => {
                let mut message = Message::at(line(error.position()));
                message.spoil(Fault::Csv(error.to_string()));
                message
            }
        };
        message.finish(index + 1, &mut file);
    }
    file
}

fn filled(head: &csv::StringRecord, row: &csv::StringRecord, line: usize) -> Message {
    let mut message = Message::at(line);
    head.iter().zip(row).for_each(|(key, value)| message.put(key, value, None));
    if row.len() != head.len() {
        message.spoil(Fault::Row { found: row.len(), wanted: head.len() });
    }
    message
}
