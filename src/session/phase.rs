//! How far a session is.

use serde::{Deserialize, Serialize};

/// The phases of a session, in their order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Phase {
    /// No session.
    Idle,
    /// A pass is chosen; it is too early to prepare.
    Waiting,
    /// The devices are read, prepared and sent to where the pass begins.
    Preparing,
    /// All is ready and the satellite is not up yet.
    Ready,
    /// The pass.
    Following,
    /// The beam is parked and the radios get back what they had.
    Finishing,
}

impl Phase {
    /// The lower-case name that messages use.
    pub fn name(self) -> &'static str {
        match self {
            Phase::Idle => "idle",
            Phase::Waiting => "waiting",
            Phase::Preparing => "preparing",
            Phase::Ready => "ready",
            Phase::Following => "following",
            Phase::Finishing => "finishing",
        }
    }

    /// Whether the devices belong to the session.
    pub fn has_devices(self) -> bool {
        matches!(self, Phase::Preparing | Phase::Ready | Phase::Following)
    }
}
