//! From turn to turn of a quantity: the instants between which it only rises or only falls.

use super::anchor::{Anchor, NEAR_S, Search};
use super::arc::{Mark, Spot, Way};
use super::sight::Quantity;
use crate::sky::SkyError;

/// A summit so near to zero is propagated itself before its sign is believed, km.
const GRAZE_KM: f64 = 1e-3;

/// An instant of the walk.
#[derive(Debug, Clone, Copy)]
pub(super) struct Point {
    pub(super) seconds: f64,
    pub(super) value: f64,
    /// A propagated instant near it; its own where the sign of the value would be in doubt.
    pub(super) anchor: Anchor,
}

/// Walks through a window. Between two points that follow each other the quantity is monotonous.
pub(super) struct Walk<'s, 'a> {
    search: &'s Search<'a>,
    quantity: Quantity,
    here: Anchor,
    /// Where on the arc of `here` the walk stands.
    spot: Spot,
    /// The last point, seconds.
    last: f64,
    end: f64,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Summit,
    Valley,
}

impl<'s, 'a> Walk<'s, 'a> {
    pub(super) fn new(search: &'s Search<'a>, quantity: Quantity, start: Anchor, end: f64) -> Self {
        let spot = start.spot(quantity);
        Self { search, quantity, here: start, spot, last: start.seconds, end }
    }

    /// Lets the walk go on to another end.
    pub(super) fn go_on_to(&mut self, end: f64) {
        self.end = end;
    }

    /// The next point; for a height the last one is the end of the window.
    pub(super) fn next(&mut self) -> Result<Option<Point>, SkyError> {
        if self.last >= self.end {
            return Ok(None);
        }
        let arc = &self.here.arc;
        let limit = arc.reach_s().min(self.end - self.here.seconds);
        if let Some((a, b)) = arc.scan(self.quantity, self.spot, (Way::Onward, limit), Mark::Turn) {
            let kind = if a.value.rate >= 0.0 { Kind::Summit } else { Kind::Valley };
            let before = self.last;
            if kind == Kind::Valley && b.seconds < limit && self.is_far_below(&a, &b) {
                return Ok(Some(self.stand_at(b, b)));
            }
            let turn = arc.narrowed(self.quantity, a, b, Mark::Turn);
            if turn.seconds > limit {
                return self.beyond();
            }
            let point = self.settle(kind, turn)?;
            if point.seconds > before {
                return Ok(Some(point));
            }
        }
        self.beyond()
    }

    /// Where the arc shows no more turns.
    fn beyond(&mut self) -> Result<Option<Point>, SkyError> {
        let reached = self.here.seconds + self.here.arc.reach_s();
        if self.wants_summits_only() && reached >= self.end {
            self.last = self.end;
            return Ok(None);
        }
        self.hop().map(Some)
    }

    /// Whether a valley is beyond doubt without being known exactly.
    fn is_far_below(&self, a: &Spot, b: &Spot) -> bool {
        let doubt = self.here.arc.doubt_km(b.seconds);
        matches!(self.quantity, Quantity::Above(_)) && a.value.value.max(b.value.value) < -doubt
    }

    /// The value at the end is known to who looks for summits.
    fn wants_summits_only(&self) -> bool {
        !matches!(self.quantity, Quantity::Above(_))
    }

    fn is_rising(&self) -> bool {
        self.spot.value.rate >= 0.0
    }

    /// Brings a turn that was seen from afar to its true place, unless the value is beyond doubt.
    fn settle(&mut self, kind: Kind, mut turn: Spot) -> Result<Point, SkyError> {
        for _ in 0..8 {
            let at = self.here.seconds + turn.seconds;
            if self.is_beyond_doubt(kind, &turn) {
                return Ok(self.stand(turn));
            }
            if turn.seconds.abs() < NEAR_S {
                if turn.value.value.abs() > GRAZE_KM {
                    return Ok(self.stand(turn));
                }
                self.here = self.search.anchor(at)?;
                break;
            }
            self.here = self.search.anchor(at.min(self.end))?;
            let spot = self.here.spot(self.quantity);
            if let Some(point) = self.stand_up(kind, spot) {
                return Ok(point);
            }
            let here = &self.here;
            let is_ahead = (spot.value.rate >= 0.0) == (kind == Kind::Summit);
            let (way, limit) = if is_ahead {
                (Way::Onward, here.arc.reach_s().min(self.end - here.seconds))
            } else {
                (Way::Back, self.last - here.seconds)
            };
            match here.arc.first(self.quantity, spot, (way, limit), Mark::Turn) {
                Some(nearer) => turn = nearer,
                None => break,
            }
        }
        Ok(self.stand_here())
    }

    /// Summits are wanted where the quantity is a summit itself; the sign of a height is all that
    /// is wanted of it.
    fn is_beyond_doubt(&self, kind: Kind, turn: &Spot) -> bool {
        match self.quantity {
            Quantity::Above(_) => turn.value.value.abs() > self.here.arc.doubt_km(turn.seconds),
            Quantity::Elevation | Quantity::Nearness => kind == Kind::Valley,
        }
    }

    /// To where the arc no longer shows every turn, or to the end. A turn near the seam can be
    /// later by the old arc and earlier by the new one: then it is looked for backwards.
    fn hop(&mut self) -> Result<Point, SkyError> {
        let was_rising = self.is_rising();
        let at = (self.here.seconds + self.here.arc.reach_s()).max(self.last + 1.0).min(self.end);
        self.here = self.search.anchor(at)?;
        let spot = self.here.spot(self.quantity);
        let is_rising = spot.value.rate >= 0.0;
        if was_rising != is_rising {
            let limit = self.last - at;
            if let Some(turn) = self.here.arc.first(self.quantity, spot, (Way::Back, limit), Mark::Turn) {
                let kind = if was_rising { Kind::Summit } else { Kind::Valley };
                return self.settle(kind, turn);
            }
        }
        Ok(self.stand_here())
    }

    /// Near a low summit the satellite is up, and so it is at the summit: that is all that is wanted.
    fn stand_up(&mut self, kind: Kind, here: Spot) -> Option<Point> {
        let Quantity::Above(_) = self.quantity else { return None };
        let arc = &self.here.arc;
        if kind != Kind::Summit || !arc.is_low() || here.value.value < GRAZE_KM {
            return None;
        }
        let beyond = arc.beyond_turn(self.quantity);
        (beyond.value.rate < 0.0).then(|| self.stand_at(here, beyond))
    }

    fn stand_here(&mut self) -> Point {
        let here = self.here.spot(self.quantity);
        self.stand_at(here, here)
    }

    /// The walk goes on a second further, so that it does not find the same turn again.
    fn stand(&mut self, turn: Spot) -> Point {
        let further = self.here.arc.spot(turn.x + self.here.arc.a_second(), self.quantity);
        self.stand_at(turn, further)
    }

    /// At one place, to go on from another.
    fn stand_at(&mut self, spot: Spot, further: Spot) -> Point {
        self.last = self.here.seconds + spot.seconds;
        self.spot = further;
        Point { seconds: self.last, value: spot.value.value, anchor: self.here }
    }
}
