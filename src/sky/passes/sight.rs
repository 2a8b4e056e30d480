//! What a search looks at: numbers that change smoothly with the line from station to satellite.

use crate::sky::vector::{Vector, dot, norm};

/// The line of sight at one instant, in any axes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sight {
    /// From the station to the satellite, km.
    pub(super) line: Vector,
    /// The satellite's velocity relative to the turning Earth, km/s.
    pub(super) velocity: Vector,
    /// The change of that velocity, km/s^2.
    pub(super) acceleration: Vector,
    /// The station's zenith, a unit vector.
    pub(super) up: Vector,
}

/// A number whose sign or summit is looked for.
#[derive(Debug, Clone, Copy)]
pub(super) enum Quantity {
    /// How far above the cone of an elevation, whose sine it carries: `line . up - |line| sine`, km.
    /// Positive exactly where the satellite stands higher; with a sine of zero the height above the
    /// horizon's plane.
    Above(f64),
    /// The sine of the elevation.
    Elevation,
    /// The distance with its sign changed, so that the closest place is a summit, km.
    Nearness,
}

/// A quantity at one instant.
#[derive(Debug, Clone, Copy)]
pub(super) struct Value {
    pub(super) value: f64,
    /// Its change a second.
    pub(super) rate: f64,
    /// The rate's change a second, as good as the acceleration is.
    pub(super) bend: f64,
}

impl Quantity {
    pub(super) fn of(self, sight: &Sight) -> Value {
        let Sight { line, velocity, acceleration, up } = *sight;
        let (height, climb, pull) = (dot(line, up), dot(velocity, up), dot(acceleration, up));
        let range = norm(line);
        let shrink = 1.0 / range;
        let rate = dot(line, velocity) * shrink;
        let bend = (dot(velocity, velocity) + dot(line, acceleration) - rate * rate) * shrink;
        match self {
            Self::Above(sine) => {
                Value { value: height - range * sine, rate: climb - rate * sine, bend: pull - bend * sine }
            }
            Self::Elevation => {
                let sine = height * shrink;
                let turn = (climb - rate * sine) * shrink;
                Value { value: sine, rate: turn, bend: (pull - bend * sine - 2.0 * rate * turn) * shrink }
            }
            Self::Nearness => Value { value: -range, rate: -rate, bend: -bend },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_rate_is_the_change_of_its_value_and_every_bend_that_of_its_rate() {
        let sight = |t: f64| Sight {
            line: [300.0 + 7.0 * t, -400.0 + 0.1 * t * t, 500.0 - 0.5 * t],
            velocity: [7.0, 0.2 * t, -0.5],
            acceleration: [0.0, 0.2, 0.0],
            up: [0.0, 0.6, 0.8],
        };
        for quantity in [Quantity::Above(0.0), Quantity::Above(0.5), Quantity::Elevation, Quantity::Nearness]
        {
            let (before, after) = (quantity.of(&sight(-1e-3)), quantity.of(&sight(1e-3)));
            let Value { rate, bend, .. } = quantity.of(&sight(0.0));
            let changes = [after.value - before.value, after.rate - before.rate].map(|change| change / 2e-3);
            assert!((rate - changes[0]).abs() < 1e-6, "{quantity:?}: {rate} {changes:?}");
            assert!((bend - changes[1]).abs() < 1e-6, "{quantity:?}: {bend} {changes:?}");
        }
    }

    #[test]
    fn above_is_positive_where_the_elevation_is_larger() {
        // Three up and four along is an elevation of 36.87 degrees, whose sine is 0.6.
        let sight =
            Sight { line: [4.0, 0.0, 3.0], velocity: [0.0; 3], acceleration: [0.0; 3], up: [0.0, 0.0, 1.0] };
        assert!((Quantity::Above(0.0).of(&sight).value - 3.0).abs() < 1e-12);
        assert!(Quantity::Above(0.6).of(&sight).value.abs() < 1e-12);
        assert!(Quantity::Above(0.61).of(&sight).value < 0.0);
        assert!((Quantity::Elevation.of(&sight).value - 0.6).abs() < 1e-12);
        assert_eq!(Quantity::Nearness.of(&sight).value, -5.0);
    }
}
