//! When a satellite is up.
//!
//! The search goes from turn to turn of the height above the horizon's plane, or above the cone of
//! the wanted elevation (`sight`): between two turns it crosses zero once or not at all, so no
//! pass is too short to be found. Each propagated place comes with the ellipse that touches the
//! orbit there (`arc`), which says where the next turn or crossing will be, and whether it can
//! matter; only those that can are propagated. A revolution without a pass costs about one
//! propagation.

mod anchor;
mod arc;
mod clearance;
mod crossings;
mod describe;
mod grade;
mod meeting;
mod sight;
pub mod stepping;
mod walk;

use serde::{Deserialize, Serialize};

use anchor::{Anchor, Search};
use crossings::{Crossing, Crossings, is_up};
use describe::Span;
pub use grade::{Grade, Grades};
pub use meeting::{Meeting, meetings};
use sight::Quantity;

use super::{SkyError, Track};
use crate::terms::Time;

/// How far before and after its window a search for one pass follows the pass itself: longer than
/// any but those of satellites that (nearly) stand still.
const LONGEST_PASS_S: f64 = 86_400.0;

/// The rise of a pass in progress is first looked for so far back, seconds: most orbits are low.
const NEAR_PAST_S: f64 = 3600.0;

/// One stay of a satellite above the wanted elevation.
///
/// *Highest* is the instant of largest elevation, *TCA* that of least range: they differ, on
/// eccentric orbits by minutes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Pass {
    /// When it rises; `None` if it was up when the search began.
    pub aos: Option<Time>,
    /// When it stands highest.
    pub highest: Time,
    /// When it is closest.
    pub tca: Time,
    /// When it sets; `None` if it was still up when the search ended.
    pub los: Option<Time>,
    /// At the highest point, degrees.
    pub max_elevation_deg: f64,
    /// Where it rises, degrees.
    pub aos_azimuth_deg: Option<f64>,
    /// At the highest point, degrees.
    pub highest_azimuth_deg: f64,
    /// Where it sets, degrees.
    pub los_azimuth_deg: Option<f64>,
    /// From AOS to LOS, seconds, where both are known.
    pub duration_s: Option<f64>,
    /// Whether the Sun shines on the satellite at the highest point.
    pub sunlit_at_highest: bool,
}

/// Every pass between `from` and `hours` later, above `minimum_elevation_deg` and the station's own
/// horizon, behind which one pass can become several. One in progress at
/// either end has no AOS or no LOS there, and its highest point is that of the part inside.
///
/// # Errors
/// A satellite that can't be propagated wherever the search looks; its last place is the end.
pub fn passes(
    track: &Track,
    from: Time,
    hours: f64,
    minimum_elevation_deg: f64,
) -> Result<Vec<Pass>, SkyError> {
    Search::new(track, from).passes(hours.max(0.0) * 3600.0, minimum_elevation_deg)
}

/// As [`passes()`], but what lies before the place at which the satellite can't be propagated is kept:
/// one that decays, or whose elements are too old for the end of the search.
pub fn passes_until_lost(
    track: &Track,
    from: Time,
    hours: f64,
    minimum_elevation_deg: f64,
) -> (Vec<Pass>, Option<SkyError>) {
    let mut found = Vec::new();
    let end = hours.max(0.0) * 3600.0;
    let lost = Search::new(track, from).collect(end, minimum_elevation_deg, &mut found);
    (found, lost.err())
}

/// As [`passes()`], with how often the orbit was propagated, for who measures the search.
///
/// # Errors
/// As [`passes()`].
pub fn passes_counted(
    track: &Track,
    from: Time,
    hours: f64,
    minimum_elevation_deg: f64,
) -> Result<(Vec<Pass>, usize), SkyError> {
    let search = Search::new(track, from);
    let found = search.passes(hours.max(0.0) * 3600.0, minimum_elevation_deg)?;
    Ok((found, search.propagations()))
}

/// The pass in progress at `from`, whole, or else the next one that rises within `hours`. A pass
/// that is longer than a day on either side of `from` has no AOS or no LOS.
///
/// # Errors
/// A satellite that can't be propagated wherever the search looks.
pub fn next_pass(
    track: &Track,
    from: Time,
    hours: f64,
    minimum_elevation_deg: f64,
) -> Result<Option<Pass>, SkyError> {
    let search = Search::new(track, from);
    search.next_pass(hours.max(0.0) * 3600.0, minimum_elevation_deg)
}

impl Search<'_> {
    /// The cone that is never below the station's horizon nor below the wanted elevation.
    fn above(&self, minimum_deg: f64) -> Quantity {
        let lowest = self.track.horizon().map_or(minimum_deg, |horizon| horizon.lowest_deg());
        Quantity::Above(lowest.max(minimum_deg).to_radians().sin())
    }

    fn passes(&self, end: f64, minimum_deg: f64) -> Result<Vec<Pass>, SkyError> {
        let mut found = Vec::new();
        self.collect(end, minimum_deg, &mut found)?;
        Ok(found)
    }

    /// Adds one pass after the other, as far as it comes.
    fn collect(&self, end: f64, minimum_deg: f64, found: &mut Vec<Pass>) -> Result<(), SkyError> {
        let above = self.above(minimum_deg);
        let first = self.anchor(0.0)?;
        let mut crossings = Crossings::new(self, above, first, end);
        let mut begun = is_up(first.value(above).value).then_some((first, false));
        while let Some(crossing) = crossings.next()? {
            match begun.take() {
                None => begun = Some((crossing.anchor, true)),
                Some((start, rises)) => {
                    let Crossing { anchor: end, up, .. } = crossing;
                    self.describe_all(&Span { start, rises, end, sets: true, up }, minimum_deg, found)?;
                }
            }
        }
        if let Some((start, rises)) = begun {
            let span = Span { start, rises, end: self.anchor(end)?, sets: false, up: start };
            self.describe_all(&span, minimum_deg, found)?;
        }
        Ok(())
    }

    fn describe_all(&self, span: &Span, minimum_deg: f64, found: &mut Vec<Pass>) -> Result<(), SkyError> {
        for part in self.parts(span, minimum_deg)? {
            found.push(self.describe(&part)?);
        }
        Ok(())
    }

    /// A stay above the cone, cut where something stands before it.
    fn parts(&self, span: &Span, minimum_deg: f64) -> Result<Vec<Span>, SkyError> {
        match self.track.horizon() {
            Some(horizon) => self.clear_parts(span, horizon, minimum_deg),
            None => Ok(vec![*span]),
        }
    }

    fn next_pass(&self, hours_s: f64, minimum_deg: f64) -> Result<Option<Pass>, SkyError> {
        let above = self.above(minimum_deg);
        let first = self.anchor(0.0)?;
        let mut crossings = Crossings::new(self, above, first, hours_s);
        let mut begun = is_up(first.value(above).value).then(|| self.last_rise(above)).transpose()?;
        loop {
            let (start, rises) = match begun.take() {
                Some(begun) => begun,
                None => match crossings.next()? {
                    Some(rise) => (rise.anchor, true),
                    None => return Ok(None),
                },
            };
            let latest = start.seconds.max(0.0) + LONGEST_PASS_S;
            crossings.go_on_to(latest);
            let (end, sets, up) = match crossings.next()? {
                Some(setting) => (setting.anchor, true, setting.up),
                None => (self.anchor(latest)?, false, start),
            };
            let parts = self.parts(&Span { start, rises, end, sets, up }, minimum_deg)?;
            let is_wanted = |part: &&Span| part.end.seconds > 0.0 && part.start.seconds <= hours_s;
            if let Some(part) = parts.iter().find(is_wanted) {
                return self.describe(part).map(Some);
            }
            if end.seconds >= hours_s {
                return Ok(None);
            }
            crossings.go_on_to(hours_s);
        }
    }

    /// Where the pass in progress at the origin began, and whether that is its rise.
    fn last_rise(&self, above: Quantity) -> Result<(Anchor, bool), SkyError> {
        let mut start = self.anchor(-NEAR_PAST_S)?;
        if is_up(start.value(above).value) {
            start = self.anchor(-LONGEST_PASS_S)?;
        }
        let mut crossings = Crossings::new(self, above, start, 0.0);
        let mut last = (start, false);
        while let Some(crossing) = crossings.next()? {
            if crossing.rises {
                last = (crossing.anchor, true);
            }
        }
        Ok(last)
    }
}
