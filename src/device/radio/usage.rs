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
