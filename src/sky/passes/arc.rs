//! The orbit around one propagated place as an ellipse: cheap enough to be looked along, and close
//! enough to say where to propagate next.
//!
//! Positions are functions of the eccentric anomaly counted from that place, and so is the time:
//! nowhere is Kepler's equation to be solved (Battin, An Introduction to the Mathematics and
//! Methods of Astrodynamics, section 4.3).

use std::f64::consts::TAU;

use super::sight::{Quantity, Sight, Value};
use crate::sky::EarthFixed;
use crate::sky::frames::ROTATION_RAD_S;
use crate::sky::observer::Observer;
use crate::sky::propagator::GRAVITY;
use crate::sky::vector::{Vector, dot, minus, norm, plus, scaled};

/// What the ellipse leaves out (flattening, Moon and Sun, air) pulls by less than a hundredth of
/// gravity anywhere above the surface.
const LEFT_OUT: f64 = 0.01;

/// A step in the eccentric anomaly, and the most that the Earth turns in one, radians.
const STEP: f64 = 0.3;

/// Orbits of a shorter period come closest once a revolution, seconds.
const LOW_PERIOD_S: f64 = 225.0 * 60.0;

/// On those a turn follows the one before it by about half a revolution; so a quarter is a safe step.
const LOW_STEP: f64 = TAU / 4.0;

/// The ellipse that touches the orbit at one instant, and the station that turns below it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Arc {
    /// In the Earth-fixed axes of that instant, which this arc keeps.
    position: Vector,
    velocity: Vector,
    station: Vector,
    up: Vector,
    radius: f64,
    /// Radius over axis.
    flat: f64,
    /// The position times the velocity, over the square root of gravity and of the axis.
    climb: f64,
    /// Of the mean anomaly, rad/s.
    motion: f64,
    /// Seconds to a radian of it.
    slowness: f64,
    low: bool,
    step: f64,
    reach_s: f64,
}

/// A place on an arc.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spot {
    /// The eccentric anomaly from the arc's beginning, radians.
    pub(super) x: f64,
    /// The time from there, seconds.
    pub(super) seconds: f64,
    pub(super) value: Value,
    /// Seconds to a radian of the eccentric anomaly.
    pace_s: f64,
}

/// Which way along an arc.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Way {
    Onward,
    Back,
}

/// What is looked for along an arc.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Mark {
    /// Where the value is zero.
    Crossing,
    /// Where it turns: its rate is zero.
    Turn,
}

impl Mark {
    /// The number whose zero it is.
    fn number(self, value: Value) -> f64 {
        match self {
            Self::Crossing => value.value,
            Self::Turn => value.rate,
        }
    }

    /// Where the tangent in one place puts it, radians.
    fn foretold(self, spot: &Spot) -> f64 {
        let Value { value, rate, bend } = spot.value;
        let seconds = match self {
            Self::Crossing => value / rate,
            Self::Turn => rate / bend,
        };
        spot.x - seconds / spot.pace_s
    }
}

impl Way {
    fn sign(self) -> f64 {
        if self == Self::Onward { 1.0 } else { -1.0 }
    }
}

impl Arc {
    /// `None` where the orbit is not closed.
    pub(super) fn new(satellite: &EarthFixed, observer: &Observer) -> Option<Self> {
        let position = satellite.position_km;
        let [vx, vy, vz] = satellite.velocity_km_s;
        let velocity = [vx - ROTATION_RAD_S * position[1], vy + ROTATION_RAD_S * position[0], vz];
        let radius = norm(position);
        let axis = 1.0 / (2.0 / radius - dot(velocity, velocity) / GRAVITY);
        if !(axis > 0.0 && axis.is_finite()) {
            return None;
        }
        let root_axis = axis.sqrt();
        let flat = radius / axis;
        let climb = dot(position, velocity) / (GRAVITY.sqrt() * root_axis);
        let motion = (GRAVITY / axis).sqrt() / axis;
        let eccentricity = ((1.0 - flat).powi(2) + climb * climb).sqrt().min(0.999_999);
        let low = TAU / motion < LOW_PERIOD_S && eccentricity < 0.1;
        let (step, reach_s) = if low { low_paces(motion) } else { paces(eccentricity, motion) };
        let (station, up) = (observer.position_km(), observer.up());
        Some(Self {
            position,
            velocity,
            station,
            up,
            radius,
            flat,
            climb,
            motion,
            slowness: 1.0 / motion,
            low,
            step,
            reach_s,
        })
    }

    /// How far this arc may be trusted to show every summit, seconds.
    pub(super) fn reach_s(&self) -> f64 {
        self.reach_s
    }

    /// Whether the satellite comes closest once a revolution, as on a low and nearly round orbit.
    pub(super) fn is_low(&self) -> bool {
        self.low
    }

    /// A place beyond a turn near the anchor and before the next one, on a low orbit.
    pub(super) fn beyond_turn(&self, quantity: Quantity) -> Spot {
        self.spot(self.step / 4.0, quantity)
    }

    /// A second's worth of mean anomaly, radians.
    pub(super) fn a_second(&self) -> f64 {
        self.motion
    }

    /// How far the orbit may be from this arc after so long, km: twice what a steady pull would do.
    pub(super) fn doubt_km(&self, seconds: f64) -> f64 {
        let pull = LEFT_OUT * GRAVITY / (self.radius * self.radius);
        1.0 + pull * seconds * seconds
    }

    /// The place at eccentric anomaly `x` from the arc's beginning.
    pub(super) fn spot(&self, x: f64, quantity: Quantity) -> Spot {
        let (sin, cos) = x.sin_cos();
        let versed = 1.0 - cos;
        let seconds = (x + self.climb * versed - (1.0 - self.flat) * sin) * self.slowness;
        // The distance from the Earth's centre, in axes.
        let here = 1.0 - (1.0 - self.flat) * cos + self.climb * sin;
        let (per_here, per_flat) = (1.0 / here, 1.0 / self.flat);
        let along = 1.0 - versed * per_flat;
        let across = seconds - (x - sin) * self.slowness;
        let along_rate = -self.motion * sin * per_here * per_flat;
        let across_rate = 1.0 - versed * per_here;
        let sum = |a: f64, b: f64| [0, 1, 2].map(|i| a * self.position[i] + b * self.velocity[i]);
        let (position, inertial) = (sum(along, across), sum(along_rate, across_rate));
        let (sin, cos) = (ROTATION_RAD_S * seconds).sin_cos();
        let turned = |v: Vector| [cos * v[0] - sin * v[1], sin * v[0] + cos * v[1], v[2]];
        let spin = |v: Vector| [ROTATION_RAD_S * v[1], -ROTATION_RAD_S * v[0], 0.0];
        let velocity = plus(inertial, spin(position));
        // Gravity, and what the Earth's turning adds; what that pulls outwards is a two-hundredth of it.
        let gravity = scaled(position, -(self.motion * self.motion) * per_here * per_here * per_here);
        let sight = Sight {
            line: minus(position, turned(self.station)),
            velocity,
            acceleration: plus(gravity, scaled(spin(velocity), 2.0)),
            up: turned(self.up),
        };
        Spot { x, seconds, value: quantity.of(&sight), pace_s: here * self.slowness }
    }

    /// The next stretch beyond `before`, as far as `limit_s` from the anchor, with a mark in it.
    pub(super) fn scan(
        &self,
        quantity: Quantity,
        mut before: Spot,
        (way, limit_s): (Way, f64),
        mark: Mark,
    ) -> Option<(Spot, Spot)> {
        let ahead = way.sign();
        // Of crossings only one is to be expected, and nearer.
        let step = if mark == Mark::Crossing { self.step / 4.0 } else { self.step };
        while (limit_s - before.seconds) * ahead >= 0.0 {
            let after = self.spot(before.x + ahead * step, quantity);
            if (mark.number(before.value) < 0.0) != (mark.number(after.value) < 0.0) {
                return Some((before, after));
            }
            before = after;
        }
        None
    }

    /// The first mark beyond `here`, the anchor itself; fastest where it is near, as an earlier arc
    /// foretold.
    pub(super) fn first(
        &self,
        quantity: Quantity,
        here: Spot,
        (way, limit_s): (Way, f64),
        mark: Mark,
    ) -> Option<Spot> {
        let found = self.beside(quantity, here, way, mark).or_else(|| {
            let (before, after) = self.scan(quantity, here, (way, limit_s), mark)?;
            Some(self.narrowed(quantity, before, after, mark))
        });
        found.filter(|spot| (limit_s - spot.seconds) * way.sign() >= 0.0)
    }

    /// The mark close to the anchor; `None` where the tangents lead elsewhere.
    fn beside(&self, quantity: Quantity, here: Spot, way: Way, mark: Mark) -> Option<Spot> {
        let mut spot = here;
        for _ in 0..4 {
            let x = mark.foretold(&spot);
            if !(0.0..STEP / 3.0).contains(&(x * way.sign())) {
                return None;
            }
            if (x - spot.x).abs() < enough(x) {
                return Some(spot);
            }
            spot = self.spot(x, quantity);
        }
        None
    }

    /// The mark between two places on different sides of it: by tangents that stay in between, else
    /// by false position in the Illinois form, which halves the weight of an end that stays.
    pub(super) fn narrowed(&self, quantity: Quantity, a: Spot, mut b: Spot, mark: Mark) -> Spot {
        let (mut x, mut at_x, mut at_b) = (a.x, mark.number(a.value), mark.number(b.value));
        for _ in 0..60 {
            let tangent = mark.foretold(&b);
            let next = if (tangent - b.x) * (tangent - x) < 0.0 {
                tangent
            } else if at_b == at_x {
                (x + b.x) / 2.0
            } else {
                b.x - at_b * (b.x - x) / (at_b - at_x)
            };
            let spot = self.spot(next, quantity);
            let value = mark.number(spot.value);
            if (value < 0.0) == (at_b < 0.0) {
                at_x /= 2.0;
            } else {
                (x, at_x) = (b.x, at_b);
            }
            let moved = (next - b.x).abs();
            (b, at_b) = (spot, value);
            if value == 0.0 || moved < enough(b.x) || (b.x - x).abs() < enough(b.x) {
                break;
            }
        }
        b
    }
}

/// How exactly a place is asked for, radians: the further from the anchor, the less the arc is to
/// be believed.
fn enough(x: f64) -> f64 {
    1e-10 + 5e-4 * x.abs()
}

/// How wide to step, in eccentric anomaly, and how long an arc shows every turn, in seconds: on a
/// low and nearly round orbit the only summit comes once a revolution.
fn low_paces(motion: f64) -> (f64, f64) {
    (LOW_STEP, 1.2 * TAU / motion)
}

/// On all other orbits the Earth turns and the satellite hurries enough to make several.
fn paces(eccentricity: f64, motion: f64) -> (f64, f64) {
    let at_perigee = ((1.0 - eccentricity) / (1.0 + eccentricity)).sqrt();
    let of_the_earth = motion / (ROTATION_RAD_S * (1.0 + eccentricity));
    (STEP * at_perigee.min(of_the_earth), (TAU / motion / 24.0).min(3600.0))
}

#[cfg(test)]
mod tests {
    use crate::sky::passes::anchor::Search;
    use crate::sky::passes::sight::Quantity;
    use crate::sky::{Station, Track, read_elements};
    use crate::terms::later;

    const LOW: &str = include_str!("../../../config/demo/elements.txt");
    const OTHERS: &str = include_str!("../../../tests/reference/look_elements.txt");

    #[test]
    fn the_orbit_stays_within_the_doubt_of_its_arc_as_far_as_that_reaches() {
        let station = Station::new(54.0, -2.5, 100.0).unwrap();
        let sets = [LOW, OTHERS].into_iter().flat_map(|text| read_elements(text).sets);
        for set in sets {
            let track = Track::new(&set, station).unwrap();
            let search = Search::new(&track, later(set.epoch, 3600.0));
            for begin in (0..20).map(|count| f64::from(count) * 4000.0) {
                let anchor = search.anchor(begin).unwrap();
                let at = |x: f64| anchor.arc.spot(x, Quantity::Above(0.0));
                for x in (0..200).map(|count| f64::from(count) * 0.05) {
                    let spot = at(x);
                    if spot.seconds > anchor.arc.reach_s() {
                        break;
                    }
                    let exact = search.anchor(begin + spot.seconds).unwrap().value(Quantity::Above(0.0));
                    let off = (exact.value - spot.value.value).abs();
                    assert!(off < anchor.arc.doubt_km(spot.seconds), "{}: {off} km at {spot:?}", set.name);
                }
            }
        }
    }
}
