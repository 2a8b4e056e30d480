//! Who may fill the log, and how far: what is repeated all the time fills none.

use std::collections::HashMap;
use std::time::Duration;

/// How long the lines of one source count.
const WINDOW: Duration = Duration::from_secs(60);
/// How many of them there may be: an operator at the keys makes fewer, a program that runs wild
/// makes no more.
const LINES: u32 = 20;
/// More sources than this are taken for one.
const SOURCES: usize = 16;

/// What each source has had logged.
#[derive(Debug, Default)]
pub(super) struct LogLimit(HashMap<String, Source>);

#[derive(Debug, Default)]
struct Source {
    since: Duration,
    lines: u32,
    unsaid: u64,
}

impl LogLimit {
    /// The line as it is to be logged, if it is.
    pub(super) fn admit(&mut self, source: &str, line: &str, now: Duration) -> Option<String> {
        let is_known = self.0.contains_key(source) || self.0.len() < SOURCES;
        let known = self.0.entry(if is_known { source } else { "others" }.to_owned()).or_default();
        if now.saturating_sub(known.since) >= WINDOW {
            (known.since, known.lines) = (now, 0);
        }
        if known.lines >= LINES {
            known.unsaid += 1;
            return None;
        }
        known.lines += 1;
        let unsaid = std::mem::take(&mut known.unsaid);
        let more = if unsaid == 0 { String::new() } else { format!(" ({unsaid} lines like it not logged)") };
        let rest = if known.lines == LINES { "; the rest of this minute's are not logged" } else { "" };
        Some(format!("{line}{more}{rest}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_flood_of_calls_fills_no_log_and_hides_nobody_else() {
        let mut log = LogLimit::default();
        let flood: Vec<String> =
            (0..6000).filter_map(|i| log.admit("user 1000", "halt", Duration::from_millis(10 * i))).collect();
        assert_eq!(flood.len(), 20);
        assert!(flood[19].contains("not logged"), "{}", flood[19]);
        let other = log.admit("user 1001", "resume", Duration::from_secs(59));
        assert_eq!(other.as_deref(), Some("resume"));
        let later = log.admit("user 1000", "halt", Duration::from_secs(61)).unwrap();
        assert_eq!(later, "halt (5980 lines like it not logged)");
    }

    #[test]
    fn endless_sources_take_no_memory() {
        let mut log = LogLimit::default();
        let lines = (0..1000).filter_map(|i| log.admit(&format!("user {i}"), "halt", Duration::ZERO)).count();
        assert!(log.0.len() <= SOURCES + 1 && lines <= SOURCES + LINES as usize, "{lines}");
    }
}
