//! Sick devices are named by what was seen of them, and disturb nobody: the real daemon on real
//! pseudo-terminals, with hand-written equipment at the far end.

// The helpers of tests may fail loudly too; the lint knows only the tests themselves.
#![allow(clippy::unwrap_used)]
// The bench measures more than the tests ask for.
#![allow(dead_code)]

mod cases;
mod faults;
mod flood;
#[path = "../daemon/orbit.rs"]
mod orbit;
#[path = "../daemon/patience.rs"]
mod patience;
mod patient;
mod replug;
#[path = "../daemon/vital_signs.rs"]
mod vital_signs;
mod ward;
