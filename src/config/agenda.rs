//! What a configuration says of the agenda, checked.

use std::fmt;

use chrono::{Weekday, WeekdaySet};

use super::Location;
use crate::link::Schedule;

/// Which passes are worked unattended, and what runs meanwhile.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Agenda {
    /// The satellites, the most important first.
    pub satellites: Vec<Listed>,
    /// Where it is not the station's, degrees.
    pub minimum_elevation: Option<f64>,
    /// When the mount must not move, by the clock on the wall.
    pub quiet: Vec<Schedule>,
    /// The user's own programs.
    pub commands: Vec<UserCommand>,
}

/// A satellite of the agenda.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listed {
    /// By name or catalogue number.
    pub satellite: String,
    /// One of its links; `None` for its first.
    pub link: Option<String>,
    /// 0 for the most important; equal for equally important ones.
    pub rank: usize,
    /// Where the file lists it, or the group that it is in.
    pub place: Location,
}

/// A program of the user's that runs at a moment of a pass.
#[derive(Debug, Clone, PartialEq)]
pub struct UserCommand {
    /// When it starts.
    pub when: When,
    /// The program, by an absolute path, and its arguments.
    pub run: Vec<String>,
    /// How long it may run, seconds.
    pub limit_s: f64,
}

/// A moment of a pass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum When {
    /// So many seconds before AOS.
    BeforeAos(f64),
    /// The satellite rises, or the session begins later.
    Aos,
    /// It sets, or the session ends earlier.
    Los,
}

impl When {
    /// From words: `aos`, `los`, `5 min before aos`.
    pub(super) fn parse(words: &str) -> Option<Self> {
        let words: Vec<&str> = words.split_whitespace().collect();
        match words[..] {
            ["aos"] => Some(When::Aos),
            ["los"] => Some(When::Los),
            [number, unit, "before", "aos"] => {
                let unit_s = match unit {
                    "min" => 60.0,
                    "s" => 1.0,
                    _ => return None,
                };
                let seconds = number.parse::<f64>().ok()? * unit_s;
                (0.0..=7200.0).contains(&seconds).then_some(When::BeforeAos(seconds))
            }
            _ => None,
        }
    }
}

/// As it is written.
impl fmt::Display for When {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            When::BeforeAos(seconds) if *seconds >= 60.0 => write!(f, "{} min before aos", seconds / 60.0),
            When::BeforeAos(seconds) => write!(f, "{seconds} s before aos"),
            When::Aos => f.write_str("aos"),
            When::Los => f.write_str("los"),
        }
    }
}

impl Agenda {
    /// What goes for the whole agenda, for people: a line each.
    pub(super) fn terms(&self) -> Vec<String> {
        let minimum = self.minimum_elevation.map(|degrees| format!("passes above {degrees} degrees"));
        let quiet = self.quiet.iter().map(|hours| format!("quiet {}", described(hours)));
        let commands = self.commands.iter().map(|command| {
            format!("at {}: {}, {} s at most", command.when, command.run.join(" "), command.limit_s)
        });
        minimum.into_iter().chain(quiet).chain(commands).collect()
    }
}

/// `Mon Tue 22:00 to 07:00 by the clock on the wall`.
fn described(hours: &Schedule) -> String {
    let days = if hours.days == WeekdaySet::ALL {
        "every day".to_owned()
    } else {
        let names: Vec<String> = hours.days.iter(Weekday::Mon).map(|day| day.to_string()).collect();
        names.join(" ")
    };
    let clock = |time: chrono::NaiveTime| time.format("%H:%M");
    format!("{days} {} to {} by the clock on the wall", clock(hours.from), clock(hours.to))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_are_words() {
        assert_eq!(When::parse("5 min before aos"), Some(When::BeforeAos(300.0)));
        assert_eq!(When::parse("1.5 min before aos"), Some(When::BeforeAos(90.0)));
        assert_eq!(When::parse("30 s before aos"), Some(When::BeforeAos(30.0)));
        assert_eq!((When::parse("aos"), When::parse("los")), (Some(When::Aos), Some(When::Los)));
        for words in ["1.5 min before aos", "30 s before aos", "aos", "los"] {
            assert_eq!(When::parse(words).unwrap().to_string(), words);
        }
        for odd in [
            "",
            "tca",
            "5 min",
            "-5 min before aos",
            "5 h before aos",
            "nan s before aos",
            "9999 min before aos",
        ] {
            assert_eq!(When::parse(odd), None, "{odd}");
        }
    }
}
