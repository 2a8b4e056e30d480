//! What the operator wishes of the dials: a trim, another tone.

use std::sync::Arc;

use crate::device::{DeviceStatus, RadioOrder, RadioView};
use crate::link::{LinkTone, Trim, Tuning};
use crate::session::arming::{ARMED_AT_MOST_S, OtherTone, Spell, ToneNews};
use crate::session::{ToneSender, why};
use crate::terms::{Tone, seconds_between};

use super::{Circumstances, Job, Output, Phase, Refusal, Session};

/// The arming tone goes back so long before LOS, seconds of plan time: a radio that is only left
/// alone after the pass keeps the tone that it has.
const BEFORE_LOS_S: f64 = 5.0;

impl Session {
    pub(super) fn set_trim(&mut self, trim: Trim) -> Result<Vec<Output>, Refusal> {
        let Some(job) = &self.job else {
            return Refusal::because("no session is running, so there is nothing to trim");
        };
        let mut out = vec![Output::Say(format!("trim: {trim}"))];
        let tuning = job.tuning.with_trim(trim);
        self.retune(tuning, &mut out);
        Ok(out)
    }

    pub(super) fn set_tone(
        &mut self,
        tone: LinkTone,
        around: &Circumstances,
    ) -> Result<Vec<Output>, Refusal> {
        let Some(job) = self.job.clone() else {
            return Refusal::because("no session is running, so no tone is sent");
        };
        let mut out = Vec::new();
        if tone == LinkTone::Access {
            let normal = job.tuning.hertz_of(tone);
            out.push(Output::Say(match (&self.other_tone, normal) {
                (Some(_), _) => why::wanted(normal),
                (None, Some(normal)) => format!("{normal} Hz is the tone already"),
                (None, None) => "no tone is sent anyway".to_owned(),
            }));
            self.tone_back(&mut out);
            return Ok(out);
        }
        let wanted = self.tone_to_set(tone, &job, around)?;
        let other = OtherTone::ask(tone, wanted, self.setup.arming_s, around.now);
        out.push(Output::Say(why::other_tone(&other, job.tuning.hertz_of(LinkTone::Access), &self.setup)));
        self.other_tone = Some(other);
        self.retune(job.tuning.with_tone(tone), &mut out);
        Ok(out)
    }

    /// The tone, if it can be set now.
    fn tone_to_set(
        &self,
        tone: LinkTone,
        job: &Job,
        around: &Circumstances,
    ) -> Result<Option<Tone>, Refusal> {
        let name = job.name();
        if job.tuning.link().uplink.is_none() {
            return Refusal::because(&format!("{name} has no uplink, so no tone is sent"));
        }
        if job.only_listens() {
            return Refusal::because(&format!("{name} is only listened to, so no tone is sent"));
        }
        let wanted = job.tuning.hertz_of(tone);
        if tone == LinkTone::Arming && wanted.is_none() {
            return Refusal::because(&format!(
                "{name} has no arming tone: it would be `arming_tone` of this link in the satellites file"
            ));
        }
        if !self.phase.has_devices() {
            let from = job.prepare_at.format("%H:%M:%S");
            return Refusal::because(&match self.phase {
                Phase::Finishing => "the pass is over, so no tone is sent".to_owned(),
                _ => format!("the radio is not prepared yet; preparation starts {from} UTC"),
            });
        }
        if seconds_between(around.now.utc, job.span.until) < 2.0 * BEFORE_LOS_S {
            return Refusal::because("the satellite is about to set");
        }
        let radio = match &self.setup.tone {
            ToneSender::Nobody(why) => return Refusal::because(why),
            ToneSender::Radio { index, .. } => around.radios.get(*index),
        };
        let Some(radio) = radio.filter(|radio| radio.contact.is_good()) else {
            return Refusal::because("the radio does not answer, so it can't be given another tone");
        };
        if radio.radio().is_some_and(|view| view.transmitting == Some(true)) {
            return Refusal::because("the radio transmits: let go of the key first, and ask again");
        }
        Ok(wanted)
    }

    /// Looks how the other tone gets on.
    pub(super) fn watch_tone(&mut self, job: &Job, around: &Circumstances, out: &mut Vec<Output>) {
        let Some(view) = self.tone_radio(around) else { return };
        let to_los_s = seconds_between(around.now.utc, job.span.until) - BEFORE_LOS_S;
        let to_aos_s = seconds_between(around.now.utc, job.span.from).max(0.0);
        let most_s = (to_aos_s + ARMED_AT_MOST_S).min(to_los_s);
        let spell = Spell { to_aos_s, stays_s: self.setup.arming_s, most_s };
        let Some(other) = &mut self.other_tone else { return };
        let Some(news) = other.look(view, spell, around.now) else { return };
        let normal = job.tuning.hertz_of(LinkTone::Access);
        match news {
            ToneNews::Set => out.push(Output::Say(why::other_tone(other, normal, &self.setup))),
            ToneNews::Back(why) => {
                out.push(Output::Say(format!("{}: {why}", why::wanted(normal))));
                self.tone_back(out);
            }
            ToneNews::NotTaken(why) => {
                let what = why::called(other);
                out.push(Output::Say(format!("{what} was not set: {why}; {}", why::wanted(normal))));
                self.tone_back(out);
            }
        }
    }

    /// The access tone is wanted again.
    fn tone_back(&mut self, out: &mut Vec<Output>) {
        self.other_tone = None;
        if let Some(job) = self.job.clone()
            && job.tuning.tone() != LinkTone::Access
        {
            self.retune(job.tuning.with_tone(LinkTone::Access), out);
        }
    }

    /// The radio that sends the tone, unless its status is behind.
    fn tone_radio<'a>(&self, around: &Circumstances<'a>) -> Option<&'a RadioView> {
        let ToneSender::Radio { index, .. } = &self.setup.tone else { return None };
        let status = around.radios.get(*index).filter(|status| !status.behind);
        status.and_then(DeviceStatus::radio)
    }

    /// Replaces the plan of the dials by a newer one.
    fn retune(&mut self, tuning: Tuning, out: &mut Vec<Output>) {
        let tuning = Arc::new(tuning);
        if self.phase.has_devices() {
            self.order_radios(out, |_| RadioOrder::Follow(tuning.clone()));
        }
        if let Some(job) = &mut self.job {
            job.tuning = tuning;
        }
    }
}
