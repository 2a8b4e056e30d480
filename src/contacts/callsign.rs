//! Callsigns.

use std::fmt;
use std::str::FromStr;

/// No callsign is longer, with all that is put before and behind it (our choice).
const LONGEST: usize = 20;
/// One may have a prefix before it and a suffix behind it: `DL/Q1ABC/P`.
const MOST_PARTS: usize = 3;

/// A callsign, in capitals.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Callsign(String);

/// A text that can't be a callsign.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\"{text}\" can't be a callsign: {why}")]
pub struct CallsignError {
    text: String,
    why: String,
}

/// Letters, digits and strokes, with a part that has both a letter and a digit (ITU Radio Regulations,
/// article 19: every amateur station's callsign has). More is not asked: special callsigns break the
/// finer rules.
impl FromStr for Callsign {
    type Err = CallsignError;
    fn from_str(text: &str) -> Result<Self, CallsignError> {
        let refused = |why: String| CallsignError { text: text.to_owned(), why };
        let capitals = text.trim().to_ascii_uppercase();
        let is_fine = |c: char| c.is_ascii_uppercase() || c.is_ascii_digit() || c == '/';
        if let Some((at, bad)) = capitals.chars().enumerate().find(|(_, c)| !is_fine(*c)) {
            let shown = bad.escape_debug();
            return Err(refused(format!("'{shown}', character {}, is no letter, digit or stroke", at + 1)));
        }
        if capitals.len() > LONGEST {
            return Err(refused(format!("it has more than {LONGEST} characters")));
        }
        let parts: Vec<&str> = capitals.split('/').collect();
        let is_own = |part: &&str| {
            part.len() >= 3
                && part.contains(|c: char| c.is_ascii_digit())
                && part.contains(|c: char| c.is_ascii_uppercase())
        };
        if !parts.iter().any(is_own) {
            return Err(refused(
                "three characters or more are wanted, a letter and a digit among them".to_owned(),
            ));
        }
        if parts.len() > MOST_PARTS || parts.iter().any(|part| part.is_empty()) {
            return Err(refused("a stroke stands between two parts, and there are three at most".to_owned()));
        }
        Ok(Self(capitals))
    }
}

impl fmt::Display for Callsign {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_can_be_a_callsign_is_taken_in_capitals() {
        for text in ["Q1ABC", "q1abc", " Q0HILL ", "Q1A", "DL/Q1ABC/P", "QB100HILL", "2Q0ABC", "Q1ABC/MM"] {
            let callsign: Callsign = text.parse().unwrap();
            assert_eq!(callsign.to_string(), text.trim().to_uppercase());
        }
    }

    #[test]
    fn what_can_not_be_one_is_refused_with_the_place() {
        for (text, why) in [
            ("Q1 ABC", "' ', character 3,"),
            ("Q1-ABC", "'-', character 3,"),
            ("QÄ1", "'Ä', character 2,"),
            ("Q1AB\u{7}", "'\\u{7}', character 5,"),
            ("", "three characters or more"),
            ("QABC", "a letter and a digit"),
            ("1234", "a letter and a digit"),
            ("Q1", "three characters or more"),
            ("Q1ABC/", "a stroke stands between"),
            ("/Q1ABC", "a stroke stands between"),
            ("A/Q1ABC/P/M", "three at most"),
            ("Q1ABCDEFGHIJKLMNOPQRST", "more than 20"),
        ] {
            let error = text.parse::<Callsign>().unwrap_err().to_string();
            assert!(error.contains(why), "{text}: {error}");
        }
    }
}
