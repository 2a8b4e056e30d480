//! When a satellite is up.

mod stepping;

pub use stepping::{next_pass, passes};

use crate::terms::Time;

/// One stay of a satellite above the wanted elevation.
///
/// *Highest* is the instant of largest elevation, *TCA* that of least range: they differ, on
/// eccentric orbits by minutes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pass {
    /// When it rises; `None` if it was up when the search began.
    pub aos: Option<Time>,
    /// When it stands highest.
    pub highest: Time,
    /// When it is closest.
    pub tca: Time,
    /// When it sets; `None` if it was still up when the search ended.
    pub los: Option<Time>,
    /// At the highest point, degrees.
    pub max_elevation_deg: f64,
    /// Where it rises, degrees.
    pub aos_azimuth_deg: Option<f64>,
    /// At the highest point, degrees.
    pub highest_azimuth_deg: f64,
    /// Where it sets, degrees.
    pub los_azimuth_deg: Option<f64>,
    /// From AOS to LOS, seconds, where both are known.
    pub duration_s: Option<f64>,
    /// Whether the Sun shines on the satellite at the highest point.
    pub sunlit_at_highest: bool,
}
