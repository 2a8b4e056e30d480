//! Walks a parsed TOML document and collects everything that is wrong with it. Reading through
//! serde would stop at the first error and lose places; this keeps both.

use std::cell::RefCell;
use std::ops::Range;
use std::path::Path;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::errors::{ConfigError, ConfigErrors, Location, nearest};
use super::text_file::{self, SETTINGS_LIMIT};
use kind::Kind;

pub(super) mod kind;
mod slips;

/// The file being read, and what has been found wrong with it.
pub(super) struct Report<'a> {
    file: &'a Path,
    text: &'a str,
    errors: RefCell<Vec<ConfigError>>,
}

impl<'a> Report<'a> {
    fn new(file: &'a Path, text: &'a str) -> Self {
        Self { file, text, errors: RefCell::default() }
    }

    fn place(&self, span: &Range<usize>) -> Location {
        Location::of_offset(self.file, self.text, span.start)
    }

    fn add(&self, error: ConfigError) {
        self.errors.borrow_mut().push(error);
    }
}

/// Reads `text` by `read`, which is given the root section. TOML that can't be parsed is reported
/// without looking further: what follows a syntax error would be guesswork.
pub(super) fn read_document<T>(
    file: &Path,
    text: &str,
    read: impl FnOnce(Section<'_>) -> Option<T>,
) -> Result<T, ConfigErrors> {
    let report = Report::new(file, text);
    let (root, syntax) = DeTable::parse_recoverable(text);
    for error in &syntax {
        let offset = error.span().map_or(0, |span| span.start);
        let what = format!("this is no TOML: {}", error.message().replace('\n', ", "));
        let slip = slips::of_syntax(text, offset, error.message());
        report.add(ConfigError::new(report.place(&(offset..offset)), what + &slip.unwrap_or_default()));
    }
    let value = if syntax.is_empty() {
        read(Section::new(&report, "the file", 0..0, Some(root.get_ref())))
    } else {
        None
    };
    match (value, report.errors.into_inner()) {
        (Some(value), errors) if errors.is_empty() => Ok(value),
        (None, errors) if errors.is_empty() => {
            Err(ConfigErrors::new(vec![ConfigError::new(Location::whole(file), "gave no value")]))
        }
        (_, errors) => Err(ConfigErrors::new(errors)),
    }
}

/// Reads a file's text; what can't be read, or is not UTF-8, is an error of the same kind.
/// `if_missing` says what to do where there is no such file.
pub(super) fn read_text(file: &Path, if_missing: &str) -> Result<String, ConfigErrors> {
    text_file::read_text(file, SETTINGS_LIMIT).map_err(|unreadable| {
        let at = Location { file: file.to_owned(), line: unreadable.line, column: unreadable.column };
        let remedy = if unreadable.is_missing { format!("; {if_missing}") } else { String::new() };
        ConfigErrors::new(vec![ConfigError::new(at, unreadable.what + &remedy)])
    })
}

/// One table of the document. Every key that is asked for becomes a known one;
/// [`Section::finish`] reports those that nobody asked for.
pub(super) struct Section<'a> {
    report: &'a Report<'a>,
    title: String,
    span: Range<usize>,
    /// `None` where the file leaves the section out: then every key is missing.
    table: Option<&'a DeTable<'a>>,
    known: Vec<&'static str>,
}

impl<'a> Section<'a> {
    fn new(
        report: &'a Report<'a>,
        title: impl Into<String>,
        span: Range<usize>,
        table: Option<&'a DeTable<'a>>,
    ) -> Self {
        Self { report, title: title.into(), span, table, known: Vec::new() }
    }

    /// Whether the file has this section at all.
    pub(super) fn is_there(&self) -> bool {
        self.table.is_some()
    }

    /// Whether the section has this key.
    pub(super) fn has(&self, key: &str) -> bool {
        self.table.is_some_and(|table| table.contains_key(key))
    }

    /// Whether the section has this key, and its value is a table.
    pub(super) fn has_table(&self, key: &str) -> bool {
        self.table.is_some_and(|table| table.get(key).is_some_and(|node| node.get_ref().is_table()))
    }

    /// The place of the section's head.
    pub(super) fn place(&self) -> Location {
        self.report.place(&self.span)
    }

    /// The place of a key, or of the section's head if it is not there.
    pub(super) fn place_of(&self, key: &str) -> Location {
        let entry = self.table.and_then(|table| table.get_key_value(key));
        entry.map_or_else(|| self.place(), |(key, _)| self.report.place(&key.span()))
    }

    /// The folder that relative paths in this file count from.
    pub(super) fn folder(&self) -> &'a Path {
        self.report.file.parent().unwrap_or(Path::new(""))
    }

    /// Reports something wrong with the section's sense, at a key.
    pub(super) fn refuse(&self, key: &str, what: impl Into<String>) {
        self.report.add(ConfigError::new(self.place_of(key), what));
    }

    /// Reports something wrong with the section's sense, at a key, and what would be accepted.
    pub(super) fn refuse_among(&self, key: &str, what: impl Into<String>, accepted: String) {
        let error = ConfigError::new(self.place_of(key), what);
        self.report.add(ConfigError { accepted: Some(accepted), ..error });
    }

    /// Passes on what is wrong with another file that this section names.
    pub(super) fn refuse_elsewhere(&self, errors: &ConfigErrors) {
        errors.iter().for_each(|error| self.report.add(error.clone()));
    }

    /// The value of a key that may be left out; `None` also if it is wrong, which is reported.
    pub(super) fn optional<T>(&mut self, key: &'static str, kind: &Kind<T>) -> Option<T> {
        let (at, node) = self.entry(key)?;
        self.read(key, at, node.get_ref(), kind)
    }

    /// The value of a key that may be left out, or its default.
    pub(super) fn or<T>(&mut self, key: &'static str, kind: &Kind<T>, default: T) -> T {
        self.optional(key, kind).unwrap_or(default)
    }

    /// The value of a key that must be there.
    pub(super) fn required<T>(&mut self, key: &'static str, kind: &Kind<T>) -> Option<T> {
        if !self.has(key) {
            self.know([key]);
            self.miss(key, kind.accepted());
            return None;
        }
        self.optional(key, kind)
    }

    /// The items of a list, each of the kind; items that are wrong are reported and left out.
    pub(super) fn list<T>(&mut self, key: &'static str, kind: &Kind<T>) -> Option<Vec<T>> {
        let items = self.list_with_places(key, kind)?;
        Some(items.into_iter().map(|(item, _)| item).collect())
    }

    /// The same, each with its place.
    pub(super) fn list_with_places<T>(
        &mut self,
        key: &'static str,
        kind: &Kind<T>,
    ) -> Option<Vec<(T, Location)>> {
        let (at, node) = self.entry(key)?;
        let DeValue::Array(items) = node.get_ref() else {
            self.wrong(key, at, node.get_ref(), format!("a list, each {}", kind.accepted()), None);
            return None;
        };
        let read = |item: &Spanned<DeValue<'_>>| {
            let value = self.read(key, item.span(), item.get_ref(), kind)?;
            Some((value, self.report.place(&item.span())))
        };
        Some(items.iter().filter_map(read).collect())
    }

    /// One value or a list of them.
    pub(super) fn one_or_more<T>(&mut self, key: &'static str, kind: &Kind<T>) -> Option<Vec<T>> {
        let is_list = self.table?.get(key).is_some_and(|node| node.get_ref().is_array());
        if is_list { self.list(key, kind) } else { self.optional(key, kind).map(|value| vec![value]) }
    }

    /// A table inside this one; one that is left out reads as empty.
    pub(super) fn section(&mut self, key: &'static str, title: &str) -> Section<'a> {
        let Some((at, node)) = self.entry(key) else {
            return Section::new(self.report, title, self.span.clone(), None);
        };
        match node.get_ref() {
            DeValue::Table(table) => Section::new(self.report, title, at, Some(table)),
            other => {
                self.wrong(key, at.clone(), other, format!("a table, {title}"), None);
                Section::new(self.report, title, at, None)
            }
        }
    }

    /// The tables of a list of tables; none if it is left out.
    pub(super) fn sections(&mut self, key: &'static str, title: &str) -> Vec<Section<'a>> {
        let Some((at, node)) = self.entry(key) else {
            return Vec::new();
        };
        let accepted = || format!("a list of tables, {title}");
        let DeValue::Array(items) = node.get_ref() else {
            self.wrong(key, at, node.get_ref(), accepted(), None);
            return Vec::new();
        };
        let mut sections = Vec::new();
        for item in items {
            match item.get_ref() {
                DeValue::Table(table) => {
                    sections.push(Section::new(self.report, title, item.span(), Some(table)));
                }
                other => self.wrong(key, item.span(), other, accepted(), None),
            }
        }
        sections
    }

    /// One table or a list of tables; none if it is left out.
    pub(super) fn one_or_more_sections(&mut self, key: &'static str, title: &str) -> Vec<Section<'a>> {
        if self.has_table(key) { vec![self.section(key, title)] } else { self.sections(key, title) }
    }

    /// Makes keys known without reading them.
    pub(super) fn know(&mut self, keys: impl IntoIterator<Item = &'static str>) {
        self.known.extend(keys);
    }

    /// Reports keys that make no sense in this section as it stands.
    pub(super) fn forbid(&mut self, keys: impl IntoIterator<Item = &'static str>, why: &str) {
        for key in keys {
            self.know([key]);
            if self.has(key) {
                self.refuse(key, format!("`{key}` does not belong here: {why}"));
            }
        }
    }

    /// Reports every key that nobody asked for.
    pub(super) fn finish(&self) {
        for key in self.table.into_iter().flat_map(|table| table.keys()) {
            let name: &str = key.get_ref();
            if self.known.contains(&name) {
                continue;
            }
            let slip = slips::switched_off_above(self.report.text, key.span().start);
            self.report.add(ConfigError {
                at: self.report.place(&key.span()),
                what: format!("unknown key `{name}` in {}", self.title) + &slip.unwrap_or_default(),
                accepted: Some(self.known.join(", ")),
                nearest: nearest(name, self.known.iter().copied()),
            });
        }
    }

    fn entry(&mut self, key: &'static str) -> Option<(Range<usize>, &'a Spanned<DeValue<'a>>)> {
        self.know([key]);
        let (key, node) = self.table?.get_key_value(key)?;
        Some((key.span(), node))
    }

    fn read<T>(&self, key: &str, at: Range<usize>, node: &DeValue<'_>, kind: &Kind<T>) -> Option<T> {
        match kind.read(node) {
            Ok(value) => Some(value),
            Err(nearest) => {
                self.wrong(key, at, node, kind.accepted(), nearest);
                None
            }
        }
    }

    fn miss(&self, key: &str, accepted: String) {
        self.report.add(ConfigError {
            accepted: Some(accepted),
            ..ConfigError::new(self.place(), format!("`{key}` is missing in {}", self.title))
        });
    }

    fn wrong(&self, key: &str, at: Range<usize>, node: &DeValue<'_>, accepted: String, near: Option<String>) {
        self.report.add(ConfigError {
            at: self.report.place(&at),
            what: format!("`{key}` is {}", kind::shown(node)),
            accepted: Some(accepted),
            nearest: near,
        });
    }
}

/// Reports, at its `key`, every section whose value repeats an earlier one's.
pub(super) fn refuse_repeated<T, K: PartialEq>(
    heads: &[Section<'_>],
    values: &[Option<T>],
    key: &str,
    identity: impl Fn(&T) -> K,
) {
    let identities: Vec<Option<K>> = values.iter().map(|value| value.as_ref().map(&identity)).collect();
    for (i, (head, own)) in heads.iter().zip(&identities).enumerate() {
        let first = identities[..i].iter().position(|earlier| own.is_some() && earlier == own);
        if let Some(first) = first.and_then(|first| heads.get(first)) {
            head.refuse(
                key,
                format!("this `{key}` is that of {} on line {} too", head.title, first.place().line),
            );
        }
    }
}
