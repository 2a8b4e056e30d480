//! Before a radio is told anything it says who it is: after a cable was pulled another device may
//! be on the port.

use crate::device::status::RadioStage;

use super::errand::Errand;
use super::lists::is_one_frame;
use super::{RadioPlayer, RadioSetup};

impl RadioPlayer {
    /// What has to be answered before the radio is told anything: after a cable was pulled another
    /// device may be on the port.
    pub(super) fn introduction(&self) -> Option<Errand> {
        let tells =
            matches!(self.stage, RadioStage::Preparing | RadioStage::Following | RadioStage::GivingBack);
        if self.introduced || !tells {
            return None;
        }
        let items = introductions(&self.setup);
        items.get(self.next_poll % items.len().max(1)).cloned().map(Errand::Ask)
    }
}

/// Questions of one frame for a dial, by whose answer the radio is known; on a radio of two bands
/// that has none for each, the one for whichever is selected. An answer of one byte, as to other
/// questions of some languages, would fit whatever came.
fn introductions(setup: &RadioSetup) -> Vec<String> {
    let mut items: Vec<String> = setup.asked().map(|direction| setup.item(direction, "hz")).collect();
    items.push("hz".to_owned());
    items.dedup();
    items.retain(|item| is_one_frame(setup, item));
    items
}
