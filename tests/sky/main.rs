//! The sky room against the outside: published vectors, reference libraries, common practice.

// The helpers of tests may fail loudly too; the lint knows only the tests themselves.
#![allow(clippy::unwrap_used, clippy::panic)]

mod brute;
mod common;
mod element_files;
mod element_forms;
mod error_bars;
mod horizon;
mod invented;
mod look_angles;
mod meetings;
mod pass_search;
mod pass_table;
mod passes;
mod sgp4_verification;
mod sun;
