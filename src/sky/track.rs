//! One satellite seen from one station, as a function of time.

use std::sync::Arc;

use super::frames::to_teme;
use super::observer::{Observer, Topocentric};
use super::uncertainty::{Growth, uncertainty};
use super::{
    EarthAngles, EarthFixed, EarthOrientation, ElementSet, Geodetic, Horizon, Miss, OrbitError, Propagator,
    Shadow, SkyError, State, Station, Uncertainty, shadow_at, sun_position_km,
};
use crate::terms::{AzEl, Time, seconds_between};

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
    orientation: Orientation,
    horizon: Option<Arc<Horizon>>,
    growth: Growth,
}

/// How the Earth turns below a track.
#[derive(Debug, Clone)]
enum Orientation {
    Constant(EarthAngles),
    Daily(Arc<EarthOrientation>),
}

impl Orientation {
    /// Where the file has nothing, the Earth turns evenly (UT1 = UTC).
    fn at(&self, time: Time) -> EarthAngles {
        match self {
            Self::Constant(angles) => *angles,
            Self::Daily(file) => file.at(time).unwrap_or_default(),
        }
    }
}

impl Track {
    /// Prepares the orbit and the station, with an Earth that turns evenly (UT1 = UTC).
    pub fn new(set: &ElementSet, station: Station) -> Result<Self, SkyError> {
        Ok(Self {
            propagator: Arc::new(Propagator::new(set)?),
            catalog_number: set.catalog_number,
            station,
            observer: Observer::new(&station),
            orientation: Orientation::Constant(EarthAngles::default()),
            horizon: None,
            growth: Growth::usual(set),
        })
    }

    /// The same track on the Earth as it really turns; the angles change slowly enough to be
    /// taken as constant for days.
    pub fn with_earth_angles(self, angles: EarthAngles) -> Self {
        Self { orientation: Orientation::Constant(angles), ..self }
    }

    /// The same track on the Earth as the IERS has it from day to day; outside the file's days the
    /// Earth turns evenly.
    pub fn with_earth_orientation(self, file: Arc<EarthOrientation>) -> Self {
        Self { orientation: Orientation::Daily(file), ..self }
    }

    /// The same track over the station's own horizon: what lies below it counts as down.
    pub fn with_horizon(self, horizon: Arc<Horizon>) -> Self {
        Self { horizon: Some(horizon), ..self }
    }

    /// The same satellite seen from another station, about whose surroundings nothing is known.
    pub fn seen_from(&self, station: Station) -> Self {
        Self { station, observer: Observer::new(&station), horizon: None, ..self.clone() }
    }

    /// The same track of a satellite whose sets have missed each other so far.
    pub fn with_misses(self, misses: &[Miss]) -> Self {
        Self { growth: self.growth.learnt(misses), ..self }
    }

    pub(super) fn horizon(&self) -> Option<&Horizon> {
        self.horizon.as_deref()
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

    /// The elements.
    pub fn elements(&self) -> &ElementSet {
        self.propagator.elements()
    }

    /// How the Earth turns from `from` to `until`, where that is not taken as even.
    pub fn earth_orientation(&self, from: Time, until: Time) -> Option<EarthOrientation> {
        match &self.orientation {
            Orientation::Constant(_) => None,
            Orientation::Daily(file) => Some(file.between(from, until)),
        }
    }

    /// The station.
    pub fn station(&self) -> &Station {
        &self.station
    }

    /// Where the satellite is at `time`.
    pub fn at(&self, time: Time) -> Result<Look, SkyError> {
        let (state, fixed) = self.states(time)?;
        Ok(self.look(time, &state, &fixed))
    }

    /// How far the satellite may be from where it is said to be at `time`, by the age of its elements
    /// and what is known of their errors.
    pub fn orbit_error(&self, time: Time) -> OrbitError {
        self.growth.at(seconds_between(self.epoch(), time) / 86_400.0)
    }

    /// How far the look at `time` may be off, by a clock that may be wrong by `clock_error_s`.
    ///
    /// # Errors
    /// As [`Track::at`].
    pub fn uncertainty(&self, time: Time, clock_error_s: f64) -> Result<Uncertainty, SkyError> {
        uncertainty(self, time, clock_error_s)
    }

    /// Whether the station's own horizon is known.
    pub fn has_horizon(&self) -> bool {
        self.horizon.is_some()
    }

    /// How high the station's own horizon is in a direction, degrees, where one is known; azimuth 0 up to
    /// but not including 360.
    pub fn horizon_deg(&self, azimuth_deg: f64) -> Option<f64> {
        Some(self.horizon()?.elevation_deg(azimuth_deg))
    }

    /// Whether the satellite stands above the plain horizon, but behind what stands around the station.
    pub fn is_hidden(&self, look: &Look) -> bool {
        let horizon = self.horizon_deg(look.azimuth_deg);
        look.elevation_deg > 0.0 && horizon.is_some_and(|height| look.elevation_deg < height)
    }

    /// The same from what was propagated already.
    pub(super) fn look(&self, time: Time, state: &State, fixed: &EarthFixed) -> Look {
        let Topocentric { azimuth_deg, elevation_deg, range_km, range_rate_km_s } =
            self.observer.look_at(fixed);
        let Geodetic { latitude_deg, longitude_deg, altitude_km } =
            Geodetic::from_earth_fixed(fixed.position_km);
        Look {
            time,
            azimuth_deg,
            elevation_deg,
            range_km,
            range_rate_km_s,
            sunlit: shadow_at(state.position_km, sun_position_km(time)) != Shadow::Umbra,
            latitude_deg,
            longitude_deg,
            altitude_km,
        }
    }

    /// The same without the Sun and the point below, for who only aims and tunes: in two thirds of
    /// the time.
    ///
    /// # Errors
    /// As [`Track::at`].
    pub fn topocentric(&self, time: Time) -> Result<Topocentric, SkyError> {
        let (_, fixed) = self.states(time)?;
        Ok(self.observer.look_at(&fixed))
    }

    /// The station's zenith in the frame of [`State`].
    pub(super) fn zenith(&self, time: Time) -> [f64; 3] {
        to_teme(self.observer.up(), time)
    }

    pub(super) fn observer(&self) -> &Observer {
        &self.observer
    }

    pub(super) fn states(&self, time: Time) -> Result<(State, EarthFixed), SkyError> {
        let state = self.propagator.at(time)?;
        Ok((state, self.fixed(&state, time)))
    }

    pub(super) fn fixed(&self, state: &State, time: Time) -> EarthFixed {
        EarthFixed::from_teme(state, time, &self.orientation.at(time))
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
