//! The file of satellites and links: read or refused.
#![no_main]

use beamhand::config::parse_satellites;

libfuzzer_sys::fuzz_target!(|text: &str| {
    if let Err(errors) = parse_satellites("satellites.toml".as_ref(), text) {
        assert!(!errors.to_string().is_empty());
    }
});
