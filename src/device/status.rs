//! What a device's player knows, as plain values for everybody above.

use std::fmt;
use std::time::Duration;

use serde::{Deserialize, Serialize};

use crate::terms::{AzEl, Dial, Hertz, Mode, Time, Tone};

use super::RadioMemory;

/// Whether a device can be talked to, in the words of what was seen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub enum Contact {
    /// The port was not opened yet.
    Unopened,
    /// The port is not open; why.
    Closed(String),
    /// The port is open and nothing was heard from it yet.
    Unheard,
    /// The last question was answered.
    Good,
    /// It answers, but something is not as it should be: what was seen.
    Odd(String),
    /// What was seen instead of an answer, and what to check.
    Bad(String),
}

impl Contact {
    /// Whether the port is open.
    pub fn is_open(&self) -> bool {
        !matches!(self, Contact::Unopened | Contact::Closed(_))
    }

    /// Whether the device answered when it was last asked.
    pub fn is_good(&self) -> bool {
        matches!(self, Contact::Good | Contact::Odd(_))
    }
}

/// A command or a reading, in words, and when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Said {
    /// For people: `receive 435.512 340 MHz`.
    pub what: String,
    /// Plan time.
    pub at: Time,
    /// Monotonic time, for ages.
    pub mono: Duration,
}

/// One device, at one moment.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DeviceStatus {
    /// The name from the configuration.
    pub name: String,
    /// Whether it can be talked to.
    pub contact: Contact,
    /// The last command that left.
    pub last_sent: Option<Said>,
    /// The last reading that came.
    pub last_read: Option<Said>,
    /// Commands sent since the daemon started (questions are not counted).
    pub commands: u64,
    /// Bytes sent since the daemon started.
    pub bytes: u64,
    /// Commands that the device refused, or that were not sent because a limit forbade it.
    pub refused: u64,
    /// Orders that it has taken since the daemon started.
    pub orders: u64,
    /// Orders are on their way to it that this does not show yet.
    pub behind: bool,
    /// What is particular to its kind.
    pub detail: Detail,
}

/// What is particular to a kind of device.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Detail {
    /// A radio.
    Radio(RadioView),
    /// A rotator.
    Rotator(RotatorView),
}

/// How far a radio is on its way through a session.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum RadioStage {
    /// Left alone; it is only asked now and then whether it is there.
    Idle,
    /// What it has is being read.
    Reading,
    /// It waits until that is stored.
    AwaitingSave,
    /// It is being prepared.
    Preparing,
    /// It follows its plan.
    Following,
    /// It is given back what it had.
    GivingBack,
}

/// A radio, as its player knows it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RadioView {
    /// How far it is.
    pub stage: RadioStage,
    /// The receiving dial, where this radio receives.
    pub receive: Option<DialView>,
    /// The transmitting dial, where this radio transmits.
    pub transmit: Option<DialView>,
    /// Whether it transmits; `None` where that can't be read or was not.
    pub transmitting: Option<bool>,
    /// How far the dials that were held through the last over were behind at its end.
    pub last_over: Option<Drift>,
    /// That somebody uses it while it is left alone, and since when it was seen: it transmits, or
    /// transmitted or was turned by hand within the last ten minutes.
    pub in_use: Option<String>,
    /// What it had before the session, once that is read.
    pub memory: Option<RadioMemory>,
    /// What could not be done and is left to the operator.
    pub notes: Vec<Note>,
    /// What it heard last while it is only listened with, the oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub heard: Vec<Heard>,
}

/// What a radio said of what it hears, at one moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Heard {
    /// Counts them, so that a reader knows which are new.
    pub number: u64,
    /// Plan time.
    pub at: Time,
    /// The true frequency that was listened to.
    pub dial: Hertz,
    /// The signal meter in the radio's own units.
    pub signal: Option<u16>,
    /// Whether the squelch was open.
    pub open: Option<bool>,
}

/// Something that the operator should look at, or do by hand.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Note {
    /// What was to be done: `split on`.
    pub what: String,
    /// Why it was not.
    pub why: String,
}

/// One dial against its plan.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct DialView {
    /// What the plan wants now, on the radio's own scale: its calibration is in it.
    pub plan: Option<Dial>,
    /// What the dial was last set to or read at.
    pub hertz: Option<Hertz>,
    /// The mode that it was last set to or read at.
    pub mode: Option<Mode>,
    /// The tone that was set to go along; `None` where none was.
    pub tone: Option<Tone>,
    /// How far the plan has moved away from a dial that is held while the radio transmits.
    pub behind: Option<Hertz>,
}

/// How far held dials were behind their plan at the end of an over; `None` where one was not held.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Drift {
    /// The receiving dial.
    pub receive: Option<Hertz>,
    /// The transmitting dial.
    pub transmit: Option<Hertz>,
}

/// For people: `the uplink drifted 310 Hz`.
impl fmt::Display for Drift {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let each = [("downlink", self.receive), ("uplink", self.transmit)];
        let said = each.into_iter().filter_map(|(link, by)| Some(format!("the {link} drifted {} Hz", by?.0)));
        f.pad(&said.collect::<Vec<_>>().join(", "))
    }
}

/// What a rotator is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Motion {
    /// Its position was not read yet, so nothing moves.
    Unread,
    /// It was told nothing, and stays.
    Resting,
    /// On its way to a place, or there.
    GoingTo,
    /// It follows a plan.
    Following,
    /// Stopped by halt; nothing moves until resume.
    Halted,
    /// It was turned by hand and is the operator's until the next order.
    ByHand,
    /// It was stopped because of what was seen of it, until the next order.
    Stopped,
}

/// How fast a mount really is, as its read-back shows; what was not seen yet is `None`.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Pace {
    /// How fast it turns, degrees per second.
    pub azimuth_deg_s: Option<f64>,
    /// How fast it tilts, degrees per second.
    pub elevation_deg_s: Option<f64>,
    /// From a command's first byte to its effect, seconds.
    pub lag_s: Option<f64>,
}

/// A rotator, as its player knows it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RotatorView {
    /// What it is doing.
    pub motion: Motion,
    /// Where it should be now, in the mount's own coordinates.
    pub target: Option<AzEl>,
    /// Where it was when it was last read, and when (monotonic).
    pub position: Option<(AzEl, Duration)>,
    /// A stop is wanted and has not left yet.
    pub stop_pending: bool,
    /// How fast it really is.
    pub pace: Pace,
    /// What could not be done, and why.
    pub notes: Vec<String>,
}

impl RotatorView {
    /// Whether the mount stands where it was sent, to a degree.
    pub fn is_there(&self) -> bool {
        let off = self.target.zip(self.position).map(|(target, (position, _))| target.angle_to(position));
        off.is_some_and(|off| off < 1.0)
    }
}

impl DeviceStatus {
    /// The radio's part.
    pub fn radio(&self) -> Option<&RadioView> {
        match &self.detail {
            Detail::Radio(view) => Some(view),
            Detail::Rotator(_) => None,
        }
    }

    /// Whether nothing is wanted of it but that it says now and then how it is: a radio that is left alone, a
    /// mount that is not on a way of Beamhand's.
    pub fn is_at_rest(&self) -> bool {
        match &self.detail {
            Detail::Radio(view) => view.stage == RadioStage::Idle,
            Detail::Rotator(view) => match view.motion {
                _ if view.stop_pending => false,
                Motion::GoingTo => view.is_there(),
                Motion::Following => false,
                Motion::Unread | Motion::Resting | Motion::Halted | Motion::ByHand | Motion::Stopped => true,
            },
        }
    }

    /// The rotator's part.
    pub fn rotator(&self) -> Option<&RotatorView> {
        match &self.detail {
            Detail::Rotator(view) => Some(view),
            Detail::Radio(_) => None,
        }
    }
}
