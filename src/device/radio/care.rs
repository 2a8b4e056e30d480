//! With what care an errand is done that may change what or where the radio transmits.

use std::time::Duration;

use crate::terms::Moment;

use super::errand::Errand;
use super::{RETRY, RadioPlayer};

/// A radio that has said whether it transmits, and now does not, is asked again so often,
/// monotonic.
pub(super) const ASK_AGAIN: Duration = Duration::from_secs(2);
/// It is waited for so long since it said it last, monotonic; then what depends on it is left to
/// the operator. An over lasts no longer.
const PATIENCE: Duration = Duration::from_secs(180);

/// What becomes of an errand that needs care.
pub(super) enum Care {
    /// It is done now.
    Now,
    /// The radio is asked first whether it transmits.
    AskFirst,
    /// It waits at least until then, monotonic.
    Wait(Duration),
    /// It can't be known whether the radio transmits: a pass is on, or the radio has said it
    /// before and has not for long.
    Never,
}

impl RadioPlayer {
    /// What may change where the radio transmits is done before AOS, or while the radio is known
    /// to receive. Where that can't be read, it is done outside of a pass only; but a mode or a
    /// tone that the operator has just asked for (by another link, or by sending an arming tone)
    /// is set even then, because who asks for it knows that he is not transmitting.
    pub(super) fn care(&self, errand: &Errand, now: Moment) -> Care {
        let asked_for = self.by_operator && matches!(errand, Errand::Mode(..) | Errand::Tone(_));
        let single = errand.encoded(&self.setup).is_ok_and(|said| said.frames().count() == 1);
        let harmless = errand.is_question() && single;
        match self.known.transmitting(now.mono) {
            Some(false) => Care::Now,
            None if self.can_ask_whether_it_transmits() => Care::AskFirst,
            Some(true) => {
                let again = self.known.transmit_state_read_at().unwrap_or_default() + RETRY / 2;
                if now.mono >= again { Care::AskFirst } else { Care::Wait(again) }
            }
            None if harmless => Care::Now,
            None if self.key_said_at.is_some() => self.wait_for_a_word(now),
            None if !self.in_pass(now) || asked_for => Care::Now,
            None => Care::Never,
        }
    }

    /// A radio that could say whether it transmits, and does not at present, may be transmitting.
    fn wait_for_a_word(&self, now: Moment) -> Care {
        let again = self.key_asked_at().unwrap_or_default() + ASK_AGAIN;
        let silent_for = now.mono.saturating_sub(self.key_said_at.unwrap_or_default());
        if now.mono >= again {
            Care::AskFirst
        } else if silent_for < PATIENCE {
            Care::Wait(again)
        } else {
            Care::Never
        }
    }

    /// The next errand, which needs care, or what is done meanwhile.
    pub(super) fn with_care(&mut self, errand: Errand, now: Moment) -> Result<Errand, Duration> {
        match self.care(&errand, now) {
            Care::Now => Ok(errand),
            Care::AskFirst => Ok(Errand::Watch),
            Care::Wait(until) => Err(until),
            Care::Never if self.queue.front() == Some(&errand) || self.roles.are_confirmed_by(&errand) => {
                self.strike(&errand, now);
                let why = if self.key_said_at.is_some() {
                    "left as it is, because the radio no longer says whether it transmits; set it by hand"
                } else {
                    "left as it is, because the pass has begun and the radio can't say whether it transmits"
                };
                self.leave_to_operator(&errand, why);
                Err(now.mono)
            }
            Care::Never => {
                self.give_up_vfos();
                Err(now.mono)
            }
        }
    }
}
