//! When a satellite rises above a wanted elevation and sets below it.

use super::anchor::{Anchor, Search};
use super::arc::{Mark, Way};
use super::sight::Quantity;
use super::walk::{Point, Walk};
use crate::sky::SkyError;

/// A crossing is given so much after the true one, seconds: what counts from then on holds then.
const AFTER_S: f64 = 1e-4;

/// Where no arc helps, crossings are found to this, seconds.
const PRECISION_S: f64 = 0.5e-3;

/// A rise or a setting, propagated just on its later side.
pub(super) struct Crossing {
    pub(super) anchor: Anchor,
    pub(super) rises: bool,
    /// Propagated while it is up, on a low orbit near where it stands highest.
    pub(super) up: Anchor,
}

/// One after the other through a window.
pub(super) struct Crossings<'s, 'a> {
    search: &'s Search<'a>,
    above: Quantity,
    walk: Walk<'s, 'a>,
    before: Point,
}

impl<'s, 'a> Crossings<'s, 'a> {
    pub(super) fn new(search: &'s Search<'a>, above: Quantity, start: Anchor, end: f64) -> Self {
        let before = Point { seconds: start.seconds, value: start.value(above).value, anchor: start };
        Self { search, above, walk: Walk::new(search, above, start, end), before }
    }

    /// Lets the search go on to another end.
    pub(super) fn go_on_to(&mut self, end: f64) {
        self.walk.go_on_to(end);
    }

    pub(super) fn next(&mut self) -> Result<Option<Crossing>, SkyError> {
        while let Some(after) = self.walk.next()? {
            let before = std::mem::replace(&mut self.before, after);
            if is_up(before.value) != is_up(after.value) {
                let rises = is_up(after.value);
                let anchor = self.cross(&before, &after, rises)?;
                let up = if rises { after.anchor } else { before.anchor };
                return Ok(Some(Crossing { anchor, rises, up }));
            }
        }
        Ok(None)
    }

    /// Between two points on different sides. Each step is Newton's with the whole arc in place of
    /// the tangent; it never leaves the bracket, and what does not settle is bisected.
    fn cross(&self, before: &Point, after: &Point, rises: bool) -> Result<Anchor, SkyError> {
        let (mut low, mut high) = (before.seconds, after.seconds);
        let mut near = if rises { after.anchor } else { before.anchor };
        let mut here = near.spot(self.above);
        for _ in 0..6 {
            let is_later = is_up(here.value.value) == rises;
            let (way, limit) = if is_later { (Way::Back, low) } else { (Way::Onward, high) };
            let way = (way, limit - near.seconds);
            let Some(spot) = near.arc.first(self.above, here, way, Mark::Crossing) else { break };
            near = self.search.anchor_from(&near, spot.seconds + AFTER_S)?;
            here = near.spot(self.above);
            let is_later = is_up(here.value.value) == rises;
            if is_later && spot.seconds.abs() < 0.5 {
                return Ok(near);
            }
            if is_later {
                high = high.min(near.seconds);
            } else {
                low = low.max(near.seconds);
            }
        }
        self.bisect(low, high, rises)
    }

    fn bisect(&self, mut low: f64, mut high: f64, rises: bool) -> Result<Anchor, SkyError> {
        while high - low > PRECISION_S {
            let middle = low + (high - low) / 2.0;
            let anchor = self.search.anchor(middle)?;
            if is_up(anchor.value(self.above).value) == rises { high = middle } else { low = middle }
        }
        self.search.anchor(high)
    }
}

/// On the wanted elevation itself counts as up.
pub(super) fn is_up(above_km: f64) -> bool {
    above_km >= 0.0
}
