//! Whether a dial goes where it is set.

use serde::{Deserialize, Serialize};

use crate::terms::{Direction, Hertz};

/// So many commands and a dial that is read where it was before: that is said.
const COMMANDS: u32 = 3;

/// One dial that is read elsewhere than it was set.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
struct Dial {
    /// Where it was read.
    at: Option<Hertz>,
    set_to: Option<Hertz>,
    /// Commands to go elsewhere since it was first read there.
    commands: u32,
    /// Commands in a row that were refused.
    refusals: u32,
}

/// Both dials.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub(super) struct Stuck {
    receive: Dial,
    transmit: Dial,
}

impl Stuck {
    /// A dial was set and nothing was refused. Whether it should be read back at once, because
    /// it was read elsewhere before.
    pub(super) fn set(&mut self, direction: Direction, hertz: Hertz) -> bool {
        let dial = self.dial(direction);
        dial.refusals = 0;
        dial.set_to = Some(hertz);
        if dial.at.is_some_and(|at| at != hertz) {
            dial.commands = dial.commands.saturating_add(1);
        }
        (1..=COMMANDS).contains(&dial.commands)
    }

    /// A command to a dial was refused, while other things may be answered.
    pub(super) fn refused(&mut self, direction: Direction) {
        let dial = self.dial(direction);
        dial.refusals = dial.refusals.saturating_add(1);
    }

    /// A dial was read. A turned knob moves it once; then it goes where it is set.
    pub(super) fn read(&mut self, direction: Direction, hertz: Hertz, step: Hertz) {
        let dial = self.dial(direction);
        let off = dial.set_to.is_some_and(|set_to| (hertz - set_to).abs() > step);
        if !off || dial.at != Some(hertz) {
            dial.commands = 0;
        }
        dial.at = off.then_some(hertz);
    }

    /// What is to be said of them.
    pub(super) fn sentence(&self) -> Option<String> {
        let said = |(direction, dial): (Direction, Dial)| {
            if dial.refusals >= COMMANDS {
                return Some(format!(
                    "the {direction} dial refused {} commands in a row: check the radio's bands, and whether \
                     its menu allows computer control",
                    dial.refusals
                ));
            }
            let at = dial.at.filter(|_| dial.commands >= COMMANDS)?;
            Some(format!(
                "the {direction} dial stays at {at} after {} commands: check its lock, and whether its menu \
                 allows computer control",
                dial.commands
            ))
        };
        let dials = [(Direction::Receive, self.receive), (Direction::Transmit, self.transmit)];
        let said: Vec<String> = dials.into_iter().filter_map(said).collect();
        (!said.is_empty()).then(|| said.join("; "))
    }

    fn dial(&mut self, direction: Direction) -> &mut Dial {
        match direction {
            Direction::Receive => &mut self.receive,
            Direction::Transmit => &mut self.transmit,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LOCKED: Hertz = Hertz(435_000_000);
    const STEP: Hertz = Hertz(10);

    /// Sets it a little further each time and reads it where `place` says.
    fn play(stuck: &mut Stuck, times: i64, place: impl Fn(Hertz) -> Hertz) {
        for i in 0..times {
            let hertz = Hertz(435_500_000 + 10 * i);
            stuck.set(Direction::Receive, hertz);
            stuck.read(Direction::Receive, place(hertz), STEP);
        }
    }

    #[test]
    fn a_dial_that_stays_is_named_after_three_commands_and_until_it_goes() {
        let mut stuck = Stuck::default();
        play(&mut stuck, 3, |_| LOCKED);
        assert_eq!(stuck.sentence(), None, "it was not read there before the first");
        play(&mut stuck, 1, |_| LOCKED);
        let said = stuck.sentence().unwrap();
        assert!(said.starts_with("the receive dial stays at 435.000 000 MHz after 3 commands"), "{said}");
        play(&mut stuck, 1, |set_to| set_to);
        assert_eq!(stuck.sentence(), None);
    }

    #[test]
    fn a_dial_that_refuses_is_named_until_it_takes_a_command() {
        let mut stuck = Stuck::default();
        for named in [false, false, true] {
            stuck.refused(Direction::Transmit);
            assert_eq!(stuck.sentence().is_some(), named);
        }
        let said = stuck.sentence().unwrap();
        assert!(said.starts_with("the transmit dial refused 3 commands in a row: check"), "{said}");
        stuck.set(Direction::Transmit, LOCKED);
        assert_eq!(stuck.sentence(), None);
    }

    #[test]
    fn a_knob_that_is_turned_all_the_time_is_no_dial_that_stays() {
        let mut stuck = Stuck::default();
        play(&mut stuck, 9, |set_to| Hertz(set_to.0 + 5_000));
        assert_eq!(stuck.sentence(), None);
    }

    #[test]
    fn a_dial_that_may_be_stuck_is_read_back_at_once_until_it_is_named() {
        let mut stuck = Stuck::default();
        let read_back: Vec<bool> = (0..6)
            .map(|i| {
                let read_back = stuck.set(Direction::Transmit, Hertz(145_900_000 + i));
                stuck.read(Direction::Transmit, LOCKED, STEP);
                read_back
            })
            .collect();
        assert_eq!(read_back, [false, true, true, true, false, false]);
    }
}
