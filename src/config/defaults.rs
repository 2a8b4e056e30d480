//! Every default of the configuration; `config/beamhand.toml` shows the same.

use super::listening::Listening;
use super::settings::{Record, Session};
use crate::clock::TrustPolicy;
use crate::sky::Grades;
use crate::terms::{AngleRange, AzEl, Mode};

/// The format of the files that this version reads.
pub const FORMAT: i64 = 1;

/// Metres; nobody lives far from it, and 100 m move no satellite by more than 0.02 degrees.
pub const ALTITUDE_M: f64 = 0.0;
/// Degrees.
pub const MINIMUM_ELEVATION: f64 = 0.0;
/// Degrees. A satellite at 500 km is twice as far at 15 as at 40 degrees; where it comes up to 75 the
/// azimuth turns by 3 degrees a second, which a light rotator just follows.
pub const GRADES: Grades = Grades { fair_deg: 15.0, high_deg: 40.0, overhead_deg: 75.0 };

/// Beside the configuration.
pub const ELEMENTS: &str = "elements.txt";
/// Beside the configuration.
pub const SATELLITES: &str = "satellites.toml";
/// Beside the configuration.
pub const DIALECTS: &str = "dialects";

/// Owner and group may use the socket.
pub const SOCKET_MODE: u32 = 0o660;

/// Two minutes are enough for half a turn at two degrees a second.
pub const SESSION: Session =
    Session { prepare_before_s: 120.0, park_after: true, restore_radio: true, arming_s: 30.0 };

/// A pass of a quarter of an hour with a radio that follows every step and a mount takes a megabyte
/// and a half where each byte comes by itself (90 kB a minute, as measured), less in FM.
pub const RECORD: Record = Record { enabled: true, session_mb: 2.0, total_mb: 20.0 };

/// Nothing is listened to. Two minutes are enough for the dials of a pass, there and back; the station's
/// horizon is only known by listening down to it; and a day takes a megabyte or two.
pub fn listening() -> Listening {
    Listening {
        satellites: Vec::new(),
        antenna: String::new(),
        beam: false,
        margin_s: 120.0,
        minimum_elevation: 0.0,
        total_mb: 500.0,
    }
}

/// Seconds that a user's own program may run.
pub const COMMAND_LIMIT_S: f64 = 60.0;

/// A full turn with its stop in the north.
pub const AZIMUTH: AngleRange = AngleRange { from: 0.0, to: 360.0 };
/// Horizon to zenith, no flip.
pub const ELEVATION: AngleRange = AngleRange { from: 0.0, to: 90.0 };
/// Degrees per second: the slow end of what light rotators do (common practice).
pub const SLEW: AzEl = AzEl { azimuth: 2.0, elevation: 2.0 };
/// Degrees per second squared: what a light rotator's motor is at its speed with after half a second
/// (common practice).
pub const ACCELERATION: AzEl = AzEl { azimuth: 5.0, elevation: 5.0 };
/// Level, to the north; the nearest place within the limits if it is outside.
pub const PARK: AzEl = AzEl { azimuth: 0.0, elevation: 0.0 };
/// Degrees: a small beam for 70 cm (common practice).
pub const BEAM_WIDTH: f64 = 30.0;
/// Degrees.
pub const DEAD_BAND: f64 = 2.0;

/// Of the beam's width, in quiet motion: half of it is off either way, a little less than a tenth,
/// which costs 0.1 dB.
pub(super) const QUIET: f64 = 0.18;
/// Degrees of play that a light rotator's gear has (common practice).
pub const PLAY: f64 = 2.0;

/// How far the kernel's clock is trusted.
pub fn clock() -> TrustPolicy {
    TrustPolicy::default()
}

/// The mode of an uplink that names none: the downlink's, but an inverting transponder turns the
/// sidebands over.
pub fn uplink_mode(downlink: Mode, inverting: bool) -> Mode {
    match (downlink, inverting) {
        (Mode::Usb, true) => Mode::Lsb,
        (Mode::Lsb, true) => Mode::Usb,
        _ => downlink,
    }
}
