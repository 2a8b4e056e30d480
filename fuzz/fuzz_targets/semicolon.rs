//! Conversations in every dialect of the `semicolon` language with a far end that says anything.
#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| beamhand_fuzz::converse("semicolon", data));
