//! The kinds of values that a key can have: each reads one and says in words what it accepts.

use std::ops::RangeInclusive;
use std::path::{Path, PathBuf};

use chrono::NaiveTime;
use toml::de::DeValue;

use crate::config::defaults::FORMAT;
use crate::config::dialects::Dialects;
use crate::config::errors::nearest;
use crate::config::service::Service;
use crate::terms::{Hertz, Tone, WebAddress};

/// A value that was refused: the accepted word nearest to it, if there is one.
type Refused = Option<String>;

type Reader<T> = dyn Fn(&DeValue<'_>) -> Result<T, Refused>;

/// What a key accepts.
pub(in crate::config) struct Kind<T> {
    accepted: String,
    read: Box<Reader<T>>,
}

impl<T: 'static> Kind<T> {
    fn new(accepted: impl Into<String>, read: impl Fn(&DeValue<'_>) -> Option<T> + 'static) -> Self {
        Self::with_nearest(accepted, move |node| read(node).ok_or(None))
    }

    fn with_nearest(
        accepted: impl Into<String>,
        read: impl Fn(&DeValue<'_>) -> Result<T, Refused> + 'static,
    ) -> Self {
        Self { accepted: accepted.into(), read: Box::new(read) }
    }

    /// The same kind with every value passed through `make`, which may refuse it.
    pub(in crate::config) fn map<U: 'static>(
        self,
        accepted: impl Into<String>,
        make: impl Fn(T) -> Option<U> + 'static,
    ) -> Kind<U> {
        let read = self.read;
        Kind::with_nearest(accepted, move |node| make(read(node)?).ok_or(None))
    }
}

impl<T> Kind<T> {
    /// What is accepted, in words that follow "accepted:".
    pub(in crate::config) fn accepted(&self) -> String {
        self.accepted.clone()
    }

    pub(super) fn read(&self, node: &DeValue<'_>) -> Result<T, Refused> {
        (self.read)(node)
    }
}

/// A string that is not blank and fits on one line.
pub(in crate::config) fn text() -> Kind<String> {
    Kind::new("a text in quotes, on one line", |node| {
        let text = node.as_str()?.trim();
        (!text.is_empty() && !text.contains(char::is_control)).then(|| text.to_owned())
    })
}

/// A name without blanks.
pub(in crate::config) fn word() -> Kind<String> {
    text()
        .map("a word in quotes, without blanks", |text| (!text.contains(char::is_whitespace)).then_some(text))
}

/// A path; a relative one counts from `folder`.
pub(in crate::config) fn path(folder: &Path) -> Kind<PathBuf> {
    let folder = folder.to_owned();
    text().map("a path in quotes", move |path| Some(folder.join(path)))
}

/// Where a file can be fetched from.
pub(in crate::config) fn web_address() -> Kind<WebAddress> {
    word().map("an address that begins with https://, without a password", |text| text.parse().ok())
}

/// A name with, perhaps, one of its parts.
type Named = (String, Option<String>);

/// A satellite, or a list of equally important ones; each by its name, or with one of its links.
pub(in crate::config) fn named_or_grouped() -> Kind<Vec<Named>> {
    let accepted = "a satellite's name in quotes, { satellite = NAME, link = NAME }, or a list of those";
    Kind::new(accepted, |node| match node {
        DeValue::Array(members) => members.iter().map(|member| named(member.get_ref())).collect(),
        one => named(one).map(|one| vec![one]),
    })
}

fn named(node: &DeValue<'_>) -> Option<Named> {
    let Some(table) = node.as_table() else { return text().read(node).ok().map(|name| (name, None)) };
    let part = |key: &str| table.get(key).and_then(|part| text().read(part.get_ref()).ok());
    (table.len() == 2).then_some(())?;
    Some((part("satellite")?, Some(part("link")?)))
}

/// `true` or `false`.
pub(in crate::config) fn flag() -> Kind<bool> {
    Kind::new("true or false", |node| node.as_bool())
}

/// A number within a range; nan and infinity are in none.
pub(in crate::config) fn number(range: RangeInclusive<f64>, unit: &str) -> Kind<f64> {
    let accepted = format!("a number from {} to {}{}", range.start(), range.end(), with_unit(unit));
    Kind::new(accepted, move |node| float(node).filter(|number| range.contains(number)))
}

/// A direction and a height.
pub(in crate::config) fn azimuth_elevation() -> Kind<(f64, f64)> {
    Kind::new("[AZIMUTH, ELEVATION] in degrees", |node| {
        let DeValue::Array(pair) = node else { return None };
        let number = |index: usize| float(pair.get(index)?.get_ref());
        (pair.len() == 2).then_some((number(0)?, number(1)?))
    })
}

/// A whole number within a range.
pub(in crate::config) fn whole(range: RangeInclusive<i64>, unit: &str) -> Kind<i64> {
    let accepted = format!("a whole number from {} to {}{}", range.start(), range.end(), with_unit(unit));
    Kind::new(accepted, move |node| integer(node).filter(|number| range.contains(number)))
}

/// The number of the file's format.
pub(in crate::config) fn format() -> Kind<i64> {
    whole(FORMAT..=FORMAT, "").map(FORMAT.to_string(), Some)
}

/// A radio frequency, 100 kHz to 300 GHz.
pub(in crate::config) fn frequency() -> Kind<Hertz> {
    whole(100_000..=300_000_000_000, "")
        .map("a whole number of hertz from 100_000 to 300_000_000_000", |hertz| Some(Hertz(hertz)))
}

/// One of a few words.
pub(in crate::config) fn choice<T: Copy + 'static>(words: &'static [(&'static str, T)]) -> Kind<T> {
    let quoted: Vec<String> = words.iter().map(|(word, _)| format!("\"{word}\"")).collect();
    Kind::with_nearest(quoted.join(", "), move |node| {
        let found = node.as_str().ok_or(None)?;
        let exact = words.iter().find(|(word, _)| *word == found);
        exact.map(|(_, value)| *value).ok_or_else(|| nearest(found, words.iter().map(|(word, _)| *word)))
    })
}

/// The name of a wire language; those that fit the device are named as accepted.
pub(in crate::config) fn dialect(service: Service, dialects: &Dialects) -> Kind<String> {
    let names: Vec<String> = dialects.names().map(str::to_owned).collect();
    let fitting: Vec<String> = service.fitting(dialects).map(|dialect| dialect.name().to_owned()).collect();
    Kind::with_nearest(fitting.join(", "), move |node| {
        let found = node.as_str().ok_or(None)?;
        let known = names.iter().find(|name| *name == found).cloned();
        known.ok_or_else(|| nearest(found, fitting.iter().map(String::as_str)))
    })
}

/// An access tone of the standard.
pub(in crate::config) fn tone() -> Kind<Tone> {
    Kind::with_nearest("a standard access tone, 67.0 to 254.1 hertz", |node| {
        let hertz = float(node).ok_or(None)?;
        Tone::try_from(hertz).map_err(|_| nearest_tone(hertz))
    })
}

/// A time of the day, to the minute; `24:00` is the midnight at its end.
pub(in crate::config) fn time_of_day() -> Kind<NaiveTime> {
    Kind::new("a time of the day in quotes, such as \"06:00\"", |node| {
        let text = node.as_str()?;
        NaiveTime::parse_from_str(if text == "24:00" { "00:00" } else { text }, "%H:%M").ok()
    })
}

/// The value as an error shows it.
pub(in crate::config) fn shown(node: &DeValue<'_>) -> String {
    match node {
        DeValue::String(text) if text.chars().count() > 40 => {
            format!("the text \"{}...\"", text.chars().take(37).collect::<String>().escape_debug())
        }
        DeValue::String(text) => format!("the text \"{}\"", text.escape_debug()),
        DeValue::Integer(number) => format!("{number}"),
        DeValue::Float(number) => format!("{number}"),
        DeValue::Boolean(flag) => format!("{flag}"),
        DeValue::Datetime(time) => format!("the date or time {time}"),
        DeValue::Array(_) => "a list".into(),
        DeValue::Table(_) => "a table".into(),
    }
}

fn integer(node: &DeValue<'_>) -> Option<i64> {
    let integer = node.as_integer()?;
    i64::from_str_radix(integer.as_str(), integer.radix()).ok()
}

fn float(node: &DeValue<'_>) -> Option<f64> {
    let number = match node {
        DeValue::Float(float) => float.as_str().parse().ok()?,
        DeValue::Integer(_) => integer(node)? as f64,
        _ => return None,
    };
    Some(number).filter(|number: &f64| number.is_finite())
}

fn nearest_tone(hertz: f64) -> Option<String> {
    let away = |tone: &Tone| (f64::from(*tone) - hertz).abs();
    Tone::all().min_by(|a, b| away(a).total_cmp(&away(b))).map(|tone| tone.to_string())
}

fn with_unit(unit: &str) -> String {
    if unit.is_empty() { String::new() } else { format!(" {unit}") }
}
