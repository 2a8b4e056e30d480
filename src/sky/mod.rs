//! Where things are: elements, propagation, frames, look angles, Sun and shadow, passes. Pure: no
//! I/O, no clock; everything is a function of elements, station and time.
//!
//! The way through the room: [`read_elements`] gives [`ElementSet`]s, one of them and a
//! [`Station`] make a [`Track`], and a track answers [`Track::at`] with a [`Look`]; [`passes`] and
//! [`next_pass`] search a track for the times when the satellite is up.

mod elements;
mod error;
mod footprint;
mod frames;
mod geodesy;
mod locator;
mod observer;
mod passes;
mod propagator;
mod shadow;
mod station;
mod sun;
mod track;
mod vector;

pub use elements::{ElementFile, ElementSet, Refused, read_elements};
pub use error::SkyError;
pub use footprint::footprint_radius_km;
pub use frames::{EarthAngles, EarthFixed};
pub use geodesy::Geodetic;
pub use locator::{Locator, LocatorError, locator_of};
pub use passes::{Pass, next_pass, passes};
pub use propagator::{Propagator, State};
pub use shadow::{Shadow, shadow_at};
pub use station::{Station, StationError};
pub use sun::sun_position_km;
pub use track::{Look, Track};
