//! Propagated instants of one track.

use std::cell::Cell;

use super::arc::{Arc, Spot};
use super::sight::{Quantity, Value};
use crate::sky::observer::Topocentric;
use crate::sky::{EarthFixed, Look, SkyError, State, Track};
use crate::terms::{Time, later};

/// One track, looked at for passes; times are seconds from where the search begins.
pub(super) struct Search<'a> {
    pub(super) track: &'a Track,
    pub(super) origin: Time,
    propagations: Cell<usize>,
}

/// An instant at which the orbit was propagated, and the arc around it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Anchor {
    pub(super) seconds: f64,
    state: State,
    fixed: EarthFixed,
    pub(super) arc: Arc,
}

/// What is so near to a propagated place on a low orbit needs no other one, seconds: gravity carries the
/// satellite there to a centimetre. The theory's own velocity is not better.
pub(super) const NEAR_S: f64 = 0.2;

impl<'a> Search<'a> {
    pub(super) fn new(track: &'a Track, origin: Time) -> Self {
        Self { track, origin, propagations: Cell::new(0) }
    }

    /// How often the orbit was propagated so far.
    pub(super) fn propagations(&self) -> usize {
        self.propagations.get()
    }

    pub(super) fn time(&self, seconds: f64) -> Time {
        later(self.origin, seconds)
    }

    pub(super) fn anchor(&self, seconds: f64) -> Result<Anchor, SkyError> {
        self.propagations.set(self.propagations.get() + 1);
        let (state, fixed) = self.track.states(self.time(seconds))?;
        self.anchored(seconds, state, fixed)
    }

    /// An anchor so many seconds from another one; propagated where it is not near.
    pub(super) fn anchor_from(&self, near: &Anchor, seconds: f64) -> Result<Anchor, SkyError> {
        let at = near.seconds + seconds;
        if seconds.abs() > NEAR_S || !near.arc.is_low() {
            return self.anchor(at);
        }
        let state = near.state.carried(seconds);
        self.anchored(at, state, self.track.fixed(&state, self.time(at)))
    }

    fn anchored(&self, seconds: f64, state: State, fixed: EarthFixed) -> Result<Anchor, SkyError> {
        let arc = Arc::new(&fixed, self.track.observer()).ok_or_else(|| SkyError::NotPropagated {
            satellite: self.track.name().to_owned(),
            time: self.time(seconds),
            reason: "its orbit is not closed".to_owned(),
        })?;
        Ok(Anchor { seconds, state, fixed, arc })
    }

    /// The whole answer for an anchor's instant, without propagating again.
    pub(super) fn look(&self, anchor: &Anchor) -> Look {
        self.track.look(self.time(anchor.seconds), &anchor.state, &anchor.fixed)
    }

    pub(super) fn topocentric(&self, anchor: &Anchor) -> Topocentric {
        self.track.observer().look_at(&anchor.fixed)
    }
}

impl Anchor {
    pub(super) fn value(&self, quantity: Quantity) -> Value {
        self.spot(quantity).value
    }

    /// The anchor as a place on its own arc.
    pub(super) fn spot(&self, quantity: Quantity) -> Spot {
        self.arc.spot(0.0, quantity)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sky::vector::{minus, norm};
    use crate::sky::{Station, read_elements};

    const LOW: &str = include_str!("../../../config/demo/elements.txt");
    const OTHERS: &str = include_str!("../../../tests/reference/look_elements.txt");

    #[test]
    fn a_place_that_gravity_alone_led_to_is_the_propagated_one_to_a_centimetre() {
        let station = Station::new(54.0, -2.5, 100.0).unwrap();
        let (mut low, mut worst) = (0, 0.0_f64);
        for set in [LOW, OTHERS].into_iter().flat_map(|text| read_elements(text).sets) {
            let track = Track::new(&set, station).unwrap();
            let search = Search::new(&track, set.epoch);
            for begin in (0..50).map(|count| f64::from(count) * 1999.0) {
                let near = search.anchor(begin).unwrap();
                low += usize::from(near.arc.is_low());
                for seconds in [-NEAR_S, NEAR_S] {
                    let carried = search.anchor_from(&near, seconds).unwrap();
                    let exact = search.anchor(begin + seconds).unwrap();
                    let off = norm(minus(carried.fixed.position_km, exact.fixed.position_km));
                    let slip = norm(minus(carried.fixed.velocity_km_s, exact.fixed.velocity_km_s));
                    worst = worst.max(off);
                    assert!(off < 1e-5 && slip < 1e-5, "{}: {off} km, {slip} km/s", set.name);
                }
            }
        }
        println!("{} mm", worst * 1e6);
        assert!(low >= 250, "{low} places on low orbits");
    }
}
