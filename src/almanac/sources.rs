//! Where sets are fetched from, and what is known of each place.

use serde::{Deserialize, Serialize};

use crate::sky::ElementFile;
use crate::terms::{Time, WebAddress, later, seconds_between};

/// Between two requests to one source, seconds. Our own limit: elements change a few times a day,
/// and those who publish them serve many.
pub const PAUSE_S: f64 = 7200.0;

/// A place that the configuration names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// What the user calls it.
    pub name: String,
    /// Where it is.
    pub url: WebAddress,
}

/// What is known of a source.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Record {
    /// The source's name.
    pub name: String,
    /// Where it was then; of another place nothing of this holds.
    pub url: String,
    /// When it was last asked.
    pub asked: Option<Time>,
    /// When its last good answer came, or the word that nothing has changed since.
    pub good: Option<Time>,
    /// How many good sets that answer held.
    pub sets: usize,
    /// The answer's own mark, to ask whether it has changed.
    pub etag: Option<String>,
    /// The time of change that the answer gave, in its own words.
    pub last_modified: Option<String>,
}

impl Record {
    /// Of a place that was never asked.
    pub fn new(source: &Source) -> Self {
        Self { name: source.name.clone(), url: source.url.to_string(), ..Self::default() }
    }

    /// When it may be asked next, if that is not yet.
    pub fn not_before(&self, now: Time) -> Option<Time> {
        let since = seconds_between(self.asked?, now);
        // A time in the future comes from a clock that was wrong, and limits nothing.
        (0.0..PAUSE_S).contains(&since).then(|| later(now, PAUSE_S - since))
    }

    /// Whether an answer is one to take sets from; else, in words, why not.
    pub fn judge(&self, answer: &ElementFile) -> Result<(), String> {
        let good = answer.sets.len();
        if good == 0 {
            let first = answer.refused.first();
            let why =
                first.map_or("it is empty".to_owned(), |bad| format!("line {}: {}", bad.line, bad.reason));
            return Err(format!("it holds no element set ({why})"));
        }
        if answer.cut_off {
            return Err("it ends in the middle of a set".to_owned());
        }
        if good * 2 < self.sets {
            return Err(format!(
                "it holds {good} good sets, fewer than half of the {} before; if that is meant, give the source \
                 another name",
                self.sets
            ));
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sky::read_elements;
    use crate::terms::parse_time;

    const DEMO: &str = include_str!("../../config/demo/elements.txt");

    #[test]
    fn a_source_is_asked_at_most_once_in_two_hours() {
        let asked = parse_time("2026-11-25T12:00:00Z").unwrap();
        let record = Record { asked: Some(asked), ..Record::default() };
        let two = parse_time("2026-11-25T14:00:00Z").unwrap();
        for seconds in [0.0, 1.0, 7199.0] {
            assert_eq!(record.not_before(later(asked, seconds)), Some(two), "{seconds}");
        }
        for seconds in [7200.0, 1e6, -60.0] {
            assert_eq!(record.not_before(later(asked, seconds)), None, "{seconds}");
        }
        assert_eq!(Record::default().not_before(asked), None);
    }

    #[test]
    fn an_answer_that_can_not_be_meant_is_named() {
        let says = |before: usize, text: &str| {
            let record = Record { sets: before, ..Record::default() };
            record.judge(&read_elements(text)).err().unwrap_or_default()
        };
        assert_eq!((says(0, DEMO), says(10, DEMO)), (String::new(), String::new()));
        assert!(says(11, DEMO).contains("it holds 5 good sets, fewer than half of the 11 before"));
        assert!(says(0, "").contains("no element set (it is empty)"));
        assert!(says(0, "<html>Sorry</html>").contains("no element set (line 1: <html>"));
        let lines: Vec<&str> = DEMO.lines().collect();
        assert!(says(0, &lines[..lines.len() - 1].join("\n")).contains("in the middle of a set"));
    }
}
