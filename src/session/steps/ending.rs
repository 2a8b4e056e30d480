//! How a session ends: the beam comes to rest, the radios get back what they had, and the next
//! pass has its turn.

use crate::device::{DeviceStatus, RadioOrder, RadioStage, RotatorOrder};
use crate::terms::later;

use super::{Circumstances, FINISH_WITHIN_S, Job, Output, Phase, Session, is_there};

impl Session {
    pub(super) fn begin_to_finish(&mut self, around: &Circumstances, out: &mut Vec<Output>) {
        self.phase = Phase::Finishing;
        self.finish_by = Some(later(around.now.utc, FINISH_WITHIN_S));
        self.give_back(out);
        self.rest_beam(out);
        self.parking = self.setup.park_after && around.rotator.is_some();
    }

    pub(super) fn give_back(&self, out: &mut Vec<Output>) {
        self.order_radios(out, |index| match &self.memories[index] {
            Some(memory) if self.setup.restore_radio => RadioOrder::GiveBack(memory.clone()),
            _ => RadioOrder::Release,
        });
    }

    pub(super) fn rest_beam(&self, out: &mut Vec<Output>) {
        match &self.setup.mount {
            Some(_) if self.halted => {}
            Some(mount) if self.setup.park_after => {
                out.push(Output::Rotator(RotatorOrder::GoTo(mount.park)));
            }
            Some(_) => out.push(Output::Rotator(RotatorOrder::Stop)),
            None => {}
        }
    }

    pub(super) fn finish(&mut self, around: &Circumstances, out: &mut Vec<Output>) {
        let parked = !self.parking || self.halted || around.rotator.is_none_or(is_there);
        let late = self.finish_by.is_some_and(|by| around.now.utc > by);
        let owed = self.radios_owed(around);
        if owed.is_empty() && (parked || late) {
            self.memories.fill(None);
            out.push(Output::Forget);
            let how = if parked { "done" } else { "ended; the mount did not reach its park position" };
            self.end(how, out);
        } else if late {
            // What they had stays remembered and stored; they are not retuned when nobody expects it.
            out.extend(owed.into_iter().map(|index| Output::Radio(index, RadioOrder::Release)));
            self.end("ended; a radio could not be given back what it had, which stays stored", out);
        }
    }

    /// The next pass does not wait for a radio that stays away, or for a mount that does not park.
    pub(super) fn begin_next_if_due(&mut self, around: &Circumstances, out: &mut Vec<Output>) {
        let is_due = |next: &mut Job| around.now.utc >= next.prepare_at;
        if self.phase == Phase::Finishing
            && around.trust.is_trusted()
            && let Some(next) = self.next.take_if(is_due)
        {
            self.change_over(&next, out);
            self.job = Some(next);
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
        if let Some(job) = self.job.take() {
            out.push(Output::Say(format!("{}: {how}", job.satellite)));
        }
        self.job = self.next.take();
        self.phase = if self.job.is_some() { Phase::Waiting } else { Phase::Idle };
        self.finish_by = None;
        self.parking = false;
        self.asked_to_store.fill(None);
    }
}
