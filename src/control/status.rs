//! How things are: the answer to `status`, and what subscribers are sent. What does not exist is
//! null. Frequencies are whole hertz, angles degrees, ages seconds of real time.

use serde::{Deserialize, Serialize};

use super::method::ToneChoice;
use super::wire::{is_false, maybe_time, time};
use crate::terms::{AzEl, Hertz, Mode, Time, Tone};

/// The whole of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Status {
    /// The station's callsign.
    pub station: Option<String>,
    /// The time for which this holds; a rehearsal's own in a rehearsal.
    #[serde(with = "time")]
    pub time: Time,
    /// Nothing of this is real: whoever shows it says so.
    pub rehearsal: bool,
    /// How good the time is.
    pub clock: ClockStatus,
    /// What the daemon is doing.
    pub state: State,
    /// Why, for people.
    pub why: String,
    /// The satellite of the session, or of the one that is waited for.
    pub satellite: Option<String>,
    /// The link.
    pub link: Option<String>,
    /// The pass.
    pub pass: Option<PassStatus>,
    /// Where the satellite is.
    pub look: Option<LookStatus>,
    /// The radios, in the configuration's order.
    pub radios: Vec<RadioStatus>,
    /// The mount.
    pub rotator: Option<RotatorStatus>,
    /// What the operator has shifted.
    pub trims: Trims,
    /// How the operator has shifted the beam, in the mount's own degrees; absent while it is not.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nudge: Option<AzEl>,
    /// The tone that is sent in place of the access tone; absent while the access tone is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tone: Option<ToneStatus>,
    /// What the satellites file notes of the link; absent where it notes nothing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// What is worked unattended; absent while that is off.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub agenda: Option<AgendaStatus>,
    /// What is kept of the session; absent while nothing is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub record: Option<RecordStatus>,
    /// What the antenna is called; absent where nobody gave it a name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub antenna: Option<String>,
    /// What is only listened to; absent while nothing is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub listening: Option<ListeningStatus>,
}

/// How the session's link is listened to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ListeningStatus {
    /// When it begins.
    #[serde(with = "time")]
    pub from: Time,
    /// When it ends.
    #[serde(with = "time")]
    pub until: Time,
    /// When the satellite rises; null for a time without it, for the noise.
    #[serde(with = "maybe_time")]
    pub rises: Option<Time>,
    /// When it sets.
    #[serde(with = "maybe_time")]
    pub sets: Option<Time>,
    /// How many readings of meter or squelch there are so far.
    pub readings: u64,
    /// Why something of it is not stored; null where all is.
    pub trouble: Option<String>,
}

/// The flight record of the session.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RecordStatus {
    /// What it is called.
    pub name: String,
    /// Why it has gaps; null where it has none.
    pub trouble: Option<String>,
}

#[cfg(test)]
impl Status {
    /// Made up for tests: at the beginning of time, a station with a mast alone follows its plan.
    pub(crate) fn made_up() -> Self {
        let rotator = RotatorStatus {
            name: "mast".to_owned(),
            state: DeviceState::Following,
            why: "following the plan".to_owned(),
            last_sent: None,
            last_read: None,
            plan: None,
            position: None,
            error_deg: None,
            pace: None,
            caution: None,
            commands: 0,
            refused: 0,
        };
        Self {
            station: None,
            time: Time::default(),
            rehearsal: false,
            clock: ClockStatus { trusted: true, error_s: None, why: None },
            state: State::Following,
            why: String::new(),
            satellite: None,
            link: None,
            pass: None,
            look: None,
            radios: Vec::new(),
            rotator: Some(rotator),
            trims: Trims::default(),
            tone: None,
            note: None,
            nudge: None,
            agenda: None,
            record: None,
            antenna: None,
            listening: None,
        }
    }
}

/// What is worked unattended.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AgendaStatus {
    /// Whether passes are begun without anybody asking.
    pub auto: bool,
    /// What comes, or what keeps it from beginning, for people.
    pub why: String,
    /// The pass that is worked, or comes next; null where there is none within a day.
    pub next: Option<AgendaEntry>,
}

/// A pass of the agenda, or the part of one that is worked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AgendaEntry {
    /// The satellite's name.
    pub satellite: String,
    /// Its link.
    pub link: String,
    /// When it begins.
    #[serde(with = "time")]
    pub from: Time,
    /// When it ends.
    #[serde(with = "time")]
    pub until: Time,
    /// When its preparation begins.
    #[serde(with = "maybe_time")]
    pub prepare_at: Option<Time>,
}

/// A tone in place of the link's access tone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ToneStatus {
    /// Which one: never `access`.
    pub tone: ToneChoice,
    /// Its frequency; null for none.
    pub hz: Option<Tone>,
    /// Whether the radio has it; false while it is being set.
    pub set: bool,
    /// When the access tone comes back, at the latest if no over was seen; null while the tone is
    /// being set, and for one that stays.
    #[serde(with = "maybe_time")]
    pub until: Option<Time>,
    /// All of it, for people.
    pub why: String,
}

/// How good the time is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ClockStatus {
    /// Good enough to start a session.
    pub trusted: bool,
    /// The estimated error, seconds.
    pub error_s: Option<f64>,
    /// Why it is not trusted.
    pub why: Option<String>,
}

/// What the daemon is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum State {
    /// Nothing, and nothing is planned.
    Idle,
    /// It waits for a pass.
    Waiting,
    /// AOS is near: the radio is being prepared, the beam goes to the rising azimuth.
    Preparing,
    /// Everything is in place for AOS.
    Ready,
    /// The satellite is up.
    Following,
    /// After LOS: it parks and gives the radio back what it had.
    Finishing,
    /// Nothing moves until `resume`.
    Halted,
}

impl State {
    /// The lower-case name that messages use.
    pub fn name(self) -> &'static str {
        match self {
            State::Idle => "idle",
            State::Waiting => "waiting",
            State::Preparing => "preparing",
            State::Ready => "ready",
            State::Following => "following",
            State::Finishing => "finishing",
            State::Halted => "halted",
        }
    }
}

/// A pass; the names are those of `beamhand passes --json`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PassStatus {
    /// The satellite's name.
    pub satellite: String,
    /// Its catalogue number.
    pub catalog_number: u32,
    /// Rise above the horizon; null if it was up before the window.
    #[serde(with = "maybe_time")]
    pub aos: Option<Time>,
    /// The instant of largest elevation.
    #[serde(with = "maybe_time")]
    pub highest: Option<Time>,
    /// The instant of least range.
    #[serde(with = "maybe_time")]
    pub tca: Option<Time>,
    /// Set below the horizon; null if it is up beyond the window.
    #[serde(with = "maybe_time")]
    pub los: Option<Time>,
    /// The largest elevation.
    pub max_elevation_deg: f64,
    /// The azimuth at AOS.
    pub aos_azimuth_deg: Option<f64>,
    /// The azimuth at the largest elevation.
    pub highest_azimuth_deg: f64,
    /// The azimuth at LOS.
    pub los_azimuth_deg: Option<f64>,
    /// From AOS to LOS.
    pub duration_s: Option<f64>,
    /// Whether the Sun shines on it at the largest elevation.
    pub sunlit_at_highest: bool,
}

/// Where the satellite is; the names are those of `beamhand look --json`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LookStatus {
    /// From true north, clockwise.
    pub azimuth_deg: f64,
    /// Above the horizon.
    pub elevation_deg: f64,
    /// Kilometres.
    pub range_km: f64,
    /// Kilometres per second, positive when it recedes.
    pub range_rate_km_s: f64,
    /// Whether the Sun shines on it.
    pub sunlit: bool,
    /// Of the point below it, north positive.
    pub latitude_deg: f64,
    /// Of the point below it, east positive.
    pub longitude_deg: f64,
    /// Kilometres above the ellipsoid.
    pub altitude_km: f64,
    /// How far it may be off; absent where that is not known.
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    pub errors: Option<LookErrors>,
}

/// How far a look may be off: standard deviations. The first three names are those of `beamhand look
/// --json`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LookErrors {
    /// Of the direction, degrees on the sky.
    pub pointing_error_deg: f64,
    /// How much earlier or later everything may come, seconds.
    pub timing_error_s: f64,
    /// Kilometres per second.
    pub range_rate_error_km_s: f64,
    /// What that makes of the downlink, hertz.
    pub frequency_error_hz: f64,
}

/// What a device is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum DeviceState {
    /// Its port was not opened yet.
    Opening,
    /// Its port can't be opened, or was lost.
    Lost,
    /// Its port is open, but it does not answer.
    Silent,
    /// It answers, and is left alone.
    Idle,
    /// It is being set for the pass.
    Preparing,
    /// It follows its plan.
    Following,
    /// It is being given back what it had, or parks.
    Finishing,
    /// It is held until `resume`.
    Halted,
}

impl DeviceState {
    /// The lower-case name that messages use.
    pub fn name(self) -> &'static str {
        match self {
            DeviceState::Opening => "opening",
            DeviceState::Lost => "lost",
            DeviceState::Silent => "silent",
            DeviceState::Idle => "idle",
            DeviceState::Preparing => "preparing",
            DeviceState::Following => "following",
            DeviceState::Finishing => "finishing",
            DeviceState::Halted => "halted",
        }
    }
}

/// What went over the line.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Exchange {
    /// In words.
    pub text: String,
    /// How long ago, seconds.
    pub age_s: f64,
}

/// A radio.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RadioStatus {
    /// The name that the configuration gives it.
    pub name: String,
    /// What it is doing.
    pub state: DeviceState,
    /// Why, for people.
    pub why: String,
    /// The last command.
    pub last_sent: Option<Exchange>,
    /// The last answer.
    pub last_read: Option<Exchange>,
    /// Its receiver, if it has one in this session.
    pub receive: Option<DialStatus>,
    /// Its transmitter, if it has one in this session.
    pub transmit: Option<DialStatus>,
    /// That the operator uses it while it is left alone, for people.
    pub in_use: Option<String>,
    /// How far its held dials drifted in the last over of this session, for people.
    pub last_over: Option<String>,
    /// Commands sent since the session began.
    pub commands: u64,
    /// How many of them it refused.
    pub refused: u64,
}

/// One direction of a radio.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct DialStatus {
    /// What the plan wants now.
    pub plan_hz: Option<Hertz>,
    /// What the dial is at, as last set or read.
    pub dial_hz: Option<Hertz>,
    /// The mode that it is in.
    pub mode: Option<Mode>,
    /// The sub-audible tone that is sent along.
    pub tone_hz: Option<Tone>,
    /// How far the plan has moved away from it, while it is held because the radio transmits.
    pub behind_hz: Option<Hertz>,
    /// It stays where it is through the pass; absent where it follows.
    #[serde(default, skip_serializing_if = "is_false")]
    pub fixed: bool,
}

/// A mount.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RotatorStatus {
    /// The name that the configuration gives it.
    pub name: String,
    /// What it is doing.
    pub state: DeviceState,
    /// Why, for people.
    pub why: String,
    /// The last command.
    pub last_sent: Option<Exchange>,
    /// The last answer.
    pub last_read: Option<Exchange>,
    /// Where the plan wants it now, in the mount's own coordinates.
    pub plan: Option<AzEl>,
    /// Where it says that it is, in the mount's own coordinates.
    pub position: Option<AzEl>,
    /// The angle between the beam and the satellite on the sky.
    pub error_deg: Option<f64>,
    /// How fast it really is; absent while that was not seen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pace: Option<PaceStatus>,
    /// What to think of where a mount is moved for the first time; absent later on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub caution: Option<String>,
    /// Commands sent since the session began.
    pub commands: u64,
    /// How many of them it refused.
    pub refused: u64,
}

/// How fast a mount really is, as its answers show; null for what was not seen yet.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PaceStatus {
    /// Degrees per second.
    pub azimuth_deg_s: Option<f64>,
    /// Degrees per second.
    pub elevation_deg_s: Option<f64>,
    /// From a command to its effect, seconds; the plan is looked at so far ahead.
    pub lag_s: Option<f64>,
}

/// What a device's `why` says without the numbers that run in it: two sentences with the same fact
/// are no news, such as "no answer to 35 questions" and "no answer to 36 questions".
pub fn fact(why: &str) -> String {
    why.chars().filter(|c| !c.is_ascii_digit()).collect()
}

/// What the operator has shifted.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Trims {
    /// The receiver, hertz.
    pub receive: Hertz,
    /// The transmitter, hertz.
    pub transmit: Hertz,
}
