//! Everything about one pass, once it is known from when to when it lasts.

use super::Pass;
use super::anchor::{Anchor, NEAR_S, Search};
use super::arc::{Mark, Way};
use super::sight::Quantity;
use super::walk::Walk;
use crate::sky::SkyError;
use crate::terms::seconds_between;

/// How far from a summit its neighbours are looked at, seconds.
const BESIDE_S: f64 = 1.0;

/// The most by which velocities misplace a summit, seconds.
const MOST_SHIFT_S: f64 = 30.0;

/// A stay above the wanted elevation, or the part of it inside the search.
#[derive(Clone, Copy)]
pub(super) struct Span {
    pub(super) start: Anchor,
    /// Whether it rises at the start.
    pub(super) rises: bool,
    pub(super) end: Anchor,
    /// Whether it sets at the end.
    pub(super) sets: bool,
    /// Propagated while it is up, on a low orbit near where it stands highest.
    pub(super) up: Anchor,
}

impl Search<'_> {
    pub(super) fn describe(&self, span: &Span) -> Result<Pass, SkyError> {
        let highest = self.summit(Quantity::Elevation, span, span.up)?;
        let look = self.look(&highest);
        let tca = self.time(self.summit(Quantity::Nearness, span, highest)?.seconds);
        let azimuth = |anchor: &Anchor| self.topocentric(anchor).azimuth_deg;
        let (start, end) = (&span.start, &span.end);
        let aos = span.rises.then(|| self.time(start.seconds));
        let los = span.sets.then(|| self.time(end.seconds));
        Ok(Pass {
            aos,
            highest: look.time,
            tca,
            los,
            max_elevation_deg: look.elevation_deg,
            aos_azimuth_deg: span.rises.then(|| azimuth(start)),
            highest_azimuth_deg: look.azimuth_deg,
            los_azimuth_deg: span.sets.then(|| azimuth(end)),
            duration_s: aos.zip(los).map(|(aos, los)| seconds_between(aos, los)),
            sunlit_at_highest: look.sunlit,
        })
    }

    /// Where a quantity is largest in a span, its ends included; it may be close to `near`.
    fn summit(&self, quantity: Quantity, span: &Span, near: Anchor) -> Result<Anchor, SkyError> {
        if let Some(only) = self.only_summit(quantity, span, near)? {
            return Ok(only);
        }
        let end = |anchor: &Anchor| (anchor.seconds, anchor.value(quantity).value);
        let (mut best, last) = (end(&span.start), end(&span.end));
        if last.1 > best.1 {
            best = last;
        }
        let mut walk = Walk::new(self, quantity, span.start, span.end.seconds);
        while let Some(point) = walk.next()? {
            if point.value > best.1 {
                best = (point.seconds, point.value);
            }
        }
        let is_inside = best.0 > span.start.seconds + BESIDE_S && best.0 < span.end.seconds - BESIDE_S;
        let is_flat = is_inside && !span.start.arc.is_low();
        self.anchor(if is_flat { self.sharpened(quantity, best.0)? } else { best.0 })
    }

    /// On a low orbit a pass has one summit, close to where it is highest above the plane of the
    /// horizon; `None` where that is not inside the span.
    fn only_summit(
        &self,
        quantity: Quantity,
        span: &Span,
        mut near: Anchor,
    ) -> Result<Option<Anchor>, SkyError> {
        let (low, high) = (span.start.seconds, span.end.seconds);
        for _ in 0..4 {
            if !near.arc.is_low() || near.seconds < low || near.seconds > high {
                return Ok(None);
            }
            let here = near.spot(quantity);
            let (way, limit) = if here.value.rate >= 0.0 { (Way::Onward, high) } else { (Way::Back, low) };
            let way = (way, limit - near.seconds);
            let Some(turn) = near.arc.first(quantity, here, way, Mark::Turn) else { return Ok(None) };
            near = self.anchor_from(&near, turn.seconds)?;
            if turn.seconds.abs() < NEAR_S {
                return Ok(Some(near));
            }
        }
        Ok(None)
    }

    /// The theory's velocities are not quite the change of its places: on high and eccentric orbits
    /// they are off by up to a metre a second, which puts a flat summit seconds away. Its place is
    /// found from three values then.
    fn sharpened(&self, quantity: Quantity, at: f64) -> Result<f64, SkyError> {
        let value = |seconds: f64| Ok(self.anchor(seconds)?.value(quantity).value);
        let (before, here, after) = (value(at - BESIDE_S)?, value(at)?, value(at + BESIDE_S)?);
        let bend = before - 2.0 * here + after;
        let shift = BESIDE_S * (before - after) / (2.0 * bend);
        let nearer = at + shift.clamp(-MOST_SHIFT_S, MOST_SHIFT_S);
        Ok(if bend < 0.0 && value(nearer)? > here { nearer } else { at })
    }
}
