//! The sky room against the outside: published vectors, reference libraries, common practice.

// The helpers of tests may fail loudly too; the lint knows only the tests themselves.
#![allow(clippy::unwrap_used, clippy::panic)]

mod common;
mod element_files;
mod look_angles;
mod passes;
mod sgp4_verification;
mod sun;
