//! What a user and other programs may rely on when they run `beamhand`: the real binary, its
//! output and its exit codes.

// The helpers of tests may fail loudly too; the lint knows only the tests themselves.
#![allow(clippy::unwrap_used)]

mod agenda;
mod aim;
mod channels;
mod check;
mod contacts;
mod dialects;
mod elements;
mod exit_codes;
mod footprint;
mod guide;
mod listening;
mod look;
mod passes;
mod program;
mod rehearse;

// The simulated listening whose truth is known.
#[allow(dead_code)]
#[path = "../listening/chance.rs"]
mod chance;
#[path = "../listening/orbit.rs"]
mod orbit;
#[allow(dead_code)]
#[path = "../listening/world.rs"]
mod world;
