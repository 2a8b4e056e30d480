//! Following the satellite directly: the mount is always on its way to where the satellite is.

use beamhand::beam::Mount;
use beamhand::terms::{AzEl, later, seconds_between};

use crate::passes::Flight;

const STEP_S: f64 = 0.05;

/// What came of it.
pub(crate) struct Followed {
    /// The largest error, degrees.
    pub(crate) worst: f64,
    /// The mean error, degrees.
    pub(crate) mean: f64,
    /// How often an axis that stood began to move.
    pub(crate) starts: u32,
}

/// Follows with motors that reach their speed at once; it is told a new place when the last one is off
/// by the dead band. It waits where the satellite rises.
pub(crate) fn follow(mount: &Mount, flight: &Flight, dead_band: f64) -> Followed {
    let count = (seconds_between(flight.span.from, flight.span.until) / STEP_S) as u32;
    let sky =
        |index: u32| flight.track.at(later(flight.span.from, f64::from(index) * STEP_S)).unwrap().direction();
    let mut place = mount.nearest_to(sky(0), mount.park);
    let (mut told, mut moved) = (place, [false; 2]);
    let (mut worst, mut sum, mut starts) = (0.0_f64, 0.0, 0);
    for index in 0..=count {
        let satellite = sky(index);
        if told.angle_to(satellite) > dead_band {
            told = mount.nearest_to(satellite, place);
        }
        let most = |speed: f64| speed * STEP_S;
        let by = [
            (told.azimuth - place.azimuth).clamp(-most(mount.slew.azimuth), most(mount.slew.azimuth)),
            (told.elevation - place.elevation).clamp(-most(mount.slew.elevation), most(mount.slew.elevation)),
        ];
        for axis in 0..2 {
            let moves = by[axis].abs() > 1e-9;
            starts += u32::from(moves && !moved[axis]);
            moved[axis] = moves;
        }
        place = AzEl::new(place.azimuth + by[0], place.elevation + by[1]);
        let error = place.angle_to(satellite);
        worst = worst.max(error);
        sum += error;
    }
    Followed { worst, mean: sum / f64::from(count + 1), starts }
}
