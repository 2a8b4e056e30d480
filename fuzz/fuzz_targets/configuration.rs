//! The configuration: read or refused, and what is read can be described.
#![no_main]

use beamhand::config::{Config, DefaultPaths};

libfuzzer_sys::fuzz_target!(|text: &str| {
    match Config::parse("beamhand.toml".as_ref(), text, &DefaultPaths::system()) {
        Ok(config) => {
            assert!(!config.describe().is_empty());
            config.warnings();
        }
        Err(errors) => assert!(!errors.to_string().is_empty()),
    }
});
