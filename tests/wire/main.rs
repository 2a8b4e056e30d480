//! The wire languages as users' equipment speaks them: hand-written captures, good and bad, and
//! round trips over the whole range of what can be said.
#![allow(clippy::unwrap_used)]

mod capture;
mod captures;
mod play;
