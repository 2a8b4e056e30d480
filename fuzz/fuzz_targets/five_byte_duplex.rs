//! Conversations in the five-byte language with two bands with a far end that says anything.
#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| beamhand_fuzz::converse("five-byte-duplex", data));
