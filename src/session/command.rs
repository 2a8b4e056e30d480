//! What an operator may ask of a session.

use crate::link::{LinkTone, Trim};
use crate::terms::AzEl;

use super::Job;

/// An operator's command.
#[derive(Clone)]
pub enum Command {
    /// Work this pass; replaces a session that runs.
    Start(Box<Job>),
    /// End the session now: park, and give the radios back what they had.
    Stop,
    /// Stop every motor at once, and move nothing until `Resume`.
    Halt,
    /// Motors may move again.
    Resume,
    /// Turn the beam to this compass direction (or, beyond 360 degrees, to this place of the mount).
    Point(AzEl),
    /// Shift the beam by this, in the mount's own degrees, from now on.
    Nudge(AzEl),
    /// Turn the beam to its resting place.
    Park,
    /// Shift the dials by this from now on.
    Trim(Trim),
    /// Send this tone along. The arming tone goes back to the access tone by itself.
    Tone(LinkTone),
}

/// A command that was not carried out, and why; nothing has moved because of it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct Refusal(pub String);

impl Refusal {
    pub(super) fn because<T>(why: &str) -> Result<T, Refusal> {
        Err(Refusal(why.to_owned()))
    }
}
