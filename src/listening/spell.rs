//! One stretch of listening, with the geometry of each moment.

use crate::terms::{Hertz, Time, Validity};

/// One stretch of listening to one link, with one antenna.
#[derive(Debug, Clone, PartialEq)]
pub struct Spell {
    /// The satellite.
    pub satellite: String,
    /// The link of it whose downlink was listened to.
    pub link: String,
    /// The label of the antenna; empty where the configuration gives none.
    pub antenna: String,
    /// The downlink at the satellite, without Doppler.
    pub downlink: Hertz,
    /// From rising to setting; `None` where the satellite did not rise meanwhile.
    pub pass: Option<Validity>,
    /// Other satellites with a downlink that the receiver hears as well on this dial, and when they were
    /// above the horizon.
    pub others: Vec<(String, Validity)>,
    /// What was read, in order of time.
    pub readings: Vec<Reading>,
}

/// What the receiver said at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// When.
    pub at: Time,
    /// Where the receiver's dial stood above the downlink, Hz: the Doppler that it followed, or would
    /// follow.
    pub shift_hz: f32,
    /// The signal meter in the radio's own units; `None` where the radio cannot tell.
    pub meter: Option<u16>,
    /// Whether the squelch was open; `None` where the radio cannot tell.
    pub is_open: Option<bool>,
    /// Where the satellite was.
    pub sight: Sight,
}

/// Where the satellite was, as seen from the station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sight {
    /// From true north, clockwise, 0 up to but not including 360 degrees.
    pub azimuth_deg: f32,
    /// Above the horizon; negative below it.
    pub elevation_deg: f32,
    /// Distance, km.
    pub range_km: f32,
    /// Whether the Sun shone on the satellite.
    pub is_sunlit: bool,
}
