//! What a session is made of at this station.

use crate::beam::Mount;

/// The station's equipment and habits, as far as a session cares.
#[derive(Debug, Clone, Default)]
pub struct SessionSetup {
    /// How many radios there are; they are numbered from 0.
    pub radios: usize,
    /// The mount, where there is a rotator.
    pub mount: Option<Mount>,
    /// Whether the beam is parked after a pass; else it stays.
    pub park_after: bool,
    /// Whether the radios are given back what they had.
    pub restore_radio: bool,
}
