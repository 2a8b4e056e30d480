//! The configuration: read or refused, and what is read can be described. No folder is looked into.
#![no_main]

use std::collections::BTreeMap;

use beamhand::config::{Config, DefaultPaths};

libfuzzer_sys::fuzz_target!(|text: &str| {
    let own = BTreeMap::new();
    match Config::parse_alone("beamhand.toml".as_ref(), text, &DefaultPaths::system(), &own) {
        Ok(config) => {
            assert!(!config.describe().is_empty());
            config.warnings();
        }
        Err(errors) => assert!(!errors.to_string().is_empty()),
    }
});
