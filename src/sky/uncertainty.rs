//! How far what is said of a satellite may be off: an element set's error and its growth, the
//! clock's error, and a station that is only known by its square.
//!
//! All figures are standard deviations: two times out of three it is less, nineteen out of twenty
//! less than double. The parts are taken as independent, so their squares add up.
//!
//! What an element set misses by at an age of t days:
//!
//! - ahead: 1 km at the epoch, 1.5 km t from the mean motion, and from the drag a fifth of what it
//!   does by then, which grows with the square of t;
//! - out of the plane: 0.5 km, and 0.1 km t; above: 0.3 km, and 0.1 km t.
//!
//! These are common practice for low orbits (a published set is good to about a kilometre and
//! loses one to three a day; the upper air's density is foretold to some 15 or 20 percent), and not
//! from a source. They are scaled, each direction by itself, by what the satellite's own sets missed
//! by; the common figures count as much as two misses.

use super::observer::{Observer, Topocentric};
use super::orbit_frame::OrbitFrame;
use super::vector::{Vector, norm, plus, scaled};
use super::{ElementSet, Miss, Propagator, SkyError, State, Track};
use crate::terms::{AzEl, Time, later};

/// What a newly published set misses by, and what each day adds: km ahead, out of the plane, above.
const AHEAD: (f64, f64) = (1.0, 1.5);
const OUT_OF_PLANE: (f64, f64) = (0.5, 0.1);
const ABOVE: (f64, f64) = (0.3, 0.1);

/// How much of the drag's effect is in doubt.
const DRAG_DOUBT: f64 = 0.2;

/// The drag term of a small satellite, per Earth radius, taken where a set has none; then all of
/// its effect is in doubt.
const USUAL_DRAG_TERM: f64 = 1e-4;

/// How many misses the common figures count for.
const COMMON_WEIGHT: f64 = 2.0;

/// Sets that follow each other are partly made from the same observations and agree too well, so
/// they make an error at most this much smaller than usual.
const LEAST_SCALE: f64 = 0.5;

/// How an orbit's error grows with the age of its elements.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Growth {
    ahead: f64,
    out_of_plane: f64,
    above: f64,
    drag_km_day2: f64,
}

/// How far a satellite may be from where it is said to be, km.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OrbitError {
    /// Along the orbit.
    pub along_km: f64,
    /// Out of the plane.
    pub cross_km: f64,
    /// In height.
    pub radial_km: f64,
}

/// How far a look may be off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Uncertainty {
    /// Of the direction, degrees on the sky.
    pub pointing_deg: f64,
    /// How much earlier or later everything may come, seconds.
    pub timing_s: f64,
    /// Of the range rate, km/s.
    pub range_rate_km_s: f64,
}

impl Growth {
    /// Of a satellite of which nothing but the set is known.
    pub(super) fn usual(set: &ElementSet) -> Self {
        Self { ahead: 1.0, out_of_plane: 1.0, above: 1.0, drag_km_day2: drag_in_doubt(set) }
    }

    /// Of the same satellite, whose sets missed each other so far.
    pub(super) fn learnt(self, misses: &[Miss]) -> Self {
        let usual = Self { ahead: 1.0, out_of_plane: 1.0, above: 1.0, ..self };
        let expected = |miss: &Miss| usual.at(miss.age_days);
        Self {
            ahead: scale(misses, |miss| miss.along_km / expected(miss).along_km),
            out_of_plane: scale(misses, |miss| miss.cross_km / expected(miss).cross_km),
            above: scale(misses, |miss| miss.radial_km / expected(miss).radial_km),
            ..usual
        }
    }

    /// At an age of the elements, before the epoch as after it.
    pub(super) fn at(&self, age_days: f64) -> OrbitError {
        let days = age_days.abs();
        let sum = |(at_once, a_day): (f64, f64)| at_once.hypot(a_day * days);
        OrbitError {
            along_km: self.ahead * sum(AHEAD).hypot(self.drag_km_day2 * days * days),
            cross_km: self.out_of_plane * sum(OUT_OF_PLANE),
            radial_km: self.above * sum(ABOVE),
        }
    }
}

/// The root of the mean square of what misses were to what was expected.
fn scale(misses: &[Miss], ratio: impl Fn(&Miss) -> f64) -> f64 {
    let squares: f64 = misses.iter().map(|miss| ratio(miss).powi(2)).sum();
    ((COMMON_WEIGHT + squares) / (COMMON_WEIGHT + misses.len() as f64)).sqrt().max(LEAST_SCALE)
}

/// What is in doubt of the way by which the drag has brought the satellite ahead, km after a day; by
/// the theory itself, with the drag and without. A satellite that comes down before the day is over
/// is asked after a tenth of it.
fn drag_in_doubt(set: &ElementSet) -> f64 {
    let (drag_term, doubt) = match set.drag_term {
        0.0 => (USUAL_DRAG_TERM, 1.0),
        known => (known, DRAG_DOUBT),
    };
    let without = ElementSet { drag_term: 0.0, ..set.clone() };
    let with = ElementSet { drag_term, ..set.clone() };
    let ahead = |days: f64| -> Result<f64, SkyError> {
        let time = later(set.epoch, days * 86_400.0);
        let (free, braked) = (Propagator::new(&without)?.at(time)?, Propagator::new(&with)?.at(time)?);
        Ok(OrbitFrame::at(&free).offsets(braked.position_km).along_km.abs() / (days * days))
    };
    doubt * ahead(1.0).or_else(|_| ahead(0.1)).unwrap_or_default()
}

/// The states that a satellite may have instead, one for each way of being wrong. One that is wrong
/// out of the plane or in height swings about the right one once in a revolution, so its speed is
/// wrong as well, a quarter of a revolution later.
fn instead(state: &State, error: OrbitError) -> [State; 5] {
    let frame = OrbitFrame::at(state);
    let rate = norm(state.velocity_km_s) / norm(state.position_km);
    let moved = |by: Vector| State { position_km: plus(state.position_km, by), ..*state };
    let swung = |by: Vector| State { velocity_km_s: plus(state.velocity_km_s, scaled(by, rate)), ..*state };
    let (aside, above) = (scaled(frame.normal, error.cross_km), scaled(frame.radial, error.radial_km));
    [frame.ahead(state, error.along_km), moved(aside), swung(aside), moved(above), swung(above)]
}

/// The squares of what each way of being wrong makes of a look.
struct Squares {
    right: Topocentric,
    pointing: f64,
    range_rate: f64,
}

impl Squares {
    fn add(&mut self, instead: Topocentric) {
        let direction = |look: Topocentric| AzEl::new(look.azimuth_deg, look.elevation_deg);
        self.pointing += direction(self.right).angle_to(direction(instead)).powi(2);
        self.range_rate += (self.right.range_rate_km_s - instead.range_rate_km_s).powi(2);
    }
}

/// How far the look at `time` may be off, by a clock that may be wrong by so much.
pub(super) fn uncertainty(track: &Track, time: Time, clock_error_s: f64) -> Result<Uncertainty, SkyError> {
    let (state, fixed) = track.states(time)?;
    let orbit = track.orbit_error(time);
    let mut squares = Squares { right: track.observer().look_at(&fixed), pointing: 0.0, range_rate: 0.0 };
    for instead in instead(&state, orbit) {
        squares.add(track.observer().look_at(&track.fixed(&instead, time)));
    }
    for instead in track.station().instead() {
        squares.add(Observer::new(&instead).look_at(&fixed));
    }
    if clock_error_s != 0.0 {
        squares.add(track.topocentric(later(time, clock_error_s))?);
    }
    let kilometres = orbit.along_km.hypot(track.station().doubt_km());
    Ok(Uncertainty {
        pointing_deg: squares.pointing.sqrt(),
        timing_s: (kilometres / norm(state.velocity_km_s)).hypot(clock_error_s),
        range_rate_km_s: squares.range_rate.sqrt(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sky::{Station, read_elements};

    fn tern() -> ElementSet {
        let demo = include_str!("../../config/demo/elements.txt");
        read_elements(demo).sets.into_iter().find(|set| set.name == "TERN-1").unwrap()
    }

    fn undragged() -> Growth {
        Growth { drag_km_day2: 0.0, ..Growth::usual(&tern()) }
    }

    fn missed(age_days: f64, along_km: f64) -> Miss {
        Miss { age_days, along_km, cross_km: 0.0, radial_km: 0.0 }
    }

    fn is_near(value: f64, wanted: f64) -> bool {
        (value - wanted).abs() < 0.01 * wanted
    }

    /// By hand: sqrt(1 + 1.5 x 1.5) = 1.803; after ten days sqrt(1 + 15 x 15) = 15.03, with 0.4 km a day
    /// and day sqrt(226 + 40 x 40) = 42.73.
    #[test]
    fn an_error_grows_with_the_age_and_its_square_where_there_is_drag() {
        let ahead = |growth: Growth, days: f64| growth.at(days).along_km;
        let low = Growth { drag_km_day2: 0.4, ..undragged() };
        assert!(is_near(ahead(undragged(), 0.0), 1.0) && is_near(ahead(undragged(), 1.0), 1.803));
        assert!(is_near(ahead(undragged(), 10.0), 15.03) && is_near(ahead(low, 10.0), 42.73));
        assert_eq!(low.at(-10.0), low.at(10.0));
        assert!(is_near(low.at(10.0).cross_km, 1.118) && is_near(low.at(10.0).radial_km, 1.044));
    }

    /// By hand: two misses ten times as large as usual make sqrt((2 + 200) / 4) = 7.106 times as much,
    /// and where they missed by nothing 0.5 km x sqrt(2 / 4) = 0.3536 km. Eight that missed by nothing
    /// would make sqrt(2 / 10) = 0.447, but half is the least.
    #[test]
    fn what_a_satellites_sets_missed_by_is_expected_again() {
        let learnt = undragged().learnt(&[missed(0.0, 10.0), missed(1.0, -18.03)]);
        assert!(is_near(learnt.at(0.0).along_km, 7.106) && is_near(learnt.at(0.0).cross_km, 0.3536));
        assert!(is_near(undragged().learnt(&[missed(1.0, 0.0); 8]).at(0.0).along_km, 0.5));
        assert_eq!(undragged().learnt(&[]), undragged());
    }

    /// It is the theory's own, which is held elsewhere; here, that it follows the drag term and is never
    /// taken for none.
    #[test]
    fn the_drag_in_doubt_follows_the_drag_term() {
        let doubt = |drag_term: f64| drag_in_doubt(&ElementSet { drag_term, ..tern() });
        assert!(is_near(doubt(4e-4), 2.0 * doubt(2e-4)) && is_near(doubt(-2e-4), doubt(2e-4)));
        assert!(is_near(doubt(0.0), 5.0 * doubt(1e-4)) && doubt(1e-4) > 0.0);
    }

    /// By hand: a six-character square is 5 by 2.5 minutes, at the equator 9.27 by 4.63 km; a side
    /// divided by the root of 12 is the deviation of a place anywhere in it: 2.676 and 1.337 km.
    #[test]
    fn a_square_is_as_wide_as_it_is() {
        let square = Station::from_locator("JJ00AA", 0.0).unwrap();
        assert!(is_near(square.doubt_km(), 2.676f64.hypot(1.337) / 2f64.sqrt()), "{}", square.doubt_km());
        assert_eq!(Station::new(54.0, -2.5, 0.0).unwrap().doubt_km(), 0.0);
    }
}
