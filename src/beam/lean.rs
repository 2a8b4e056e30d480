//! A mast that does not stand upright.

use crate::terms::{AngleRange, AzEl, NoGo};

/// Sectors are walked around in such steps, and come out so much larger, degrees.
const STEP_DEG: f64 = 1.0;
const SPARE_DEG: f64 = 0.1;
/// Below this a beam never looks.
const LOWEST_DEG: f64 = -20.0;
/// A sector that spreads so far from its middle, as the mount sees it, goes all around, degrees.
const ALL_AROUND_DEG: f64 = 150.0;

/// How a mast leans, and the mount with it: what is level and upright to the mount is not so to the sky.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lean {
    /// By so many degrees from upright.
    pub degrees: f64,
    /// In this compass direction.
    pub towards: f64,
}

impl Lean {
    /// Upright.
    pub const NONE: Self = Self { degrees: 0.0, towards: 0.0 };

    /// A direction in the sky, as the mount counts it. An upright mast changes nothing.
    pub fn seen(self, direction: AzEl) -> AzEl {
        if self.degrees == 0.0 { direction } else { self.turned(direction, self.degrees) }
    }

    /// A direction in the mount's coordinates, flipped or not, as the sky counts it.
    pub fn in_the_sky(self, direction: AzEl) -> AzEl {
        if self.degrees == 0.0 { direction } else { self.turned(direction, -self.degrees) }
    }

    /// The sky turned by so many degrees about the level line across the lean. Whoever leans forward has to
    /// look up by as much to see the horizon ahead, and down to see the one behind.
    fn turned(self, direction: AzEl, by: f64) -> AzEl {
        let (sin, cos) = by.to_radians().sin_cos();
        let (across, along) = (direction.azimuth - self.towards).to_radians().sin_cos();
        let (height, level) = direction.elevation.to_radians().sin_cos();
        let (along, across) = (level * along, level * across);
        let (along, height) = (cos * along - sin * height, cos * height + sin * along);
        let azimuth = (self.towards + across.atan2(along).to_degrees()).rem_euclid(360.0);
        AzEl::new(azimuth, height.atan2(along.hypot(across)).to_degrees())
    }

    /// The least sector in the mount's coordinates that holds all of this one in the sky.
    pub fn covering(self, sector: NoGo) -> NoGo {
        if self.degrees == 0.0 {
            return sector;
        }
        let width = match sector.azimuth.to - sector.azimuth.from {
            whole if whole >= 360.0 => 360.0,
            width => width.rem_euclid(360.0),
        };
        let (low, high) = (sector.elevation.from.max(LOWEST_DEG), sector.elevation.to.max(LOWEST_DEG));
        let middle = self.seen(AzEl::new(sector.azimuth.from + width / 2.0, (low + high) / 2.0)).azimuth;
        let steps = |length: f64| {
            (0..=(length / STEP_DEG).ceil() as u32).map(move |n| (f64::from(n) * STEP_DEG).min(length))
        };
        let along = [low, high].into_iter().flat_map(|el| steps(width).map(move |by| (by, el)));
        let up = [0.0, width].into_iter().flat_map(|by| steps(high - low).map(move |el| (by, low + el)));
        let edge =
            along.chain(up).map(|(by, elevation)| self.seen(AzEl::new(sector.azimuth.from + by, elevation)));
        let (mut aside, mut tilt) = ((0.0_f64, 0.0_f64), (90.0_f64, -90.0_f64));
        for place in edge {
            let off = (place.azimuth - middle + 180.0).rem_euclid(360.0) - 180.0;
            aside = (aside.0.min(off), aside.1.max(off));
            tilt = (tilt.0.min(place.elevation), tilt.1.max(place.elevation));
        }
        // What the mount calls overhead may lie within.
        let top = self.in_the_sky(AzEl::new(0.0, 90.0));
        let around = width >= 360.0 || aside.1 - aside.0 > 2.0 * ALL_AROUND_DEG || sector.forbids(top);
        let azimuth = if around {
            AngleRange::new(0.0, 360.0)
        } else {
            AngleRange::new(middle + aside.0 - SPARE_DEG, middle + aside.1 + SPARE_DEG)
        };
        let from = if sector.elevation.from <= LOWEST_DEG { -90.0 } else { tilt.0 - SPARE_DEG };
        let to = if sector.forbids(top) { 90.0 } else { (tilt.1 + SPARE_DEG).min(90.0) };
        NoGo { azimuth, elevation: AngleRange::new(from, to) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const EAST: Lean = Lean { degrees: 2.0, towards: 90.0 };

    /// By hand: leaning to the east, the horizon there is 2 degrees up and the one in the west 2 down; in
    /// the north it is level. What is overhead lies 2 degrees from the mount's own zenith, to the west.
    #[test]
    fn what_is_level_lies_higher_where_the_mast_leans() {
        for (azimuth, elevation, seen) in [
            (90.0, 0.0, (90.0, 2.0)),
            (270.0, 0.0, (270.0, -2.0)),
            (0.0, 0.0, (0.0, 0.0)),
            (90.0, 88.0, (90.0, 90.0)),
            (0.0, 90.0, (270.0, 88.0)),
        ] {
            let found = EAST.seen(AzEl::new(azimuth, elevation));
            assert!(found.angle_to(AzEl::new(seen.0, seen.1)) < 1e-9, "{azimuth} {elevation}: {found:?}");
        }
        assert_eq!(Lean::NONE.seen(AzEl::new(400.0, 100.0)), AzEl::new(400.0, 100.0));
    }

    #[test]
    fn angles_stay_as_they_are_and_the_way_back_leads_back() {
        for (a, b) in
            [((10.0, 5.0), (200.0, 60.0)), ((359.0, 89.0), (170.0, 80.0)), ((90.0, 0.0), (90.0, 45.0))]
        {
            let (a, b) = (AzEl::new(a.0, a.1), AzEl::new(b.0, b.1));
            let lean = Lean { degrees: 7.0, towards: 233.0 };
            assert!((lean.seen(a).angle_to(lean.seen(b)) - a.angle_to(b)).abs() < 1e-9);
            assert!(lean.in_the_sky(lean.seen(a)).angle_to(a) < 1e-6);
        }
    }

    #[test]
    fn a_sector_is_covered_whole_and_not_by_much_more() {
        for lean in [EAST, Lean { degrees: 5.0, towards: 200.0 }, Lean { degrees: 10.0, towards: 350.0 }] {
            for (from, to, low, high) in [
                (90.0, 120.0, -90.0, 20.0),
                (350.0, 10.0, 5.0, 15.0),
                (0.0, 200.0, 40.0, 70.0),
                (0.0, 360.0, -90.0, 5.0),
                (170.0, 260.0, 50.0, 90.0),
            ] {
                let sector =
                    NoGo { azimuth: AngleRange::new(from, to), elevation: AngleRange::new(low, high) };
                let covered = lean.covering(sector);
                for azimuth in 0..720 {
                    for elevation in -19..90 {
                        let place = AzEl::new(f64::from(azimuth) / 2.0, f64::from(elevation));
                        if sector.forbids(place) {
                            assert!(
                                covered.forbids(lean.seen(place)),
                                "{place:?} of {sector:?}: {covered:?}"
                            );
                        }
                    }
                }
            }
        }
        let wall = NoGo { azimuth: AngleRange::new(85.0, 95.0), elevation: AngleRange::new(-90.0, 20.0) };
        let NoGo { azimuth, elevation } = EAST.covering(wall);
        // By hand: in the direction of the lean all is 2 degrees higher, and hardly wider.
        assert!((elevation.to - 22.1).abs() < 0.05 && elevation.from == -90.0, "{elevation:?}");
        assert!((azimuth.from - 84.8).abs() < 0.3 && (azimuth.to - 95.2).abs() < 0.3, "{azimuth:?}");
    }
}
