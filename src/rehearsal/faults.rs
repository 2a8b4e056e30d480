//! What a rehearsal is told to break, and when: `DEVICE:FAULT[=N]@SECONDSs[-SECONDSs]`.

use std::fmt;
use std::str::FromStr;

use crate::sim::Fault;
use crate::terms::{Time, later};

use super::Simulated;
use super::spans::Span;

/// Something that can be ordered to be wrong.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Trouble {
    /// With the device or its line.
    Wrong(Fault),
    /// With a rotator's motors or its read-out.
    OfMount(Fault),
    /// It takes commands and does not move: motors of a rotator, dials of a radio.
    Stalled,
    /// The adapter is pulled out.
    Pulled,
}

/// A word of the command line.
struct Word {
    word: &'static str,
    /// The number behind `=`, where there can be one: the usual one, the least, and the most.
    number: Option<[f64; 3]>,
    /// What it does, for people.
    what: &'static str,
    make: fn(f64) -> Trouble,
}

const fn plain(word: &'static str, what: &'static str, make: fn(f64) -> Trouble) -> Word {
    Word { word, number: None, what, make }
}

const fn one_in(word: &'static str, usual: f64, what: &'static str, make: fn(f64) -> Trouble) -> Word {
    Word { word, number: Some([usual, 1.0, 1e6]), what, make }
}

/// Every fault that can be ordered.
const WORDS: [Word; 20] = [
    plain("mute", "hears and obeys, but says nothing", |_| Trouble::Wrong(Fault::Mute)),
    plain("off", "is off: hears nothing, says nothing", |_| Trouble::Wrong(Fault::Off)),
    plain("half-frame", "whatever it says stops half way", |_| Trouble::Wrong(Fault::HalfFrame)),
    one_in("lost", 50.0, "one byte in N is lost, both ways", |n| {
        Trouble::Wrong(Fault::LostBytes { one_in: n as u32 })
    }),
    one_in("inserted", 50.0, "a random byte slips in after one in N, both ways", |n| {
        Trouble::Wrong(Fault::InsertedBytes { one_in: n as u32 })
    }),
    one_in("collisions", 50.0, "one byte in N becomes FC, as on a bus", |n| {
        Trouble::Wrong(Fault::Collisions { one_in: n as u32 })
    }),
    Word {
        word: "slow",
        number: Some([1.0, 0.001, 60.0]),
        what: "each byte that it says takes N seconds",
        make: |n| Trouble::Wrong(Fault::SlowBytes { byte_s: n }),
    },
    plain("garbage", "its answers are random bytes", |_| Trouble::Wrong(Fault::Garbage)),
    plain("babble", "random bytes all the time, at full speed", |_| Trouble::Wrong(Fault::Babble)),
    plain("echo", "all that is sent to it comes back", |_| Trouble::Wrong(Fault::Echo)),
    plain("refusing", "refuses every command and question", |_| Trouble::Wrong(Fault::Refusals)),
    plain("other-address", "answers with an address that is not its own", |_| {
        Trouble::Wrong(Fault::OtherAddress)
    }),
    plain("stalled", "takes commands, but motors stand or dials stay", |_| Trouble::Stalled),
    Word {
        word: "turned",
        number: Some([2.0, -10.0, 10.0]),
        what: "a rotator's knob is turned, N deg/s clockwise",
        make: |n| Trouble::OfMount(Fault::TurnedByHand { deg_s: n }),
    },
    Word {
        word: "read-out-off",
        number: Some([90.0, -360.0, 360.0]),
        what: "a rotator shows an azimuth that is N degrees off",
        make: |n| Trouble::OfMount(Fault::ReadOutOff { degrees: n }),
    },
    plain("read-out-frozen", "a rotator goes on showing where it was", |_| {
        Trouble::OfMount(Fault::ReadOutFrozen)
    }),
    plain("reversed", "a rotator's motors turn the other way", |_| Trouble::OfMount(Fault::MotorsReversed)),
    plain("wrong-speed", "the two ends differ in line speed", |_| Trouble::Wrong(Fault::WrongSpeed)),
    plain("unplugged", "the cable is out behind the adapter", |_| Trouble::Wrong(Fault::Unplugged)),
    plain("pulled", "the adapter is out; it comes back as another port", |_| Trouble::Pulled),
];

/// One fault to order, as it was written.
#[derive(Debug, Clone, PartialEq)]
pub struct FaultOrder {
    /// The device's name, or `radio` or `rotator`.
    device: String,
    trouble: Trouble,
    span: Span,
    written: String,
}

/// A port that is there no longer, and again later.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pull {
    /// The line's number, in the order of the plans.
    pub line: usize,
    /// When the adapter is pulled out.
    pub from: Time,
    /// When it is put back, if it is.
    pub until: Option<Time>,
}

/// A line for each fault: the word, and what it does.
pub fn known_faults() -> String {
    let mut lines = String::new();
    for Word { word, number, what, .. } in &WORDS {
        let name = if number.is_some() { format!("{word}=N") } else { (*word).to_owned() };
        let usual = number.map_or(String::new(), |[usual, ..]| format!(" [{usual}]"));
        lines += &format!("  {name:<14} {what}{usual}\n");
    }
    lines
}

impl FromStr for FaultOrder {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let form =
            || "write DEVICE:FAULT[=N]@SECONDSs[-SECONDSs], as in rotator:stalled@120s-150s".to_owned();
        let (what, when) = text.rsplit_once('@').ok_or_else(form)?;
        let (device, fault) =
            what.rsplit_once(':').filter(|(device, _)| !device.is_empty()).ok_or_else(form)?;
        let (name, number) = fault.split_once('=').map_or((fault, None), |(name, n)| (name, Some(n)));
        let word = WORDS
            .iter()
            .find(|word| word.word == name)
            .ok_or_else(|| format!("there is no fault \"{name}\"; there are\n{}", known_faults()))?;
        let number = number_of(word, number)?;
        Ok(Self {
            device: device.to_owned(),
            trouble: (word.make)(number),
            span: when.parse()?,
            written: text.to_owned(),
        })
    }
}

fn number_of(word: &Word, written: Option<&str>) -> Result<f64, String> {
    match (word.number, written) {
        (None, None) => Ok(0.0),
        (None, Some(_)) => Err(format!("{} takes no number", word.word)),
        (Some([usual, ..]), None) => Ok(usual),
        (Some([_, least, most]), Some(written)) => written
            .parse()
            .ok()
            .filter(|number| (least..=most).contains(number))
            .ok_or_else(|| format!("{}=N: N is a number from {least} to {most}", word.word)),
    }
}

impl fmt::Display for FaultOrder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.written)
    }
}

/// Has the faults come at their times, counted from `begin`; gives the ports that go and come.
///
/// # Errors
/// In words, where a device is not there or can't have the fault.
pub fn plan_faults(orders: &[FaultOrder], devices: &[Simulated], begin: Time) -> Result<Vec<Pull>, String> {
    let mut pulls = Vec::new();
    for order in orders {
        let meant: Vec<&Simulated> = devices.iter().filter(|device| order.means(device)).collect();
        if meant.is_empty() {
            let names: Vec<&str> = devices.iter().map(|device| device.name.as_str()).collect();
            return Err(format!("{order}: there is no such device; there are {}", names.join(", ")));
        }
        let from = later(begin, order.span.from_s);
        let until = order.span.until_s.map(|seconds| later(begin, seconds));
        for device in meant {
            match order.fault_of(device) {
                None => pulls.push(Pull { line: device.line, from, until }),
                Some(_) if order.is_of_mounts() && !device.is_rotator => {
                    return Err(format!("{order}: {} is no rotator", device.name));
                }
                Some(Fault::OtherAddress) if !device.has_address => {
                    return Err(format!("{order}: the language of {} has no addresses", device.name));
                }
                Some(fault) => device.switches(fault).plan(fault, from, until),
            }
        }
    }
    Ok(pulls)
}

impl FaultOrder {
    fn means(&self, device: &Simulated) -> bool {
        let kind = if device.is_rotator { "rotator" } else { "radio" };
        self.device == device.name || self.device == kind
    }

    fn is_of_mounts(&self) -> bool {
        matches!(self.trouble, Trouble::OfMount(_))
    }

    /// The fault, as this device has it; `None` where its port goes.
    fn fault_of(&self, device: &Simulated) -> Option<Fault> {
        match self.trouble {
            Trouble::Wrong(fault) | Trouble::OfMount(fault) => Some(fault),
            Trouble::Stalled if device.is_rotator => Some(Fault::MotorStalled),
            Trouble::Stalled => Some(Fault::DialStuck),
            Trouble::Pulled => None,
        }
    }
}

#[cfg(test)]
mod tests;
