//! What is said of satellites, antennas and the horizon, against simulated listening of which the truth is
//! known.

// The helpers of tests may fail loudly too; the lint knows only the tests themselves.
#![allow(clippy::unwrap_used)]

mod alarms;
mod antennas;
mod chance;
mod orbit;
mod skyline;
mod tables;
mod world;
