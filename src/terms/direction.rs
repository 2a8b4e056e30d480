//! The two directions of a contact.

use std::fmt;

use serde::{Deserialize, Serialize};

/// Down from the satellite or up to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Direction {
    /// The downlink, in the station's receiver.
    Receive,
    /// The uplink, from the station's transmitter.
    Transmit,
}

impl Direction {
    /// Both, the receiver first.
    pub const BOTH: [Direction; 2] = [Direction::Receive, Direction::Transmit];

    /// The lower-case name that messages use.
    pub fn name(self) -> &'static str {
        match self {
            Direction::Receive => "receive",
            Direction::Transmit => "transmit",
        }
    }
}

impl fmt::Display for Direction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}
