//! Guidance for a beam held in the hand: a whole pass as short sentences, each with its moment. Pure;
//! imports `terms` and `sky`.
//!
//! Method: of all directions that can be said, the one is chosen that stays within [`TOLERANCE_DEG`] of
//! the satellite for longest, and the next is said [`LEAD_S`] before it fails (the greedy cover of the
//! path, as few moves as the tolerance allows). The rest is fitted in between so that two sentences are
//! never nearer than [`GAP_S`].

mod moves;
mod phrases;
mod script;
mod timing;

pub use moves::{LEAD_S, TOLERANCE_DEG};
pub use phrases::Style;
pub use script::{Occasion, script};
pub use timing::{Cue, GAP_S};
