//! Where to aim: the mount's geometry and the plan of its axes through a pass. Pure; imports
//! `terms` and `sky`.

mod aim;
mod lean;
mod loss;
mod mount;
mod path;
mod plan;

pub use aim::{Aim, Prospect};
pub use lean::Lean;
pub use loss::loss_db;
pub use mount::Mount;
pub use plan::{Course, Quiet, Run, Sample, Start, plan, quieten};
