//! What a session tells its devices.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::terms::{AzEl, Channel, Hertz, Mode, Plan};

/// The plan of a station's dials.
pub type ChannelPlan = Arc<dyn Plan<Channel>>;
/// The plan of a mount's axes, in the mount's own coordinates.
pub type AimPlan = Arc<dyn Plan<AzEl>>;

/// What a radio had before the first change, as far as it can be read. Given back afterwards.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct RadioMemory {
    /// The receiving dial.
    pub receive: DialMemory,
    /// The transmitting dial.
    pub transmit: DialMemory,
    /// It was only listened with: nothing was done to its transmitter, and nothing is.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub receive_only: bool,
}

/// One remembered dial; what could not be read is `None` and is left alone.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct DialMemory {
    /// Its frequency.
    pub hertz: Option<Hertz>,
    /// Its mode.
    pub mode: Option<Mode>,
}

/// Orders to a radio's player.
#[derive(Clone)]
pub enum RadioOrder {
    /// Read what the radio has, and then wait for `Proceed`. The plan says what will be wanted.
    Engage(ChannelPlan),
    /// The same, but only to listen: nothing of the transmitter is asked or set, what is heard is told,
    /// and a dial that is turned by hand is left to the hand.
    Listen(ChannelPlan),
    /// What the radio had is safely stored: prepare it, then keep it on its plan.
    Proceed,
    /// Follow this newer plan from now on.
    Follow(ChannelPlan),
    /// Give this back to the radio, then leave it alone.
    GiveBack(RadioMemory),
    /// Leave the radio alone, as it is.
    Release,
}

/// Orders to a rotator's player.
#[derive(Clone)]
pub enum RotatorOrder {
    /// Keep the beam on this plan.
    Follow(AimPlan),
    /// Turn to this place in the mount's own coordinates and stay.
    GoTo(AzEl),
    /// Stop both axes and stay.
    Stop,
    /// Take up again what it was told before it was left to the operator, if it was.
    GoOn,
}

/// An order to any device.
#[derive(Clone)]
pub enum Order {
    /// To a radio.
    Radio(RadioOrder),
    /// To a rotator.
    Rotator(RotatorOrder),
}
