//! The two axes, one after the other.

use crate::terms::AzEl;

/// What the axes are called, in their order.
pub(super) const NAMES: [&str; 2] = ["azimuth", "elevation"];

/// Azimuth and elevation of a place.
pub(super) fn axes(place: AzEl) -> [f64; 2] {
    [place.azimuth, place.elevation]
}
