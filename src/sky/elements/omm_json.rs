//! Orbit mean-elements messages as JSON: one object, or an array of them.

use serde_json::{Map, Value};

use super::json_objects::{Kind, Piece, pieces};
use super::omm::Message;
use super::{ElementFile, Fault};

/// Reads every object by itself, so that a broken one costs only itself.
pub(super) fn read(text: &str) -> ElementFile {
    let mut file = ElementFile::default();
    let mut index = 0;
    for Piece { line, kind } in pieces(text) {
        index += usize::from(kind != Kind::Outside);
        let mut message = Message::at(line);
        match kind {
            Kind::Object(text) => fill(&mut message, text),
            Kind::Unfinished => {
                file.cut_off = true;
                message.spoil(Fault::Unfinished("JSON object"));
            }
            Kind::Outside => {
                file.refuse(line, None, &Fault::Outside);
                continue;
            }
        }
        message.finish(index, &mut file);
    }
    file
}

fn fill(message: &mut Message, text: &str) {
    match serde_json::from_str::<Map<String, Value>>(text) {
        Ok(object) => object.iter().for_each(|(key, value)| match value {
            Value::Null => {}
            Value::String(text) => message.put(key, text, None),
            other => message.put(key, &other.to_string(), None),
        }),
        Err(error) => message.spoil(Fault::Json(error.to_string())),
    }
}
