//! Where the satellite was: at some readings only, and on straight lines in between.

use super::super::{Reading, Sight};
use super::column;
use super::nibbles::{Reader, Writer};

/// Units a degree.
const DEGREE: f64 = 20.0;
/// Units a full turn of the azimuth.
const TURN: i64 = 7200;
/// Units a kilometre.
const KM: f64 = 2.0;
/// How far a straight line may pass by a reading, in units of each.
const MISS: i64 = 2;
/// The next place that is written is at most so many readings on, at first.
const STRIDE: usize = 64;

/// Azimuth, elevation and range in units.
type Place = [i64; 3];

fn place(sight: &Sight) -> Place {
    let units = |value: f32, each: f64| (f64::from(value) * each).round().clamp(-1e9, 1e9) as i64;
    let azimuth = units(sight.azimuth_deg, DEGREE).rem_euclid(TURN);
    [azimuth, units(sight.elevation_deg, DEGREE), units(sight.range_km, KM)]
}

/// The way from one azimuth to another, the shorter one.
fn turned(from: i64, to: i64) -> i64 {
    (to - from + TURN / 2).rem_euclid(TURN) - TURN / 2
}

/// A part of the way from one place to another, `step` of `steps`.
fn between(from: Place, to: Place, step: usize, steps: usize) -> [f64; 3] {
    let part = step as f64 / steps.max(1) as f64;
    let ways = [turned(from[0], to[0]), to[1] - from[1], to[2] - from[2]];
    [0, 1, 2].map(|at| from[at] as f64 + part * ways[at] as f64)
}

/// Whether a straight line does for all places between the first and the last one.
fn is_straight(places: &[Place]) -> bool {
    let (Some(first), Some(last)) = (places.first(), places.last()) else { return true };
    let misses = |(step, place): (usize, &Place)| {
        let [azimuth, elevation, range] = between(*first, *last, step, places.len() - 1);
        let around = turned(azimuth.round() as i64, place[0]).abs();
        let aside = [elevation - place[1] as f64, range - place[2] as f64];
        around > MISS || aside.iter().any(|aside| aside.abs() > MISS as f64)
    };
    !places.iter().enumerate().any(misses)
}

/// The readings whose places are written: as few as halving finds.
fn knots(places: &[Place]) -> Vec<usize> {
    let last = places.len().saturating_sub(1);
    let mut knots = vec![0];
    let mut at = 0;
    while at < last {
        let mut next = (at + STRIDE).min(last);
        while next > at + 1 && !is_straight(&places[at..=next]) {
            next = at + (next - at) / 2;
        }
        knots.push(next);
        at = next;
    }
    knots
}

/// Writes where the satellite was at each of the readings, of which there is one at least.
pub(super) fn write(writer: &mut Writer, readings: &[Reading]) {
    let places: Vec<Place> = readings.iter().map(|reading| place(&reading.sight)).collect();
    let knots = knots(&places);
    writer.count(knots.len() as u64);
    column::write(writer, knots.iter().map(|knot| *knot as i64));
    for axis in [0, 1, 2] {
        column::write(writer, knots.iter().map(|knot| places[*knot][axis]));
    }
    column::write(writer, readings.iter().map(|reading| i64::from(reading.sight.is_sunlit)));
}

/// Reads so many sights; `None` for what makes none.
pub(super) fn read(reader: &mut Reader<'_>, length: usize) -> Option<Vec<Sight>> {
    let count = reader.count_up_to(length)?;
    let knots = column::read(reader, count)?;
    let [azimuths, elevations, ranges] =
        [column::read(reader, count)?, column::read(reader, count)?, column::read(reader, count)?];
    let sunlit = column::read(reader, length)?;
    let fits = |units: &i64| units.abs() <= 1_000_000_000;
    if ![&azimuths, &elevations, &ranges].iter().all(|units| units.iter().all(fits)) {
        return None;
    }
    let place = |at: usize| Some([*azimuths.get(at)?, *elevations.get(at)?, *ranges.get(at)?]);
    let mut sights = vec![sight(place(0)?.map(|units| units as f64), *sunlit.first()?)];
    for (at, pair) in knots.windows(2).enumerate() {
        let steps = usize::try_from(pair[1].checked_sub(pair[0])?).ok().filter(|steps| *steps <= length)?;
        let (from, to) = (place(at)?, place(at + 1)?);
        for step in 1..=steps {
            sights.push(sight(between(from, to, step, steps), *sunlit.get(sights.len())?));
        }
    }
    (sights.len() == length).then_some(sights)
}

fn sight([azimuth, elevation, range]: [f64; 3], sunlit: i64) -> Sight {
    // The rounding to 32 bits may come to a full turn.
    let azimuth_deg = (azimuth.rem_euclid(TURN as f64) / DEGREE) as f32;
    Sight {
        azimuth_deg: if azimuth_deg < 360.0 { azimuth_deg } else { 0.0 },
        elevation_deg: (elevation / DEGREE) as f32,
        range_km: (range / KM) as f32,
        is_sunlit: sunlit != 0,
    }
}
