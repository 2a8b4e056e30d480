//! Finding the equipment as a user does it: the real binary on real pseudo-terminals, with
//! hand-written equipment at the far end, and its listing of a made-up computer's ports. What is
//! judged is what was said to the user, and what reached the equipment.

// The helpers of tests may fail loudly too; the lint knows only the tests themselves.
#![allow(clippy::unwrap_used)]

mod bench;
mod connect;
mod ports;
mod probe;
mod speeds;
