//! A path that keeps the largest error, led as closely as it can be: one axis after the other.

use crate::terms::{AngleRange, AzEl};

use super::field::Field;
use super::follow::{Want, follow};
use super::{Sample, Start, share};

/// How often each axis is led anew.
const ROUNDS: usize = 2;

/// The path, or a better one: no moment is off by more than `error`, and the mean error is less.
pub(super) fn refine(
    field: &Field<'_>,
    sky: &[Sample],
    start: Option<Start>,
    path: Vec<AzEl>,
    error: f64,
) -> Vec<AzEl> {
    let error = error * (1.0 + 1e-9);
    let mut best = path;
    for _ in 0..ROUNDS {
        for lead in [tilted, turned] {
            let Some(led) = lead(field, sky, start, &best, error) else { continue };
            if is_in_order(field, &led) && mean(field, sky, &led) <= mean(field, sky, &best) {
                best = led;
            }
        }
    }
    best
}

/// The same azimuths with the best elevations.
fn tilted(
    field: &Field<'_>,
    sky: &[Sample],
    start: Option<Start>,
    path: &[AzEl],
    error: f64,
) -> Option<Vec<AzEl>> {
    field.mount.elevation?;
    let wants: Option<Vec<Want>> = (0..path.len())
        .map(|index| {
            let satellite = sky[index].direction;
            let (bounds, target) = field.elevations(satellite, path[index].azimuth, error)?;
            let reach = start.filter(|_| index == 0).map(|start| start.reach(field.mount).elevation);
            let bounds = within(bounds, reach, path[index].elevation);
            Some(want(sky, index, target, bounds, gets(field, sky, index).elevation, 1.0))
        })
        .collect();
    let led = follow(&wants?)?;
    Some(path.iter().zip(led).map(|(place, elevation)| AzEl { elevation, ..*place }).collect())
}

/// The same elevations with the best azimuths.
fn turned(
    field: &Field<'_>,
    sky: &[Sample],
    start: Option<Start>,
    path: &[AzEl],
    error: f64,
) -> Option<Vec<AzEl>> {
    let wants: Vec<Want> = (0..path.len())
        .map(|index| {
            let (satellite, place) = (sky[index].direction, path[index]);
            let mut spans = Vec::new();
            field.azimuths(satellite, place.elevation, error, &mut spans);
            let is_here =
                |span: &&AngleRange| span.from - 1e-6 <= place.azimuth && place.azimuth <= span.to + 1e-6;
            let here = spans.iter().find(is_here).copied();
            let here = here.unwrap_or(AngleRange::new(place.azimuth, place.azimuth));
            let reach = start.filter(|_| index == 0).map(|start| start.reach(field.mount).azimuth);
            let ahead = if place.elevation > 90.0 { satellite.azimuth + 180.0 } else { satellite.azimuth };
            let target = ahead + 360.0 * ((place.azimuth - ahead) / 360.0).round();
            // What a degree of azimuth is on the sky, seen from where it is.
            let off = (place.azimuth - target).abs();
            let level = satellite.elevation.to_radians().cos().max(0.01);
            let scale = if off > 1.0 { field.error(place, satellite) / off } else { level };
            want(
                sky,
                index,
                target,
                within(here, reach, place.azimuth),
                gets(field, sky, index).azimuth,
                scale,
            )
        })
        .collect();
    let led = follow(&wants)?;
    Some(path.iter().zip(led).map(|(place, azimuth)| AzEl { azimuth, ..*place }).collect())
}

/// The bounds, which hold where the path is even if that is at their very edge.
fn within(bounds: AngleRange, reach: Option<AngleRange>, at: f64) -> AngleRange {
    let (from, to) =
        reach.map_or((bounds.from, bounds.to), |r| (bounds.from.max(r.from), bounds.to.min(r.to)));
    AngleRange::new(from.min(at), to.max(at))
}

/// How far each axis gets from the moment before.
fn gets(field: &Field<'_>, sky: &[Sample], index: usize) -> AzEl {
    let until = sky[index].seconds;
    field.gets(index.checked_sub(1).map_or(until, |before| sky[before].seconds), until)
}

fn want(sky: &[Sample], index: usize, target: f64, bounds: AngleRange, step: f64, scale: f64) -> Want {
    // A moment of no use at all is still better followed than not.
    let weight = (sky[index].weight * share(sky, index) * scale).max(1e-6);
    Want { target, weight, bounds, step }
}

/// Whether the way keeps clear of all sectors.
fn is_in_order(field: &Field<'_>, path: &[AzEl]) -> bool {
    path.windows(2).all(|pair| field.is_free(pair[0], pair[1]))
}

fn mean(field: &Field<'_>, sky: &[Sample], path: &[AzEl]) -> f64 {
    let errors = path.iter().enumerate().map(|(index, place)| {
        sky[index].weight * share(sky, index) * field.error(*place, sky[index].direction)
    });
    errors.sum()
}
