//! Element files: what is read can be propagated, or says why not, and gives real numbers.
#![no_main]

use beamhand::sky::{Station, Track, read_elements};
use beamhand::terms::later;

/// Seconds from the epoch: at it, an hour and a week to both sides, two years on.
const AFTER: [f64; 6] = [0.0, 3600.0, -3600.0, 604_800.0, -604_800.0, 63_072_000.0];

libfuzzer_sys::fuzz_target!(|text: &str| {
    let Ok(station) = Station::new(52.0, 13.0, 40.0) else { return };
    for set in read_elements(text).sets.iter().take(4) {
        let Ok(track) = Track::new(set, station) else { continue };
        for look in AFTER.iter().filter_map(|seconds| track.at(later(set.epoch, *seconds)).ok()) {
            assert!((0.0..360.0).contains(&look.azimuth_deg), "{look:?}");
            assert!((-90.0..=90.0).contains(&look.elevation_deg), "{look:?}");
            assert!(look.range_km.is_finite() && look.range_rate_km_s.is_finite(), "{look:?}");
            assert!((-90.0..=90.0).contains(&look.latitude_deg), "{look:?}");
            assert!((-180.0..=180.0).contains(&look.longitude_deg), "{look:?}");
        }
    }
});
