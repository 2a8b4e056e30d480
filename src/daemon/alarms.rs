//! When the user's own programs are due: a state machine of plain values.

use crate::config::{UserCommand, When};
use crate::terms::{Time, Validity, later};

/// The pass that is on or comes next.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Upcoming {
    pub(super) satellite: String,
    pub(super) link: String,
    /// What of it is worked.
    pub(super) span: Validity,
    pub(super) max_elevation_deg: f64,
    /// Whether it is being worked now.
    pub(super) is_followed: bool,
}

impl Upcoming {
    /// One that was planned anew may begin some milliseconds earlier or later.
    fn is_same_pass(&self, other: &Upcoming) -> bool {
        let overlap = self.span.from < other.span.until && other.span.from < self.span.until;
        self.satellite == other.satellite && self.link == other.link && overlap
    }
}

/// A program to start, and what it is told.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Due {
    pub(super) command: UserCommand,
    pub(super) pass: Upcoming,
}

/// Which programs were started for which pass.
#[derive(Debug, Default)]
pub(super) struct Alarms {
    commands: Vec<UserCommand>,
    /// For each command, the pass for which it was last started.
    started: Vec<Option<Upcoming>>,
    /// The pass that is being worked.
    on: Option<Upcoming>,
}

impl Alarms {
    pub(super) fn new(commands: Vec<UserCommand>) -> Self {
        Self { started: vec![None; commands.len()], commands, on: None }
    }

    /// Other commands from now on; what began a pass in progress does not begin it again.
    pub(super) fn replace(&mut self, commands: Vec<UserCommand>) {
        if self.commands != commands {
            self.started = vec![self.on.clone(); commands.len()];
            self.commands = commands;
        }
    }

    /// What is due now.
    pub(super) fn due(&mut self, now: Time, upcoming: Option<&Upcoming>) -> Vec<Due> {
        let mut due = Vec::new();
        let goes_on = |on: &mut Upcoming| !upcoming.is_some_and(|up| up.is_followed && up.is_same_pass(on));
        if let Some(ended) = self.on.take_if(goes_on) {
            let at_los = self.commands.iter().filter(|command| command.when == When::Los);
            due.extend(at_los.map(|command| Due { command: command.clone(), pass: ended.clone() }));
        }
        let Some(pass) = upcoming else { return due };
        for (command, started) in self.commands.iter().zip(&mut self.started) {
            let is_time = match command.when {
                When::BeforeAos(seconds) => later(pass.span.from, -seconds) <= now && now < pass.span.from,
                When::Aos => pass.is_followed,
                When::Los => false,
            };
            if is_time && !started.as_ref().is_some_and(|before| before.is_same_pass(pass)) {
                *started = Some(pass.clone());
                due.push(Due { command: command.clone(), pass: pass.clone() });
            }
        }
        if pass.is_followed {
            self.on = Some(pass.clone());
        }
        due
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(seconds: f64) -> Time {
        later(Time::default(), seconds)
    }

    fn pass(is_followed: bool) -> Upcoming {
        let span = Validity { from: at(600.0), until: at(1200.0) };
        let (satellite, link) = ("GANNET-1".to_owned(), "repeater".to_owned());
        Upcoming { satellite, link, span, max_elevation_deg: 40.0, is_followed }
    }

    fn alarms() -> Alarms {
        let command = |when| UserCommand { when, run: vec!["/bin/true".to_owned()], limit_s: 60.0 };
        Alarms::new([When::BeforeAos(300.0), When::Aos, When::Los].map(command).to_vec())
    }

    /// What is due at each second at which anything is.
    fn played(
        alarms: &mut Alarms,
        seconds: std::ops::Range<i32>,
        pass: impl Fn(i32) -> Option<Upcoming>,
    ) -> Vec<(i32, When)> {
        let due = |second: i32| {
            let due = alarms.due(at(f64::from(second)), pass(second).as_ref());
            due.into_iter().map(move |due| (second, due.command.when)).collect::<Vec<_>>()
        };
        seconds.flat_map(due).collect()
    }

    #[test]
    fn each_moment_of_a_pass_comes_once() {
        let sky = |second| (second <= 1200).then(|| pass(second >= 600));
        let moments = [(300, When::BeforeAos(300.0)), (600, When::Aos), (1201, When::Los)];
        assert_eq!(played(&mut alarms(), 0..1500, sky), moments);
    }

    #[test]
    fn a_pass_that_is_left_alone_rings_and_is_neither_begun_nor_ended() {
        let sky = |second| (second <= 1200).then(|| pass(false));
        assert_eq!(played(&mut alarms(), 0..1500, sky), [(300, When::BeforeAos(300.0))]);
    }

    #[test]
    fn who_begins_late_is_not_rung_for_and_who_stops_early_has_an_end() {
        let sky = |second| (700..800).contains(&second).then(|| pass(true));
        assert_eq!(played(&mut alarms(), 700..900, sky), [(700, When::Aos), (800, When::Los)]);
    }

    #[test]
    fn other_commands_do_not_begin_a_pass_in_progress_again_but_end_it() {
        let mut alarms = alarms();
        assert_eq!(played(&mut alarms, 700..701, |_| Some(pass(true))), [(700, When::Aos)]);
        let command = |when| UserCommand { when, run: vec!["/bin/false".to_owned()], limit_s: 60.0 };
        alarms.replace([When::Aos, When::Los].map(command).to_vec());
        let sky = |second| (second < 800).then(|| pass(true));
        assert_eq!(played(&mut alarms, 701..900, sky), [(800, When::Los)]);
    }
}
