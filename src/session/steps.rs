//! The session's state machine.

mod beam;
mod dials;
mod ending;
mod taking;

use std::time::Duration;

use crate::clock::Trust;
use crate::device::{DeviceStatus, RadioMemory, RadioOrder, RadioStage, RotatorOrder};
use crate::link::Trim;
use crate::terms::{AzEl, Memo, Moment, Time, remembers};

use super::arming::{OtherTone, SentTone, ToneStage};
use super::{Command, Job, Phase, Refusal, SessionSetup, why};
use beam::is_there;

/// How long parking and giving back may take, seconds of plan time, before the session ends
/// without them and says so.
const FINISH_WITHIN_S: f64 = 180.0;

/// How near to its target a resting mount is taken to be there, degrees on the sky.
const THERE_DEG: f64 = 3.0;

/// What the session sees when it steps.
pub struct Circumstances<'a> {
    /// Now.
    pub now: Moment,
    /// What the clock says of itself.
    pub trust: &'a Trust,
    /// The radios, by number.
    pub radios: &'a [DeviceStatus],
    /// The rotator.
    pub rotator: Option<&'a DeviceStatus>,
}

/// What the session wants done.
#[derive(Clone)]
pub enum Output {
    /// An order to radio number so-and-so.
    Radio(usize, RadioOrder),
    /// An order to the rotator.
    Rotator(RotatorOrder),
    /// Every line stops its motors and moves nothing.
    HaltLines,
    /// Lines may move again.
    ResumeLines,
    /// Store what the radios had, by radio number, instead of what was stored before; `saved` wants
    /// to be called with the number of this request when it is safe.
    Save(u64, Vec<(usize, RadioMemory)>),
    /// What was stored is given back and may be forgotten.
    Forget,
    /// What was stored stays, but is not given back by itself any more: the radio may be in use.
    Shelve,
    /// For the log and for listeners.
    Say(String),
}

/// One station's session: at most one pass at a time.
pub struct Session {
    setup: SessionSetup,
    phase: Phase,
    job: Option<Job>,
    halted: bool,
    /// What each radio had, once read.
    memories: Vec<Option<RadioMemory>>,
    /// The request to store that held each radio's memory first.
    asked_to_store: Vec<Option<u64>>,
    /// The last request to store that was made, and the last that was carried out.
    save_requests: u64,
    saved_up_to: u64,
    /// Monotonic, so that a step of the clock neither cuts it short nor draws it out.
    finish_by: Option<Duration>,
    /// The beam is on its way to its park position, and waited for.
    parking: bool,
    /// A session ended while motors were halted, so the beam was not parked.
    park_owed: bool,
    /// How the beam is shifted, and how sessions begin.
    nudge: AzEl,
    kept_nudge: AzEl,
    /// Where the operator pointed the beam outside a session, before it was shifted.
    pointed: Option<AzEl>,
    /// The beam was sent to where the satellite rises before the radios are prepared.
    sent_early: bool,
    /// The pass that comes after the finishing one.
    next: Option<Job>,
    /// The tone that is sent in place of the access tone.
    other_tone: Option<OtherTone>,
    /// How the radio is in use that this pass waits for.
    in_the_way: Option<String>,
    /// LOS of a pass that an earlier daemon was in, and that was not taken up again.
    interrupted: Option<Time>,
}

remembers!(
    Session,
    kept: [
        phase, halted, memories, asked_to_store, save_requests, saved_up_to, finish_by, parking, park_owed,
        nudge, kept_nudge, pointed, sent_early, other_tone, in_the_way, interrupted,
    ],
    left_out: [setup, job, next]
);

impl Session {
    /// What the session remembers; its passes are not in it.
    ///
    /// # Errors
    /// What can't be written down.
    pub fn memo(&self) -> Result<Memo, String> {
        self.memo_of_fields().map_err(|error| error.to_string())
    }

    /// Begins as the session of a memo was, at these passes.
    ///
    /// # Errors
    /// What can't be read, in words.
    pub fn begin_as(&mut self, memo: &Memo, job: Option<Job>, next: Option<Job>) -> Result<(), String> {
        self.remember_fields(memo)?;
        (self.job, self.next) = (job, next);
        let radios = self.setup.radios;
        if self.memories.len() != radios || self.asked_to_store.len() != radios {
            return Err("it is another number of radios".to_owned());
        }
        Ok(())
    }

    /// A station with nothing to do.
    pub fn new(setup: SessionSetup) -> Self {
        let radios = setup.radios;
        Self {
            setup,
            phase: Phase::Idle,
            job: None,
            halted: false,
            memories: vec![None; radios],
            asked_to_store: vec![None; radios],
            save_requests: 0,
            saved_up_to: 0,
            finish_by: None,
            parking: false,
            park_owed: false,
            nudge: AzEl::ZERO,
            kept_nudge: AzEl::ZERO,
            pointed: None,
            sent_early: false,
            next: None,
            other_tone: None,
            in_the_way: None,
            interrupted: None,
        }
    }

    /// How far the session is.
    pub fn phase(&self) -> Phase {
        self.phase
    }

    /// Whether motors are halted.
    pub fn is_halted(&self) -> bool {
        self.halted
    }

    /// The pass that is being worked or waited for.
    pub fn job(&self) -> Option<&Job> {
        self.job.as_ref()
    }

    /// The pass that comes after the one that is ending.
    pub fn next(&self) -> Option<&Job> {
        self.next.as_ref()
    }

    /// The trim in force.
    pub fn trim(&self) -> Trim {
        self.job.as_ref().map(|job| job.tuning.trim()).unwrap_or_default()
    }

    /// The tone that is sent in place of the access tone, for those outside.
    pub fn tone(&self) -> Option<SentTone> {
        let (other, why) = (self.other_tone.as_ref()?, why::tone(self)?);
        let (set, until) = match &other.stage {
            ToneStage::Asked(_) => (false, None),
            ToneStage::Stays => (true, None),
            ToneStage::Armed(armed) => (true, Some(armed.by_utc)),
        };
        Some(SentTone { which: other.which, tone: other.tone, set, until, why })
    }

    /// The tone that is sent in place of the access tone.
    pub(super) fn other_tone(&self) -> Option<&OtherTone> {
        self.other_tone.as_ref()
    }

    /// How the station is set up.
    pub(super) fn setup(&self) -> &SessionSetup {
        &self.setup
    }

    /// How the radio is in use that this pass waits for.
    pub(super) fn in_the_way(&self) -> Option<&str> {
        self.in_the_way.as_deref()
    }

    /// Whether the beam waits for `resume` to be parked.
    pub(super) fn park_owed(&self) -> bool {
        self.park_owed
    }

    /// Whether what radios had before an earlier pass is still owed to them.
    pub(super) fn memories_owed(&self) -> bool {
        self.phase == Phase::Idle && self.memories.iter().any(Option::is_some)
    }

    /// Why the session is in the state that it is in, for people.
    pub fn why(&self, around: &Circumstances) -> String {
        why::explain(self, around)
    }

    /// Carries out an operator's command, or refuses it.
    pub fn command(&mut self, command: Command, around: &Circumstances) -> Result<Vec<Output>, Refusal> {
        match command {
            Command::Start(job) => self.start(*job, around),
            Command::Stop => self.stop(around),
            Command::Halt => Ok(self.halt()),
            Command::Resume => Ok(self.resume()),
            Command::Point(to) => self.point(to, around),
            Command::Nudge(by) => self.set_nudge(by, around),
            Command::Park => self.park(),
            Command::Trim(trim) => self.set_trim(trim),
            Command::Tone(tone) => self.set_tone(tone, around),
        }
    }

    /// Lets time pass: call it whenever a device has news, and at least twice a second.
    pub fn tick(&mut self, around: &Circumstances) -> Vec<Output> {
        let mut out = Vec::new();
        if self.phase == Phase::Finishing {
            self.finish(around, &mut out);
            self.begin_next_if_due(around, &mut out);
        }
        let Some(job) = self.job.clone() else { return out };
        let now = around.now.utc;
        match self.phase {
            Phase::Idle | Phase::Finishing => {}
            Phase::Waiting if now > job.span.until => self.end(&self.missed(), &mut out),
            Phase::Waiting if now >= job.prepare_at && around.trust.is_trusted() => {
                self.take_if_free(&job, around, &mut out);
            }
            Phase::Waiting => self.send_beam_early(&job, around, &mut out),
            Phase::Preparing | Phase::Ready | Phase::Following => {
                if self.leave_to_hands(&job, around, &mut out) {
                    return out;
                }
                self.collect_memories(around, &mut out);
                self.watch_tone(&job, around, &mut out);
                self.advance(&job, around, &mut out);
            }
        }
        out
    }

    /// What the `Save` of this number asked for is on the disk; the next `tick` lets the radios on.
    pub fn saved(&mut self, request: u64) {
        self.saved_up_to = self.saved_up_to.max(request);
    }

    /// The operator is to know this for the rest of the session.
    pub fn warn(&mut self, what: String) {
        if let Some(job) = &mut self.job {
            job.warnings.push(what);
        }
    }

    /// Begins in the pass that sets at `los`, in which an earlier daemon ended without an end.
    pub fn was_interrupted(&mut self, los: Time) {
        self.interrupted = Some(los);
    }

    /// LOS of a pass that was not taken up again.
    pub(super) fn interrupted(&self) -> Option<Time> {
        self.interrupted
    }

    /// Begins with giving the radios back what a session that never ended had read.
    pub fn recover(&mut self, memories: Vec<Option<RadioMemory>>) -> Vec<Output> {
        let mut out = Vec::new();
        self.memories = memories;
        self.phase = Phase::Finishing;
        self.give_back(&mut out);
        out
    }

    /// Begins with what radios had before a session that is long over: it is theirs after the next
    /// one, and not now, when they may be in use.
    pub fn remember(&mut self, memories: Vec<Option<RadioMemory>>) {
        self.memories = memories;
    }

    /// The station is switched off: motors stop where they are, the radios get back what they had.
    pub fn shut_down(&mut self) -> Vec<Output> {
        let mut out = Vec::new();
        if self.setup.mount.is_some() {
            out.push(Output::HaltLines);
        }
        if self.phase.has_devices() {
            self.phase = Phase::Finishing;
            self.give_back(&mut out);
        }
        out
    }

    fn order_radios(&self, out: &mut Vec<Output>, order: impl Fn(usize) -> RadioOrder) {
        out.extend((0..self.setup.radios).map(|index| Output::Radio(index, order(index))));
    }

    /// Takes what the radios remember, has it stored, and lets those on whose memory is safe. The
    /// first memory counts: a radio that comes back in mid-pass remembers only what we set.
    fn collect_memories(&mut self, around: &Circumstances, out: &mut Vec<Output>) {
        let mut news = false;
        for (index, status) in around.radios.iter().enumerate().take(self.setup.radios) {
            let Some(view) = status.radio() else { continue };
            if view.stage != RadioStage::AwaitingSave || status.behind {
                continue;
            }
            match (&mut self.memories[index], &view.memory) {
                // It was only listened with before: of its transmitter nothing was read then.
                (Some(before), Some(now)) if before.receive_only && !now.receive_only => {
                    (before.transmit, before.receive_only) = (now.transmit, false);
                    self.asked_to_store[index] = None;
                }
                (Some(_), _) => {}
                (before, now) => before.clone_from(now),
            }
            match self.asked_to_store[index] {
                None if self.memories[index].is_some() => {
                    self.asked_to_store[index] = Some(self.save_requests + 1);
                    news = true;
                }
                Some(request) if request <= self.saved_up_to => {
                    out.push(Output::Radio(index, RadioOrder::Proceed));
                }
                _ => {}
            }
        }
        if news {
            self.save_requests += 1;
            let known = self.memories.iter().enumerate();
            let known = known.filter_map(|(i, memory)| Some((i, memory.clone()?)));
            out.push(Output::Save(self.save_requests, known.collect()));
        }
    }

    fn advance(&mut self, job: &Job, around: &Circumstances, out: &mut Vec<Output>) {
        let now = around.now.utc;
        if now > job.span.until {
            let what = if job.only_listens() { "listened to" } else { "LOS" };
            out.push(Output::Say(format!("{}: {what}", job.satellite)));
            self.begin_to_finish(around, out);
        } else if now >= job.span.from {
            if self.phase != Phase::Following {
                self.phase = Phase::Following;
                let what = if job.only_listens() { "listening" } else { "AOS" };
                out.push(Output::Say(format!("{}: {what}", job.satellite)));
            }
        } else if self.phase == Phase::Preparing && self.all_ready(job, around) {
            self.phase = Phase::Ready;
            if !job.only_listens() {
                out.push(Output::Say(format!("{}: ready", job.satellite)));
            }
        }
    }

    fn all_ready(&self, job: &Job, around: &Circumstances) -> bool {
        let follows = |status: &DeviceStatus| status.radio().is_none_or(|r| r.stage == RadioStage::Following);
        let is_used = |index: usize| !job.only_listens() || self.setup.receivers.contains(&index);
        let mut used = (0..).zip(around.radios).filter(|(index, _)| is_used(*index));
        let has_beam = !job.only_listens() || job.aim.is_some();
        used.all(|(_, status)| follows(status))
            && (self.halted || !has_beam || around.rotator.is_none_or(is_there))
    }

    fn stop(&mut self, around: &Circumstances) -> Result<Vec<Output>, Refusal> {
        let mut out = Vec::new();
        match (self.phase, &self.job) {
            (Phase::Idle, _) => return Refusal::because("no session is running"),
            (Phase::Waiting, _) => {
                if self.sent_early {
                    self.rest_beam(&mut out);
                }
                self.end("stopped before the pass", &mut out);
            }
            (Phase::Finishing, _) => out.push(Output::Say(match self.next.take() {
                Some(next) => format!("{} given up", next.name()),
                None => "the session is ending already".to_owned(),
            })),
            (Phase::Preparing | Phase::Ready | Phase::Following, job) => {
                let what = job.as_ref().map(|job| {
                    format!("{}: stopped by the operator, {}", job.name(), why::progress(job, around.now.utc))
                });
                out.extend(what.map(Output::Say));
                self.begin_to_finish(around, &mut out);
            }
        }
        Ok(out)
    }

    fn halt(&mut self) -> Vec<Output> {
        self.halted = true;
        vec![Output::HaltLines, Output::Say("every motor is told to stop".to_owned())]
    }

    fn resume(&mut self) -> Vec<Output> {
        self.halted = false;
        self.sent_early = false;
        let mut out = vec![Output::ResumeLines, Output::Say("motors may move".to_owned())];
        match (&self.job, self.phase) {
            (Some(job), phase) if phase.has_devices() => self.order_beam(job, &mut out),
            (_, Phase::Finishing) if self.parking => self.rest_beam(&mut out),
            _ if self.park_owed => {
                out.push(Output::Say("the beam turns to its park position".to_owned()));
                self.rest_beam(&mut out);
            }
            _ if self.setup.mount.is_some() => out.push(Output::Rotator(RotatorOrder::GoOn)),
            _ => {}
        }
        self.park_owed = false;
        out
    }
}
