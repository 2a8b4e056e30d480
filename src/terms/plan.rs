//! The one idea of the house: a plan is a function of time.

use serde::{Deserialize, Serialize};

use super::Time;

/// Counts plans, so that a player can say which one it follows.
pub type Generation = u64;

/// The interval for which a plan answers, both ends included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Validity {
    /// First instant.
    pub from: Time,
    /// Last instant.
    pub until: Time,
}

impl Validity {
    /// Whether `time` lies inside.
    pub fn contains(&self, time: Time) -> bool {
        self.from <= time && time <= self.until
    }
}

/// What should be true of one device at any moment of a pass.
///
/// A plan is immutable and may be asked from any thread, as often as wanted and in any order;
/// when the operator acts, a new plan with the next generation replaces it.
pub trait Plan<T>: Send + Sync {
    /// What should be true at `time`; `None` outside the validity, or where it can't be known
    /// (propagation can fail).
    fn at(&self, time: Time) -> Option<T>;

    /// For a plan that goes from rest to rest: where the device is to be sent at `time` so that it rests
    /// there next, and when that changes. `None` for a plan that is followed as it goes.
    fn rests_at(&self, time: Time) -> Option<(T, Option<Time>)> {
        let _ = time;
        None
    }

    /// The interval for which the plan was made.
    fn validity(&self) -> Validity;

    /// The plan's number; larger is newer.
    fn generation(&self) -> Generation;
}
