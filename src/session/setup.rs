//! What a session is made of at this station.

use crate::beam::Mount;
use crate::terms::AzEl;

/// The station's equipment and habits, as far as a session cares.
#[derive(Debug, Clone, Default)]
pub struct SessionSetup {
    /// How many radios there are; they are numbered from 0.
    pub radios: usize,
    /// Those that receive: what is only listened to is tuned on them, and the others are left alone.
    pub receivers: Vec<usize>,
    /// The mount, where there is a rotator.
    pub mount: Option<Mount>,
    /// How fast the mount is said to turn and tilt, degrees per second; where there is one.
    pub slew: Option<AzEl>,
    /// Whether the beam is parked after a pass; else it stays.
    pub park_after: bool,
    /// Whether the radios are given back what they had.
    pub restore_radio: bool,
    /// Who sends the tone.
    pub tone: ToneSender,
    /// How long the arming tone stays where no over is seen, seconds of plan time.
    pub arming_s: f64,
}

/// Who sends the tone along with the uplink.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ToneSender {
    /// The radio of this number.
    Radio {
        /// Its number.
        index: usize,
        /// Whether it can be asked whether it transmits.
        tells_overs: bool,
    },
    /// Nobody; why.
    Nobody(String),
}

impl Default for ToneSender {
    fn default() -> Self {
        ToneSender::Nobody("no radio transmits".to_owned())
    }
}
