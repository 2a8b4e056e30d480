//! The session, watched: whatever it is told and decides goes into the record, if one is on. It can
//! only be changed through this.

use std::ops::Deref;

use crate::device::RadioMemory;
use crate::link::LinkTone;
use crate::record::{Act, Decision, Entry, Order, Origin, Recorder, SessionMemo, Told};
use crate::session::{Circumstances, Command, Job, Output, Phase, Refusal, Session};
use crate::terms::{AzEl, Moment, Time};

use super::jobs::JobAs;
use super::line::Looks;
use super::sight::Sight;
use super::words::{Words, written};

/// A session and what is told of it.
pub struct Watched {
    session: Session,
    tape: Option<Tape>,
}

impl Deref for Watched {
    type Target = Session;

    fn deref(&self) -> &Session {
        &self.session
    }
}

/// What the record knows of the session.
pub(in crate::daemon) struct Tape {
    pub(in crate::daemon) recorder: Recorder,
    pub(in crate::daemon) origin: Origin,
    words: Words,
    sight: Sight,
    has_looked: bool,
    looks: Looks,
    /// The last moment that is known, for what is told without one.
    last: Moment,
}

impl Tape {
    pub(in crate::daemon) fn new(recorder: Recorder, origin: Origin) -> Self {
        Self {
            recorder,
            origin,
            words: Words::default(),
            sight: Sight::default(),
            has_looked: false,
            looks: Looks::default(),
            last: origin.begun,
        }
    }

    /// The pass as a record names it; one that is new is told first.
    fn named(&mut self, job: &Job) -> JobAs {
        let named = self.words.named(job);
        self.tell_jobs();
        named
    }

    fn tell_jobs(&mut self) {
        for (number, recipe) in self.words.fresh() {
            self.recorder.tell(Entry::Job { number, job: written(&recipe) });
        }
    }

    fn flush(&mut self) {
        if let Some(pause) = self.looks.take() {
            self.recorder.tell(Entry::Ticks(pause));
        }
    }

    fn decision(&mut self, around: &Circumstances, outputs: &[Output], session: &Session) -> Decision {
        self.last = around.now;
        // While a pass is followed, where the mount is decides nothing by itself.
        let precise = session.phase() != Phase::Following || !outputs.is_empty();
        let is_first = !std::mem::replace(&mut self.has_looked, true);
        let saw = self.sight.news(around, precise, is_first).map(|news| written(&news));
        Decision { at: self.origin.stamp(around.now), saw, did: self.orders(outputs, session) }
    }

    fn orders(&mut self, outputs: &[Output], session: &Session) -> Vec<Order> {
        let orders = self.words.orders(outputs, session);
        self.tell_jobs();
        orders
    }
}

impl Watched {
    /// A session that nothing is told of yet.
    pub fn new(session: Session) -> Self {
        Self { session, tape: None }
    }

    /// The record that is on.
    pub(in crate::daemon) fn tape(&self) -> Option<&Tape> {
        self.tape.as_ref()
    }

    /// From now on all is told, beginning with what the session remembers.
    pub(in crate::daemon) fn watch(&mut self, mut tape: Tape) {
        let at = tape.origin.stamp(tape.last);
        let mut named = |job: Option<&Job>| job.map(|job| written(&tape.named(job)));
        let (job, next) = (named(self.session.job()), named(self.session.next()));
        tape.recorder.tell(match self.session.memo() {
            Ok(memo) => Entry::Session(SessionMemo { at, memo: memo.into(), job, next }),
            Err(why) => Entry::Lost { entries: 1, why },
        });
        self.tape = Some(tape);
    }

    /// Nothing more is told.
    pub(in crate::daemon) fn unwatch(&mut self) -> Option<Tape> {
        let mut tape = self.tape.take()?;
        tape.flush();
        Some(tape)
    }

    /// As [`Session::command`].
    ///
    /// # Errors
    /// As that.
    pub fn command(&mut self, command: Command, around: &Circumstances) -> Result<Vec<Output>, Refusal> {
        let told = self.tape.as_mut().map(|tape| told(tape, &command));
        let outputs = self.session.command(command, around);
        if let Some(told) = told {
            let refused = outputs.as_ref().err().map(|refusal| refusal.0.clone());
            self.tell(told, refused, Some(around), outputs.as_deref().unwrap_or_default());
        }
        outputs
    }

    /// As [`Session::tick`].
    pub fn tick(&mut self, around: &Circumstances) -> Vec<Output> {
        let outputs = self.session.tick(around);
        if let Some(tape) = &mut self.tape {
            let decision = tape.decision(around, &outputs, &self.session);
            if decision.saw.is_none() && decision.did.is_empty() {
                if let Some(pause) = tape.looks.add(decision.at, &[], Vec::new()) {
                    tape.recorder.tell(Entry::Ticks(pause));
                }
            } else {
                tape.flush();
                tape.recorder.tell(Entry::Tick(decision));
            }
        }
        outputs
    }

    /// As [`Session::saved`].
    pub fn saved(&mut self, request: u64) {
        self.session.saved(request);
        self.tell(Told::Saved(request), None, None, &[]);
    }

    /// As [`Session::warn`].
    pub fn warn(&mut self, what: String) {
        self.tell(Told::Warn(what.clone()), None, None, &[]);
        self.session.warn(what);
    }

    /// As [`Session::keep_nudge`].
    pub fn keep_nudge(&mut self, kept: AzEl) {
        self.session.keep_nudge(kept);
        self.tell(Told::KeepNudge(kept.azimuth, kept.elevation), None, None, &[]);
    }

    /// As [`Session::shut_down`].
    pub fn shut_down(&mut self) -> Vec<Output> {
        let outputs = self.session.shut_down();
        self.tell(Told::ShutDown, None, None, &outputs);
        outputs
    }

    /// As [`Session::was_interrupted`]: that is of an earlier daemon, whose record has ended.
    pub fn was_interrupted(&mut self, los: Time) {
        self.session.was_interrupted(los);
        self.broke_off();
    }

    /// As [`Session::recover`].
    pub fn recover(&mut self, memories: Vec<Option<RadioMemory>>) -> Vec<Output> {
        self.broke_off();
        self.session.recover(memories)
    }

    /// As [`Session::remember`].
    pub fn remember(&mut self, memories: Vec<Option<RadioMemory>>) {
        self.session.remember(memories);
        self.broke_off();
    }

    fn broke_off(&mut self) {
        if let Some(tape) = &mut self.tape {
            tape.flush();
            let why = "the session got what an earlier daemon had left".to_owned();
            tape.recorder.tell(Entry::Lost { entries: 1, why });
        }
    }

    fn tell(
        &mut self,
        act: Told,
        refused: Option<String>,
        around: Option<&Circumstances>,
        outputs: &[Output],
    ) {
        let Some(tape) = &mut self.tape else { return };
        tape.flush();
        let decision = match around {
            Some(around) => tape.decision(around, outputs, &self.session),
            None => {
                let did = tape.orders(outputs, &self.session);
                Decision { at: tape.origin.stamp(tape.last), saw: None, did }
            }
        };
        tape.recorder.tell(Entry::Act(Act { act, refused, decision }));
    }
}

/// A command as the record has it.
fn told(tape: &mut Tape, command: &Command) -> Told {
    match command {
        Command::Start(job) => Told::Start(written(&tape.named(job))),
        Command::Stop => Told::Stop,
        Command::Halt => Told::Halt,
        Command::Resume => Told::Resume,
        Command::Point(to) => Told::Point(to.azimuth, to.elevation),
        Command::Nudge(by) => Told::Nudge(by.azimuth, by.elevation),
        Command::Park => Told::Park,
        Command::Trim(trim) => Told::Trim(trim.receive.0, trim.transmit.0),
        Command::Tone(LinkTone::Access) => Told::Tone("access".to_owned()),
        Command::Tone(LinkTone::Arming) => Told::Tone("arming".to_owned()),
        Command::Tone(LinkTone::Off) => Told::Tone("off".to_owned()),
    }
}
