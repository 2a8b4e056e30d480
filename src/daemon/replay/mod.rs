//! Plays a record again: each line's conversation and players, and the session, from what they
//! remembered at its beginning, with the same inputs at the same moments, against the program as it is
//! now. Where it orders or writes something else than then, that is a difference.
//!
//! The machines are played each by itself from the record: a line gets the orders that the session
//! gave then, and the session sees what it saw then. So a difference in one is no difference in another.

mod lines;
mod plans;
mod session;

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

use crate::config::{Config, DefaultPaths};
use crate::record::{Entry, Order, Record, Stamp};

use super::equipment;
use super::recording::origin;
use lines::Lines;
use plans::Plans;
use session::Played;

/// So many differences of one machine are told; what comes after the first often follows from it.
const TOLD: usize = 5;

/// Something that is not as it was.
#[derive(Debug, Clone, PartialEq)]
pub struct Difference {
    /// When, from the record's beginning.
    pub at: Stamp,
    /// The line in the record's file.
    pub line: usize,
    /// What was played: `the session`, or a line's devices.
    pub machine: String,
    /// What it did then.
    pub then: Vec<String>,
    /// What it does now.
    pub now: Vec<String>,
}

/// What was played of one machine.
#[derive(Debug, Clone, PartialEq)]
pub struct Machine {
    /// What it is called.
    pub name: String,
    /// From when on, seconds after the record's beginning; `None`: it could not be.
    pub from_s: Option<f64>,
    /// So many inputs were played.
    pub inputs: u64,
    /// So many orders, sentences or frames were compared.
    pub compared: u64,
    /// The first differences.
    pub differences: Vec<Difference>,
    /// Why it was not played, or not to the end.
    pub stopped: Option<String>,
}

impl Machine {
    fn named(name: String) -> Self {
        Self { name, from_s: None, inputs: 0, compared: 0, differences: Vec::new(), stopped: None }
    }

    /// Whether there is no more to be played of it.
    fn is_over(&self) -> bool {
        self.stopped.is_some() || self.differences.len() >= TOLD
    }

    fn stop(&mut self, why: String) {
        self.stopped.get_or_insert(why);
    }

    /// Does a step of the machine. One that fails as no program should is the fault that was looked
    /// for: it is a difference, and the end.
    fn tried<T>(&mut self, (line, at): (usize, Stamp), step: impl FnOnce() -> T) -> Option<T> {
        let done = catch_unwind(AssertUnwindSafe(step)).ok();
        if done.is_none() {
            let (machine, then) = (self.name.clone(), Vec::new());
            let now = vec!["the program fails; what it said is on standard error".to_owned()];
            self.differences.push(Difference { at, line, machine, then, now });
            self.stop("it fails there".to_owned());
        }
        done
    }

    /// Compares what was done then with what is done now.
    fn compare(&mut self, (line, at): (usize, Stamp), then: Vec<String>, now: Vec<String>) {
        self.inputs += 1;
        self.compared += then.len().max(now.len()) as u64;
        if then != now && !self.is_over() {
            self.differences.push(Difference { at, line, machine: self.name.clone(), then, now });
        }
    }
}

/// What came of a replay.
#[derive(Debug, Clone, PartialEq)]
pub struct Replay {
    /// The machines that were played: the session, then the lines.
    pub machines: Vec<Machine>,
}

impl Replay {
    /// Whether something is not as it was.
    pub fn differs(&self) -> bool {
        self.machines.iter().any(|machine| !machine.differences.is_empty())
    }

    /// Whether nothing could be played at all.
    pub fn is_empty(&self) -> bool {
        self.machines.iter().all(|machine| machine.from_s.is_none())
    }
}

/// Plays a record.
///
/// # Errors
/// Its configuration can't be used any more; in words.
pub fn replay(record: &Record) -> Result<Replay, String> {
    let own: BTreeMap<String, String> = record
        .head
        .dialects
        .iter()
        .filter_map(|(name, text)| Some((name.clone(), text.as_str()?.to_owned())))
        .collect();
    let file = Path::new("the record's configuration");
    let config = Config::parse_alone(file, &record.head.configuration, &DefaultPaths::system(), &own)
        .map_err(|errors| format!("this version does not take the configuration that was used: {errors}"))?;
    let mount = config.rotator.as_ref().map(equipment::mount);
    let origin = origin(&record.head);
    let mut plans = Plans::new(mount.clone());
    let mut session = Played::new(equipment::session_setup(&config, mount), origin);
    let mut lines = Lines::new(equipment::lines(&config, record.head.wire_speed), origin);
    let mut gaps = record.passed_over.iter().filter(|damage| !damage.is_unknown).peekable();
    for (line, entry) in &record.entries {
        if let Some(damage) = gaps.next_if(|damage| damage.line < *line) {
            let why = format!("line {} of the record can't be read", damage.line);
            session.machine.stop(why.clone());
            lines.stop(&why);
        }
        match entry {
            Entry::Lost { entries, why } => {
                let why = format!("the record has a gap of {entries} there: {why}");
                session.machine.stop(why.clone());
                lines.stop(&why);
            }
            Entry::Job { number, job } => {
                if let Err(why) = plans.learn(*number, job) {
                    session.machine.stop(why);
                }
            }
            Entry::Session(memo) => {
                session.begin(memo, &mut plans);
                lines.plans_before(memo, &mut plans);
            }
            Entry::Act(act) => {
                session.act(*line, act, &mut plans);
                lines.ordered(&act.decision.did, &mut plans);
            }
            Entry::Tick(decision) => {
                session.tick(*line, decision, &mut plans);
                lines.ordered(&decision.did, &mut plans);
            }
            Entry::Ticks(pause) => session.ticks(*line, pause, &mut plans),
            Entry::Memo { line: number, at, memo } => lines.begin(*number, *at, memo),
            Entry::Step(step) => lines.step(*line, step),
            Entry::Pause(pause) => lines.pause(*line, pause),
            Entry::Head(_) | Entry::Request { .. } | Entry::Reading { .. } | Entry::Outcome { .. } => {}
        }
    }
    let mut machines = vec![session.machine];
    machines.extend(lines.into_machines());
    for machine in &mut machines {
        if machine.from_s.is_none() {
            machine.stop("what it remembered at the beginning is not in the record".to_owned());
        }
    }
    Ok(Replay { machines })
}

/// An order for comparing and for people.
fn in_words(order: &Order) -> String {
    match order {
        Order::Radio(number, order) => format!("radio {number}: {order}"),
        Order::Rotator(order) => format!("rotator: {order}"),
        Order::HaltLines => "every motor: stop".to_owned(),
        Order::ResumeLines => "motors may move".to_owned(),
        Order::Save(request, memories) => format!("store {request}: {memories}"),
        Order::Forget => "forget what was stored".to_owned(),
        Order::Shelve => "shelve what was stored".to_owned(),
        Order::Say(what) => format!("\"{what}\""),
    }
}
