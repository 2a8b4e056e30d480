//! Simulated equipment: the things themselves with their wire languages, a modelled wire in plan
//! time, faults to order, a record of what really happened, and a real pseudo-terminal to plug
//! into. Written by hand from the wire examples and not from the dialect files: it is the judge
//! of the driver, so it shares nothing with it.

mod bus;
mod chance;
mod device;
mod faults;
pub mod mount;
mod outlet;
pub mod radio;
mod record;
mod script;
mod wire;

pub use bus::Bus;
pub use device::{Device, Handles, Utterance};
pub use faults::{Fault, Faults};
pub use outlet::{Outlet, OutletError};
pub use record::{AimHeard, Breach, Cause, Change, Counts, Landing, Position, Record, Violation};
pub use script::{Act, Script};
pub use wire::{Wire, WireSettings};

use std::sync::{Mutex, MutexGuard, PoisonError};

/// The guarded value, even after a thread died holding it: what it had recorded still counts.
fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
