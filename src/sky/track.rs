//! One satellite seen from one station, as a function of time.

use std::sync::Arc;

use super::observer::{Observer, Topocentric};
use super::{
    EarthAngles, EarthFixed, ElementSet, Geodetic, Propagator, Shadow, SkyError, State, Station, shadow_at,
    sun_position_km,
};
use crate::terms::{AzEl, Time};

/// Where a satellite is at one instant, seen from the station and from above.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    /// The instant.
    pub time: Time,
    /// From true north, clockwise, 0 up to but not including 360 degrees.
    pub azimuth_deg: f64,
    /// Above the horizon, geometric (no refraction), degrees.
    pub elevation_deg: f64,
    /// Distance from the station, km.
    pub range_km: f64,
    /// Change of the distance, km/s, positive when receding.
    pub range_rate_km_s: f64,
    /// Whether any of the Sun shines on the satellite (it is outside the umbra).
    pub sunlit: bool,
    /// Geodetic latitude of the point below the satellite, degrees, north positive.
    pub latitude_deg: f64,
    /// Longitude of that point, degrees, east positive, -180 to 180.
    pub longitude_deg: f64,
    /// Height above the ellipsoid, km.
    pub altitude_km: f64,
}

impl Look {
    /// The direction in which to look.
    pub fn direction(&self) -> AzEl {
        AzEl::new(self.azimuth_deg, self.elevation_deg)
    }
}

/// One satellite seen from one station. Immutable, cheap to clone, may be asked from any thread.
#[derive(Debug, Clone)]
pub struct Track {
    propagator: Arc<Propagator>,
    catalog_number: u32,
    station: Station,
    observer: Observer,
    angles: EarthAngles,
}

impl Track {
    /// Prepares the orbit and the station, with an Earth that turns evenly (UT1 = UTC).
    pub fn new(set: &ElementSet, station: Station) -> Result<Self, SkyError> {
        Ok(Self {
            propagator: Arc::new(Propagator::new(set)?),
            catalog_number: set.catalog_number,
            station,
            observer: Observer::new(&station),
            angles: EarthAngles::default(),
        })
    }

    /// The same track on the Earth as it really turns; the angles change slowly enough to be
    /// taken as constant for days.
    pub fn with_earth_angles(self, angles: EarthAngles) -> Self {
        Self { angles, ..self }
    }

    /// The satellite's name.
    pub fn name(&self) -> &str {
        self.propagator.satellite()
    }

    /// The satellite's catalog number.
    pub fn catalog_number(&self) -> u32 {
        self.catalog_number
    }

    /// The elements' epoch.
    pub fn epoch(&self) -> Time {
        self.propagator.epoch()
    }

    /// The station.
    pub fn station(&self) -> &Station {
        &self.station
    }

    /// Where the satellite is at `time`.
    pub fn at(&self, time: Time) -> Result<Look, SkyError> {
        let (state, fixed) = self.states(time)?;
        let Topocentric { azimuth_deg, elevation_deg, range_km, range_rate_km_s } =
            self.observer.look_at(&fixed);
        let Geodetic { latitude_deg, longitude_deg, altitude_km } =
            Geodetic::from_earth_fixed(fixed.position_km);
        Ok(Look {
            time,
            azimuth_deg,
            elevation_deg,
            range_km,
            range_rate_km_s,
            sunlit: shadow_at(state.position_km, sun_position_km(time)) != Shadow::Umbra,
            latitude_deg,
            longitude_deg,
            altitude_km,
        })
    }

    /// What searches need, without Sun and sub-satellite point.
    pub(super) fn topocentric(&self, time: Time) -> Result<Topocentric, SkyError> {
        let (_, fixed) = self.states(time)?;
        Ok(self.observer.look_at(&fixed))
    }

    fn states(&self, time: Time) -> Result<(State, EarthFixed), SkyError> {
        let state = self.propagator.at(time)?;
        Ok((state, EarthFixed::from_teme(&state, time, &self.angles)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_track_may_be_shared_between_threads() {
        fn is_shareable<T: Clone + Send + Sync + 'static>() {}
        is_shareable::<Track>();
    }
}
