//! What can go wrong with equipment and its cable, to order and while it runs.

use std::sync::{Arc, Mutex};

use super::lock;

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
    /// Its bytes come this many times slower than the line could carry them.
    SlowBytes {
        /// At least 1.
        factor: f64,
    },
    /// Everything that it hears comes back at once, as on a one-wire bus.
    Echo,
    /// It refuses every command and question in the manner of its language.
    Refusals,
    /// The motors do not turn.
    MotorStalled,
    /// The cable is out: nothing passes, either way.
    Unplugged,
    /// The two ends differ in line speed: random bytes both ways.
    WrongSpeed,
}

/// The switches; clones share the same.
#[derive(Debug, Clone, Default)]
pub struct Faults(Arc<Mutex<Vec<Fault>>>);

impl Faults {
    /// All well.
    pub fn new() -> Self {
        Self::default()
    }

    /// From now on this is wrong; a fault of the same kind is replaced.
    pub fn switch_on(&self, fault: Fault) {
        self.switch_off(fault);
        lock(&self.0).push(fault);
    }

    /// No longer wrong; the numbers in `fault` don't matter.
    pub fn switch_off(&self, fault: Fault) {
        lock(&self.0).retain(|other| !same_kind(*other, fault));
    }

    /// All well again.
    pub fn clear(&self) {
        lock(&self.0).clear();
    }

    /// Whether a fault of this kind is on, whatever its numbers.
    pub fn is_on(&self, fault: Fault) -> bool {
        lock(&self.0).iter().any(|other| same_kind(*other, fault))
    }

    /// All that is wrong now.
    pub fn all(&self) -> Vec<Fault> {
        lock(&self.0).clone()
    }
}

fn same_kind(a: Fault, b: Fault) -> bool {
    std::mem::discriminant(&a) == std::mem::discriminant(&b)
}

#[cfg(test)]
mod tests {
    use super::*;

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
}
