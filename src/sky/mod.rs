//! Where things are: elements, propagation, frames, look angles, Sun and shadow, passes. Pure: no
//! I/O, no clock; everything is a function of elements, station and time.
//!
//! The way through the room: [`read_elements`] gives [`ElementSet`]s, one of them and a
//! [`Station`] make a [`Track`], and a track answers [`Track::at`] with a [`Look`], or
//! [`Track::topocentric`] with the part of it that needs no Sun; [`passes()`] and [`next_pass`] search a track for the times when the satellite is up.

mod elements;
mod error;
mod footprint;
mod frames;
mod geodesic;
mod geodesy;
mod horizon;
mod locator;
mod miss;
mod observer;
mod orbit_frame;
mod orientation;
pub mod passes;
mod propagator;
mod shadow;
mod station;
mod sun;
mod sunlight;
mod track;
mod uncertainty;
mod vector;

pub use elements::{ElementFile, ElementSet, Refused, parse_elements, read_elements};
pub use error::SkyError;
pub use footprint::{Coverage, coverage, elevation_deg, footprint_radius_km};
pub use frames::{EarthAngles, EarthFixed};
pub use geodesic::{bearing_deg, distance_km};
pub use geodesy::Geodetic;
pub use horizon::{Horizon, HorizonError};
pub use locator::{Locator, LocatorError, locator_of};
pub use miss::Miss;
pub use observer::Topocentric;
pub use orientation::{EarthOrientation, NoOrientation};
pub use passes::{Grade, Grades, Pass, next_pass, passes, passes_until_lost};
pub use propagator::{Propagator, State};
pub use shadow::{Shadow, shadow_at};
pub use station::{Station, StationError};
pub use sun::{sun_position_km, sun_seen_from};
pub use sunlight::{Eclipse, eclipses, is_dark, sunlit_windows};
pub use track::{Look, Track};
pub use uncertainty::{OrbitError, Uncertainty};
