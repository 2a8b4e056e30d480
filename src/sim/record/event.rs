//! What a record holds.

use crate::terms::{AzEl, Hertz, Mode, Time, Tone};

/// Who changed a setting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cause {
    /// It was so when the radio was switched on.
    Opening,
    /// A command on the line.
    Command,
    /// The operator's own hand.
    Operator,
}

/// One setting of a radio, as the air sees it: offsets (shift, RIT, XIT) are in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Change {
    /// The receiver is tuned to this.
    Receive(Hertz),
    /// A transmission would be here.
    Transmit(Hertz),
    /// The receiver's mode.
    ReceiveMode(Mode),
    /// The transmitter's mode.
    TransmitMode(Mode),
    /// The tone that a transmission would carry.
    Tone(Option<Tone>),
    /// Whether receiver and transmitter follow different dials.
    Split(bool),
    /// Whether the transmitter is on the air.
    Keyed(bool),
}

/// A setting changed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Landing {
    /// When: the last byte of the command had arrived.
    pub at: Time,
    /// By whom.
    pub cause: Cause,
    /// To what.
    pub what: Change,
}

/// Where a mount's antenna really pointed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Position {
    /// When.
    pub at: Time,
    /// In the mount's own coordinates.
    pub direction: AzEl,
}

/// A direction that a mount was told to take.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AimHeard {
    /// When the command had arrived.
    pub at: Time,
    /// As it was said, in the mount's own coordinates; an axis that was not named keeps its aim.
    pub aim: AzEl,
}

/// Something that must never happen, and when it did.
#[derive(Debug, Clone, PartialEq)]
pub struct Breach {
    /// When.
    pub at: Time,
    /// What.
    pub what: Violation,
}

/// What must never happen.
#[derive(Debug, Clone, PartialEq)]
pub enum Violation {
    /// A command that keys or unkeys the transmitter.
    KeyCommand(Vec<u8>),
    /// Another command of the never-list: Morse, voice memory, tuner, power, memory write.
    ForbiddenCommand(Vec<u8>),
    /// A command put the transmitter outside the licence, or the key was pressed there.
    OutsideSegments {
        /// Where a transmission would be, or is.
        hertz: Hertz,
        /// Whether it is on the air.
        keyed: bool,
    },
    /// A command changed which dial transmits while the transmitter was on the air.
    RolesChangedOnAir,
    /// A command tried to set a radio that takes none while it transmits.
    SetOnAir,
    /// A command locked the operator's knob.
    KnobLocked,
    /// A mount was told to go beyond its range.
    OutsideRange(AzEl),
}

/// How busy a line was, and what became of it.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counts {
    /// Whole commands and questions heard, refused ones included.
    pub commands: u64,
    /// Refused, or not understood.
    pub refused: u64,
    /// Bytes that reached the device.
    pub bytes_heard: u64,
    /// Bytes that the device said and the near end could read.
    pub bytes_said: u64,
    /// Bytes lost because nobody emptied the pseudo-terminal.
    pub bytes_overrun: u64,
}
