//! A pass that could be worked.

use crate::sky::Pass;
use crate::terms::{AzEl, Time, Validity, seconds_between};

use super::hours::{common_s, window};

/// A pass of one link.
#[derive(Debug, Clone)]
pub struct Candidate {
    /// The satellite.
    pub satellite: String,
    /// The link.
    pub link: String,
    /// It is only listened to.
    pub listens: bool,
    /// 0 for the most important; equal for equally important ones.
    pub rank: usize,
    /// The pass.
    pub pass: Pass,
    /// The parts of the pass that are of use, in the order of time; at least one.
    pub useful: Vec<Validity>,
    /// Where the mount looks meanwhile; `None` without a mount.
    pub path: Option<Path>,
}

impl Candidate {
    /// From the first useful instant to the last.
    pub fn window(&self) -> Validity {
        window(&self.useful).unwrap_or(Validity { from: self.pass.highest, until: self.pass.highest })
    }

    /// How much of `span` is of use, seconds.
    pub fn useful_s(&self, span: Validity) -> f64 {
        common_s(&self.useful, span)
    }

    /// Where the mount looks at `time`.
    pub fn aim(&self, time: Time) -> Option<AzEl> {
        self.path.as_ref().map(|path| path.at(time))
    }
}

/// The mount's own coordinates along a pass.
#[derive(Debug, Clone, PartialEq)]
pub struct Path {
    from: Time,
    step_s: f64,
    points: Vec<AzEl>,
}

impl Path {
    /// From a plan's points, `step_s` apart from `from` on. `None` without points.
    pub fn new(from: Time, step_s: f64, points: Vec<AzEl>) -> Option<Self> {
        (step_s > 0.0 && !points.is_empty()).then_some(Self { from, step_s, points })
    }

    /// On the straight line between the points; at the ends, the ends.
    pub fn at(&self, time: Time) -> AzEl {
        let last = self.points.len() - 1;
        let place = (seconds_between(self.from, time) / self.step_s).clamp(0.0, last as f64);
        let (below, part) = (place as usize, place.fract());
        let (one, other) = (self.points[below], self.points[(below + 1).min(last)]);
        let between = |one: f64, other: f64| one + (other - one) * part;
        AzEl::new(between(one.azimuth, other.azimuth), between(one.elevation, other.elevation))
    }

    /// The points.
    pub(super) fn points(&self) -> &[AzEl] {
        &self.points
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::later;

    #[test]
    fn a_path_is_straight_between_its_points_and_stays_at_its_ends() {
        let from = Time::default();
        let path = Path::new(from, 10.0, vec![AzEl::new(350.0, 0.0), AzEl::new(370.0, 8.0)]).unwrap();
        assert_eq!(path.at(later(from, 2.5)), AzEl::new(355.0, 2.0));
        assert_eq!(path.at(later(from, -60.0)), AzEl::new(350.0, 0.0));
        assert_eq!(path.at(later(from, 3600.0)), AzEl::new(370.0, 8.0));
        assert_eq!(Path::new(from, 10.0, Vec::new()), None);
    }
}
