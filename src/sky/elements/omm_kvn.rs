//! Orbit mean-elements messages in key-value notation: `KEYWORD = value [unit]`, a line each.

use super::omm::Message;
use super::{ElementFile, Fault};

/// Whether the text is one: some line gives the message's version, or its epoch.
pub(super) fn is_one(text: &str) -> bool {
    let tells = |key: &str| version_of(key).is_some() || key.eq_ignore_ascii_case("EPOCH");
    text.lines().filter_map(|line| line.split_once('=')).any(|(key, _)| tells(key.trim()))
}

/// Reads every message; a new one begins at each version line.
pub(super) fn read(text: &str) -> ElementFile {
    let mut file = ElementFile::default();
    let mut index = 0;
    let mut message: Option<Message> = None;
    let mut end = |message: Option<Message>, file: &mut ElementFile| {
        index += usize::from(message.is_some());
        message.into_iter().for_each(|message| message.finish(index, file));
    };
    for (number, line) in text.lines().enumerate() {
        let line = line.trim();
        if line.is_empty() || line.starts_with('#') || is_comment(line) {
            continue;
        }
        let pair = line.split_once('=').map(|(key, value)| (key.trim(), value.trim()));
        let version = pair.and_then(|(key, _)| version_of(key));
        if version.is_some() {
            end(message.take(), &mut file);
        }
        let message = message.get_or_insert_with(|| Message::at(number + 1));
        match (version, pair) {
            (Some(kind), _) if !kind.eq_ignore_ascii_case("OMM") => {
                message.spoil(Fault::OtherMessage(kind.to_owned()));
            }
            (Some(_), _) => {}
            (None, Some((key, value))) => {
                // A name may end in brackets too.
                let is_name = key.eq_ignore_ascii_case("OBJECT_NAME");
                let (value, unit) = if is_name { (value, None) } else { without_unit(value) };
                message.put(key, value, unit);
            }
            (None, None) => message.spoil(Fault::NoPair(number + 1)),
        }
    }
    end(message, &mut file);
    file
}

fn is_comment(line: &str) -> bool {
    line.split_whitespace().next().is_some_and(|word| word.eq_ignore_ascii_case("COMMENT"))
}

/// The message's kind in `CCSDS_kind_VERS`.
fn version_of(key: &str) -> Option<&str> {
    let start = key.get(..6).filter(|start| start.eq_ignore_ascii_case("CCSDS_"))?;
    let kind = key.get(start.len()..key.len().checked_sub(5)?)?;
    key.get(key.len() - 5..).filter(|end| end.eq_ignore_ascii_case("_VERS")).map(|_| kind)
}

/// The value, and what stands in brackets behind it.
fn without_unit(value: &str) -> (&str, Option<&str>) {
    let parts = value.strip_suffix(']').and_then(|value| value.split_once('['));
    parts.map_or((value, None), |(value, unit)| (value.trim_end(), Some(unit)))
}
