//! A tone in place of the link's access tone: when the radio has it, and when it goes back.

use std::time::Duration;

use serde::{Deserialize, Serialize};

use crate::device::RadioView;
use crate::link::LinkTone;
use crate::terms::{Moment, Time, Tone, later};

/// Whatever happens, the arming tone goes back after this long, seconds of plan time.
pub(super) const ARMED_AT_MOST_S: f64 = 180.0;

/// A radio that was seen transmitting is taken to go on for so long while it does not say, seconds
/// of plan time: between two questions of the usual poll nothing is known.
const OVER_GOES_ON_S: f64 = 3.0;

/// A tone that is sent in place of the access tone, for those outside.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SentTone {
    /// Which.
    pub which: LinkTone,
    /// Its frequency; `None` for none.
    pub tone: Option<Tone>,
    /// Whether the radio has it.
    pub set: bool,
    /// When the access tone comes back, if no over was seen by then.
    pub until: Option<Time>,
    /// All of it, for people.
    pub why: String,
}

/// What is to be said and done of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum ToneNews {
    /// The radio has it.
    Set,
    /// The radio did not take it; why. The access tone is wanted again.
    NotTaken(String),
    /// The access tone is wanted again; why.
    Back(&'static str),
}

/// A tone that is sent in place of the access tone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct OtherTone {
    /// Which.
    pub(super) which: LinkTone,
    /// Its frequency; `None` for none.
    pub(super) tone: Option<Tone>,
    /// How far it is.
    pub(super) stage: ToneStage,
}

/// How far a tone is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) enum ToneStage {
    /// The radio is to set it, until this monotonic time.
    Asked(Duration),
    /// It stays until it is taken back.
    Stays,
    /// It goes back.
    Armed(Armed),
}

/// An arming tone that the radio has.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Armed {
    /// Without an over it goes back at this monotonic time,
    by: Duration,
    /// and with one that does not end at this one.
    at_most: Duration,
    /// `by`, for people.
    pub(super) by_utc: Time,
    /// The satellite rises then; what is keyed before, it does not hear.
    pub(super) rises: Option<Time>,
    /// The radio was seen transmitting.
    pub(super) transmitting: bool,
    /// While the radio does not say, its over goes on until this monotonic time.
    over_until: Duration,
}

/// For how long an arming tone is wanted, seconds of plan time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spell {
    /// Until AOS; 0 from then on.
    pub(super) to_aos_s: f64,
    /// After AOS, without an over.
    pub(super) stays_s: f64,
    /// In all, whatever happens.
    pub(super) most_s: f64,
}

impl OtherTone {
    /// The radio is asked for it now, and has `patience_s` seconds to take it.
    pub(super) fn ask(which: LinkTone, tone: Option<Tone>, patience_s: f64, now: Moment) -> Self {
        Self { which, tone, stage: ToneStage::Asked(now.mono_after(patience_s)) }
    }

    /// Looks at the radio. An arming tone goes back after its `spell`, which begins when the radio
    /// has it.
    pub(super) fn look(&mut self, radio: &RadioView, spell: Spell, now: Moment) -> Option<ToneNews> {
        match &mut self.stage {
            ToneStage::Asked(_) if radio.transmit.is_some_and(|dial| dial.tone == self.tone) => {
                self.stage = match self.which {
                    LinkTone::Arming => ToneStage::Armed(Armed::from(now, spell)),
                    LinkTone::Access | LinkTone::Off => ToneStage::Stays,
                };
                Some(ToneNews::Set)
            }
            ToneStage::Asked(until) => {
                if let Some(why) = refusal(radio, self.tone) {
                    return Some(ToneNews::NotTaken(why));
                }
                let waited = "it has not done so in the time that it had".to_owned();
                (now.mono > *until).then_some(ToneNews::NotTaken(waited))
            }
            // In a language whose commands are silent a refusal may come after it was set.
            ToneStage::Stays => refusal(radio, self.tone).map(ToneNews::NotTaken),
            ToneStage::Armed(armed) => match refusal(radio, self.tone) {
                Some(why) => Some(ToneNews::NotTaken(why)),
                None => armed.look(radio.transmitting, now).map(ToneNews::Back),
            },
        }
    }
}

impl Armed {
    fn from(now: Moment, Spell { to_aos_s, stays_s, most_s }: Spell) -> Self {
        let by_s = (to_aos_s + stays_s).min(most_s);
        let (by, at_most) = (now.mono_after(by_s), now.mono_after(most_s));
        let rises = (to_aos_s > 0.0).then(|| later(now.utc, to_aos_s));
        Self { by, at_most, by_utc: later(now.utc, by_s), rises, transmitting: false, over_until: now.mono }
    }

    fn look(&mut self, transmitting: Option<bool>, now: Moment) -> Option<&'static str> {
        self.rises = self.rises.filter(|rises| now.utc < *rises);
        match transmitting {
            _ if self.rises.is_some() => return None,
            Some(true) => {
                self.transmitting = true;
                self.over_until = now.mono_after(OVER_GOES_ON_S);
            }
            Some(false) if self.transmitting => return Some("your over has ended"),
            Some(false) | None => {}
        }
        let due = now.mono > self.at_most || (now.mono > self.by && now.mono >= self.over_until);
        due.then_some("its time is up")
    }
}

/// What the radio's player noted about this tone, if it left it to the operator.
fn refusal(radio: &RadioView, tone: Option<Tone>) -> Option<String> {
    let what = tone.map_or("tone off".to_owned(), |tone| format!("tone {tone} Hz"));
    radio.notes.iter().find(|note| note.what == what).map(|note| note.why.clone())
}
