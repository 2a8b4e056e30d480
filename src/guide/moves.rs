//! The moves of the beam: where to point next, and how long that is good.

use super::phrases::Style;
use crate::sky::{SkyError, Track};
use crate::terms::{AzEl, Time, Validity, later, seconds_between};

/// How far the satellite may be from the direction that was said. A 60-degree beam hears 30 degrees to
/// either side; a hand that misses by 10, and is late by some seconds, needs the rest.
pub const TOLERANCE_DEG: f64 = 14.0;
/// How long before it is needed a move is said, seconds: the sentence itself, to understand it, and to turn.
pub const LEAD_S: f64 = 5.0;

/// Where the satellite is in each second.
pub(super) struct Path {
    from: Time,
    directions: Vec<AzEl>,
}

/// A direction, and the second in which it fails; `None` where it is good to the end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Aim {
    pub(super) direction: AzEl,
    pub(super) fails: Option<Time>,
}

impl Path {
    pub(super) fn of(track: &Track, span: Validity) -> Result<Self, SkyError> {
        let seconds = seconds_between(span.from, span.until).max(0.0) as u32;
        let direction = |second| Ok(track.at(later(span.from, f64::from(second)))?.direction());
        let directions = (0..=seconds).map(direction).collect::<Result<_, SkyError>>()?;
        Ok(Self { from: span.from, directions })
    }

    /// Where a person looks who waits for it.
    pub(super) fn first_azimuth(&self) -> f64 {
        self.directions.first().map_or(0.0, |direction| direction.azimuth)
    }

    /// The direction that is good for longest from `time` on, for a person who faces `facing_deg`; `None`
    /// when the path is over. Of several the nearest to the satellite counts.
    pub(super) fn longest(&self, style: Style, time: Time, facing_deg: f64) -> Option<Aim> {
        let first = seconds_between(self.from, time).max(0.0) as usize;
        let ahead = self.directions.get(first..).filter(|ahead| !ahead.is_empty())?;
        let mut left: Vec<(AzEl, f64)> =
            style.directions(facing_deg).into_iter().map(|direction| (direction, 0.0)).collect();
        let mut lasts = 0;
        for satellite in ahead {
            let moved = left.iter().map(|(aim, worst)| (*aim, worst.max(aim.angle_to(*satellite))));
            let good: Vec<(AzEl, f64)> = moved.filter(|(_, worst)| *worst <= TOLERANCE_DEG).collect();
            if good.is_empty() {
                break;
            }
            (left, lasts) = (good, lasts + 1);
        }
        let off = |aim: &(AzEl, f64)| aim.0.angle_to(ahead[0]).max(aim.1);
        let (direction, _) = left.into_iter().min_by(|a, b| off(a).total_cmp(&off(b)))?;
        let fails = (lasts < ahead.len()).then(|| later(self.from, (first + lasts.max(1)) as f64));
        Some(Aim { direction, fails })
    }
}
