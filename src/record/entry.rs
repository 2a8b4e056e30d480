//! The entries of a record, one a line. Values whose meaning is another room's are plain JSON here.

use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::moments::Nanos;
use crate::terms::Time;

/// When something happened, counted from the record's beginning (see [`super::Origin`]).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Stamp {
    /// By the clock that never jumps; written in microseconds.
    pub t: Nanos,
    /// How far UTC is from the first UTC and what has passed since; written in microseconds.
    #[serde(rename = "u", default, skip_serializing_if = "Nanos::is_zero")]
    pub drift: Nanos,
}

/// One line of a record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Entry {
    /// The first line.
    Head(Box<Head>),
    /// A pass that was planned, by number, with all that its plans are made from.
    Job {
        /// Counted from 1.
        number: u32,
        /// See `daemon::recording`.
        job: Value,
    },
    /// What the session remembered when it was first watched.
    Session(SessionMemo),
    /// What a line and its players remembered when it was first watched at rest.
    Memo {
        /// Which line.
        line: usize,
        /// When.
        #[serde(flatten)]
        at: Stamp,
        /// See `device::line`.
        memo: Value,
    },
    /// Something else happened to a line than time and bytes.
    Step(Step),
    /// Time and bytes came to a line, time and again, and what it wrote then.
    Pause(Pause),
    /// Somebody asked the daemon for something.
    Request {
        /// When.
        #[serde(flatten)]
        at: Stamp,
        /// Who: the user at the other end of the socket.
        peer: String,
        /// What, as the socket's protocol has it.
        method: Value,
    },
    /// The session was told something.
    Act(Act),
    /// The session looked around and decided something, or saw something new.
    Tick(Decision),
    /// The session looked around: it saw nothing new and decided nothing.
    Ticks(Pause),
    /// What a device was last told and last said, in words, from time to time.
    Reading {
        /// When.
        #[serde(flatten)]
        at: Stamp,
        /// The device's name.
        device: String,
        /// What was sent to it last.
        sent: Option<String>,
        /// What was read from it last.
        read: Option<String>,
        /// Whether it can be talked to.
        contact: String,
    },
    /// So many entries are missing here; why.
    Lost {
        /// How many.
        entries: u64,
        /// In words.
        why: String,
    },
    /// The session is over, or was when the daemon ended.
    Outcome {
        /// When.
        #[serde(flatten)]
        at: Stamp,
        /// The session's state.
        state: String,
        /// Why, for people.
        why: String,
    },
}

impl Entry {
    /// When it happened, where it says so.
    pub fn at(&self) -> Option<Stamp> {
        match self {
            Entry::Memo { at, .. }
            | Entry::Request { at, .. }
            | Entry::Reading { at, .. }
            | Entry::Outcome { at, .. } => Some(*at),
            Entry::Session(memo) => Some(memo.at),
            Entry::Step(step) => Some(step.at),
            Entry::Pause(pause) | Entry::Ticks(pause) => Some(pause.at),
            Entry::Act(act) => Some(act.decision.at),
            Entry::Tick(decision) => Some(decision.at),
            Entry::Head(_) | Entry::Job { .. } | Entry::Lost { .. } => None,
        }
    }
}

/// What the record is of, and what was used.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Head {
    /// The form of the record.
    pub format: u32,
    /// The program's version.
    pub version: String,
    /// UTC at the record's beginning, to the nanosecond.
    pub begun: Time,
    /// The steady clock at the record's beginning.
    pub mono: Nanos,
    /// How many seconds of plan time pass in a second: 1, but on a rehearsal's clock.
    pub speed: f64,
    /// How many times faster than real the bytes run: 1, but for simulated equipment on such a clock.
    pub wire_speed: f64,
    /// The satellite.
    pub satellite: String,
    /// The link.
    pub link: String,
    /// The station's callsign, where one is configured.
    pub station: Option<String>,
    /// The configuration's text, as it was when the lines were opened.
    pub configuration: String,
    /// The user's own dialects by name, as they were then.
    #[serde(default, skip_serializing_if = "serde_json::Map::is_empty")]
    pub dialects: serde_json::Map<String, Value>,
    /// The lines, by number.
    pub lines: Vec<LineHead>,
}

/// A line and the devices on it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LineHead {
    /// The port's name.
    pub port: String,
    /// The devices' names, by number.
    pub devices: Vec<String>,
}

/// What happened to a line, and what it wrote then.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// Which line.
    pub line: usize,
    /// When.
    #[serde(flatten)]
    pub at: Stamp,
    /// What happened.
    #[serde(rename = "in")]
    pub came: Came,
    /// What the line wanted to be written, a frame each, as [`super::to_text`] has it.
    #[serde(rename = "out", default, skip_serializing_if = "Vec::is_empty")]
    pub said: Vec<String>,
}

/// What can happen to a line beside time and bytes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Came {
    /// The port is open.
    Opened,
    /// The port is lost, or could not be opened; why.
    Lost(String),
    /// The last write did not leave whole, or too late.
    NotSent,
    /// The next order to the device of this number, counted on the line, was taken.
    Order(usize),
    /// Every motor is to stop.
    Halt,
    /// Motors may move again.
    Resume,
}

/// Looks one after the other.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Pause {
    /// Which line; 0 for the session's own.
    #[serde(default)]
    pub line: usize,
    /// The first look.
    #[serde(flatten)]
    pub at: Stamp,
    /// The looks after it: how much later each was than the one before.
    #[serde(rename = "d", default)]
    pub later: Vec<Nanos>,
    /// The same of UTC beyond that; empty where it was nothing all the time.
    #[serde(rename = "v", default, skip_serializing_if = "Vec::is_empty")]
    pub drifted: Vec<Nanos>,
    /// How many bytes came in at each look, the first one's too; empty where none came at all.
    #[serde(rename = "n", default, skip_serializing_if = "Vec::is_empty")]
    pub counts: Vec<usize>,
    /// Those bytes, as [`super::to_text`] has them.
    #[serde(rename = "b", default, skip_serializing_if = "String::is_empty")]
    pub bytes: String,
    /// What was written, by the look's number from 0: a frame each, as [`super::to_text`] has it.
    #[serde(rename = "o", default, skip_serializing_if = "Vec::is_empty")]
    pub said: Vec<(usize, Vec<String>)>,
}

/// One look at a line.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// When.
    pub at: Stamp,
    /// The bytes that came in.
    pub came: Vec<u8>,
    /// What was written.
    pub said: Vec<String>,
}

/// What the session remembered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SessionMemo {
    /// When.
    #[serde(flatten)]
    pub at: Stamp,
    /// See `session`.
    pub memo: Value,
    /// The pass that it was at. See `daemon::recording`.
    pub job: Option<Value>,
    /// The pass that comes after that one.
    pub next: Option<Value>,
}

/// What the session was told, and what it made of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Act {
    /// See `daemon::recording`.
    pub act: Told,
    /// Why it refused.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub refused: Option<String>,
    /// What it decided.
    #[serde(flatten)]
    pub decision: Decision,
}

/// What a session can be told.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Told {
    /// Work this pass. See `daemon::recording`.
    Start(Value),
    /// End the session.
    Stop,
    /// Stop every motor.
    Halt,
    /// Motors may move.
    Resume,
    /// Turn the beam there, degrees.
    Point(f64, f64),
    /// Shift the beam so, degrees.
    Nudge(f64, f64),
    /// Shift the beam so from now on in all sessions, degrees.
    KeepNudge(f64, f64),
    /// Park the beam.
    Park,
    /// Shift the dials, hertz: receive and transmit.
    Trim(i64, i64),
    /// Send this tone along: `access`, `arming` or `off`.
    Tone(String),
    /// The request to store of this number was carried out.
    Saved(u64),
    /// The operator is to know this.
    Warn(String),
    /// The daemon ends.
    ShutDown,
}

/// What the session saw and decided at one moment.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Decision {
    /// When.
    #[serde(flatten)]
    pub at: Stamp,
    /// What it saw that differs from what was told of the moment before. See `daemon::recording`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub saw: Option<Value>,
    /// What it ordered and said.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub did: Vec<Order>,
}

/// What the session ordered or said.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Order {
    /// An order to the radio of this number. See `daemon::recording`.
    Radio(usize, Value),
    /// An order to the rotator. See `daemon::recording`.
    Rotator(Value),
    /// Every line stops its motors.
    HaltLines,
    /// Lines may move motors again.
    ResumeLines,
    /// What the radios had is to be stored, by request; what each had, by number.
    Save(u64, Value),
    /// What was stored may be forgotten.
    Forget,
    /// What was stored stays and is not given back by itself.
    Shelve,
    /// A sentence for people.
    Say(String),
}
