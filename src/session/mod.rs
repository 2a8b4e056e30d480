//! One pass from before AOS to after LOS: joins plans and players. The decisions are a state
//! machine without I/O; it is told what the devices say and answers with orders.

mod arming;
mod command;
mod job;
mod nudge;
mod phase;
mod setup;
mod steps;
mod why;

pub use arming::SentTone;
pub use command::{Command, Refusal};
pub use job::{Job, KeptTrim, Listening, Wanted, beam_may_miss};
pub use nudge::beam_plan;
pub use phase::Phase;
pub use setup::{SessionSetup, ToneSender};
pub use steps::{Circumstances, Output, Session};
