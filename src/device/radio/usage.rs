//! Whether somebody uses the radio while Beamhand leaves it alone.

use std::time::Duration;

use serde::{Deserialize, Serialize};

use crate::terms::{Direction, Hertz};

use super::known::Known;

/// So long after a dial was turned by hand, or a transmission, the radio counts as in use.
const COUNTS_FOR: Duration = Duration::from_secs(600);

/// So long its last word that it transmits counts, monotonic: it is asked more often than that.
const SAYS_FOR: Duration = Duration::from_secs(15);

/// What the operator was seen to do, monotonic times.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub(super) struct Usage {
    turned_at: Option<Duration>,
    transmitted_at: Option<Duration>,
    /// Where the receiving dial stood before it was set last.
    before_set: Option<Hertz>,
    /// When it was read last while the radio is only listened with.
    read_at: Option<Duration>,
}

impl Usage {
    /// Compares what is known after a reading with what was known before it. A difference of a
    /// step may be the radio's own rounding.
    pub(super) fn note(&mut self, before: &Known, after: &Known, step: Hertz, now: Duration) {
        let turned = Direction::BOTH.into_iter().any(|direction| {
            let dials = before.dial(direction).hertz.zip(after.dial(direction).hertz);
            dials.is_some_and(|(before, after)| (after - before).abs() > step)
        });
        if turned {
            self.turned_at = Some(now);
        }
        if after.on_air() {
            self.transmitted_at = Some(now);
        }
    }

    /// The receiving dial is set to another place.
    pub(super) fn set_from(&mut self, before: Option<Hertz>) {
        self.before_set = before;
    }

    /// The receiving dial was read.
    pub(super) fn was_read(&mut self, now: Duration) {
        self.read_at = Some(now);
    }

    /// When that was last.
    pub(super) fn read_at(&self) -> Option<Duration> {
        self.read_at
    }

    /// The same while the radio is only listened with: its dial is where it was set to, or, if it does not
    /// take commands, where it was; anything else is a hand.
    pub(super) fn note_while_listening(&mut self, before: &Known, after: &Known, step: Hertz, now: Duration) {
        let dials = before.receive.hertz.zip(after.receive.hertz);
        let is_moved = |(before, after): (Hertz, Hertz)| {
            let differs = |other: Hertz| (after - other).abs() > step;
            differs(before) && self.before_set.is_none_or(differs)
        };
        if dials.is_some_and(is_moved) {
            self.turned_at = Some(now);
        }
        if after.on_air() {
            self.transmitted_at = Some(now);
        }
    }

    /// In words, with the age; `None` if nobody uses it.
    pub(super) fn words(&self, known: &Known, now: Duration) -> Option<String> {
        let fresh = |at: Duration| now.saturating_sub(at) <= SAYS_FOR;
        if known.on_air() && known.transmit_state_read_at().is_some_and(fresh) {
            return Some("it is transmitting".to_owned());
        }
        let ago = |at: Option<Duration>| at.map(|at| now.saturating_sub(at)).filter(|ago| *ago <= COUNTS_FOR);
        let said = |what: &str, ago: Duration| format!("{what} {}", age(ago));
        match (ago(self.turned_at), ago(self.transmitted_at)) {
            (Some(turned), Some(sent)) if sent < turned => Some(said("it transmitted", sent)),
            (Some(turned), _) => Some(said("its dial was turned by hand", turned)),
            (None, Some(sent)) => Some(said("it transmitted", sent)),
            (None, None) => None,
        }
    }
}

fn age(ago: Duration) -> String {
    match ago.as_secs() {
        seconds if seconds < 60 => format!("{seconds} s ago"),
        seconds => format!("{} min ago", seconds / 60),
    }
}
