//! Contacts as a file.

use std::fmt::Write as _;

use crate::contacts::{Contact, Other};
use crate::terms::Time;

use super::Names;
use super::fields::fields;

/// The version of the format that is written.
const VERSION: &str = "3.1.4";

/// A whole file, written `now` by this version of Beamhand.
pub fn write<'c>(contacts: impl IntoIterator<Item = &'c Contact>, names: &Names, now: Time) -> String {
    let records: Vec<Vec<Other>> = contacts.into_iter().map(|contact| fields(contact, names)).collect();
    let mut text = "Contacts, written by Beamhand\n".to_owned();
    put(&mut text, "ADIF_VER", None, VERSION);
    put(&mut text, "CREATED_TIMESTAMP", None, &now.format("%Y%m%d %H%M%S").to_string());
    put(&mut text, "PROGRAMID", None, "Beamhand");
    put(&mut text, "PROGRAMVERSION", None, env!("CARGO_PKG_VERSION"));
    for (at, (definition, kind)) in definitions(&records).into_iter().enumerate() {
        put(&mut text, &format!("USERDEF{}", at + 1), kind, definition);
    }
    text.push_str("<EOH>\n");
    for record in &records {
        for Other { field, value, kind, .. } in record {
            put(&mut text, field, kind.as_deref(), value);
        }
        text.push_str("<EOR>\n");
    }
    text
}

/// The fields that other logs' heads defined, each once.
fn definitions(records: &[Vec<Other>]) -> Vec<(&str, Option<&str>)> {
    let mut all: Vec<(&str, Option<&str>)> = Vec::new();
    for other in records.iter().flatten() {
        let Some(defined) = &other.defined else { continue };
        // Its type stands in the head, before the definition: `E SweaterSize,{S,M,L}`.
        let (kind, definition) = defined.split_once(' ').unwrap_or(("", defined));
        let found = (definition, Some(kind).filter(|kind| !kind.is_empty()));
        if !all.contains(&found) {
            all.push(found);
        }
    }
    all
}

/// Behind letters that take several bytes stand as many blanks more: who counts characters in place of
/// bytes then reads blanks with the value, and not the beginning of the next field.
fn put(text: &mut String, name: &str, kind: Option<&str>, value: &str) {
    let kind = kind.map_or(String::new(), |kind| format!(":{kind}"));
    let blanks = value.len() - value.chars().count();
    // Writing to a String can't fail.
    let _ = writeln!(text, "<{name}:{}{kind}>{value}{:blanks$}", value.len(), "");
}
