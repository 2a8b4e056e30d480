//! Users' dialect files: read or refused, and what is read keys nothing.
#![no_main]

libfuzzer_sys::fuzz_target!(|text: &str| beamhand_fuzz::read_dialect(text));
