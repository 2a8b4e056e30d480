//! Which questions a radio does not answer.
//!
//! A refusal says that the radio does not know the question. A silence says so only while the
//! radio answers others, and never of a question that it has answered before: then it was off, or
//! its line was disturbed.

use std::collections::{BTreeSet, HashMap};

use serde::{Deserialize, Serialize};

use super::ATTEMPTS;

/// Refusals and silences by question, since the port was opened.
#[derive(Debug, Default, Serialize, Deserialize)]
pub(super) struct Reticence {
    refused: HashMap<String, u32>,
    ignored: HashMap<String, u32>,
    /// What was answered once.
    answered: BTreeSet<String>,
    /// What was not answered since the last answer to anything.
    silent_on: BTreeSet<String>,
}

impl Reticence {
    /// The question was refused.
    pub(super) fn refused(&mut self, item: &str) {
        self.spoke();
        *self.refused.entry(item.to_owned()).or_default() += 1;
    }

    /// Nothing came back.
    pub(super) fn ignored(&mut self, item: &str) {
        self.silent_on.insert(item.to_owned());
        *self.ignored.entry(item.to_owned()).or_default() += 1;
    }

    /// The question was answered.
    pub(super) fn answered(&mut self, item: &str) {
        self.spoke();
        self.refused.remove(item);
        self.ignored.remove(item);
        self.answered.insert(item.to_owned());
    }

    /// The radio is there: what it did not say while it said nothing at all is asked again.
    fn spoke(&mut self) {
        let was_mute = self.silent_on.len() > 1;
        let answered = &self.answered;
        self.ignored.retain(|item, _| !was_mute && !answered.contains(item));
        self.silent_on.clear();
    }

    /// Whether the radio knows the question, because it has answered it.
    pub(super) fn knows(&self, item: &str) -> bool {
        self.answered.contains(item)
    }

    /// Whether it is better not to ask this.
    pub(super) fn is_about(&self, item: &str) -> bool {
        let often = |times: Option<&u32>| times.is_some_and(|times| *times >= ATTEMPTS);
        often(self.refused.get(item)) || often(self.ignored.get(item))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ignored(reticence: &mut Reticence, items: &[&str]) {
        (0..ATTEMPTS).flat_map(|_| items).for_each(|item| reticence.ignored(item));
    }

    #[test]
    fn a_question_that_alone_is_ignored_is_not_asked_any_more() {
        let mut reticence = Reticence::default();
        for _ in 0..ATTEMPTS {
            reticence.ignored("squelch");
            reticence.answered("hz");
        }
        assert!(reticence.is_about("squelch") && !reticence.is_about("hz"));
    }

    #[test]
    fn silences_of_a_radio_that_was_off_are_forgotten_and_refusals_are_not() {
        let mut reticence = Reticence::default();
        (0..ATTEMPTS).for_each(|_| reticence.refused("signal"));
        ignored(&mut reticence, &["hz", "squelch"]);
        assert!(reticence.is_about("hz"));
        reticence.answered("hz");
        assert_eq!(["hz", "squelch", "signal"].map(|item| reticence.is_about(item)), [false, false, true]);
    }

    #[test]
    fn what_was_answered_once_is_asked_again_after_any_answer() {
        let mut reticence = Reticence::default();
        reticence.answered("transmitting");
        ignored(&mut reticence, &["transmitting"]);
        assert!(reticence.is_about("transmitting"));
        reticence.answered("hz");
        assert!(!reticence.is_about("transmitting"));
    }
}
