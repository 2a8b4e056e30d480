//! The best path that a mount can take through a pass: first the largest error of the beam is made
//! as small as the slew rates, limits and sectors allow, then the mean one.
//!
//! For any error that may be allowed, all places that the mount can have come to are known moment by
//! moment (`reach`); the least error that leaves a way is found by halving. Within it each axis by
//! turns is led as closely as it can (`follow`). Azimuths are exact, elevations are rows a tenth of the
//! error apart until they are refined.

mod field;
mod follow;
mod least;
mod quiet;
mod reach;
mod refine;
mod rests;
mod spans;
mod stones;

use serde::{Deserialize, Serialize};

use crate::terms::{AngleRange, AzEl, Sweep};

use super::Mount;
use field::Field;
use least::{FINEST_DEG, least_error};
pub use quiet::{Quiet, Run, quieten};
use refine::refine;
use stones::over_stones;

/// Where the satellite is at one moment of the pass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Seconds since the pass began; rising from sample to sample.
    pub seconds: f64,
    /// In the sky.
    pub direction: AzEl,
    /// How useful the moment is, against others.
    pub weight: f64,
}

/// Where the mount stands before the pass.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Start {
    /// In its own coordinates.
    pub place: AzEl,
    /// So many seconds before the first sample.
    pub seconds: f64,
}

impl Start {
    /// Where it can be when the pass begins, sectors not counted.
    fn reach(self, mount: &Mount) -> Sweep {
        let around = |at: f64, by: f64| AngleRange::new(at - by, at + by);
        let runs = |loses: f64| (self.seconds - loses).max(0.0);
        let loses = speeding_up_s(mount);
        Sweep {
            azimuth: around(self.place.azimuth, mount.slew.azimuth * runs(loses.azimuth)),
            elevation: around(self.place.elevation, mount.slew.elevation * runs(loses.elevation)),
        }
    }

    /// How long into the pass it still rests, seconds of each axis, as one that is at full speed at once
    /// would to be no farther than one that speeds up.
    fn rests_s(self, mount: &Mount) -> AzEl {
        let loses = speeding_up_s(mount);
        let rests = |loses: f64| (loses - self.seconds).max(0.0);
        AzEl::new(rests(loses.azimuth), rests(loses.elevation))
    }
}

/// What each axis loses by speeding up from rest, seconds of full speed.
pub(super) fn speeding_up_s(mount: &Mount) -> AzEl {
    let Mount { slew, acceleration, .. } = mount;
    AzEl::new(slew.azimuth / acceleration.azimuth / 2.0, slew.elevation / acceleration.elevation / 2.0)
}

/// The mount's path through a pass.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// Where the mount is at each sample, in its own coordinates; between two it goes straight.
    pub places: Vec<AzEl>,
    /// The largest error at a sample, degrees on the sky.
    pub worst_deg: f64,
    /// The mean of the errors, each counted by its time and weight, degrees.
    pub mean_deg: f64,
}

/// Plans a pass; `None` where the mount can't be anywhere at some moment, or from `start` reaches
/// no place from which it could go on.
pub fn plan(mount: &Mount, sky: &[Sample], start: Option<Start>) -> Option<Course> {
    let field = Field::new(mount, start);
    let (error, layers) = least_error(&field, sky, start)?;
    among(&field, sky, start, error, &layers)
}

/// The path of least mean error among those that are never off by more than `error`, of which these are all
/// places.
fn among(
    field: &Field<'_>,
    sky: &[Sample],
    start: Option<Start>,
    error: f64,
    layers: &[reach::Layer],
) -> Option<Course> {
    let mount = field.mount;
    let ways = ends(field, layers, sky).into_iter().filter_map(|end| {
        let path = reach::path_to(field, layers, sky, end)?;
        Some(refine(field, sky, start, path, error))
    });
    let mut ways: Vec<Vec<AzEl>> = ways.collect();
    // One that is on the satellite wherever it can be is as good as any.
    if error > FINEST_DEG {
        let over = over_stones(field, layers, sky, &ways);
        ways.extend(over.map(|path| refine(field, sky, start, path, error)));
    }
    let courses = ways.into_iter().map(|path| course(field, sky, path));
    // Among equals the one that begins nearer to where the mount is, or rests.
    let stands = start.map_or(mount.park, |start| start.place);
    let way = |course: &Course| {
        let turn = |place: Option<&AzEl>, to: AzEl| place.map_or(0.0, |at| (at.azimuth - to.azimuth).abs());
        turn(course.places.first(), stands) + turn(course.places.last(), mount.park)
    };
    let cost = |course: &Course| course.mean_deg + 1e-4 * way(course);
    courses.min_by(|a, b| cost(a).total_cmp(&cost(b)))
}

/// The best place of the last layer in each wrap, flipped and not.
fn ends(field: &Field<'_>, layers: &[reach::Layer], sky: &[Sample]) -> Vec<AzEl> {
    let (Some(layer), Some(last)) = (layers.last(), sky.last()) else { return Vec::new() };
    let mut best: Vec<((bool, i32), f64, AzEl)> = Vec::new();
    for (elevation, span) in layer.places() {
        for place in reach::nearest(field, last.direction, elevation, span) {
            let flipped = elevation > 90.0 && field.mount.elevation.is_some();
            let ahead = last.direction.azimuth + if flipped { 180.0 } else { 0.0 };
            let kind = (flipped, ((place.azimuth - ahead) / 360.0).round() as i32);
            let error = field.error(place, last.direction);
            match best.iter_mut().find(|(other, ..)| *other == kind) {
                Some(known) if known.1 <= error => {}
                Some(known) => *known = (kind, error, place),
                None => best.push((kind, error, place)),
            }
        }
    }
    best.into_iter().map(|(.., place)| place).collect()
}

fn course(field: &Field<'_>, sky: &[Sample], places: Vec<AzEl>) -> Course {
    let errors = places.iter().zip(sky).map(|(place, sample)| field.error(*place, sample.direction));
    let (mut worst, mut sum, mut weight) = (0.0_f64, 0.0, 0.0);
    for (index, error) in errors.enumerate() {
        let counts = sky[index].weight * share(sky, index);
        worst = worst.max(error);
        sum += counts * error;
        weight += counts;
    }
    let mean_deg = if weight > 0.0 { sum / weight } else { 0.0 };
    Course { places, worst_deg: worst, mean_deg }
}

/// The seconds that a sample stands for.
fn share(sky: &[Sample], index: usize) -> f64 {
    let at = |index: usize| sky.get(index).map(|sample| sample.seconds);
    let here = at(index).unwrap_or_default();
    let before = index.checked_sub(1).and_then(at).unwrap_or(here);
    (at(index + 1).unwrap_or(here) - before) / 2.0
}

#[cfg(test)]
pub(super) mod tests;
