//! The parts of a pass in which the satellite stands clear of the station's own horizon.
//!
//! The whole pass is known by then, so this looks along it closely: a degree of azimuth at a time,
//! and at each corner of the horizon. Between two looks the horizon is a straight line and the path
//! bends by less than a hundredth of a degree.

use super::anchor::{Anchor, Search};
use super::describe::Span;
use crate::sky::SkyError;
use crate::sky::horizon::{Horizon, turn_deg};

/// The azimuth may turn so far between two looks, degrees.
const TURN_DEG: f64 = 1.0;

/// How long a step between two looks may be, seconds.
const STEP_S: (f64, f64) = (0.05, 10.0);

/// Corners and edges are found to this, seconds.
const PRECISION_S: f64 = 0.5e-3;

/// What a look at one instant says.
#[derive(Clone, Copy)]
struct Look {
    anchor: Anchor,
    azimuth_deg: f64,
    is_clear: bool,
}

impl Search<'_> {
    pub(super) fn clear_parts(
        &self,
        span: &Span,
        horizon: &Horizon,
        minimum_deg: f64,
    ) -> Result<Vec<Span>, SkyError> {
        let path = Path { search: self, horizon, minimum_deg };
        let mut before = path.look_from(span.start);
        let mut begun = before.is_clear.then_some((span.start, span.rises));
        let mut parts = Vec::new();
        let mut step = STEP_S.0;
        while before.anchor.seconds < span.end.seconds {
            let after = path.next(&before, step, span.end.seconds)?;
            let turned = turn_deg(before.azimuth_deg, after.azimuth_deg).abs();
            let took = after.anchor.seconds - before.anchor.seconds;
            step = (took * TURN_DEG / turned.max(1e-9)).min(2.0 * step).clamp(STEP_S.0, STEP_S.1);
            if after.is_clear != before.is_clear {
                let edge = path.edge(before, after)?.anchor;
                match begun.take() {
                    None => begun = Some((edge, true)),
                    Some((start, rises)) => {
                        parts.push(Span { start, rises, end: edge, sets: true, up: span.up })
                    }
                }
            }
            before = after;
        }
        parts.extend(begun.map(|(start, rises)| Span { start, rises, ..*span }));
        Ok(parts)
    }
}

struct Path<'s, 'a> {
    search: &'s Search<'a>,
    horizon: &'s Horizon,
    minimum_deg: f64,
}

impl Path<'_, '_> {
    fn look_from(&self, anchor: Anchor) -> Look {
        let seen = self.search.topocentric(&anchor);
        let limit = self.horizon.elevation_deg(seen.azimuth_deg).max(self.minimum_deg);
        Look { anchor, azimuth_deg: seen.azimuth_deg, is_clear: seen.elevation_deg >= limit }
    }

    fn look(&self, seconds: f64) -> Result<Look, SkyError> {
        Ok(self.look_from(self.search.anchor(seconds)?))
    }

    /// A step further, or only to the first corner on the way.
    fn next(&self, before: &Look, step: f64, end: f64) -> Result<Look, SkyError> {
        let after = self.look((before.anchor.seconds + step).min(end))?;
        match self.horizon.corner_between(before.azimuth_deg, after.azimuth_deg) {
            None => Ok(after),
            Some(corner) => {
                let ahead = turn_deg(before.azimuth_deg, corner).signum();
                self.narrowed(*before, after, |look| turn_deg(look.azimuth_deg, corner) * ahead <= 0.0)
            }
        }
    }

    fn edge(&self, before: Look, after: Look) -> Result<Look, SkyError> {
        self.narrowed(before, after, |look| look.is_clear == after.is_clear)
    }

    /// Just on the later side of where something begins to hold.
    fn narrowed(
        &self,
        mut before: Look,
        mut after: Look,
        holds: impl Fn(&Look) -> bool,
    ) -> Result<Look, SkyError> {
        while after.anchor.seconds - before.anchor.seconds > PRECISION_S {
            let middle = self.look((before.anchor.seconds + after.anchor.seconds) / 2.0)?;
            if holds(&middle) { after = middle } else { before = middle }
        }
        Ok(after)
    }
}
