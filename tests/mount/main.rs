//! The rotator's player on its line against a simulated mount, in virtual time: what it does about
//! hands, stalls and read-outs that do not fit, how it gets there, and that no command ever leads
//! beyond the limits or by a no-go sector, whatever plan, read-out and operator do; and how near to its
//! plan a mount is driven.
//!
//! `cargo test` plays somewhat more than a million moments (an operator's act, a fault that comes or
//! goes, an answer of the mount); `BEAMHAND_MOUNTS` sets how many mounts are played, and
//! `BEAMHAND_SEED` where chance begins.
#![allow(clippy::unwrap_used)]

mod bench;
mod chance;
mod driven;
mod limits;
mod ways;
mod wrongs;
