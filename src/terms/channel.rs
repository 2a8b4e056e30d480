//! What a station's receiver and transmitter should be set to.

use serde::{Deserialize, Serialize};

use super::{Direction, Hertz, Mode, Tone};

/// One direction's settings, as a radio shows them.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Dial {
    /// The frequency at the station's own antenna: Doppler and trim are in it.
    pub hertz: Hertz,
    /// The mode.
    pub mode: Mode,
    /// The sub-audible tone to send along; never on a receiver.
    pub tone: Option<Tone>,
}

/// Both directions at one instant; a direction that the link does not have is `None`.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Channel {
    /// What to listen to.
    pub receive: Option<Dial>,
    /// What to be ready to transmit on.
    pub transmit: Option<Dial>,
}

impl Channel {
    /// One direction's settings.
    pub fn dial(&self, direction: Direction) -> Option<Dial> {
        match direction {
            Direction::Receive => self.receive,
            Direction::Transmit => self.transmit,
        }
    }
}
