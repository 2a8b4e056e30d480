//! A file as contacts.

use std::collections::BTreeMap;

use chrono::{NaiveDate, NaiveTime};

use crate::contacts::{Complaint, Contact, Other, Squares};
use crate::terms::{Hertz, Mode, Time};

use super::Names;
use super::fields::{LINK, OWN_PLACE, PLACE, PlaceFields, own};
use super::tags::{Field, Tag, Tags};

/// What a file holds.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct AdifFile {
    /// Its contacts, in its order.
    pub contacts: Vec<Contact>,
    /// The records that are none, by the line on which each begins.
    pub refused: Vec<Complaint>,
}

/// Reads a file. A record that is no contact is named and left out.
pub fn read(bytes: &[u8], names: &Names) -> AdifFile {
    let mut file = AdifFile::default();
    let mut record = Record::default();
    let mut definitions = BTreeMap::new();
    for (line, tag) in Tags::new(bytes) {
        match tag {
            Tag::Field(field) => record.put(line, field),
            Tag::Broken(why) => record.spoil(line, why),
            Tag::HeadEnds => definitions.extend(defined(&std::mem::take(&mut record).fields)),
            Tag::RecordEnds => match std::mem::take(&mut record).contact(names) {
                Some(Ok(contact)) => file.contacts.push(contact),
                Some(Err(refused)) => file.refused.push(refused),
                None => {}
            },
        }
    }
    if let Some(line) = record.line {
        file.refused
            .push(Complaint { line, why: "this record has no <EOR>: the file may be cut off".to_owned() });
    }
    // Of files that were put together, each head counts for the whole: written again, there is one.
    for other in file.contacts.iter_mut().flat_map(|contact| &mut contact.other) {
        other.defined = definitions.get(&other.field).cloned();
    }
    file
}

/// The fields that a head defines, by name, each with its definition and type.
fn defined(head: &[Field]) -> BTreeMap<String, String> {
    let definition = |field: &Field| {
        field.name.strip_prefix("USERDEF")?.parse::<u32>().ok()?;
        let name = field.value.split(',').next()?.trim().to_ascii_uppercase();
        let kind = field.kind.as_deref().unwrap_or_default();
        Some((name, format!("{kind} {}", field.value)))
    };
    head.iter().filter_map(definition).collect()
}

/// The fields up to the next end.
#[derive(Default)]
struct Record {
    line: Option<usize>,
    fields: Vec<Field>,
    broken: Option<Complaint>,
}

impl Record {
    fn put(&mut self, line: usize, field: Field) {
        self.line.get_or_insert(line);
        self.fields.push(field);
    }

    fn spoil(&mut self, line: usize, why: String) {
        self.line.get_or_insert(line);
        self.broken.get_or_insert(Complaint { line, why });
    }

    /// `None` where nothing was said.
    fn contact(self, names: &Names) -> Option<Result<Contact, Complaint>> {
        let line = self.line?;
        if let Some(broken) = self.broken {
            return Some(Err(broken));
        }
        let mut fields = Fields(self.fields);
        let made = made(&mut fields, names).map(|mut contact| {
            // What Beamhand would write itself in the same words needs no keeping.
            let known = own(&contact, names);
            let is_news = |field: &&Field| {
                let is_it =
                    |own: &&Other| own.field == field.name && own.value.eq_ignore_ascii_case(&field.value);
                !field.value.is_empty() && !known.iter().any(|own| is_it(&own))
            };
            let kept = fields.0.iter().filter(is_news).map(|field| Other {
                field: field.name.clone(),
                value: field.value.clone(),
                kind: field.kind.clone(),
                defined: None,
            });
            contact.other = kept.collect();
            contact
        });
        Some(made.map_err(|why| Complaint { line, why }))
    }
}

/// The fields that were not understood yet.
struct Fields(Vec<Field>);

impl Fields {
    fn find(&self, name: &str) -> Option<(usize, &str)> {
        let found =
            self.0.iter().enumerate().find(|(_, field)| field.name == name && !field.value.trim().is_empty());
        found.map(|(at, field)| (at, field.value.trim()))
    }

    /// What `read` makes of a field's value; one that it can't read stays.
    fn take<T>(&mut self, name: &str, read: impl Fn(&str) -> Option<T>) -> Option<T> {
        let (at, value) = self.find(name)?;
        let value = read(value)?;
        self.0.remove(at);
        Some(value)
    }

    /// Takes off the first field that says so; whether there was one.
    fn remove(&mut self, name: &str, value: &str) -> bool {
        let found = self.0.iter().position(|field| field.name == name && field.value.trim() == value);
        found.map(|at| self.0.remove(at)).is_some()
    }

    fn text(&mut self, name: &str) -> Option<String> {
        self.take(name, |value| (!value.contains(char::is_control)).then(|| value.to_owned()))
    }

    /// One that must be there.
    fn need<T>(&mut self, name: &str, what: &str, read: impl Fn(&str) -> Option<T>) -> Result<T, String> {
        let value = self.find(name).map(|(_, value)| value.to_owned());
        self.take(name, read).ok_or_else(|| match value {
            Some(value) => format!("{name} is \"{value}\", which is no {what}"),
            None => format!("{name} is missing: a contact has a {what}"),
        })
    }
}

fn made(fields: &mut Fields, names: &Names) -> Result<Contact, String> {
    let callsign = fields.need("CALL", "callsign", |value| value.parse().ok())?;
    let day = fields.need("QSO_DATE", "date such as 20261125", date)?;
    let clock = fields.need("TIME_ON", "time such as 1838 or 183805", clock)?;
    let time: Time = day.and_time(clock).and_utc();
    Ok(Contact {
        satellite: fields.text("SAT_NAME").map(|name| names.own(&name).to_owned()),
        link: fields.text(LINK),
        receive_hz: fields.take("FREQ_RX", hertz),
        transmit_hz: fields.take("FREQ", hertz),
        mode: mode(fields),
        sent: fields.text("RST_SENT"),
        received: fields.text("RST_RCVD"),
        locator: place(fields, &PLACE),
        name: fields.text("NAME"),
        note: fields.text("COMMENT"),
        own_callsign: fields.take("STATION_CALLSIGN", |value| value.parse().ok()),
        own_locator: place(fields, &OWN_PLACE),
        ..Contact::new(callsign, time)
    })
}

fn place(fields: &mut Fields, place: &PlaceFields) -> Option<Squares> {
    let one = |value: &str| value.parse().ok().filter(|squares: &Squares| squares.locators().len() == 1);
    let finer = finer_place(fields, place);
    let border = finer.or_else(|| fields.take(place.border, border));
    border.or_else(|| fields.take(place.one, one))
}

/// A border more finely than in squares of four characters, unless those that are told are others.
fn finer_place(fields: &mut Fields, place: &PlaceFields) -> Option<Squares> {
    let finer = border(fields.find(place.finer)?.1)?;
    let (name, told) = place.coarse(&finer);
    if told == finer.to_string() {
        return None;
    }
    let is_fitting = fields.remove(name, &told);
    let is_alone = [place.one, place.border].iter().all(|name| fields.find(name).is_none());
    if is_fitting || is_alone { fields.take(place.finer, border) } else { None }
}

fn border(value: &str) -> Option<Squares> {
    value.parse().ok().filter(|squares: &Squares| squares.locators().len() > 1)
}

/// The sideband is the submode; older files have it as the mode.
fn mode(fields: &mut Fields) -> Option<Mode> {
    let (_, mode) = fields.find("MODE")?;
    let submode = fields.find("SUBMODE").map(|(_, value)| value);
    let known = match (mode.eq_ignore_ascii_case("SSB"), submode) {
        (true, submode) => submode?.parse().ok().filter(|mode| matches!(mode, Mode::Usb | Mode::Lsb)),
        (false, Some(_)) => None,
        (false, None) => mode.parse().ok(),
    }?;
    fields.0.retain(|field| !matches!(field.name.as_str(), "MODE" | "SUBMODE"));
    Some(known)
}

fn digits(value: &str, counts: &[usize]) -> bool {
    counts.contains(&value.len()) && value.bytes().all(|byte| byte.is_ascii_digit())
}

fn date(value: &str) -> Option<NaiveDate> {
    NaiveDate::parse_from_str(value, "%Y%m%d").ok().filter(|_| digits(value, &[8]))
}

fn clock(value: &str) -> Option<NaiveTime> {
    let whole = if value.len() == 4 { format!("{value}00") } else { value.to_owned() };
    NaiveTime::parse_from_str(&whole, "%H%M%S").ok().filter(|_| digits(value, &[4, 6]))
}

/// Megahertz, to the hertz.
fn hertz(value: &str) -> Option<Hertz> {
    let megahertz: f64 = value.parse().ok()?;
    (megahertz > 0.0 && megahertz < 1e7).then(|| Hertz::rounded(megahertz * 1e6))
}

#[cfg(test)]
mod tests;
