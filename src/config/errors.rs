//! What is wrong with a file, and where.

use std::fmt;
use std::path::PathBuf;

use strsim::jaro_winkler;

/// A place in a file, as editors and compilers count.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Location {
    /// The file as it was named.
    pub file: PathBuf,
    /// From 1; 0 when the file as a whole is meant.
    pub line: usize,
    /// In characters, from 1; 0 when the file as a whole is meant.
    pub column: usize,
}

impl Location {
    /// The file as a whole.
    pub fn whole(file: impl Into<PathBuf>) -> Self {
        Self { file: file.into(), line: 0, column: 0 }
    }

    /// The place of the byte at `offset` of `text`, which may be one past its end.
    pub fn of_offset(file: impl Into<PathBuf>, text: &str, offset: usize) -> Self {
        let before = text.get(..offset).unwrap_or(text);
        let start_of_line = before.rfind('\n').map_or(0, |newline| newline + 1);
        Self {
            file: file.into(),
            line: before.matches('\n').count() + 1,
            column: before[start_of_line..].chars().count() + 1,
        }
    }
}

/// `file:line:column`, or the file alone.
impl fmt::Display for Location {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let file = self.file.display();
        if self.line == 0 { write!(f, "{file}") } else { write!(f, "{file}:{}:{}", self.line, self.column) }
    }
}

/// One thing that is wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ConfigError {
    /// The key, or the section in which one is missing.
    pub at: Location,
    /// What was found.
    pub what: String,
    /// What would be accepted there, in words.
    pub accepted: Option<String>,
    /// The accepted word most like the one that was found.
    pub nearest: Option<String>,
}

impl ConfigError {
    /// With nothing to add to `what`.
    pub fn new(at: Location, what: impl Into<String>) -> Self {
        Self { at, what: what.into(), accepted: None, nearest: None }
    }
}

/// One line: `file:line:column: what; nearest: ...; accepted: ...`.
impl fmt::Display for ConfigError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // What a file holds is not obeyed by the screen that shows it.
        let shown = |c: char| if c.is_control() { c.escape_default().to_string() } else { c.to_string() };
        write!(f, "{}: {}", self.at, self.what.chars().map(shown).collect::<String>())?;
        if let Some(nearest) = &self.nearest {
            write!(f, "; nearest: {nearest}")?;
        }
        if let Some(accepted) = &self.accepted {
            write!(f, "; accepted: {accepted}")?;
        }
        Ok(())
    }
}

/// Everything that is wrong with a file, in the file's order; never empty.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ConfigErrors(Vec<ConfigError>);

impl ConfigErrors {
    /// Sorts the errors by place. What two devices say of one file counts once.
    pub fn new(mut errors: Vec<ConfigError>) -> Self {
        errors.sort_by(|a, b| a.at.cmp(&b.at));
        errors.dedup();
        Self(errors)
    }

    /// The errors.
    pub fn iter(&self) -> impl Iterator<Item = &ConfigError> {
        self.0.iter()
    }
}

/// So many errors are shown: who mends them has enough to do.
const SHOWN: usize = 50;

/// One line an error; of very many, the first ones and how many more there are.
impl fmt::Display for ConfigErrors {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut lines: Vec<String> = self.0.iter().take(SHOWN).map(ConfigError::to_string).collect();
        if self.0.len() > SHOWN {
            lines.push(format!("and {} more", self.0.len() - SHOWN));
        }
        f.write_str(&lines.join("\n"))
    }
}

impl std::error::Error for ConfigErrors {}

/// The word most like `found`, if one is like it at all.
pub(super) fn nearest<'w>(found: &str, words: impl IntoIterator<Item = &'w str>) -> Option<String> {
    // This measure favours a common beginning, as in `altitude` and `altitude_m`.
    let alike = |word: &&str| jaro_winkler(&found.to_lowercase(), word);
    let best = words.into_iter().max_by(|a, b| alike(a).total_cmp(&alike(b)))?;
    (alike(&best) >= 0.75).then(|| best.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_count_lines_and_characters_from_one() {
        let at = |offset| {
            let place = Location::of_offset("a.toml", "ab\né = 1\n", offset);
            (place.line, place.column)
        };
        assert_eq!([at(0), at(1), at(3), at(6), at(9)], [(1, 1), (1, 2), (2, 1), (2, 3), (2, 6)]);
        assert_eq!(at(10), (3, 1));
    }

    #[test]
    fn an_error_is_one_line_with_place_nearest_and_accepted() {
        let error = ConfigError {
            at: Location { file: "a.toml".into(), line: 3, column: 5 },
            what: "unknown key `nmae`".into(),
            accepted: Some("name, port".into()),
            nearest: Some("name".into()),
        };
        assert_eq!(error.to_string(), "a.toml:3:5: unknown key `nmae`; nearest: name; accepted: name, port");
    }

    #[test]
    fn of_very_many_errors_fifty_are_shown_and_the_others_counted() {
        let shown = |count: usize| {
            let error =
                |line| ConfigError::new(Location { file: "a.toml".into(), line, column: 1 }, "unknown key");
            ConfigErrors::new((1..=count).map(error).collect()).to_string()
        };
        let (all, some) = (shown(50), shown(53));
        assert_eq!(all.lines().count(), 50);
        assert_eq!(some.strip_prefix(&all), Some("\nand 3 more"));
    }

    #[test]
    fn what_a_file_holds_can_not_steer_the_screen() {
        let error = ConfigError::new(Location::whole("a.toml"), "unknown key \"\u{1b}[2J\n\"");
        assert_eq!(error.to_string(), "a.toml: unknown key \"\\u{1b}[2J\\n\"");
    }

    #[test]
    fn the_nearest_word_is_found_and_nonsense_has_none() {
        let words = ["latitude", "longitude", "locator"];
        assert_eq!(nearest("Latitud", words), Some("latitude".into()));
        assert_eq!(nearest("zzz", words), None);
    }
}
