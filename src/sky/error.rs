//! Why a place in the sky can't be given.

use crate::terms::{Time, rfc3339};

/// A satellite that can't be followed, or not at this time.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SkyError {
    /// The elements can't be turned into a propagator.
    #[error("{satellite}: its elements describe no orbit ({reason}); another element set is needed")]
    NoOrbit {
        /// The satellite's name.
        satellite: String,
        /// What the propagator said.
        reason: String,
    },
    /// The theory breaks down at this time.
    #[error("{satellite} can't be propagated to {} ({reason}); an element set nearer in time is needed", rfc3339(*time))]
    NotPropagated {
        /// The satellite's name.
        satellite: String,
        /// The time that was asked for.
        time: Time,
        /// What the propagator said.
        reason: String,
    },
    /// The propagated place lies below the Earth's surface.
    #[error("{satellite} would be {radius_km:.0} km from the Earth's centre, below the surface, at {}; an element set nearer in time is needed", rfc3339(*time))]
    BelowSurface {
        /// The satellite's name.
        satellite: String,
        /// The time that was asked for.
        time: Time,
        /// Distance from the Earth's centre, km.
        radius_km: f64,
    },
    /// The elements are from another time altogether.
    #[error("{} is more than ten years from the epoch of {satellite}'s elements ({}); an element set nearer in time is needed", rfc3339(*time), rfc3339(*epoch))]
    FarFromEpoch {
        /// The satellite's name.
        satellite: String,
        /// The time that was asked for.
        time: Time,
        /// The elements' epoch.
        epoch: Time,
    },
}
