//! The service: plans passes, owns the devices and the session, answers on the control socket,
//! and ends orderly. Thin: the decisions are made in `session` and in the players.

mod catalog;
mod engine;
mod equipment;
mod group;
mod keepsake;
mod log_limit;
mod manager;
mod planner;
mod report;
mod service;
mod socket;
mod trims;
mod watch;

pub use catalog::{Catalog, NotInCatalog};
pub use engine::{Call, Engine, EngineParts, Handle, Published};
pub use equipment::{lines, mount, session_setup};
pub use planner::Planner;
pub use service::{Startup, run};
