//! What Beamhand noticed of its devices in a rehearsal: every change of what their status says.

use serde::Serialize;

use crate::control::{DeviceState, Status};
use crate::terms::{Time, rfc3339, seconds_between};

/// As many changes are kept; a device that flickers fills no summary.
const MOST: usize = 60;

/// A device's status became another.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Seen {
    /// When.
    #[serde(serialize_with = "as_text")]
    pub time: Time,
    /// The same in seconds after the clock's start, as faults are ordered.
    pub after_s: f64,
    /// The device's name.
    pub device: String,
    /// What it was doing from then on.
    pub state: DeviceState,
    /// Why, in words.
    pub why: String,
}

pub(super) fn as_text<S: serde::Serializer>(time: &Time, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&rfc3339(*time))
}

/// Looks at one status after the other.
#[derive(Debug, Default)]
pub struct Watch {
    seen: Vec<Seen>,
}

impl Watch {
    /// Notes what differs from what was seen last, on a clock that began at `begin`.
    pub fn look(&mut self, status: &Status, begin: Time) {
        let radios = status.radios.iter().map(|radio| (&radio.name, radio.state, &radio.why));
        let rotator = status.rotator.iter().map(|rotator| (&rotator.name, rotator.state, &rotator.why));
        for (device, state, why) in radios.chain(rotator) {
            let last = self.seen.iter().rev().find(|seen| seen.device == *device);
            let is_new = last.is_none_or(|last| last.state != state || last.why != *why);
            if is_new && self.seen.len() < MOST {
                let after_s = (seconds_between(begin, status.time) * 10.0).round() / 10.0;
                let (device, why) = (device.clone(), why.clone());
                self.seen.push(Seen { time: status.time, after_s, device, state, why });
            }
        }
    }

    /// All that was seen, in order of time.
    pub fn into_seen(self) -> Vec<Seen> {
        self.seen
    }
}
