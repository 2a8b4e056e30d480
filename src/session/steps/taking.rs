//! How a pass is taken: at once, when it is time, or when the radio is free.

use crate::clock::Trust;
use crate::device::{DeviceStatus, RadioOrder};
use crate::session::why;

use crate::terms::seconds_between;

use super::{Circumstances, Job, Output, Phase, Refusal, Session};

/// From so long before AOS on a pass counts as in progress, seconds.
const NEAR_S: f64 = 120.0;

impl Session {
    pub(super) fn start(&mut self, job: Job, around: &Circumstances) -> Result<Vec<Output>, Refusal> {
        if let Trust::Untrusted { why } = around.trust {
            return Refusal::because(&format!("the clock can't be trusted, so nothing is moved: {why}"));
        }
        if job.span.until < around.now.utc {
            return Refusal::because("that pass is over");
        }
        if job.when_free && self.phase.has_devices() && !self.only_listens() {
            return Refusal::because(
                "a session holds the radio: stop it first, or start without --when-free",
            );
        }
        self.is_free_for(&job, around)?;
        let mut say = vec![format!("{}: taken", job.name())];
        say.extend(self.given_up_for(&job, around));
        say.extend(job.kept.map(|kept| kept.to_string()));
        let mut out = vec![Output::Say(say.join("; "))];
        let due = around.now.utc >= job.prepare_at;
        match self.phase {
            Phase::Finishing if !due || job.when_free => {
                self.next = Some(job);
                return Ok(out);
            }
            Phase::Preparing | Phase::Ready | Phase::Following if !due => {
                self.begin_to_finish(around, &mut out);
                self.next = Some(job);
                return Ok(out);
            }
            Phase::Idle | Phase::Waiting => self.phase = Phase::Waiting,
            _ => self.change_over(&job, &mut out),
        }
        self.in_the_way = None;
        self.interrupted = None;
        self.job = Some(job);
        out.extend(self.tick(around));
        Ok(out)
    }

    /// A pass that is on, or just before it, is given up only by one who says so. Another link of
    /// the same pass is no other pass.
    fn is_free_for(&self, job: &Job, around: &Circumstances) -> Result<(), Refusal> {
        let Some(before) = self.job.as_ref().filter(|_| self.phase.has_devices()) else { return Ok(()) };
        let is_near = seconds_between(around.now.utc, before.span.from) <= NEAR_S;
        if is_same_pass(before, job) || job.instead || !is_near || before.only_listens() {
            return Ok(());
        }
        Refusal::because(&format!(
            "{} is in progress, {}, and goes on: with --instead (\"instead\": true) it is given up for {}",
            before.name(),
            why::progress(before, around.now.utc),
            job.name()
        ))
    }

    /// The pass that is given up for another one, in words.
    fn given_up_for(&self, job: &Job, around: &Circumstances) -> Option<String> {
        let before = match self.phase {
            Phase::Finishing => self.next.as_ref(),
            _ => self.job.as_ref(),
        }?;
        let same = before.name() == job.name() && is_same_pass(before, job);
        (!same).then(|| format!("{} given up, {}", before.name(), why::progress(before, around.now.utc)))
    }

    /// Goes from a pass in progress to another one: the radios keep what they remember of the
    /// time before, and are prepared anew. A nudge was for that pass.
    pub(super) fn change_over(&mut self, job: &Job, out: &mut Vec<Output>) {
        self.next = None;
        if !self.job.as_ref().is_some_and(|before| is_same_pass(before, job)) {
            self.nudge = self.kept_nudge;
        }
        self.take_devices(job, out);
    }

    fn take_devices(&mut self, job: &Job, out: &mut Vec<Output>) {
        self.phase = Phase::Preparing;
        self.other_tone = None;
        self.park_owed &= job.only_listens() && job.aim.is_none();
        if job.only_listens() {
            let listen = |index: &usize| Output::Radio(*index, RadioOrder::Listen(job.tuning.clone()));
            out.extend(self.setup.receivers.iter().map(listen));
        } else {
            self.order_radios(out, |_| RadioOrder::Engage(job.tuning.clone()));
        }
        if !job.only_listens() || job.aim.is_some() {
            self.leave_place();
            self.order_beam(job, out);
        }
    }

    /// It is time to prepare: takes the devices, unless a radio is in use and this pass waits for it.
    pub(super) fn take_if_free(&mut self, job: &Job, around: &Circumstances, out: &mut Vec<Output>) {
        let in_use = in_use(around.radios).filter(|_| job.when_free);
        match (in_use, self.in_the_way.take()) {
            (Some(why), before) => {
                if before.is_none() {
                    out.push(Output::Say(format!("{}: left alone: {why}", job.name())));
                }
                self.in_the_way = Some(why);
            }
            (None, before) => {
                let free = if before.is_some() { "the radio is free; " } else { "" };
                out.push(Output::Say(format!("{}: {free}preparing", job.satellite)));
                let Some(late) = self.planned_from_here(job, around) else {
                    return self.take_devices(job, out);
                };
                out.push(Output::Say(format!(
                    "{}: the beam can't be in place in time, so its path is planned from where it is",
                    job.satellite
                )));
                self.take_devices(&late, out);
                self.job = Some(late);
            }
        }
    }

    /// Whether what is on is only listened to.
    pub(super) fn only_listens(&self) -> bool {
        self.job.as_ref().is_some_and(Job::only_listens)
    }

    /// A hand at a radio that is only listened with has it at once, as it stands.
    pub(super) fn leave_to_hands(
        &mut self,
        job: &Job,
        around: &Circumstances,
        out: &mut Vec<Output>,
    ) -> bool {
        let Some(why) = in_use(around.radios).filter(|_| job.only_listens()) else { return false };
        out.push(Output::Say(format!("{}: not listened to any longer: {why}", job.name())));
        self.memories.fill(None);
        self.begin_to_finish(around, out);
        true
    }

    /// What a pass that nobody worked is ended with.
    pub(super) fn missed(&self) -> String {
        match &self.in_the_way {
            Some(why) => format!("the pass is over; it was left alone: {why}"),
            None => "the pass is over".to_owned(),
        }
    }
}

/// A pass that was planned anew may set some milliseconds earlier or later.
fn is_same_pass(one: &Job, other: &Job) -> bool {
    let overlap = one.span.from < other.span.until && other.span.from < one.span.until;
    one.satellite == other.satellite && overlap
}

/// The first radio that somebody else uses, and how that shows, in words.
pub(super) fn in_use(radios: &[DeviceStatus]) -> Option<String> {
    radios.iter().find_map(|status| {
        let how = status.radio()?.in_use.as_ref()?;
        Some(format!("{} is in use: {how}", status.name))
    })
}
