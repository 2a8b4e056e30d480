//! Conversations in a rotator's blocks with a far end that says anything.
#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| beamhand_fuzz::converse("thirteen-byte", data));
