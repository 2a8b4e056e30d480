//! Sentences and their moments.

use crate::terms::{AzEl, Time, later, seconds_between};

/// Two sentences are never nearer, seconds: time to hear one and to do it.
pub const GAP_S: f64 = 8.0;

/// What is said, and when.
#[derive(Debug, Clone, PartialEq)]
pub struct Cue {
    /// The instant at which it begins.
    pub time: Time,
    /// One or several short sentences.
    pub words: String,
    /// Where the beam is to be from then on, where that is another direction.
    pub aim: Option<AzEl>,
}

/// A script that grows.
#[derive(Debug, Default)]
pub(super) struct Cues(Vec<Cue>);

impl Cues {
    pub(super) fn say(&mut self, time: Time, words: String, aim: Option<AzEl>) {
        self.0.push(Cue { time, words, aim });
    }

    /// When the last sentence is over.
    pub(super) fn free_from(&self) -> Option<Time> {
        self.0.last().map(|cue| later(cue.time, GAP_S))
    }

    /// Fits in a sentence near `time`, up to `slack_s` seconds before or after; whether there was room.
    pub(super) fn fit(&mut self, time: Time, slack_s: (u32, u32), words: &str) -> bool {
        let offsets = (0..=slack_s.0.max(slack_s.1)).flat_map(|seconds| {
            let after = (seconds <= slack_s.1).then(|| later(time, f64::from(seconds)));
            let before = (seconds <= slack_s.0).then(|| later(time, -f64::from(seconds)));
            after.into_iter().chain(before)
        });
        let is_free = |at: &Time| self.0.iter().all(|cue| seconds_between(cue.time, *at).abs() >= GAP_S);
        let Some(at) = offsets.into_iter().find(is_free) else { return false };
        let place = self.0.partition_point(|cue| cue.time < at);
        self.0.insert(place, Cue { time: at, words: words.to_owned(), aim: None });
        true
    }

    /// The same, or else as part of the nearest sentence.
    pub(super) fn fit_or_join(&mut self, time: Time, slack_s: (u32, u32), words: &str) {
        if self.fit(time, slack_s, words) {
            return;
        }
        let away = |cue: &&mut Cue| seconds_between(cue.time, time).abs();
        if let Some(cue) = self.0.iter_mut().min_by(|a, b| away(a).total_cmp(&away(b))) {
            cue.words = format!("{} {words}", cue.words);
        }
    }

    pub(super) fn finished(self) -> Vec<Cue> {
        self.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::parse_time;

    #[test]
    fn a_sentence_finds_room_or_joins_the_nearest() {
        let at = |seconds| later(parse_time("2026-11-25T18:00:00Z").unwrap(), seconds);
        let mut cues = Cues::default();
        cues.say(at(0.0), "a".into(), None);
        cues.say(at(20.0), "b".into(), None);
        assert!(cues.fit(at(7.0), (0, 3), "c"), "a second later there is room");
        assert!(!cues.fit(at(13.0), (3, 2), "d"));
        cues.fit_or_join(at(17.0), (0, 0), "e");
        let told: Vec<(f64, String)> =
            cues.finished().into_iter().map(|cue| (seconds_between(at(0.0), cue.time), cue.words)).collect();
        assert_eq!(told, [(0.0, "a".into()), (8.0, "c".into()), (20.0, "b e".into())]);
    }
}
