//! The station's own horizon: hills, houses and trees.

/// How high the sky begins in each direction: corners joined by straight lines, all the way round.
#[derive(Debug, Clone, PartialEq)]
pub struct Horizon {
    /// Azimuth and elevation, degrees, in order of azimuth; at least one.
    corners: Vec<(f64, f64)>,
}

/// Corners that make no horizon.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum HorizonError {
    /// There is none.
    #[error("a horizon needs at least one corner")]
    Empty,
    /// An azimuth that is none.
    #[error(
        "azimuth {0} lies outside a horizon's: from 0 to less than 360 degrees; for north write 0, not 360"
    )]
    Azimuth(f64),
    /// An elevation that hides all, or lies too deep.
    #[error("elevation {0} is not between -10 and 89 degrees")]
    Elevation(f64),
    /// Two corners in one direction.
    #[error("azimuth {0} is given twice")]
    Twice(f64),
}

impl Horizon {
    /// From azimuths (0 up to but not including 360) and elevations in degrees, in any order.
    ///
    /// # Errors
    /// What is wrong with a corner.
    pub fn new(mut corners: Vec<(f64, f64)>) -> Result<Self, HorizonError> {
        for &(azimuth, elevation) in &corners {
            if !(0.0..360.0).contains(&azimuth) {
                return Err(HorizonError::Azimuth(azimuth));
            }
            if !(-10.0..=89.0).contains(&elevation) {
                return Err(HorizonError::Elevation(elevation));
            }
        }
        corners.sort_by(|a, b| a.0.total_cmp(&b.0));
        if let Some(pair) = corners.windows(2).find(|pair| pair[0].0 == pair[1].0) {
            return Err(HorizonError::Twice(pair[0].0));
        }
        if corners.is_empty() { Err(HorizonError::Empty) } else { Ok(Self { corners }) }
    }

    /// Its height in a direction, degrees; azimuth 0 up to but not including 360.
    pub fn elevation_deg(&self, azimuth_deg: f64) -> f64 {
        let after = self.corners.partition_point(|(azimuth, _)| *azimuth <= azimuth_deg);
        let count = self.corners.len();
        let (left, right) = (self.corners[(after + count - 1) % count], self.corners[after % count]);
        let width = (right.0 - left.0).rem_euclid(360.0);
        if width == 0.0 {
            return left.1;
        }
        left.1 + (right.1 - left.1) * (azimuth_deg - left.0).rem_euclid(360.0) / width
    }

    /// The lowest place, degrees.
    pub fn lowest_deg(&self) -> f64 {
        self.corners.iter().map(|(_, elevation)| *elevation).fold(90.0, f64::min)
    }

    /// The highest place, degrees.
    pub fn highest_deg(&self) -> f64 {
        self.corners.iter().map(|(_, elevation)| *elevation).fold(-90.0, f64::max)
    }

    /// How many corners it has.
    pub fn corners(&self) -> usize {
        self.corners.len()
    }

    /// The first corner that is passed on the shorter way from one azimuth to another, both left
    /// out.
    pub(super) fn corner_between(&self, from_deg: f64, to_deg: f64) -> Option<f64> {
        let turn = turn_deg(from_deg, to_deg);
        let way = |corner: f64| turn_deg(from_deg, corner) * turn.signum();
        let passed = self.corners.iter().map(|(azimuth, _)| *azimuth);
        passed
            .filter(|&corner| way(corner) > 0.0 && way(corner) < turn.abs())
            .min_by(|&a, &b| way(a).total_cmp(&way(b)))
    }
}

/// The shorter way from one azimuth to another, degrees, clockwise positive.
pub(super) fn turn_deg(from_deg: f64, to_deg: f64) -> f64 {
    (to_deg - from_deg + 180.0).rem_euclid(360.0) - 180.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hills() -> Horizon {
        Horizon::new(vec![(350.0, 10.0), (10.0, 20.0), (90.0, 0.0)]).unwrap()
    }

    #[test]
    fn between_corners_it_is_a_straight_line_also_through_north() {
        for (azimuth, elevation) in
            [(350.0, 10.0), (0.0, 15.0), (10.0, 20.0), (50.0, 10.0), (90.0, 0.0), (220.0, 5.0), (355.0, 12.5)]
        {
            assert!((hills().elevation_deg(azimuth) - elevation).abs() < 1e-12, "{azimuth}");
        }
        assert_eq!(hills().lowest_deg(), 0.0);
        assert_eq!(Horizon::new(vec![(77.0, 3.0)]).unwrap().elevation_deg(200.0), 3.0);
    }

    #[test]
    fn corners_are_met_in_the_order_of_the_way() {
        assert_eq!(hills().corner_between(340.0, 20.0), Some(350.0));
        assert_eq!(hills().corner_between(20.0, 340.0), Some(10.0));
        assert_eq!(hills().corner_between(350.0, 10.0), None);
        assert_eq!(hills().corner_between(100.0, 120.0), None);
    }

    #[test]
    fn what_is_no_horizon_is_refused() {
        assert_eq!(Horizon::new(vec![]), Err(HorizonError::Empty));
        assert_eq!(Horizon::new(vec![(360.0, 0.0)]), Err(HorizonError::Azimuth(360.0)));
        assert_eq!(Horizon::new(vec![(0.0, 90.0)]), Err(HorizonError::Elevation(90.0)));
        assert_eq!(Horizon::new(vec![(5.0, 1.0), (5.0, 2.0)]), Err(HorizonError::Twice(5.0)));
        assert!(Horizon::new(vec![(f64::NAN, 0.0)]).is_err() && Horizon::new(vec![(0.0, f64::NAN)]).is_err());
    }
}
