//! A fault that may last, in the log: its first line, now and then how often it came again, and that it
//! is over.

use std::time::{Duration, Instant};

/// The least time between two lines that it is there; with those that it is over, eight lines a minute.
const BETWEEN: Duration = Duration::from_secs(15);

/// What was said of one fault.
#[derive(Debug, Default)]
pub(super) struct LastingFault {
    said_at: Option<Instant>,
    /// Whether it was said since it was over.
    is_said: bool,
    /// How often it came since the last line.
    unsaid: u64,
}

impl LastingFault {
    /// It is there, in words; the line that is due.
    pub(super) fn came(&mut self, what: &str, now: Instant) -> Option<String> {
        if self.said_at.is_some_and(|at| now.saturating_duration_since(at) < BETWEEN) {
            self.unsaid += 1;
            return None;
        }
        (self.said_at, self.is_said) = (Some(now), true);
        Some(format!("{what}{}", self.more()))
    }

    /// It is not there, in words; the line that is due.
    pub(super) fn is_over(&mut self, what: &str) -> Option<String> {
        std::mem::take(&mut self.is_said).then(|| format!("{what}{}", self.more()))
    }

    fn more(&mut self) -> String {
        match std::mem::take(&mut self.unsaid) {
            0 => String::new(),
            unsaid => format!(" ({unsaid} times more before)"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_line_the_count_and_the_end_are_said() {
        let (mut fault, begin) = (LastingFault::default(), Instant::now());
        assert_eq!(fault.is_over("it works again"), None);
        let came: Vec<String> =
            (0..300).filter_map(|i| fault.came("full", begin + Duration::from_millis(100 * i))).collect();
        assert_eq!(came, ["full", "full (149 times more before)"]);
        assert_eq!(fault.is_over("it works again").unwrap(), "it works again (149 times more before)");
        assert_eq!(fault.is_over("it works again"), None);
    }

    #[test]
    fn one_that_comes_and_goes_all_the_time_fills_no_log() {
        let (mut fault, begin) = (LastingFault::default(), Instant::now());
        let lines = (0..6000).filter_map(|i| {
            let now = begin + Duration::from_millis(100 * i);
            if i % 2 == 0 { fault.came("full", now) } else { fault.is_over("it works again") }
        });
        let count = lines.count();
        assert!((10..=100).contains(&count), "{count} lines in ten minutes");
    }
}
