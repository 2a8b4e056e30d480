//! The passes.

use beamhand::sky::{Track, passes};
use beamhand::terms::{Validity, later};

use crate::invented::{Chance, satellite, start, stations};

/// The satellites' heights, km.
const HEIGHTS: (f64, f64) = (400.0, 1400.0);
/// The highest elevations, degrees.
const ELEVATIONS: (f64, f64) = (5.0, 90.0);

/// A pass.
#[derive(Clone)]
pub(crate) struct Flight {
    pub(crate) track: Track,
    pub(crate) span: Validity,
    pub(crate) height_km: f64,
    pub(crate) highest: f64,
}

/// So many passes with highest elevations evenly spread.
pub(crate) fn evenly(count: usize) -> Vec<Flight> {
    let mut pool = pool(60);
    let step = (ELEVATIONS.1 - ELEVATIONS.0) / (count.max(2) - 1) as f64;
    let wanted = (0..count).map(|number| ELEVATIONS.0 + number as f64 * step);
    wanted
        .map(|highest| {
            let off = |flight: &Flight| (flight.highest - highest).abs();
            let nearest = (0..pool.len()).min_by(|a, b| off(&pool[*a]).total_cmp(&off(&pool[*b])));
            pool.swap_remove(nearest.unwrap())
        })
        .collect()
}

fn pool(satellites: u32) -> Vec<Flight> {
    let mut chance = Chance(20);
    let mut all = Vec::new();
    for number in 0..satellites {
        let height_km = chance.between(HEIGHTS.0, HEIGHTS.1);
        let inclination = chance.between(50.0, 130.0);
        let set = satellite(number, height_km, height_km, inclination, &mut chance);
        let track = Track::new(&set, stations()[0]).unwrap();
        for pass in passes(&track, start(), 120.0, 0.0).unwrap() {
            let (Some(from), Some(until)) = (pass.aos, pass.los) else { continue };
            let highest = track.at(pass.highest).unwrap().elevation_deg;
            if from > later(start(), 60.0) && highest >= ELEVATIONS.0 - 1.0 {
                all.push(Flight { track: track.clone(), span: Validity { from, until }, height_km, highest });
            }
        }
    }
    all
}
