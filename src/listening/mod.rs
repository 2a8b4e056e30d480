//! What was heard between the contacts, and what follows from it. Pure: no I/O, no clock.
//!
//! A [`Spell`] is one stretch of listening to one link: a pass, what lies before and after it, or a
//! time with no satellite at all. A [`Study`] takes in spells one after the other, keeps a digest of each
//! (`digest.rs`), knows the noise outside the passes (`noise.rs`), judges each pass against it at a stated
//! rate of false alarms (`evidence.rs`) and each link over its passes (`verdict.rs`). Where, from which
//! elevation on, with which antenna and above which horizon a link is heard follows from the passes in
//! which it was.

mod compare;
mod digest;
mod evidence;
pub mod exact;
pub mod form;
mod horizon;
mod noise;
mod reference;
mod shares;
mod spell;
mod study;
mod verdict;

pub use compare::{Comparison, Estimate, FEWEST, compare};
pub use digest::BLOCK_S;
pub use evidence::{CONTROLS, FALSE_ALARMS, Finding, Mark, Pass, Why};
pub use horizon::{Corner, horizon, mask};
pub use noise::WINDOW;
pub use shares::{By, Share, Threshold, by_hour, shares, threshold};
pub use spell::{Reading, Sight, Spell};
pub use study::{Findings, Study};
pub use verdict::{ERROR, GOOD_DEG, State, Sunlight, Verdict};
