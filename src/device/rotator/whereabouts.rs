//! Where a mount may be between two readings.

use serde::{Deserialize, Serialize};

use crate::terms::{AngleRange, AzEl, Sweep};

/// A change of a reading below this may be the read-out's own unrest, degrees.
const UNREST: f64 = 0.05;
/// A mount whose readings differ by less is at rest, whatever it was told before, degrees.
const AT_REST: f64 = 0.5;

/// All places where the mount may be now, or may come by before it is told otherwise: where it was
/// read, where it was sent, and, while an axis still runs on, where it was sent before.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub(super) struct Whereabouts {
    swept: Option<Sweep>,
    last: Option<AzEl>,
    /// Whether all that it may have been told before is over.
    known: bool,
}

impl Whereabouts {
    /// The places, once it was read, and seen at rest: before that it may be on a way that
    /// somebody else sent it on.
    pub(super) fn swept(&self) -> Option<Sweep> {
        self.swept.filter(|_| self.known)
    }

    /// It is sent there: each axis may still run on the way that it was on.
    pub(super) fn sent(&mut self, aim: AzEl) {
        self.swept = self.swept.map(|swept| swept.with(aim));
    }

    /// It was read at `position`, on its way to `aim`; `None` where it was told nothing, or to stop.
    pub(super) fn read(&mut self, position: AzEl, aim: Option<AzEl>) {
        let mut now = Sweep::at(position);
        if let Some(aim) = aim {
            now = now.with(aim);
        }
        if let (Some(before), Some(last)) = (self.swept, self.last) {
            let turned = (position.azimuth - last.azimuth).abs();
            self.known |= turned.max((position.elevation - last.elevation).abs()) < AT_REST;
            let kept = |now: AngleRange, before: AngleRange, at: f64, last: f64, aim: Option<f64>| {
                still_runs(now, before, at - last, aim.map(|aim| aim - at))
            };
            let (turn, tilt) = (aim.map(|aim| aim.azimuth), aim.map(|aim| aim.elevation));
            now.azimuth = kept(now.azimuth, before.azimuth, position.azimuth, last.azimuth, turn);
            now.elevation = kept(now.elevation, before.elevation, position.elevation, last.elevation, tilt);
        }
        (self.swept, self.last) = (Some(now), Some(position));
    }
}

/// An axis that turns otherwise than it is told has not braked yet: it may go on to where it was
/// sent before.
fn still_runs(now: AngleRange, before: AngleRange, turned: f64, to_go: Option<f64>) -> AngleRange {
    if turned.abs() < UNREST || to_go.is_some_and(|to_go| to_go * turned > 0.0) {
        return now;
    }
    if turned > 0.0 {
        AngleRange::new(now.from, now.to.max(before.to))
    } else {
        AngleRange::new(now.from.min(before.from), now.to)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn turns(whereabouts: &Whereabouts) -> (f64, f64) {
        let azimuth = whereabouts.swept().unwrap().azimuth;
        (azimuth.from, azimuth.to)
    }

    #[test]
    fn a_mount_that_is_turned_round_may_run_on_until_it_has_braked() {
        let at = |azimuth| AzEl::new(azimuth, 0.0);
        let mut whereabouts = Whereabouts::default();
        whereabouts.sent(at(500.0));
        assert!(whereabouts.swept().is_none(), "not read yet");
        whereabouts.read(at(-2.0), None);
        whereabouts.read(at(0.0), None);
        assert!(whereabouts.swept().is_none(), "it is on somebody's way");
        whereabouts.read(at(0.0), None);
        whereabouts.sent(at(100.0));
        whereabouts.read(at(40.0), Some(at(100.0)));
        assert_eq!(turns(&whereabouts), (40.0, 100.0));
        whereabouts.sent(at(10.0));
        assert_eq!(turns(&whereabouts), (10.0, 100.0));
        whereabouts.read(at(42.0), Some(at(10.0)));
        assert_eq!(turns(&whereabouts), (10.0, 100.0), "it still runs on");
        whereabouts.read(at(41.0), Some(at(10.0)));
        assert_eq!(turns(&whereabouts), (10.0, 41.0));
        whereabouts.read(at(30.0), None);
        assert_eq!(turns(&whereabouts), (10.0, 30.0), "it was told to stop and still turns");
        whereabouts.read(at(30.0), None);
        assert_eq!(turns(&whereabouts), (30.0, 30.0));
    }
}
