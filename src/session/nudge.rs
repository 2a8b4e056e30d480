//! A shift of the beam: the mount points a little to one side.

use std::sync::Arc;

use crate::beam::{Aim, Mount};
use crate::device::AimPlan;
use crate::terms::{AzEl, Generation, Plan, Time, Validity};

/// The plan of a mount's axes, shifted, and kept within the mount's reach.
struct Nudged {
    aim: Arc<Aim>,
    by: AzEl,
    mount: Mount,
}

/// The plan of a mount's axes, shifted if it is to be.
pub fn beam_plan(aim: &Arc<Aim>, by: AzEl, mount: &Mount) -> AimPlan {
    if by == AzEl::ZERO {
        return aim.clone();
    }
    Arc::new(Nudged { aim: aim.clone(), by, mount: mount.clone() })
}

impl Nudged {
    fn shifted(&self, aim: AzEl) -> AzEl {
        let shifted = AzEl::new(aim.azimuth + self.by.azimuth, aim.elevation + self.by.elevation);
        self.mount.clamp(shifted)
    }
}

impl Plan<AzEl> for Nudged {
    fn at(&self, time: Time) -> Option<AzEl> {
        Some(self.shifted(self.aim.at(time)?))
    }

    fn rests_at(&self, time: Time) -> Option<(AzEl, Option<Time>)> {
        self.aim.rests_at(time).map(|(place, until)| (self.shifted(place), until))
    }

    fn validity(&self) -> Validity {
        self.aim.validity()
    }

    fn generation(&self) -> Generation {
        self.aim.generation()
    }
}

/// For people: `azimuth +1.5 elevation -0.5 degrees`.
pub(super) fn how(by: AzEl) -> String {
    format!("azimuth {:+.1} elevation {:+.1} degrees", by.azimuth, by.elevation)
}
