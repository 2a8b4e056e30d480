//! The session, played again.

use crate::clock::Trust;
use crate::daemon::recording::Sight;
use crate::link::{LinkTone, Trim};
use crate::record::{Act, Decision, Order, Origin, Pause, SessionMemo, Stamp, Told};
use crate::session::{Circumstances, Command, Output, Session, SessionSetup};
use crate::terms::{AzEl, Hertz, Moment};

use super::Machine;
use super::plans::Plans;

/// A session that sees what it saw then.
pub(super) struct Played {
    pub(super) machine: Machine,
    setup: SessionSetup,
    origin: Origin,
    session: Option<Session>,
    sight: Sight,
}

impl Played {
    pub(super) fn new(setup: SessionSetup, origin: Origin) -> Self {
        let machine = Machine::named("the session".to_owned());
        Self { machine, setup, origin, session: None, sight: Sight::default() }
    }

    /// Begins as the session was.
    pub(super) fn begin(&mut self, memo: &SessionMemo, plans: &mut Plans) {
        match self.begun(memo, plans) {
            Ok(session) => {
                self.session = Some(session);
                self.machine.from_s = Some(memo.at.seconds());
            }
            Err(why) => self.machine.stop(why),
        }
    }

    fn begun(&self, memo: &SessionMemo, plans: &mut Plans) -> Result<Session, String> {
        let mut job = |of: &Option<_>| of.as_ref().map(|job| plans.job(job)).transpose();
        let (job, next) = (job(&memo.job)?, job(&memo.next)?);
        let mut session = Session::new(self.setup.clone());
        session.begin_as(memo.memo.as_object().ok_or("its memo can't be read")?, job, next)?;
        Ok(session)
    }

    /// What it was told.
    pub(super) fn act(&mut self, line: usize, act: &Act, plans: &mut Plans) {
        if !self.learn(&act.decision) {
            return;
        }
        let Some(session) = &mut self.session else { return };
        let told = match told(session, &act.act, plans) {
            Ok(told) => told,
            Err(why) => return self.machine.stop(why),
        };
        let trust = self.sight.trust();
        let around = circumstances(&self.sight, &trust, self.origin.moment(act.decision.at));
        let done = match told {
            Heard::Command(command) => {
                self.machine.tried((line, act.decision.at), || session.command(*command, &around))
            }
            Heard::Done(outputs) => Some(Ok(outputs)),
        };
        let Some(done) = done else { return };
        let (refused, outputs) = match done {
            Ok(outputs) => (None, outputs),
            Err(refusal) => (Some(refusal.0), Vec::new()),
        };
        let mut now = words(&plans.words.orders(&outputs, session));
        let mut then = words(&act.decision.did);
        then.extend(act.refused.iter().map(|why| format!("refused: {why}")));
        now.extend(refused.map(|why| format!("refused: {why}")));
        self.machine.compare((line, act.decision.at), then, now);
    }

    /// A look around, with something to tell.
    pub(super) fn tick(&mut self, line: usize, decision: &Decision, plans: &mut Plans) {
        if self.learn(decision) {
            self.look(line, decision.at, words(&decision.did), plans);
        }
    }

    /// Looks around with nothing to tell.
    pub(super) fn ticks(&mut self, line: usize, pause: &Pause, plans: &mut Plans) {
        for at in pause.stamps() {
            self.look(line, at, Vec::new(), plans);
        }
    }

    fn look(&mut self, line: usize, at: Stamp, then: Vec<String>, plans: &mut Plans) {
        if self.machine.is_over() {
            return;
        }
        let Some(session) = &mut self.session else { return };
        let trust = self.sight.trust();
        let around = circumstances(&self.sight, &trust, self.origin.moment(at));
        let Some(outputs) = self.machine.tried((line, at), || session.tick(&around)) else { return };
        let now = words(&plans.words.orders(&outputs, session));
        self.machine.compare((line, at), then, now);
    }

    /// Sees what is new; whether there is anything to be played with it.
    fn learn(&mut self, decision: &Decision) -> bool {
        if let Some(saw) = &decision.saw
            && let Err(why) = self.sight.learn(saw)
        {
            self.machine.stop(why);
        }
        !self.machine.is_over() && self.session.is_some()
    }
}

fn circumstances<'a>(sight: &'a Sight, trust: &'a Trust, now: Moment) -> Circumstances<'a> {
    Circumstances { now, trust, radios: sight.radios(), rotator: sight.rotator() }
}

/// What a session hears.
enum Heard {
    Command(Box<Command>),
    /// It was told already; what it made of it.
    Done(Vec<Output>),
}

fn told(session: &mut Session, told: &Told, plans: &mut Plans) -> Result<Heard, String> {
    let command = match told {
        Told::Start(job) => Command::Start(Box::new(plans.job(job)?)),
        Told::Stop => Command::Stop,
        Told::Halt => Command::Halt,
        Told::Resume => Command::Resume,
        Told::Point(azimuth, elevation) => Command::Point(AzEl::new(*azimuth, *elevation)),
        Told::Nudge(azimuth, elevation) => Command::Nudge(AzEl::new(*azimuth, *elevation)),
        Told::Park => Command::Park,
        Told::Trim(receive, transmit) => {
            Command::Trim(Trim { receive: Hertz(*receive), transmit: Hertz(*transmit) })
        }
        Told::Tone(tone) => Command::Tone(match tone.as_str() {
            "access" => LinkTone::Access,
            "arming" => LinkTone::Arming,
            "off" => LinkTone::Off,
            other => return Err(format!("there is no tone \"{other}\"")),
        }),
        Told::KeepNudge(azimuth, elevation) => {
            session.keep_nudge(AzEl::new(*azimuth, *elevation));
            return Ok(Heard::Done(Vec::new()));
        }
        Told::Saved(request) => {
            session.saved(*request);
            return Ok(Heard::Done(Vec::new()));
        }
        Told::Warn(what) => {
            session.warn(what.clone());
            return Ok(Heard::Done(Vec::new()));
        }
        Told::ShutDown => return Ok(Heard::Done(session.shut_down())),
    };
    Ok(Heard::Command(Box::new(command)))
}

/// Orders for comparing and for people.
fn words(orders: &[Order]) -> Vec<String> {
    orders.iter().map(super::in_words).collect()
}
