//! The fewest starts of motors that keep the beam near the path of least error: each axis stands, runs at
//! full speed, and stands again.

use crate::terms::{AngleRange, AzEl};

use super::field::Field;
use super::rests::{Moment, Stand, fewest};
use super::{Course, Sample, Start, share};

/// The azimuth may use so much of what the beam may be off more; the elevation has what is left.
const PARTS: [f64; 3] = [0.55, 0.7, 0.85];
/// Places are so far apart, degrees, or a little nearer, so that an axis gets on by whole steps.
const STEP_DEG: f64 = 0.3;
/// Samples are multiples of this apart, seconds.
const TICK_S: f64 = 0.5;

/// An axis is sent somewhere, and when it sets off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run {
    /// Seconds from the first sample on, as for an axis that is at full speed at once.
    pub seconds: f64,
    /// Where it comes to rest, degrees.
    pub to: f64,
}

/// A path of rests and runs.
#[derive(Debug, Clone, PartialEq)]
pub struct Quiet {
    /// Where the mount is, and when; straight between.
    pub points: Vec<(f64, AzEl)>,
    /// The runs of azimuth and elevation; the first is where it waits.
    pub runs: [Vec<Run>; 2],
}

impl Quiet {
    /// How often an axis starts after the pass has begun.
    pub fn starts(&self) -> [usize; 2] {
        [0, 1].map(|axis| self.runs[axis].len().saturating_sub(1))
    }
}

/// The path with the fewest starts on which the beam is at no sample off by more than `more` degrees beyond
/// what it is on `course`. `None` where standing would meet a sector. Each axis is exact on its steps, the
/// azimuth for the course's own elevations, the elevation for the azimuths found; the mean error decides
/// among equals.
pub fn quieten(
    mount: &crate::beam::Mount,
    sky: &[Sample],
    start: Option<Start>,
    course: &Course,
    more: f64,
) -> Option<Quiet> {
    let field = Field::new(mount, start);
    let found = PARTS.into_iter().filter_map(|part| by_parts(&field, sky, start, course, more, part));
    found.min_by_key(|quiet| quiet.starts().iter().sum::<usize>())
}

fn by_parts(
    field: &Field<'_>,
    sky: &[Sample],
    start: Option<Start>,
    course: &Course,
    more: f64,
    part: f64,
) -> Option<Quiet> {
    let slew = field.mount.slew;
    let error = |index: usize| field.error(course.places[index], sky[index].direction);
    let origin = course.places.first()?;
    let moments: Vec<Moment> = (0..sky.len())
        .map(|index| {
            let place = course.places[index];
            let room = turning_room(field, sky[index].direction, place, error(index) + part * more);
            let reach = start.filter(|_| index == 0).map(|start| start.reach(field.mount).azimuth);
            moment(field, sky, index, place.azimuth, within(room, reach, place.azimuth))
        })
        .collect();
    let turned = fewest(&moments, origin.azimuth, cell(slew.azimuth), start.is_some())?;
    let tilted = match field.mount.elevation {
        None => moments
            .iter()
            .map(|moment| Stand { at: origin.elevation, ..Stand::rest(moment.seconds) })
            .collect(),
        Some(_) => {
            let moments: Option<Vec<Moment>> = (0..sky.len())
                .map(|index| {
                    let place = course.places[index];
                    let allowed = error(index) + more;
                    let (room, _) = field.elevations(sky[index].direction, turned[index].at, allowed)?;
                    let reach = start.filter(|_| index == 0).map(|start| start.reach(field.mount).elevation);
                    let room = reach.map_or(room, |reach| within(room, Some(reach), place.elevation));
                    let mut moment = moment(field, sky, index, place.elevation, room);
                    moment.step = field.gets(before(sky, index), sky[index].seconds).elevation;
                    Some(moment)
                })
                .collect();
            fewest(&moments?, origin.elevation, cell(slew.elevation), start.is_some())?
        }
    };
    let (turns, tilts) = (corners(&turned, slew.azimuth), corners(&tilted, slew.elevation));
    let quiet = Quiet { points: joined(&turns.0, &tilts.0), runs: [turns.1, tilts.1] };
    let free = quiet.points.windows(2).all(|pair| field.is_free(pair[0].1, pair[1].1));
    free.then_some(quiet)
}

/// The azimuths around the path's own from which the beam is off by so much at most.
fn turning_room(field: &Field<'_>, satellite: AzEl, place: AzEl, error: f64) -> AngleRange {
    let mut spans = Vec::new();
    field.azimuths(satellite, place.elevation, error, &mut spans);
    let near = |span: &&AngleRange| span.from - 1e-6 <= place.azimuth && place.azimuth <= span.to + 1e-6;
    spans.iter().find(near).copied().unwrap_or(AngleRange::new(place.azimuth, place.azimuth))
}

fn within(room: AngleRange, reach: Option<AngleRange>, at: f64) -> AngleRange {
    let (from, to) =
        reach.map_or((room.from, room.to), |reach| (room.from.max(reach.from), room.to.min(reach.to)));
    AngleRange::new(from.min(at), to.max(at))
}

fn before(sky: &[Sample], index: usize) -> f64 {
    sky[index.saturating_sub(1)].seconds
}

fn moment(field: &Field<'_>, sky: &[Sample], index: usize, target: f64, bounds: AngleRange) -> Moment {
    let seconds = sky[index].seconds;
    let step = field.gets(before(sky, index), seconds).azimuth;
    Moment { seconds, target, weight: sky[index].weight * share(sky, index), bounds, step }
}

/// Steps of which an axis makes a whole number in a tick.
fn cell(slew: f64) -> f64 {
    let tick = slew * TICK_S;
    tick / (tick / STEP_DEG).ceil().max(1.0)
}

/// The corners of one axis' way, and its runs. An axis that both sets off and stops between two samples
/// does so in the middle.
fn corners(stands: &[Stand], slew: f64) -> (Vec<(f64, f64)>, Vec<Run>) {
    let (mut points, mut runs) = (Vec::new(), Vec::new());
    let Some(first) = stands.first() else { return (points, runs) };
    points.push((first.seconds, first.at));
    let mut sets_off = first.seconds;
    for pair in stands.windows(2) {
        let (from, to) = (pair[0], pair[1]);
        let takes = (to.at - from.at).abs() / slew;
        let rests = takes == 0.0;
        let begins = match (from.runs, to.runs) {
            (false, _) if rests => continue,
            (false, false) => from.seconds.midpoint(to.seconds) - takes / 2.0,
            (false, true) => to.seconds - takes,
            (true, _) => from.seconds,
        };
        if !from.runs {
            points.push((begins, from.at));
            sets_off = begins;
        }
        if !to.runs {
            points.push((begins + takes, to.at));
            runs.push(Run { seconds: sets_off, to: to.at });
        }
    }
    if let Some(last) = stands.last() {
        points.push((last.seconds, last.at));
        if last.runs {
            runs.push(Run { seconds: sets_off, to: last.at });
        }
    }
    points.dedup_by(|b, a| b.0 <= a.0);
    let waits = if stands[0].runs { runs.first().map_or(first.at, |run: &Run| run.to) } else { first.at };
    if !stands[0].runs {
        runs.insert(0, Run { seconds: f64::NEG_INFINITY, to: waits });
    }
    (points, runs)
}

/// Both axes' ways as one, with a point wherever one of them has a corner.
fn joined(turns: &[(f64, f64)], tilts: &[(f64, f64)]) -> Vec<(f64, AzEl)> {
    let mut times: Vec<f64> = turns.iter().chain(tilts).map(|(seconds, _)| *seconds).collect();
    times.sort_by(f64::total_cmp);
    times.dedup_by(|b, a| *b - *a < 1e-6);
    times.into_iter().map(|seconds| (seconds, AzEl::new(at(turns, seconds), at(tilts, seconds)))).collect()
}

fn at(points: &[(f64, f64)], seconds: f64) -> f64 {
    let next = points.partition_point(|(at, _)| *at < seconds);
    let (Some(from), Some(to)) = (points.get(next.saturating_sub(1)), points.get(next).or(points.last()))
    else {
        return 0.0;
    };
    if to.0 <= from.0 { to.1 } else { from.1 + (to.1 - from.1) * (seconds - from.0) / (to.0 - from.0) }
}
