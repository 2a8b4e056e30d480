//! The dialects that a configuration can name: the user's own files, and the built-in ones behind
//! them.

use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::errors::{ConfigError, ConfigErrors, Location};
use super::text_file::{DIALECT_LIMIT, read_text};
use crate::device::dialect::{Dialect, DialectError, OwnTexts};

/// What a dialect file's name ends with.
const ENDING: &str = "toml";

/// Dialects by name. `NAME.toml` in the user's folder is dialect NAME, also where a built-in one
/// has that name.
#[derive(Debug, Clone, Default)]
pub struct Dialects {
    files: BTreeMap<String, PathBuf>,
    texts: OwnTexts,
}

impl Dialects {
    /// The built-in ones alone.
    pub fn built_in() -> Self {
        Self::default()
    }

    /// Those of a folder, and the built-in ones.
    ///
    /// # Errors
    /// A folder that can't be read. A file that can't be is the error of who asks for it.
    pub fn in_folder(folder: &Path) -> io::Result<Self> {
        let mut own = Self::default();
        for entry in folder.read_dir()? {
            own.add(entry?.path());
        }
        Ok(own)
    }

    /// These texts as if they were files of a folder, and the built-in ones.
    pub(super) fn of_texts(folder: &Path, own: &BTreeMap<String, String>) -> Self {
        let files = own.keys().map(|name| (name.clone(), folder.join(format!("{name}.{ENDING}"))));
        let texts = own.iter().map(|(name, text)| (name.clone(), Ok(text.clone())));
        Self { files: files.collect(), texts: texts.collect() }
    }

    /// The texts of the user's own, as far as they could be read.
    pub(super) fn readable(&self) -> BTreeMap<String, String> {
        let texts = self.texts.iter().filter_map(|(name, text)| Some((name.clone(), text.clone().ok()?)));
        texts.collect()
    }

    /// The same with one more file, which may stand anywhere.
    pub fn with(mut self, file: PathBuf) -> Self {
        self.add(file);
        self
    }

    fn add(&mut self, file: PathBuf) {
        let (Some(name), Some(ending)) = (file.file_stem(), file.extension()) else { return };
        let Some(name) = name.to_str().filter(|_| ending == ENDING).map(str::to_owned) else { return };
        let text = read_text(&file, DIALECT_LIMIT).map_err(|unreadable| DialectError {
            dialect: name.clone(),
            line: unreadable.line,
            column: unreadable.column,
            text: unreadable.what,
        });
        self.texts.insert(name.clone(), text);
        self.files.insert(name, file);
    }

    /// The dialect of this name; `None` if there is none.
    pub fn get(&self, name: &str) -> Option<Result<Arc<Dialect>, ConfigErrors>> {
        if !self.files.contains_key(name) {
            return Dialect::builtin(name).map(Ok);
        }
        let read = Dialect::of_user(name, &self.texts);
        Some(read.map(Arc::new).map_err(|faults| {
            ConfigErrors::new(faults.into_iter().map(|fault| self.placed(fault)).collect())
        }))
    }

    fn placed(&self, fault: DialectError) -> ConfigError {
        let file = self.file(&fault.dialect).map_or_else(|| PathBuf::from(&fault.dialect), Path::to_owned);
        ConfigError::new(Location { file, line: fault.line, column: fault.column }, fault.text)
    }

    /// The user's file that the dialect of this name is in; `None` for a built-in one.
    pub fn file(&self, name: &str) -> Option<&Path> {
        self.files.get(name).map(PathBuf::as_path)
    }

    /// The names of the user's own, sorted.
    pub fn own(&self) -> impl Iterator<Item = &str> {
        self.files.keys().map(String::as_str)
    }

    /// Every name: the built-in ones in their order, then the user's other ones.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        let others = self.own().filter(|name| Dialect::builtin_text(name).is_none());
        Dialect::names().map(|name| -> &str { name }).chain(others)
    }

    /// Every dialect that is in order.
    pub fn all(&self) -> impl Iterator<Item = Arc<Dialect>> {
        self.names().filter_map(|name| self.get(name)?.ok())
    }
}
