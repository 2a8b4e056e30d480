//! What was heard between the contacts, and what follows from it. Pure: no I/O, no clock.
//!
//! A [`Spell`] is one stretch of listening to one link: a pass, what lies before and after it, or a
//! time with no satellite at all.

pub mod form;
mod spell;

pub use spell::{Reading, Sight, Spell};
