//! Where to aim: the mount's geometry and the plan of its axes through a pass. Pure; imports
//! `terms` and `sky`.

mod aim;
mod mount;

pub use aim::Aim;
pub use mount::Mount;
