//! Satellites and their links, as their operators publish them. Plain data; nothing here knows an
//! orbit.

use serde::{Deserialize, Serialize};

use chrono::{Datelike, NaiveDateTime, NaiveTime, WeekdaySet};

use crate::terms::{Hertz, Mode, Time, Tone};

/// A satellite and what can be heard of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Satellite {
    /// The name that people use; unique in a file.
    pub name: String,
    /// The number under which element sets are catalogued, one to nine digits.
    pub catalog_number: u32,
    /// What it is called where logs are exchanged, if that is another name.
    pub exchange_name: Option<String>,
    /// Anything that the operator should know.
    pub note: Option<String>,
    /// Its links, in the file's order; the first is the one that is meant when none is named.
    pub links: Vec<Link>,
}

impl Satellite {
    /// The link of this name, whatever the case of its letters.
    pub fn link(&self, name: &str) -> Option<&Link> {
        self.links.iter().find(|link| link.name.eq_ignore_ascii_case(name))
    }
}

/// One downlink, with the uplink that belongs to it if there is one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Link {
    /// Unique among the satellite's links.
    pub name: String,
    /// What is at the far end.
    pub kind: LinkKind,
    /// What the satellite sends on; a linear transponder's is the middle of its passband.
    pub downlink: Hertz,
    /// The downlink's mode.
    pub mode: Mode,
    /// Where the satellite listens; `None` where there is nothing to talk to.
    pub uplink: Option<Uplink>,
    /// When it is on; empty when it always is, or nobody knows. Not written down with a link.
    #[serde(skip)]
    pub on: Vec<Schedule>,
    /// It works only while the satellite is in sunlight.
    pub sunlight_only: bool,
    /// Anything that the operator should know.
    pub note: Option<String>,
}

impl Link {
    /// Whether its operators have it switched on at `time`.
    pub fn is_on(&self, time: Time) -> bool {
        self.on.is_empty() || self.on.iter().any(|hours| hours.is_on(time))
    }
}

/// What is at the far end of a link.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum LinkKind {
    /// One FM channel up, one down.
    FmRepeater,
    /// A beacon or telemetry: nothing but a downlink.
    Beacon,
    /// A linear transponder: a passband up, the same passband down.
    Linear {
        /// The passband is turned over: the upper edge of the uplink is the lower of the downlink.
        inverting: bool,
        /// The whole width of the passband, about the middle of either direction.
        passband: Hertz,
    },
}

impl LinkKind {
    /// The name that files and messages use.
    pub fn name(self) -> &'static str {
        match self {
            LinkKind::FmRepeater => "fm-repeater",
            LinkKind::Beacon => "beacon",
            LinkKind::Linear { .. } => "linear",
        }
    }
}

/// The way up.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Uplink {
    /// Where the satellite listens; a linear transponder's is the middle of its passband.
    pub hertz: Hertz,
    /// The mode to transmit in.
    pub mode: Mode,
    /// The tone without which the satellite does not repeat.
    pub access_tone: Option<Tone>,
    /// The tone that switches the repeater on, where that is another one.
    pub arming_tone: Option<Tone>,
    /// The transmitting dial stays where it is through the pass: what Doppler does to an FM uplink
    /// is left to the satellite's receiver.
    pub fixed: bool,
}

/// Days and hours, of UTC where a link is on by them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Schedule {
    /// The days on which it begins.
    pub days: WeekdaySet,
    /// When it begins.
    pub from: NaiveTime,
    /// When it ends; not after `from` means on the next day.
    pub to: NaiveTime,
}

impl Schedule {
    /// Whether `time` lies in it. The instant at which it begins belongs to it, that at which it
    /// ends does not.
    pub fn is_on(&self, time: Time) -> bool {
        self.is_on_by(time.naive_utc())
    }

    /// The same by any clock on a wall.
    pub fn is_on_by(&self, wall: NaiveDateTime) -> bool {
        let (today, hour) = (wall.weekday(), wall.time());
        if self.from < self.to {
            return self.days.contains(today) && self.from <= hour && hour < self.to;
        }
        let since_today = self.days.contains(today) && self.from <= hour;
        let since_yesterday = self.days.contains(today.pred()) && hour < self.to;
        since_today || since_yesterday
    }
}

#[cfg(test)]
mod tests {
    use chrono::Weekday;

    use super::*;
    use crate::terms::parse_time;

    fn on_mondays(from: (u32, u32), to: (u32, u32)) -> Schedule {
        let hour = |(h, m)| NaiveTime::from_hms_opt(h, m, 0).unwrap();
        Schedule { days: WeekdaySet::single(Weekday::Mon), from: hour(from), to: hour(to) }
    }

    fn is_on(schedule: Schedule, time: &str) -> bool {
        schedule.is_on(parse_time(time).unwrap())
    }

    // 2026-11-23 is a Monday (ISO week 48; by Zeller's rule).
    #[test]
    fn a_day_link_is_on_from_its_first_instant_up_to_its_last() {
        let day = on_mondays((6, 0), (18, 0));
        assert!(is_on(day, "2026-11-23T06:00:00Z"));
        assert!(is_on(day, "2026-11-23T17:59:59.999Z"));
        assert!(!is_on(day, "2026-11-23T05:59:59.999Z"));
        assert!(!is_on(day, "2026-11-23T18:00:00Z"));
        assert!(!is_on(day, "2026-11-24T12:00:00Z"));
    }

    #[test]
    fn hours_past_midnight_belong_to_the_day_on_which_they_began() {
        let night = on_mondays((22, 0), (4, 0));
        assert!(is_on(night, "2026-11-23T22:00:00Z"));
        assert!(is_on(night, "2026-11-24T03:59:00Z"));
        assert!(!is_on(night, "2026-11-24T04:00:00Z"));
        assert!(!is_on(night, "2026-11-23T03:00:00Z"));
    }

    #[test]
    fn midnight_to_midnight_is_the_whole_day() {
        let whole = on_mondays((0, 0), (0, 0));
        assert!(is_on(whole, "2026-11-23T00:00:00Z"));
        assert!(is_on(whole, "2026-11-23T23:59:59.999Z"));
        assert!(!is_on(whole, "2026-11-24T00:00:00Z"));
    }
}
