//! Where the beam must not go: a wall, the neighbour's window.

use serde::{Deserialize, Serialize};

use super::{AngleRange, AzEl};

/// A sector of the sky that the beam must not enter. Wraps and flips of a mount are seen through:
/// however the mount looks there, it is forbidden. The edges belong to the sector.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NoGo {
    /// Compass azimuths, clockwise from `from` to `to`; `from` may be the larger one, where the
    /// sector lies across the north.
    pub azimuth: AngleRange,
    /// Elevations.
    pub elevation: AngleRange,
}

/// All places where a mount may come by on its way, in its own coordinates. Each axis turns at
/// its own speed, so that a way from one place to another may touch every place in between.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Sweep {
    /// Azimuths, from the least to the largest.
    pub azimuth: AngleRange,
    /// Elevations, from the least to the largest.
    pub elevation: AngleRange,
}

impl Sweep {
    /// A mount that stands.
    pub fn at(place: AzEl) -> Self {
        let just = |degrees| AngleRange::new(degrees, degrees);
        Self { azimuth: just(place.azimuth), elevation: just(place.elevation) }
    }

    /// The same, and on to `place`.
    pub fn with(self, place: AzEl) -> Self {
        let wide = |range: AngleRange, to: f64| AngleRange::new(range.from.min(to), range.to.max(to));
        Self { azimuth: wide(self.azimuth, place.azimuth), elevation: wide(self.elevation, place.elevation) }
    }

    /// Whether the two have a place in common.
    pub fn meets(self, other: Sweep) -> bool {
        let meet = |a: AngleRange, b: AngleRange| a.from <= b.to && b.from <= a.to;
        meet(self.azimuth, other.azimuth) && meet(self.elevation, other.elevation)
    }
}

impl NoGo {
    /// Whether the beam looks into the sector from this place of a mount.
    pub fn forbids(self, place: AzEl) -> bool {
        self.is_met_by(Sweep::at(place))
    }

    /// Whether a mount on this way may come by the sector.
    pub fn is_met_by(self, sweep: Sweep) -> bool {
        self.places(sweep.azimuth).any(|place| place.meets(sweep))
    }

    /// The places of a mount, among these azimuths of its own, from which the beam looks into the
    /// sector: in each wrap, and flipped over.
    pub fn places(self, azimuth: AngleRange) -> impl Iterator<Item = Sweep> {
        let width = (self.azimuth.to - self.azimuth.from).rem_euclid(360.0);
        let whole = self.azimuth.to - self.azimuth.from >= 360.0;
        let width = if whole { 360.0 } else { width };
        let flipped = AngleRange::new(180.0 - self.elevation.to, 180.0 - self.elevation.from);
        [(self.azimuth.from, self.elevation), (self.azimuth.from + 180.0, flipped)].into_iter().flat_map(
            move |(from, elevation)| {
                let first = from + 360.0 * ((azimuth.from - width - from) / 360.0).ceil();
                let turns = (0..16).map(move |turn| first + 360.0 * f64::from(turn));
                turns
                    .take_while(move |from| *from <= azimuth.to)
                    .map(move |from| Sweep { azimuth: AngleRange::new(from, from + width), elevation })
            },
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A wall in the north-east up to 20 degrees, and a window across the north.
    const WALL: NoGo = NoGo { azimuth: AngleRange::new(40.0, 60.0), elevation: AngleRange::new(-90.0, 20.0) };
    const WINDOW: NoGo =
        NoGo { azimuth: AngleRange::new(350.0, 10.0), elevation: AngleRange::new(5.0, 15.0) };

    #[test]
    fn a_sector_is_forbidden_in_every_wrap_and_flipped() {
        for (azimuth, elevation, forbidden) in [
            (40.0, 20.0, true),
            (50.0, 0.0, true),
            (50.0, 20.1, false),
            (39.9, 0.0, false),
            (410.0, 0.0, true),
            (-310.0, 0.0, true),
            (230.0, 170.0, true),
            (230.0, 10.0, false),
            (50.0, 170.0, false),
        ] {
            assert_eq!(WALL.forbids(AzEl::new(azimuth, elevation)), forbidden, "{azimuth} {elevation}");
        }
        for (azimuth, forbidden) in [(355.0, true), (5.0, true), (360.0, true), (-5.0, true), (20.0, false)] {
            assert_eq!(WINDOW.forbids(AzEl::new(azimuth, 10.0)), forbidden, "{azimuth}");
        }
    }

    #[test]
    fn a_way_is_forbidden_when_either_axis_may_be_the_quicker_one() {
        let way = |a: (f64, f64), b: (f64, f64)| Sweep::at(AzEl::new(a.0, a.1)).with(AzEl::new(b.0, b.1));
        assert!(WALL.is_met_by(way((30.0, 0.0), (70.0, 0.0))));
        assert!(WALL.is_met_by(way((30.0, 0.0), (70.0, 80.0))), "the azimuth may be quicker");
        assert!(!WALL.is_met_by(way((30.0, 21.0), (70.0, 80.0))));
        assert!(WALL.is_met_by(way((100.0, 0.0), (450.0, 0.0))), "a wrap further on");
        assert!(!WALL.is_met_by(way((100.0, 0.0), (399.0, 0.0))));
        let whole = NoGo { azimuth: AngleRange::new(0.0, 360.0), ..WALL };
        assert!(whole.forbids(AzEl::new(123.0, 19.0)) && !whole.forbids(AzEl::new(123.0, 21.0)));
    }
}
