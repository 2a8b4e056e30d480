//! One pass from before AOS to after LOS: joins plans and players. The decisions are a state
//! machine without I/O; it is told what the devices say and answers with orders.

mod command;
mod job;
mod phase;
mod setup;
mod steps;
mod why;

pub use command::{Command, Refusal};
pub use job::{Job, Wanted};
pub use phase::Phase;
pub use setup::SessionSetup;
pub use steps::{Circumstances, Output, Session};
