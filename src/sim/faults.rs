//! What can go wrong with equipment and its cable, to order and while it runs.

use std::sync::{Arc, Mutex};

use super::lock;
use crate::terms::Time;

/// One thing that is wrong for as long as it is switched on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fault {
    /// It hears and obeys, but says nothing.
    Mute,
    /// It is off: hears nothing, says nothing.
    Off,
    /// Whatever it says stops half way.
    HalfFrame,
    /// Bytes are lost at random, both ways.
    LostBytes {
        /// On average one in so many.
        one_in: u32,
    },
    /// Random bytes slip in, both ways.
    InsertedBytes {
        /// On average one after so many.
        one_in: u32,
    },
    /// Bytes become `FC` at random, both ways: the mark of a collision on a shared bus.
    Collisions {
        /// On average one in so many.
        one_in: u32,
    },
    /// What it says arrives as random bytes.
    Garbage,
    /// It says random bytes all the time, as fast as the line carries them, and nothing else.
    Babble,
    /// Its bytes come slower than the line could carry them.
    SlowBytes {
        /// What each takes, seconds.
        byte_s: f64,
    },
    /// Everything that it hears comes back at once, as on a one-wire bus.
    Echo,
    /// It refuses every command and question in the manner of its language.
    Refusals,
    /// It answers with another address than its own, where its language has addresses.
    OtherAddress,
    /// The motors do not turn.
    MotorStalled,
    /// The motors turn the other way.
    MotorsReversed,
    /// The azimuth's knob at the controller is turned: that motor runs, whatever it was told, and
    /// what it was told before is forgotten.
    TurnedByHand {
        /// Degrees per second, clockwise.
        deg_s: f64,
    },
    /// The azimuth that the mount shows is off.
    ReadOutOff {
        /// Degrees.
        degrees: f64,
    },
    /// The mount goes on showing where it was.
    ReadOutFrozen,
    /// The radio takes frequencies, but its dials stay where they are.
    DialStuck,
    /// The cable is out: nothing passes, either way.
    Unplugged,
    /// The two ends differ in line speed: random bytes both ways.
    WrongSpeed,
}

/// The switches; clones share the same.
#[derive(Debug, Clone, Default)]
pub struct Faults(Arc<Mutex<Board>>);

#[derive(Debug, Default)]
struct Board {
    on: Vec<Fault>,
    /// What will be switched, on (`true`) or off, the earliest first.
    planned: Vec<(Time, Fault, bool)>,
}

impl Board {
    fn switch(&mut self, fault: Fault, on: bool) {
        self.on.retain(|other| !same_kind(*other, fault));
        self.on.extend(on.then_some(fault));
    }

    fn plan(&mut self, at: Time, fault: Fault, on: bool) {
        let place = self.planned.partition_point(|(other, ..)| *other <= at);
        self.planned.insert(place, (at, fault, on));
    }
}

impl Faults {
    /// All well.
    pub fn new() -> Self {
        Self::default()
    }

    /// From now on this is wrong; a fault of the same kind is replaced.
    pub fn switch_on(&self, fault: Fault) {
        lock(&self.0).switch(fault, true);
    }

    /// No longer wrong; the numbers in `fault` don't matter.
    pub fn switch_off(&self, fault: Fault) {
        lock(&self.0).switch(fault, false);
    }

    /// All well again, and nothing planned.
    pub fn clear(&self) {
        *lock(&self.0) = Board::default();
    }

    /// This will be wrong from `from` on, until `until` if that is given.
    pub fn plan(&self, fault: Fault, from: Time, until: Option<Time>) {
        let mut board = lock(&self.0);
        board.plan(from, fault, true);
        if let Some(until) = until {
            board.plan(until, fault, false);
        }
    }

    /// When a planned fault next begins or ends.
    pub fn next_event(&self) -> Option<Time> {
        lock(&self.0).planned.first().map(|(at, ..)| *at)
    }

    /// Switches what is planned until `now`.
    pub(super) fn advance(&self, now: Time) {
        let mut board = lock(&self.0);
        let due = board.planned.partition_point(|(at, ..)| *at <= now);
        let due: Vec<_> = board.planned.drain(..due).collect();
        due.into_iter().for_each(|(_, fault, on)| board.switch(fault, on));
    }

    /// Whether a fault of this kind is on, whatever its numbers.
    pub fn is_on(&self, fault: Fault) -> bool {
        lock(&self.0).on.iter().any(|other| same_kind(*other, fault))
    }

    /// All that is wrong now.
    pub fn all(&self) -> Vec<Fault> {
        lock(&self.0).on.clone()
    }
}

fn same_kind(a: Fault, b: Fault) -> bool {
    std::mem::discriminant(&a) == std::mem::discriminant(&b)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::{later, parse_time};

    #[test]
    fn a_fault_is_replaced_by_one_of_its_kind_and_switched_off_by_kind() {
        let faults = Faults::new();
        faults.switch_on(Fault::LostBytes { one_in: 10 });
        faults.switch_on(Fault::LostBytes { one_in: 3 });
        faults.switch_on(Fault::Mute);
        assert_eq!(faults.all(), [Fault::LostBytes { one_in: 3 }, Fault::Mute]);
        faults.switch_off(Fault::LostBytes { one_in: 0 });
        assert_eq!(faults.all(), [Fault::Mute]);
        assert!(faults.clone().is_on(Fault::Mute));
    }

    #[test]
    fn a_planned_fault_begins_and_ends_at_its_time() {
        let start = parse_time("2026-11-25T18:30:00Z").unwrap();
        let at = |seconds| later(start, seconds);
        let faults = Faults::new();
        faults.plan(Fault::Mute, at(2.0), Some(at(3.0)));
        faults.plan(Fault::Echo, at(1.0), None);
        assert_eq!(faults.next_event(), Some(at(1.0)));
        let on: Vec<usize> = [0.9, 1.0, 2.0, 2.9, 3.0]
            .map(|seconds| {
                faults.advance(at(seconds));
                faults.all().len()
            })
            .into();
        assert_eq!(on, [0, 1, 2, 2, 1]);
        assert!(faults.is_on(Fault::Echo) && faults.next_event().is_none());
    }
}
