//! What a configuration says of the equipment, checked.

use std::path::PathBuf;
use std::sync::Arc;

use crate::beam::Lean;
use crate::device::dialect::Dialect;
use crate::device::line::Raise;
use crate::device::{Approach, ByHand, ByMode, Calibration, Use};
use crate::terms::{AngleRange, AzEl, NoGo};

use super::defaults::QUIET;

/// A serial line, as a device wants it.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// The serial port.
    pub port: PathBuf,
    /// The wire language.
    pub dialect: Arc<Dialect>,
    /// The user's file that it is in, unless it is a built-in one.
    pub dialect_file: Option<PathBuf>,
    /// Bits per second, where the dialect's own figure is not meant.
    pub baud: Option<u32>,
    /// How long an answer may take, milliseconds, where the dialect's own figure is not meant.
    pub answer_ms: Option<u32>,
    /// The modem lines that the device needs high.
    pub raise: Raise,
}

/// A radio.
#[derive(Debug, Clone, PartialEq)]
pub struct Radio {
    /// Unique among the devices.
    pub name: String,
    /// How it is connected; two radios may share a port if it is a bus and their addresses differ.
    pub line: Line,
    /// What it does in a pass.
    pub uses: Use,
    /// Its address on a shared bus, where the dialect's own is not meant.
    pub address: Option<u8>,
    /// The dial's step, where the dialect's own figure is not meant.
    pub step: ByMode,
    /// The least change of frequency that is worth a command, where the mode's is not meant.
    pub worthwhile: ByMode,
    /// Whether its transmitting dial stays where it is while it transmits.
    pub hold_uplink: bool,
    /// How wrong its dials are.
    pub calibration: Calibration,
}

/// A mount with a beam on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Rotator {
    /// Unique among the devices.
    pub name: String,
    /// How it is connected.
    pub line: Line,
    /// Where it can turn, in its own coordinates; more than 360 degrees where the cable allows it.
    pub azimuth: AngleRange,
    /// Where it can tilt; beyond 90 degrees where the mount can flip. `None`: azimuth only.
    pub elevation: Option<AngleRange>,
    /// How fast it turns and tilts, degrees per second.
    pub slew: AzEl,
    /// How quickly it speeds up and brakes, degrees per second squared.
    pub acceleration: AzEl,
    /// Nobody has said so: it is the usual one.
    pub slew_is_default: bool,
    /// Where it rests, within the limits; the elevation means nothing to an azimuth-only mount.
    pub park: AzEl,
    /// The full width of the beam between its half-power points, degrees.
    pub beam_width: f64,
    /// Nobody has said so: it is the usual one.
    pub beam_width_is_default: bool,
    /// The least error that is worth a command in close motion, degrees.
    pub dead_band: f64,
    /// Motors are started rarely: what is worth a command is a part of the beam's width.
    pub quiet: bool,
    /// Where the beam must not go.
    pub no_go: Vec<NoGo>,
    /// What is added to the controller's figures to have the true ones, degrees.
    pub offset: AzEl,
    /// How the mast leans.
    pub lean: Lean,
    /// What its read-out and commands are rounded to, degrees; not finer than its language.
    pub resolution: f64,
    /// From which side azimuths are approached; `None` where it does not matter.
    pub approach: Option<Approach>,
    /// What is done when it was turned by hand.
    pub by_hand: ByHand,
}

impl Rotator {
    /// By how much more the beam may be off in quiet motion, degrees.
    pub fn quiet_deg(&self) -> f64 {
        QUIET * self.beam_width / 2.0
    }

    /// The least error that is worth a command, degrees.
    pub fn worthwhile_deg(&self) -> f64 {
        let quietly = if self.quiet { QUIET * self.beam_width } else { 0.0 };
        self.dead_band.max(quietly)
    }
}
