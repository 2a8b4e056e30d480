//! Simulated equipment: the things themselves with their wire languages, a modelled wire in plan
//! time, faults to order, a record of what really happened, and a real pseudo-terminal to plug
//! into. Written by hand from the wire examples and not from the dialect files: it is the judge
//! of the driver, so it shares nothing with it.
//!
//! In virtual time a wire is asked directly; an [`Outlet`] puts the same wire on a real port:
//!
//! ```
//! use beamhand::sim::radio::semicolon::{Layout, Semicolon, SemicolonSettings};
//! use beamhand::sim::{Handles, Wire, WireSettings};
//! use beamhand::terms::{Hertz, later, parse_time};
//!
//! let handles = Handles::default();
//! let radio = Semicolon::new(SemicolonSettings::new(Layout::Eleven), handles.clone());
//! let mut wire = Wire::new(radio, WireSettings::default());
//! let start = parse_time("2026-11-25T18:30:00Z")?;
//! wire.write(b"FA00145950000;FA;", start);
//! assert_eq!(wire.read(later(start, 0.1)), b"FA00145950000;");
//! assert_eq!(handles.record.receive_at(later(start, 0.0146)), Some(Hertz(145_950_000)));
//! # Ok::<(), beamhand::terms::TimeError>(())
//! ```

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
