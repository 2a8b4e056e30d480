//! What no mount of this speed can do better: the azimuth alone limits it, and the elevation is taken
//! to be at its best place at any moment. Reckoned with none of the planner's code.
//!
//! At `d` degrees of azimuth beside the satellite the best elevation leaves the angle e between beam and
//! satellite, sin e = cos(elevation) sin d: the distance of a point from a great circle through the
//! zenith. A mount that does not flip leaves the zenith at best where d is more than 90 degrees.

use beamhand::beam::Mount;
use beamhand::terms::{later, seconds_between};

use crate::passes::Flight;

/// Seconds from look to look.
const STEP_S: f64 = 0.25;

/// The least largest error, degrees, found to a hundredth of a degree from below.
pub(crate) fn bound(mount: &Mount, flight: &Flight) -> f64 {
    let count = (seconds_between(flight.span.from, flight.span.until) / STEP_S) as u32;
    let looks: Vec<(f64, f64)> = (0..=count)
        .map(|index| {
            let look = flight.track.at(later(flight.span.from, f64::from(index) * STEP_S)).unwrap();
            (look.azimuth_deg, look.elevation_deg.to_radians())
        })
        .collect();
    let (mut low, mut high) = (0.0, 90.0);
    while high - low > 0.01 {
        let middle = (low + high) / 2.0;
        if has_way(mount, &looks, middle) { high = middle } else { low = middle }
    }
    low
}

/// Azimuths from the first to the second number.
type Arc = (f64, f64);

fn has_way(mount: &Mount, looks: &[(f64, f64)], error: f64) -> bool {
    let ends = (mount.azimuth.from, mount.azimuth.to);
    let flips = mount.elevation.is_some_and(|tilt| tilt.to > 90.0);
    let mut here: Vec<Arc> = vec![ends];
    for (azimuth, elevation) in looks {
        let sine = error.to_radians().sin() / elevation.cos();
        let mut next = Vec::new();
        for arc in here {
            let grown = (arc.0 - mount.slew.azimuth * STEP_S, arc.1 + mount.slew.azimuth * STEP_S);
            if sine >= 1.0 {
                next.push((grown.0.max(ends.0), grown.1.min(ends.1)));
                continue;
            }
            let aside = sine.asin().to_degrees();
            let turn = if flips { 180.0 } else { 360.0 };
            let first = ((grown.0 - aside - azimuth) / turn).ceil() as i32;
            let last = ((grown.1 + aside - azimuth) / turn).floor() as i32;
            next.extend((first..=last).filter_map(|number| {
                let centre = azimuth + f64::from(number) * turn;
                let from = (centre - aside).max(grown.0).max(ends.0);
                let to = (centre + aside).min(grown.1).min(ends.1);
                (from <= to).then_some((from, to))
            }));
        }
        here = joined(next);
    }
    !here.is_empty()
}

/// Arcs that overlap count once.
fn joined(mut arcs: Vec<Arc>) -> Vec<Arc> {
    arcs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut all: Vec<Arc> = Vec::new();
    for arc in arcs {
        match all.last_mut().filter(|last| arc.0 <= last.1) {
            Some(last) => last.1 = last.1.max(arc.1),
            None => all.push(arc),
        }
    }
    all
}
