//! What to tune. Here: what is known of each satellite's links.

mod satellite;

pub use satellite::{Link, LinkKind, Satellite, Schedule, Uplink};
