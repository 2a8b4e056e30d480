//! Clocks: the system's, a scaled one for rehearsals, a manual one for tests; and how far the
//! kernel's is to be trusted. Pure rooms take the time as an argument and never come here.

mod kernel;
mod manual;
mod scaled;
mod system;
mod trust;

pub use manual::ManualClock;
pub use scaled::ScaledClock;
pub use system::SystemClock;
pub use trust::{KernelStatus, Trust, TrustPolicy};

use crate::terms::Moment;

/// Something that knows what time it is.
pub trait Clock: Send + Sync {
    /// Now.
    fn now(&self) -> Moment;

    /// Whether equipment may be moved by this clock.
    fn trust(&self) -> Trust;

    /// Whether this is a rehearsal: then everything that a user sees says so.
    fn is_rehearsal(&self) -> bool;
}
