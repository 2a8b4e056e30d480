//! How far an older element set missed the place where a newer one has the satellite. That is the
//! only thing known of an orbit's error without measuring: sets come without error bars.

use serde::{Deserialize, Serialize};

use super::orbit_frame::{Offsets, OrbitFrame};
use super::{ElementSet, Propagator, SkyError};
use crate::terms::seconds_between;

/// Where a newer set has the satellite at its epoch, counted from where an older one has it then.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Miss {
    /// From the older set's epoch to the newer one's.
    pub age_days: f64,
    /// Ahead, km along the orbit.
    pub along_km: f64,
    /// Out of the plane, km.
    pub cross_km: f64,
    /// Above, km.
    pub radial_km: f64,
}

impl Miss {
    /// To the metre.
    ///
    /// # Errors
    /// One of the sets has no place for the satellite at the newer one's epoch.
    pub fn between(older: &ElementSet, newer: &ElementSet) -> Result<Self, SkyError> {
        let predicted = Propagator::new(older)?.at(newer.epoch)?;
        let found = Propagator::new(newer)?.at(newer.epoch)?;
        let Offsets { along_km, cross_km, radial_km } = OrbitFrame::at(&predicted).offsets(found.position_km);
        let thousandths = |value: f64| (value * 1000.0).round() / 1000.0;
        Ok(Self {
            age_days: thousandths(seconds_between(older.epoch, newer.epoch) / 86_400.0),
            along_km: thousandths(along_km),
            cross_km: thousandths(cross_km),
            radial_km: thousandths(radial_km),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sky::read_elements;
    use crate::terms::later;

    /// Nearly a circle of 51.64 degrees' inclination, at its ascending node, so that the sums can be
    /// made by hand.
    fn circle() -> ElementSet {
        let demo = include_str!("../../config/demo/elements.txt");
        let tern = read_elements(demo).sets.into_iter().find(|set| set.name == "TERN-1").unwrap();
        ElementSet { eccentricity: 0.0, argument_of_perigee_deg: 0.0, mean_anomaly_deg: 0.0, ..tern }
    }

    fn miss(newer: &ElementSet) -> Miss {
        Miss::between(&circle(), newer).unwrap()
    }

    fn is_near(value: f64, wanted: f64) -> bool {
        (value - wanted).abs() < 0.01 * wanted.abs() + 0.02
    }

    /// By hand: 15.37 revolutions a day are 5,621 s each, a radius of (398,600.8 (5621 / 2 pi)^2)^(1/3) =
    /// 6,834 km, and a tenth of a degree of it is 11.93 km.
    #[test]
    fn a_tenth_of_a_degree_further_on_is_twelve_kilometres_ahead() {
        let ahead = miss(&ElementSet { mean_anomaly_deg: 0.1, ..circle() });
        assert!(is_near(ahead.along_km, 11.93), "{ahead:?}");
        assert!(ahead.cross_km.abs() < 0.02 && ahead.radial_km.abs() < 0.05, "{ahead:?}");
        let behind = miss(&ElementSet { mean_anomaly_deg: 359.9, ..circle() });
        assert!(is_near(behind.along_km, -11.93), "{behind:?}");
    }

    /// By hand: at the node, 11.93 km eastward on the equator are 11.93 cos(51.64) = 7.40 km ahead, and
    /// 11.93 sin(51.64) = 9.35 km to the right, where the plane's normal does not point.
    #[test]
    fn a_plane_turned_about_the_pole_is_ahead_and_to_the_right() {
        let node = circle().right_ascension_deg + 0.1;
        let turned = miss(&ElementSet { right_ascension_deg: node, ..circle() });
        assert!(is_near(turned.along_km, 7.40) && is_near(turned.cross_km, -9.35), "{turned:?}");
    }

    /// By hand: a hundred-thousandth of 15.37 revolutions a day are 1.537e-4 revolutions after a
    /// day, of 2 pi 6,834 km each: 6.60 km. A thousandth less mean motion is 4.56 km more radius.
    /// Over the poles, where the plane does not turn meanwhile; 0.36995 revolutions are 133.18
    /// degrees.
    #[test]
    fn a_mean_motion_that_is_wrong_tells_with_the_days() {
        let polar = ElementSet { inclination_deg: 90.0, ..circle() };
        let times = |factor: f64| {
            let mean_motion_rev_day = polar.mean_motion_rev_day * factor;
            ElementSet { mean_motion_rev_day, ..polar.clone() }
        };
        let epoch = later(polar.epoch, 86_400.0);
        let newer = ElementSet { epoch, mean_anomaly_deg: 133.18, ..polar.clone() };
        let slow = Miss::between(&times(1.0 - 1e-5), &newer).unwrap();
        let right = Miss::between(&polar, &newer).unwrap();
        assert_eq!(slow.age_days, 1.0);
        assert!(is_near(slow.along_km - right.along_km, 6.60), "{slow:?} {right:?}");
        let higher = Miss::between(&polar, &times(0.999)).unwrap();
        assert!(is_near(higher.radial_km, 4.56), "{higher:?}");
    }

    #[test]
    fn a_set_that_can_not_reach_the_newer_ones_epoch_gives_none() {
        let late = ElementSet { epoch: later(circle().epoch, 20.0 * 365.25 * 86_400.0), ..circle() };
        assert!(Miss::between(&circle(), &late).is_err());
    }
}
