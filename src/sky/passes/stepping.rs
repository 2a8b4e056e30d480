//! The plain search: look every 30 seconds, then bisect. A pass shorter than a step can be
//! missed, and so can a dip below the wanted elevation that is shorter. It is what the benchmark
//! compares the search with, and nothing else uses it.

use super::Pass;
use crate::sky::{SkyError, Track};
use crate::terms::{Time, later, seconds_between};

const STEP_S: f64 = 30.0;

/// Rising and setting are found to this, seconds, and so are highest and closest where the curve
/// is sharp enough to have a summit that fine.
const PRECISION_S: f64 = 0.5e-3;

/// Every pass between `from` and `hours` later, above `minimum_elevation_deg`. One in progress at
/// either end has no AOS or no LOS there, and its highest point is that of the part inside.
/// Fails if the satellite can't be propagated through the whole window.
pub fn passes(
    track: &Track,
    from: Time,
    hours: f64,
    minimum_elevation_deg: f64,
) -> Result<Vec<Pass>, SkyError> {
    let search = Search { track, minimum_elevation_deg };
    let end = later(from, hours.max(0.0) * 3600.0);
    let mut found = Vec::new();
    let mut rise = None;
    let (mut at, mut up) = (from, search.is_up(from)?);
    while let Some(change) = search.next_change(at, end)? {
        if up {
            found.push(search.describe(rise, at, change, Some(change))?);
        }
        rise = Some(change);
        (at, up) = (change, !up);
    }
    if up {
        found.push(search.describe(rise, at, end, None)?);
    }
    Ok(found)
}

struct Search<'a> {
    track: &'a Track,
    minimum_elevation_deg: f64,
}

impl Search<'_> {
    fn elevation(&self, time: Time) -> Result<f64, SkyError> {
        Ok(self.track.topocentric(time)?.elevation_deg)
    }

    fn is_up(&self, time: Time) -> Result<bool, SkyError> {
        Ok(self.elevation(time)? >= self.minimum_elevation_deg)
    }

    /// The first instant after `from` at which the satellite is up if it was down at `from`, and
    /// down if it was up; `None` if that is after `end`.
    fn next_change(&self, from: Time, end: Time) -> Result<Option<Time>, SkyError> {
        let up = self.is_up(from)?;
        let mut before = from;
        while before < end {
            let after = later(before, STEP_S).min(end);
            if self.is_up(after)? != up {
                return self.bisect(before, after).map(Some);
            }
            before = after;
        }
        Ok(None)
    }

    /// The instant at which it changes between up and down, just on the later side of it.
    fn bisect(&self, mut before: Time, mut after: Time) -> Result<Time, SkyError> {
        let up = self.is_up(before)?;
        while seconds_between(before, after) > PRECISION_S {
            let middle = later(before, seconds_between(before, after) / 2.0);
            if self.is_up(middle)? == up { before = middle } else { after = middle }
        }
        Ok(after)
    }

    /// Everything about the pass between `start` and `end`.
    fn describe(
        &self,
        aos: Option<Time>,
        start: Time,
        end: Time,
        los: Option<Time>,
    ) -> Result<Pass, SkyError> {
        let azimuth = |time: Option<Time>| {
            time.map(|time| self.track.topocentric(time).map(|look| look.azimuth_deg)).transpose()
        };
        let highest = maximum(start, end, |time| self.elevation(time))?;
        let tca = maximum(start, end, |time| Ok(-self.track.topocentric(time)?.range_km))?;
        let look = self.track.at(highest)?;
        Ok(Pass {
            aos,
            highest,
            tca,
            los,
            max_elevation_deg: look.elevation_deg,
            aos_azimuth_deg: azimuth(aos)?,
            highest_azimuth_deg: look.azimuth_deg,
            los_azimuth_deg: azimuth(los)?,
            duration_s: aos.zip(los).map(|(aos, los)| seconds_between(aos, los)),
            sunlit_at_highest: look.sunlit,
        })
    }
}

/// The instant of the largest value between `start` and `end`: the largest of samples a step
/// apart, then golden sections around it.
fn maximum(start: Time, end: Time, value: impl Fn(Time) -> Result<f64, SkyError>) -> Result<Time, SkyError> {
    let mut best = (start, value(start)?);
    let mut time = start;
    while time < end {
        time = later(time, STEP_S).min(end);
        let sample = value(time)?;
        if sample > best.1 {
            best = (time, sample);
        }
    }
    let low = later(best.0, -STEP_S).max(start);
    let width = seconds_between(low, later(best.0, STEP_S).min(end));
    let offset = golden_section(width, |offset| value(later(low, offset)))?;
    Ok(later(low, offset))
}

/// Where a function with one summit between 0 and `width` has it. A summit at an end is found
/// there.
fn golden_section(width: f64, value: impl Fn(f64) -> Result<f64, SkyError>) -> Result<f64, SkyError> {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let (mut low, mut high) = (0.0, width);
    let (mut left, mut right) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
    let (mut at_left, mut at_right) = (value(left)?, value(right)?);
    while high - low > PRECISION_S {
        if at_left > at_right {
            (high, right, at_right) = (right, left, at_left);
            left = high - GOLDEN * (high - low);
            at_left = value(left)?;
        } else {
            (low, left, at_left) = (left, right, at_right);
            right = low + GOLDEN * (high - low);
            at_right = value(right)?;
        }
    }
    Ok((low + high) / 2.0)
}
