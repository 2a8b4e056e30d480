//! The service: plans passes, owns the devices and the session, answers on the control socket,
//! and ends orderly. Thin: the decisions are made in `session` and in the players.

mod agenda;
mod alarms;
mod auto;
mod catalog;
mod engine;
mod equipment;
mod freshness;
mod group;
mod keepsake;
mod kept_nudge;
mod lasting;
mod listening;
mod log_limit;
mod manager;
mod planner;
mod programs;
mod recording;
mod replay;
mod report;
mod service;
mod socket;
mod trims;
mod undertaking;
mod vitals;
mod watch;

pub use agenda::Outlook;
pub use catalog::{Catalog, Known, NotInCatalog, known_sets, newest};
pub use engine::{Call, Engine, EngineParts, Handle, Published};
pub use equipment::{lines, mount, session_setup};
pub use freshness::Files;
pub use listening::deaf_radios;
pub use planner::Planner;
pub use recording::Watched;
pub use replay::{Difference, Machine, Replay, replay};
pub use service::{Startup, run};
