//! What lies between two passes.

use crate::terms::{AzEl, Time, seconds_between};

/// When, and where the mount looks.
type Stand = (Time, Option<AzEl>);

/// Arithmetic with instants is good to this, seconds.
const RESOLUTION_S: f64 = 1e-6;

/// How long the station takes from one pass to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turnaround {
    /// How fast the mount turns, degrees per second, both axes at once; `None` without a mount.
    pub slew: Option<AzEl>,
    /// Where it rests.
    pub park: AzEl,
    /// How long the radios take to be given back and prepared, seconds.
    pub change_s: f64,
}

impl Turnaround {
    /// Seconds from the end of a pass at `from` to the beginning of one at `to`, in the mount's
    /// own coordinates: the slower axis counts. Where a place is not known, only the radios count.
    pub fn seconds(&self, from: Option<AzEl>, to: Option<AzEl>) -> f64 {
        let turning = self.slew.zip(from).zip(to).map_or(0.0, |((slew, from), to)| {
            let axis = |way: f64, rate: f64| if way == 0.0 { 0.0 } else { way.abs() / rate };
            let azimuth = axis(to.azimuth - from.azimuth, slew.azimuth);
            azimuth.max(axis(to.elevation - from.elevation, slew.elevation))
        });
        turning + self.change_s
    }

    /// How many seconds too late the station is at `begin` if it leaves at `end`; 0 if it is in time.
    pub(super) fn missing_s(&self, end: Stand, begin: Stand) -> f64 {
        let missing = self.seconds(end.1, begin.1) - seconds_between(end.0, begin.0);
        if missing > RESOLUTION_S { missing } else { 0.0 }
    }

    /// Seconds to `to` from `from` or from the park position, whichever is longer: a mount may be on its
    /// way between them. Distances along axes are convex, so no place between is farther.
    pub(super) fn longest_from(&self, from: Option<AzEl>, to: Option<AzEl>) -> f64 {
        self.seconds(from, to).max(self.seconds(Some(self.park), to))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_slower_axis_counts_and_the_radios_come_on_top() {
        let slew = Some(AzEl::new(2.0, 4.0));
        let turnaround = Turnaround { slew, park: AzEl::new(0.0, 0.0), change_s: 15.0 };
        let at = |azimuth, elevation| Some(AzEl::new(azimuth, elevation));
        // 90 degrees at 2 degrees a second: 45 s; 40 degrees of tilt at 4: 10 s.
        assert_eq!(turnaround.seconds(at(100.0, 40.0), at(10.0, 0.0)), 60.0);
        assert_eq!(turnaround.seconds(at(10.0, 80.0), at(10.0, 0.0)), 35.0);
        // The cable's wrap counts: from 370 to 10 is a whole turn.
        assert_eq!(turnaround.seconds(at(370.0, 0.0), at(10.0, 0.0)), 195.0);
        assert_eq!(turnaround.seconds(None, at(10.0, 0.0)), 15.0);
        assert_eq!(Turnaround { slew: None, ..turnaround }.seconds(at(0.0, 0.0), at(180.0, 0.0)), 15.0);
        assert_eq!(turnaround.longest_from(at(100.0, 0.0), at(90.0, 0.0)), 60.0, "it may have been parked");
    }
}
