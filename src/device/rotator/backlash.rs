//! Gears have play: where the antenna is depends on the side from which it came.

use serde::{Deserialize, Serialize};

use super::setup::Approach;
use super::{AzEl, RotatorSetup};

/// An azimuth that is approached by going past it first.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub(super) struct Past {
    /// Where the mount goes first.
    pub(super) azimuth: f64,
    /// Where it is to come to.
    wanted: f64,
}

/// Where to send the mount that stands at `position` so that it comes to `wanted` from the right
/// side: past it, if it would come from the wrong one. A target that rests is then gone back to; one
/// that moves on is followed with the play taken up. `past` is what was said the last time.
pub(super) fn approached(
    setup: &RotatorSetup,
    past: Option<Past>,
    position: AzEl,
    wanted: AzEl,
    rests: bool,
) -> (AzEl, Option<Past>) {
    let Some(Approach { clockwise, play }) = setup.approach else { return (wanted, None) };
    let near = 2.0 * setup.resolution.max(0.1);
    let onward = if clockwise { -1.0 } else { 1.0 };
    let beyond = wanted.azimuth + onward * play;
    let to_go = (wanted.azimuth - position.azimuth) * onward;
    let goes_on = match past {
        // It is gone back to from where the play is taken up.
        Some(past) if rests && (past.wanted - wanted.azimuth).abs() <= setup.dead_band => {
            (past.azimuth - position.azimuth) * onward > near
        }
        Some(past) if !rests => (wanted.azimuth - past.wanted) * onward >= -near,
        _ => to_go > near,
    };
    let there = AzEl::new(beyond, wanted.elevation);
    match setup.admit(there) {
        Some(_) if goes_on => (there, Some(Past { azimuth: beyond, wanted: wanted.azimuth })),
        _ => (wanted, None),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::device::rotator::setup::tests::setup;

    fn clockwise() -> RotatorSetup {
        RotatorSetup { approach: Some(Approach { clockwise: true, play: 3.0 }), ..setup() }
    }

    fn at(azimuth: f64) -> AzEl {
        AzEl::new(azimuth, 20.0)
    }

    #[test]
    fn a_place_is_come_to_clockwise_whichever_side_the_mount_stands() {
        let (aim, past) = approached(&clockwise(), None, at(50.0), at(100.0), true);
        assert_eq!((aim, past), (at(100.0), None));
        let (aim, past) = approached(&clockwise(), None, at(150.0), at(100.0), true);
        assert_eq!(aim, at(97.0));
        let (aim, past) = approached(&clockwise(), past, at(99.0), at(100.0), true);
        assert_eq!(aim, at(97.0), "not yet past the play");
        let (aim, past) = approached(&clockwise(), past, at(97.0), at(100.0), true);
        assert_eq!((aim, past), (at(100.0), None));
    }

    #[test]
    fn a_satellite_that_goes_the_other_way_is_followed_with_the_play_taken_up() {
        let (aim, past) = approached(&clockwise(), None, at(150.0), at(148.0), false);
        assert_eq!(aim, at(145.0));
        let (aim, past) = approached(&clockwise(), past, at(145.0), at(146.5), false);
        assert_eq!(aim, at(143.5));
        let (aim, _) = approached(&clockwise(), past, at(143.5), at(148.0), false);
        assert_eq!(aim, at(148.0), "it turns round");
        let (aim, past) = approached(&clockwise(), None, at(150.0), at(152.0), false);
        assert_eq!((aim, past), (at(152.0), None));
    }

    #[test]
    fn the_limits_hold_on_the_way_past() {
        let (aim, past) = approached(&clockwise(), None, at(50.0), at(1.0), true);
        assert_eq!((aim, past), (at(1.0), None));
    }
}
