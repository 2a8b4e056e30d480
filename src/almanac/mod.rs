//! The element sets that the station has taken in: the newest of each satellite, where it came
//! from and when; and how new ones are fetched. They lie in the folder `elements` of the state
//! folder, as two files: the sets, and what is known of the sources.
//!
//! What is taken in only ever adds: an older set, a bad download or a source that has gone takes
//! nothing away. Fetching is done by a process of its own, so that the daemon needs no network.

mod fetch;
mod sets;
mod shelf;
mod sources;
mod update;

pub use fetch::{Answer, Conditions, FetchError, Limits, fetch};
pub use sets::{Held, Sets, Tally};
pub use shelf::Shelf;
pub use sources::{PAUSE_S, Record, Source};
pub use update::{Outcome, update};
