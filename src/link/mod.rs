//! What to tune: the satellites' links, Doppler, and the plan of both dials through a pass.
//! Pure; imports `terms` and `sky`.

mod doppler;
mod harmonic;
mod satellite;
mod tuning;
mod watch;

pub use doppler::{SPEED_OF_LIGHT_KM_S, received, shift, to_arrive_on};
pub use harmonic::third_harmonic;
pub use satellite::{Link, LinkKind, Satellite, Schedule, Uplink};
pub use tuning::{LinkTone, Trim, Tuning};
pub use watch::Watch;
