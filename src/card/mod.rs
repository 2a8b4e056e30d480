//! The channel card: the least set of memory channels for a radio that no computer tunes. Pure;
//! imports `terms`, `sky` and `link`.
//!
//! Method: while a satellite's range changes at a given rate, the right setting of either dial is known.
//! So a memory, which is a pair of frequencies on the radio's grid, is good in an interval of range rates,
//! and a set of memories has to cover all range rates of the orbit ([`largest_range_rate`]). The set that
//! always takes the memory which reaches furthest is a least one (the greedy cover of a line by intervals,
//! textbook). Of the sets of that size the errors are evened out.

mod cover;
mod make;
mod reach;
mod schedule;

pub use make::{Arming, Card, Memory, NoCard, Serves, Setting, Wishes, make};
pub use reach::largest_range_rate;
pub use schedule::{Change, changes};
