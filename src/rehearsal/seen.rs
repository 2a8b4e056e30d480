//! What Beamhand noticed of its devices in a rehearsal: every change of what their status says.

use serde::Serialize;

use crate::control::{DeviceState, Status, fact};
use crate::terms::{Time, rfc3339, seconds_between};

/// As many changes are kept; a device that flickers fills no summary.
const MOST: usize = 60;

/// A device's status, as long as it said the same.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Seen {
    /// When it began.
    #[serde(serialize_with = "as_text")]
    pub time: Time,
    /// The same in seconds after the clock's start, as faults are ordered.
    pub after_s: f64,
    /// When it was over, in the same seconds; null where it lasted to the end.
    pub until_s: Option<f64>,
    /// The device's name.
    pub device: String,
    /// What it was doing.
    pub state: DeviceState,
    /// Why, in words, as at the beginning.
    pub why: String,
}

pub(super) fn as_text<S: serde::Serializer>(time: &Time, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&rfc3339(*time))
}

/// Looks at one status after the other.
#[derive(Debug, Default)]
pub struct Watch {
    seen: Vec<Seen>,
    left_out: u64,
    now: Vec<Now>,
}

/// What is so of a device now, and its place in what was seen, if there was room.
#[derive(Debug)]
struct Now {
    device: String,
    state: DeviceState,
    fact: String,
    place: Option<usize>,
}

impl Watch {
    /// Notes what differs from what was seen last, on a clock that began at `begin`.
    pub fn look(&mut self, status: &Status, begin: Time) {
        let radios = status.radios.iter().map(|radio| (&radio.name, radio.state, &radio.why));
        let rotator = status.rotator.iter().map(|rotator| (&rotator.name, rotator.state, &rotator.why));
        let after_s = (seconds_between(begin, status.time) * 10.0).round() / 10.0;
        for (device, state, why) in radios.chain(rotator) {
            let fact = fact(why);
            let before = self.now.iter().position(|now| now.device == *device);
            if before.is_some_and(|index| self.now[index].state == state && self.now[index].fact == fact) {
                continue;
            }
            let over = before.and_then(|index| self.now.remove(index).place);
            if let Some(seen) = over.and_then(|place| self.seen.get_mut(place)) {
                seen.until_s = Some(after_s);
            }
            let (device, why) = (device.clone(), why.clone());
            let place = (self.seen.len() < MOST).then_some(self.seen.len());
            self.now.push(Now { device: device.clone(), state, fact, place });
            match place {
                Some(_) => {
                    let (time, until_s) = (status.time, None);
                    self.seen.push(Seen { time, after_s, until_s, device, state, why });
                }
                None => self.left_out += 1,
            }
        }
    }

    /// All that was seen, in order of time, and how many changes there was no room for.
    pub fn into_seen(self) -> (Vec<Seen>, u64) {
        (self.seen, self.left_out)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::later;

    fn status(seconds: f64, state: DeviceState, why: &str) -> Status {
        let mut status = Status { time: later(Time::default(), seconds), ..Status::made_up() };
        if let Some(mast) = &mut status.rotator {
            mast.state = state;
            why.clone_into(&mut mast.why);
        }
        status
    }

    #[test]
    fn what_lasts_is_one_line_with_its_end_whatever_is_counted_in_it() {
        let mut watch = Watch::default();
        for second in 0..100 {
            let silent = format!("no answer to {second} questions");
            let (state, why) =
                if second < 90 { (DeviceState::Silent, silent.as_str()) } else { (DeviceState::Idle, "ok") };
            watch.look(&status(f64::from(second), state, why), Time::default());
        }
        let (seen, left_out) = watch.into_seen();
        let lines: Vec<(f64, Option<f64>, &str)> =
            seen.iter().map(|seen| (seen.after_s, seen.until_s, seen.why.as_str())).collect();
        assert_eq!(lines, [(0.0, Some(90.0), "no answer to 0 questions"), (90.0, None, "ok")]);
        assert_eq!(left_out, 0);
    }

    #[test]
    fn what_there_is_no_room_for_is_counted() {
        let mut watch = Watch::default();
        for second in 0..100 {
            let state = if second % 2 == 0 { DeviceState::Silent } else { DeviceState::Idle };
            watch.look(&status(f64::from(second), state, "flickers"), Time::default());
        }
        let (seen, left_out) = watch.into_seen();
        assert_eq!((seen.len(), left_out), (60, 40));
        assert_eq!(seen[59].until_s, Some(60.0), "the last line has its end too");
    }
}
