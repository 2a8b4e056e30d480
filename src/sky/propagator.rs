//! SGP4/SDP4 (Vallado et al., AIAA 2006-6753) by the `sgp4` crate, with the guards that it lacks.

use super::vector::{Vector, norm, plus, scaled};
use super::{ElementSet, SkyError};
use crate::terms::{Time, seconds_between};

/// Equatorial radius of WGS-72, which the theory counts in, km. Below it a satellite has decayed;
/// the published reference implementation draws the line there too.
pub(super) const SURFACE_KM: f64 = 6378.135;

/// Beyond this the Sun's pull outweighs the Earth's (common practice: some 930,000 km), and no satellite
/// stays; nonsense elements lead there.
const FARTHEST_KM: f64 = 1e6;

/// The Earth's gravity, km^3/s^2 (WGS-72, in which elements are made).
pub(super) const GRAVITY: f64 = 398_600.8;

/// Beyond this the theory says nothing, and the resonance integrator takes ever longer to say it.
const LONGEST_SPAN_MIN: f64 = 10.0 * 365.25 * 1440.0;

/// Where a satellite is, in the true equator, mean equinox frame of date (TEME).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State {
    /// km.
    pub position_km: [f64; 3],
    /// km/s.
    pub velocity_km_s: [f64; 3],
}

impl State {
    /// Where the Earth's gravity alone, taken as constant, would carry the satellite in so many
    /// seconds; for fractions of one.
    pub(super) fn carried(&self, seconds: f64) -> Self {
        let pull = scaled(self.position_km, -GRAVITY / norm(self.position_km).powi(3));
        let velocity_km_s = plus(self.velocity_km_s, scaled(pull, seconds));
        // In between it goes at the mean of both speeds.
        let mean = plus(self.velocity_km_s, scaled(pull, seconds / 2.0));
        Self { position_km: plus(self.position_km, scaled(mean, seconds)), velocity_km_s }
    }
}

/// One satellite's orbit, ready to be asked for any time.
#[derive(Debug, Clone)]
pub struct Propagator {
    satellite: String,
    epoch: Time,
    set: ElementSet,
    constants: sgp4::Constants,
}

impl Propagator {
    /// Prepares the theory's constants, in the conventions that published elements are made for:
    /// WGS-72 gravity and the sidereal time that goes with it.
    pub fn new(set: &ElementSet) -> Result<Self, SkyError> {
        let no_orbit = |reason: String| SkyError::NoOrbit { satellite: set.name.clone(), reason };
        set.check().map_err(|fault| no_orbit(fault.to_string()))?;
        let constants = sgp4::Constants::from_elements_afspc_compatibility_mode(&theory_elements(set))
            .map_err(|error| no_orbit(error.to_string()))?;
        Ok(Self { satellite: set.name.clone(), epoch: set.epoch, set: set.clone(), constants })
    }

    /// What it was made from.
    pub fn elements(&self) -> &ElementSet {
        &self.set
    }

    /// The state at `time`; an error where the theory breaks down, where the satellite would be
    /// below the surface or beyond the Earth's reach, and more than ten years from the epoch.
    pub fn at(&self, time: Time) -> Result<State, SkyError> {
        let minutes = seconds_between(self.epoch, time) / 60.0;
        if minutes.abs() > LONGEST_SPAN_MIN {
            let satellite = self.satellite.clone();
            return Err(SkyError::FarFromEpoch { satellite, time, epoch: self.epoch });
        }
        let prediction = self
            .constants
            .propagate(sgp4::MinutesSinceEpoch(minutes))
            .map_err(|error| self.not_propagated(time, error.to_string()))?;
        self.checked(State { position_km: prediction.position, velocity_km_s: prediction.velocity }, time)
    }

    /// The satellite's name, as in the elements.
    pub fn satellite(&self) -> &str {
        &self.satellite
    }

    /// The elements' epoch.
    pub fn epoch(&self) -> Time {
        self.epoch
    }

    /// The crate reports no state that is not a number, or inside the Earth, or beyond its reach.
    fn checked(&self, state: State, time: Time) -> Result<State, SkyError> {
        let finite = |vector: Vector| vector.iter().all(|component| component.is_finite());
        if !finite(state.position_km) || !finite(state.velocity_km_s) {
            return Err(self.not_propagated(time, "the result is not a number".to_owned()));
        }
        let radius_km = norm(state.position_km);
        if radius_km < SURFACE_KM {
            return Err(SkyError::BelowSurface { satellite: self.satellite.clone(), time, radius_km });
        }
        if radius_km > FARTHEST_KM {
            let reason = format!("it would be {radius_km:.0} km from the Earth, farther than any satellite");
            return Err(self.not_propagated(time, reason));
        }
        Ok(state)
    }

    fn not_propagated(&self, time: Time, reason: String) -> SkyError {
        SkyError::NotPropagated { satellite: self.satellite.clone(), time, reason }
    }
}

/// The set as the crate wants it; what the theory does not use is left empty.
fn theory_elements(set: &ElementSet) -> sgp4::Elements {
    sgp4::Elements {
        object_name: None,
        international_designator: None,
        norad_id: u64::from(set.catalog_number),
        classification: sgp4::Classification::Unclassified,
        datetime: set.epoch.naive_utc(),
        mean_motion_dot: 0.0,
        mean_motion_ddot: 0.0,
        drag_term: set.drag_term,
        element_set_number: 0,
        inclination: set.inclination_deg,
        right_ascension: set.right_ascension_deg,
        eccentricity: set.eccentricity,
        argument_of_perigee: set.argument_of_perigee_deg,
        mean_anomaly: set.mean_anomaly_deg,
        mean_motion: set.mean_motion_rev_day,
        revolution_number: 0,
        ephemeris_type: 0,
    }
}
