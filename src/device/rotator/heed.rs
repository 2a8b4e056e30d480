//! What a reading changes.

use std::time::Duration;

use crate::device::values::Values;
use crate::terms::Moment;

use super::reading::{self, Verdict};
use super::setup::ByHand;
use super::watch::Seen;
use super::{Goal, Held, Hold, RETRY, RotatorPlayer, Scale, shown};

/// A position that was missed so often in a row is not known any more.
const MISSES: u32 = 3;
const IMPOSSIBLE: &str = "it says that it stands where its limits do not let it be, so it is not moved: check \
                          the limits in the configuration and the controller's own calibration";
/// After a stall the mount is told again this much later, seconds of plan time: an aim may have
/// been lost on the wire. A mount that stalls once more is left standing.
const TELL_AGAIN_S: [f64; 3] = [1.0, 5.0, 15.0];
/// A mount that was turned by hand goes back to its plan when it has rested for so long, seconds.
const HAND_RESTS_S: f64 = 2.0;
/// So many times in a row it may go the wrong way before it is left standing.
const CONTRARY: u32 = 2;

impl RotatorPlayer {
    pub(super) fn read(&mut self, values: &Values, now: Moment) {
        let Some(position) = reading::position(values, &self.setup) else { return };
        if !reading::is_possible(position, &self.setup) {
            self.journal.read(format!("{}: impossible, so it is not used", shown(position)), now);
            self.not_before = now.mono + RETRY / 5;
            if std::mem::replace(&mut self.ask_first, true) {
                self.note(IMPOSSIBLE);
                self.not_before = now.mono + RETRY;
                self.stop_blind();
            }
            return;
        }
        self.notes.retain(|note| note != IMPOSSIBLE);
        match self.scale.judge(values) {
            Verdict::Known => {}
            Verdict::Doubtful => {
                self.ask_first = true;
                self.not_before = now.mono + RETRY / 5;
                return;
            }
            Verdict::Changed => {
                self.note("the controller's pulses per degree changed, so it was stopped; `start` again");
                self.goal = Goal::Stay;
                self.stop(now);
            }
        }
        let seen = self.watch.judge(position, &self.setup, seconds(now));
        self.ask_first = seen == Seen::Doubtful;
        if self.ask_first {
            self.journal.read(format!("{}: asked again before it is believed", shown(position)), now);
            return;
        }
        let resolution = self.setup.resolution;
        self.moving = self.position.is_some_and(|(last, _)| position.angle_to(last) > resolution / 2.0);
        self.position = Some((position, now.mono));
        self.whereabouts.read(position, self.commanded);
        self.learner.read(position, self.commanded, &self.setup, seconds(now));
        self.journal.read(shown(position), now);
        if self.moving {
            self.stop_due |= self.halted;
            self.let_hand_rest(now);
        }
        self.heed(seen, now);
    }

    fn heed(&mut self, seen: Seen, now: Moment) {
        match seen {
            Seen::Well | Seen::Doubtful => {}
            Seen::GetsOn => self.journal.stays(None),
            Seen::There => {
                self.journal.stays(None);
                (self.stalls, self.contrary) = (0, 0);
                if let Some(note) = self.hand_note.take() {
                    self.notes.retain(|other| *other != note);
                }
            }
            Seen::Jumped(how) => {
                self.note(&how);
                self.hold = Hold::Operator(Held::Faulty);
                self.stop(now);
            }
            Seen::Stays(how) => {
                self.journal.stays(Some(how));
                self.hold = match TELL_AGAIN_S.get(self.stalls) {
                    Some(pause) => Hold::Until(now.mono_after(*pause)),
                    None => Hold::Operator(Held::Faulty),
                };
                self.stalls += 1;
                self.stop(now);
            }
            Seen::Away(how) => self.turned_by_hand(&how, now),
            // A hand on it was told already.
            Seen::Unasked(_) if self.hand_note.is_some() => {}
            Seen::Unasked(how) => {
                self.notes.retain(|note| !note.ends_with("without a command from here"));
                self.note(&how);
            }
        }
    }

    fn turned_by_hand(&mut self, how: &str, now: Moment) {
        self.contrary += 1;
        let (hold, what) = match self.setup.by_hand {
            ByHand::HandOver => (
                Hold::Operator(Held::ByHand),
                "that counts as turned by hand, and it is yours until `resume` or `start`",
            ),
            ByHand::Follow if self.contrary < CONTRARY => (
                Hold::Until(now.mono_after(HAND_RESTS_S)),
                "that counts as turned by hand, and it goes back to its plan when it rests",
            ),
            ByHand::Follow => (
                Hold::Operator(Held::Faulty),
                "and that not for the first time, so it was stopped: check that its read-out counts the way \
                 that its motor turns",
            ),
        };
        self.hold = hold;
        let note = format!("{how}; {what}");
        self.note(&note);
        self.hand_note = Some(note);
        self.stop(now);
    }

    /// A hand that still turns the mount is not disturbed.
    fn let_hand_rest(&mut self, now: Moment) {
        if let (Hold::Until(when), Some(_)) = (self.hold, &self.hand_note) {
            self.hold = Hold::Until(when.max(now.mono_after(HAND_RESTS_S)));
        }
    }

    /// The controller is to stop its motors, and what it was told is void.
    pub(super) fn stop(&mut self, now: Moment) {
        self.stop_due = true;
        self.not_before = Duration::ZERO;
        self.forget_aim(now);
    }

    /// It is not known any more what the controller was told.
    pub(super) fn forget_aim(&mut self, now: Moment) {
        (self.commanded, self.wanted, self.past) = (None, None, None);
        self.watch.over(seconds(now));
        self.learner.over();
    }

    /// Nothing came of a question.
    pub(super) fn missed(&mut self) {
        self.misses += 1;
        if self.misses >= MISSES {
            self.stop_blind();
        }
    }

    /// What can't be watched is not left running.
    fn stop_blind(&mut self) {
        self.stop_due |= self.commanded.is_some();
        self.lose_position();
    }

    /// Where it is has to be read before it is sent anywhere.
    fn lose_position(&mut self) {
        self.position = None;
        (self.commanded, self.wanted, self.past) = (None, None, None);
        self.watch = Default::default();
        self.learner.over();
    }

    pub(super) fn forget_the_controller(&mut self) {
        self.scale = Scale::default();
        self.lose_position();
        self.learner.forget();
        self.whereabouts = Default::default();
        self.current = None;
        self.moving = false;
    }

    /// Whether the note is a new one.
    pub(super) fn note(&mut self, note: &str) -> bool {
        let is_new = !self.notes.iter().any(|known| known == note);
        if is_new {
            self.notes.push(note.to_owned());
        }
        is_new
    }
}

/// Seconds of plan time since the clock was made.
pub(super) fn seconds(now: Moment) -> f64 {
    now.mono.as_secs_f64() * now.speed
}
