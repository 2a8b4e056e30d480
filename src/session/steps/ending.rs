//! How a session ends: the beam comes to rest, the radios get back what they had, and the next
//! pass has its turn.

use crate::device::{DeviceStatus, RadioOrder, RadioStage};

use crate::session::why;

use super::{Circumstances, FINISH_WITHIN_S, Job, Output, Phase, Session, is_there};

impl Session {
    pub(super) fn begin_to_finish(&mut self, around: &Circumstances, out: &mut Vec<Output>) {
        self.phase = Phase::Finishing;
        self.finish_by = Some(around.now.mono_after(FINISH_WITHIN_S));
        self.leave_tone(out);
        self.give_back(out);
        self.rest_beam_after(around, out);
    }

    /// A radio that gets back what it had has its tone switched off; one that is only left alone
    /// keeps the one that it has.
    fn leave_tone(&mut self, out: &mut Vec<Output>) {
        if let Some(other) = self.other_tone.take()
            && !self.setup.restore_radio
        {
            let what = why::called(&other);
            out.push(Output::Say(format!("{what} stays on the radio, which is left as it is")));
        }
    }

    pub(super) fn give_back(&self, out: &mut Vec<Output>) {
        self.order_radios(out, |index| match &self.memories[index] {
            Some(memory) if self.setup.restore_radio => RadioOrder::GiveBack(memory.clone()),
            _ => RadioOrder::Release,
        });
    }

    pub(super) fn finish(&mut self, around: &Circumstances, out: &mut Vec<Output>) {
        // One that began with a recovery has a limit as well.
        let within = around.now.mono_after(FINISH_WITHIN_S);
        let by = *self.finish_by.get_or_insert(within);
        let there = around.rotator.is_none_or(is_there);
        let parked = !self.parking || self.halted || there;
        let late = around.now.mono > by;
        let owed = self.radios_owed(around);
        if owed.is_empty() && (parked || late) {
            self.memories.fill(None);
            out.push(Output::Forget);
            self.park_owed = self.parking && self.halted && !there;
            self.end(
                match (parked, self.park_owed) {
                    (_, true) => "done; the beam is halted and not parked: resume parks it",
                    (true, false) => "done",
                    (false, false) => "ended; the mount did not reach its park position",
                },
                out,
            );
        } else if late {
            // What they had stays remembered and stored; they are not retuned when nobody expects it.
            out.extend(owed.into_iter().map(|index| Output::Radio(index, RadioOrder::Release)));
            out.push(Output::Shelve);
            self.park_owed = self.parking && self.halted && !there;
            self.end("ended; a radio could not be given back what it had, which stays stored", out);
        }
    }

    /// The next pass does not wait for a radio that stays away, or for a mount that does not park.
    /// One that leaves a radio alone which is in use waits until the radios have what they had, and
    /// no longer.
    pub(super) fn begin_next_if_due(&mut self, around: &Circumstances, out: &mut Vec<Output>) {
        if self.phase != Phase::Finishing || !around.trust.is_trusted() {
            return;
        }
        let is_due = |next: &mut Job| around.now.utc >= next.prepare_at && !next.when_free;
        if let Some(next) = self.next.take_if(is_due) {
            self.change_over(&next, out);
            self.job = Some(next);
            return;
        }
        let is_due = self.next.as_ref().is_some_and(|next| around.now.utc >= next.prepare_at);
        if is_due && self.radios_owed(around).is_empty() {
            self.memories.fill(None);
            out.push(Output::Forget);
            self.end("done; the next pass comes before the beam is parked", out);
        }
    }

    /// The radios that are not yet what they were. One whose status is behind is not believed.
    pub(super) fn radios_owed(&self, around: &Circumstances) -> Vec<usize> {
        let busy = |status: &DeviceStatus| {
            status.behind || status.radio().is_some_and(|radio| radio.stage != RadioStage::Idle)
        };
        let radios = around.radios.iter().enumerate();
        radios.filter(|(_, status)| busy(status)).map(|(index, _)| index).collect()
    }

    pub(super) fn end(&mut self, how: &str, out: &mut Vec<Output>) {
        let whose = self.job.take().map_or("a session that did not end".to_owned(), |job| job.satellite);
        out.push(Output::Say(format!("{whose}: {how}")));
        self.job = self.next.take();
        self.phase = if self.job.is_some() { Phase::Waiting } else { Phase::Idle };
        self.finish_by = None;
        self.parking = false;
        self.sent_early = false;
        if self.pointed.is_none() {
            self.nudge = self.kept_nudge;
        }
        self.in_the_way = None;
        self.asked_to_store.fill(None);
    }
}
