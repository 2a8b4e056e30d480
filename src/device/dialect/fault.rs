//! What is wrong with a dialect file, and where.

use super::document::Place;

/// A fault in a dialect file.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{line}:{column}: {text}")]
pub struct DialectError {
    /// The name of the dialect in whose file it is: a base, perhaps.
    pub dialect: String,
    /// From 1; 0 where the file as a whole is meant.
    pub line: usize,
    /// From 1, in characters; 0 where the file as a whole is meant.
    pub column: usize,
    /// What is wrong and what would be right.
    pub text: String,
}

impl DialectError {
    pub(super) fn at(dialect: &str, place: Place, text: impl Into<String>) -> Self {
        let (line, column) = place.unwrap_or((1, 1));
        Self { dialect: dialect.to_owned(), line, column, text: text.into() }
    }
}
