//! What is asked of the daemon: what the loop answers itself, and the slow work that is done
//! elsewhere.

use serde_json::Value;
use tokio::sync::oneshot;

use crate::control::{
    Ack, Method, PassesParams, RpcError, StartParams, ToneChoice, TrimAction, TrimParams, TrimShift, code,
};
use crate::daemon::report;
use crate::daemon::trims::{KeptTrims, LARGEST_TRIM};
use crate::link::{LinkTone, Trim};
use crate::session::{Command, Job, Output, Refusal};
use crate::terms::Direction;

use super::{Call, Engine, News, to_value};

/// Where an answer goes.
pub(super) type Reply = oneshot::Sender<Result<Value, RpcError>>;

impl Engine {
    /// Whether it may have changed anything: who only asks must not keep the session busy.
    pub(super) fn take(&mut self, call: Call) -> bool {
        let Call { method, peer, reply } = call;
        let acts = !matches!(method, Method::Status | Method::Passes(_) | Method::Subscribe);
        if acts {
            let call = serde_json::to_string(&method).unwrap_or_default();
            self.log(&peer, &format!("{peer}: {call}"));
        }
        self.record_request(&method, &peer);
        self.heed_person(&method);
        match method {
            Method::Halt => self.halt(reply),
            Method::Start(params) => self.plan(params, reply),
            Method::Passes(params) => self.search(params, reply),
            Method::Reload => self.reload(reply),
            Method::Trim(TrimParams::Act(act)) if act.action != TrimAction::Reset => {
                self.keep_or_forget(act.action, reply);
            }
            Method::Nudge(params) => self.nudge(params, reply),
            Method::Antenna(params) => self.antenna(params, reply),
            other => {
                let _ = reply.send(self.answer(other));
            }
        }
        acts
    }

    fn answer(&mut self, method: Method) -> Result<Value, RpcError> {
        match method {
            Method::Status | Method::Subscribe => to_value(&self.status(&self.seen())),
            Method::Stop => {
                // A start that is still being planned is stopped with the rest.
                self.generation += 1;
                self.stopped_by_hand();
                self.command(Command::Stop)
            }
            Method::Resume => self.command(Command::Resume),
            Method::Park => self.command(Command::Park),
            Method::Point(to) => self.point(to),
            Method::Trim(TrimParams::Shift(shift)) if !is_small(shift) => {
                let what = format!("a trim is at most {} Hz either way", LARGEST_TRIM.0);
                Err(RpcError::new(code::BAD_PARAMS, what))
            }
            Method::Trim(TrimParams::Shift(shift)) => {
                let trim = self.trimmed(shift);
                self.command(Command::Trim(trim))
            }
            Method::Trim(TrimParams::Act(_)) => self.command(Command::Trim(Trim::default())),
            Method::Tone(params) => self.command(Command::Tone(match params.tone {
                ToneChoice::Access => LinkTone::Access,
                ToneChoice::Arming => LinkTone::Arming,
                ToneChoice::Off => LinkTone::Off,
            })),
            Method::Auto => self.switch_auto(true),
            Method::SwitchAuto(wanted) => self.switch_auto(wanted.on),
            Method::Start(_)
            | Method::Passes(_)
            | Method::Halt
            | Method::Reload
            | Method::Antenna(_)
            | Method::Nudge(_) => Err(RpcError::new(code::INTERNAL, "this is answered elsewhere")),
        }
    }

    fn trimmed(&self, shift: TrimShift) -> Trim {
        let trim = self.parts.session.trim();
        match shift.direction {
            Direction::Receive => Trim { receive: shift.hertz, ..trim },
            Direction::Transmit => Trim { transmit: shift.hertz, ..trim },
        }
    }

    pub(super) fn command(&mut self, command: Command) -> Result<Value, RpcError> {
        let seen = self.seen();
        let note = if let Command::Start(job) = &command { job.note.clone() } else { None };
        let outputs = self.order_session(command, &seen).map_err(refusal)?;
        let said = |output: &Output| if let Output::Say(what) = output { Some(what.clone()) } else { None };
        let said: Vec<String> = outputs.iter().filter_map(said).collect();
        // An operator's flood must not hide what the session says by itself.
        self.carry_out(outputs, "answers");
        self.ack(said, note)
    }

    /// What was done, and how things are now. What the state says anyway is not said twice.
    pub(super) fn ack(&self, mut said: Vec<String>, note: Option<String>) -> Result<Value, RpcError> {
        let why = self.parts.session.why(&self.seen().around());
        said.retain(|what| !why.contains(what.as_str()));
        said.push(why);
        to_value(&Ack { state: report::state(&self.parts.session), why: said.join("; "), note })
    }

    fn plan(&mut self, params: StartParams, reply: Reply) {
        self.generation += 1;
        let (planner, tell) = (self.parts.planner.clone(), self.tell.clone());
        let (now, generation) = (self.parts.clock.now().utc, self.generation);
        // A rehearsal shows the plan as it is.
        let trims = (!self.parts.clock.is_rehearsal()).then(|| self.trims.clone());
        self.aside("the plan of a pass", move || {
            let planned = planner.refreshed();
            let job = planned.and_then(|now_known| now_known.job(&params, now, generation));
            let job = match trims {
                Some(trims) => job.map(|job| with_kept(job, &trims)),
                None => job,
            };
            let _ = tell.send(News::Planned(generation, Box::new(job), reply));
        });
    }

    pub(super) fn planned(&mut self, generation: u64, planned: Result<Job, String>, reply: Reply) {
        let answer = match planned {
            _ if generation != self.generation => {
                Err(RpcError::new(code::NOT_NOW, "another command came in between, so this one is dropped"))
            }
            Ok(job) => {
                self.auto.renew();
                self.command(Command::Start(Box::new(job)))
            }
            Err(why) => Err(RpcError::new(code::NOT_FOUND, why)),
        };
        let _ = reply.send(answer);
    }

    fn search(&self, params: PassesParams, reply: Reply) {
        let planner = self.parts.planner.clone();
        let now = self.parts.clock.now().utc;
        self.aside("the search for passes", move || {
            // A file that can't be read just now, or not any more: the passes as they were known.
            let known = planner.refreshed().unwrap_or(planner);
            let page = known.passes(&params, now).and_then(|page| to_value(&page));
            let _ = reply.send(page);
        });
    }

    fn keep_or_forget(&self, action: TrimAction, reply: Reply) {
        let Some(job) = self.parts.session.job().cloned() else {
            let why = "no session is running, so it is not known which link's trim is meant";
            let _ = reply.send(Err(RpcError::new(code::NOT_NOW, why)));
            return;
        };
        let (trims, tell, now) = (self.trims.clone(), self.tell.clone(), self.parts.clock.now().utc);
        self.aside("what is kept of a trim", move || {
            let done = match action {
                TrimAction::Forget => trims.forget(&job).map(|kept| forgotten(&job, kept.is_some())),
                TrimAction::Keep | TrimAction::Reset => trims.keep(&job, now).map(|()| kept(&job)),
            };
            let _ = tell.send(News::TrimStored(done, reply));
        });
    }

    /// Answers who asked for a shift to be kept or forgotten.
    pub(super) fn stored(&self, done: Result<String, String>, reply: Reply) {
        let answer = match done {
            Ok(said) => {
                tracing::info!("{said}");
                self.ack(vec![said], None)
            }
            Err(why) => {
                tracing::warn!("{why}");
                Err(RpcError::new(code::FAILED, why))
            }
        };
        let _ = reply.send(answer);
    }
}

/// The job as its link was left: with the trim that was kept. What can't be read is said.
pub(super) fn with_kept(mut job: Job, trims: &KeptTrims) -> Job {
    match trims.of(&job) {
        Ok(Some(kept)) => job = job.with_kept(kept),
        Ok(None) => {}
        Err(why) => {
            tracing::warn!("{why}");
            job.warnings.push(why);
        }
    }
    job
}

fn kept(job: &Job) -> String {
    let (trim, name) = (job.tuning.trim(), job.name());
    if trim == Trim::default() {
        return format!("nothing is kept for {name}: its trim is zero");
    }
    format!("trim {trim} is kept for {name}")
}

fn forgotten(job: &Job, was_kept: bool) -> String {
    let name = job.name();
    if was_kept {
        format!("nothing is kept for {name} any more; this session's trim stays")
    } else {
        format!("nothing was kept for {name}")
    }
}

fn is_small(shift: TrimShift) -> bool {
    (-LARGEST_TRIM.0..=LARGEST_TRIM.0).contains(&shift.hertz.0)
}

fn refusal(refusal: Refusal) -> RpcError {
    RpcError::new(code::NOT_NOW, refusal.to_string())
}
