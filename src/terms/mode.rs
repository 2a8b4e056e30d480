//! Emission modes.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

/// The mode of a receiver or transmitter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Mode {
    /// Frequency modulation.
    Fm,
    /// Upper sideband.
    Usb,
    /// Lower sideband.
    Lsb,
    /// Morse telegraphy by an unmodulated carrier.
    Cw,
    /// Amplitude modulation.
    Am,
}

impl Mode {
    /// Every mode, in the order in which lists show them.
    pub const ALL: [Mode; 5] = [Mode::Fm, Mode::Usb, Mode::Lsb, Mode::Cw, Mode::Am];

    /// The lower-case name that files and messages use.
    pub fn name(self) -> &'static str {
        match self {
            Mode::Fm => "fm",
            Mode::Usb => "usb",
            Mode::Lsb => "lsb",
            Mode::Cw => "cw",
            Mode::Am => "am",
        }
    }

    /// Whether a few hertz can be heard: in these modes the dial follows step by step.
    pub fn is_narrow(self) -> bool {
        matches!(self, Mode::Usb | Mode::Lsb | Mode::Cw)
    }
}

/// In capitals, as people write it: `FM`.
impl fmt::Display for Mode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.name().to_uppercase())
    }
}

impl FromStr for Mode {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        Mode::ALL
            .into_iter()
            .find(|mode| mode.name().eq_ignore_ascii_case(text))
            .ok_or_else(|| format!("\"{text}\" is no mode; one of fm, usb, lsb, cw, am"))
    }
}
