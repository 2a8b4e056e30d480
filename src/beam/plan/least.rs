//! The least error that leaves the mount a way.

use crate::terms::AngleRange;

use super::field::Field;
use super::reach::{Layer, Rows, reach};
use super::spans::{common, unite};
use super::{Sample, Start};

/// Errors below this are not told apart, degrees: half of what the finest read-out shows. Nor are errors
/// below half of what the mount's own read-out shows.
pub(super) const FINEST_DEG: f64 = 0.05;
/// The error is found to so many parts of itself.
const WITHIN: f64 = 0.006;
/// Rows are so many parts of the error apart. The best elevation is then missed by a twelfth of it at
/// most, which costs a part in 288.
const ROWS: f64 = 6.0;
/// Samples are multiples of this apart, so that an axis gets on by whole rows, seconds.
const TICK_S: f64 = 0.5;
/// By what the error is raised, one after the other, where the azimuth alone leaves a way and the whole
/// mount does not.
const RAISES: [f64; 4] = [1.0 + WITHIN, 1.03, 1.2, 2.0];

/// The least error, degrees, and every place that it allows. The azimuth alone says from where on
/// it is worth looking.
pub(super) fn least_error(
    field: &Field<'_>,
    sky: &[Sample],
    start: Option<Start>,
) -> Option<(f64, Vec<Layer>)> {
    let allow = |error: f64| reach(field, rows(field, error), sky, start, error);
    let mut low = with_free_elevation(field, sky);
    let finest = finest(field);
    let mut high = if low <= finest { finest } else { low * (1.0 + WITHIN) };
    let mut raises = RAISES.into_iter();
    let mut layers = loop {
        if let Some(layers) = allow(high) {
            break layers;
        }
        if high >= 180.0 {
            return None;
        }
        (low, high) = (high, (high * raises.next().unwrap_or(4.0)).min(180.0));
    };
    while low >= finest && high / low > 1.0 + WITHIN {
        let middle = (low * high).sqrt();
        match allow(middle) {
            Some(found) => (layers, high) = (found, middle),
            None => low = middle,
        }
    }
    Some((high, layers))
}

fn finest(field: &Field<'_>) -> f64 {
    FINEST_DEG.max(field.mount.resolution / 2.0)
}

/// Rows a part of the error apart, or finer, so that the elevation's speed is whole rows a tick.
fn rows(field: &Field<'_>, error: f64) -> Rows {
    let tick = field.mount.slew.elevation * TICK_S;
    let step = tick / (tick * ROWS / error).ceil().max(1.0);
    Rows { tilt: field.tilt(), step }
}

/// The least error, from below, if the elevation were always the best one and there were no sectors.
fn with_free_elevation(field: &Field<'_>, sky: &[Sample]) -> f64 {
    let finest = finest(field);
    if leaves_way(field, sky, finest) {
        return finest;
    }
    let (mut low, mut high) = (finest, 180.0);
    while high / low > 1.0 + WITHIN / 4.0 {
        let middle = f64::sqrt(low * high);
        if leaves_way(field, sky, middle) { high = middle } else { low = middle }
    }
    low
}

/// At `d` degrees of azimuth beside the satellite the best elevation is off by e, with
/// sin e = cos(elevation) sin d; behind the zenith by less than the zenith is, or as much.
fn leaves_way(field: &Field<'_>, sky: &[Sample], error: f64) -> bool {
    let range = field.mount.azimuth;
    let tilts = field.mount.elevation.is_some();
    let turn = if field.tilt().to > 90.0 { 180.0 } else { 360.0 };
    let (mut here, mut before) = (vec![range], sky.first().map_or(0.0, |first| first.seconds));
    for sample in sky {
        let by = field.mount.slew.azimuth * (sample.seconds - before);
        before = sample.seconds;
        here.iter_mut().for_each(|span| {
            *span = AngleRange::new((span.from - by).max(range.from), (span.to + by).min(range.to));
        });
        unite(&mut here, 0);
        let sine = error.to_radians().sin() / sample.direction.elevation.to_radians().cos().abs();
        let half = if tilts { sine.asin().to_degrees() } else { error };
        // Where the sine is more than one, any azimuth does; so does an error of a quarter turn.
        if !half.is_finite() || error >= if tilts { 90.0 } else { 180.0 } {
            continue;
        }
        let centre = sample.direction.azimuth;
        let first = ((range.from - half - centre) / turn).ceil() as i32;
        let last = ((range.to + half - centre) / turn).floor() as i32;
        let mut allowed: Vec<AngleRange> = (first..=last)
            .map(|number| centre + f64::from(number) * turn)
            .map(|at| AngleRange::new(at - half, at + half))
            .collect();
        unite(&mut allowed, 0);
        let mut next = Vec::with_capacity(here.len());
        common(&here, &allowed, &mut next);
        here = next;
        if here.is_empty() {
            return false;
        }
    }
    true
}
