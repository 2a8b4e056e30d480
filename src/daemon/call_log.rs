//! Which of the operator's calls are logged: what is repeated all the time fills no log.

use std::collections::HashMap;
use std::time::Duration;

/// How long the lines of one peer count.
const WINDOW: Duration = Duration::from_secs(60);
/// How many of them there may be: an operator at the keys makes fewer, a program that runs wild
/// makes no more.
const LINES: u32 = 20;
/// More peers than this are taken for one.
const PEERS: usize = 16;

/// What each peer has had logged.
#[derive(Debug, Default)]
pub(super) struct CallLog(HashMap<String, Peer>);

#[derive(Debug, Default)]
struct Peer {
    since: Duration,
    lines: u32,
    unsaid: u64,
}

impl CallLog {
    /// The line for a call, if it is to be logged.
    pub(super) fn line(&mut self, peer: &str, call: &str, now: Duration) -> Option<String> {
        let is_known = self.0.contains_key(peer) || self.0.len() < PEERS;
        let known = self.0.entry(if is_known { peer } else { "others" }.to_owned()).or_default();
        if now.saturating_sub(known.since) >= WINDOW {
            (known.since, known.lines) = (now, 0);
        }
        if known.lines >= LINES {
            known.unsaid += 1;
            return None;
        }
        known.lines += 1;
        let unsaid = std::mem::take(&mut known.unsaid);
        let more =
            if unsaid == 0 { String::new() } else { format!(" ({unsaid} calls before it not logged)") };
        let rest = if known.lines == LINES { "; the rest of this minute's calls is not logged" } else { "" };
        Some(format!("{peer}: {call}{more}{rest}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_flood_of_calls_fills_no_log_and_hides_nobody_else() {
        let mut log = CallLog::default();
        let flood: Vec<String> =
            (0..6000).filter_map(|i| log.line("user 1000", "halt", Duration::from_millis(10 * i))).collect();
        assert_eq!(flood.len(), 20);
        assert!(flood[19].contains("not logged"), "{}", flood[19]);
        let other = log.line("user 1001", "resume", Duration::from_secs(59));
        assert_eq!(other.as_deref(), Some("user 1001: resume"));
        let later = log.line("user 1000", "halt", Duration::from_secs(61)).unwrap();
        assert_eq!(later, "user 1000: halt (5980 calls before it not logged)");
    }

    #[test]
    fn endless_peers_take_no_memory() {
        let mut log = CallLog::default();
        let lines = (0..1000).filter_map(|i| log.line(&format!("user {i}"), "halt", Duration::ZERO)).count();
        assert!(log.0.len() <= PEERS + 1 && lines <= PEERS + LINES as usize, "{lines}");
    }
}
