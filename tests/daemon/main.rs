//! The daemon as a user has it: the real binary on real pseudo-terminals, sockets and the service
//! manager's own protocol, with hand-written equipment at the far end and a satellite that is up
//! now. What is judged is what reached the equipment.

// The helpers of tests may fail loudly too; the lint knows only the tests themselves.
#![allow(clippy::unwrap_used)]

mod auto;
mod beam;
mod cable;
mod clock;
mod commands;
mod configured;
mod contacts;
mod crash;
mod cuts;
mod elements;
mod far_end;
mod faults;
mod halt;
mod hung;
mod listening;
mod mast;
mod mute;
mod operator;
mod orbit;
mod patience;
mod process;
mod record;
mod rpc;
mod service;
mod shutdown;
mod socket;
mod station;
mod watchdog;
mod wishes;
