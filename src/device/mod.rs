//! How to say it: lines (serial ports), dialects, the never-list, and the players that bring
//! each radio and rotator to its plan. Knows no orbit; imports `terms` and `clock`.

pub mod conversation;
pub mod dialect;
pub mod family;
mod fleet;
mod halt;
mod interview;
mod journal;
pub mod line;
mod order;
mod player;
mod radio;
mod rotator;
mod status;
mod symptoms;
mod values;

pub use fleet::{DeviceSetup, Fleet, LinePlan};
pub use halt::HaltLatch;
pub use interview::{Interview, Question, Seen};
pub use order::{AimPlan, ChannelPlan, DialMemory, Order, RadioMemory, RadioOrder, RotatorOrder};
pub use player::{Player, Urgency, Wish};
pub use radio::{ByMode, Calibration, Correction, DialLaw, RadioPlayer, RadioSetup, Use, Verdict, Want};
pub use rotator::{Approach, ByHand, RotatorPlayer, RotatorSetup};
pub use status::{
    Contact, Detail, DeviceStatus, DialView, Drift, Heard, Motion, Note, Pace, RadioStage, RadioView,
    RotatorView, Said,
};
pub use symptoms::Fact;
pub use values::{Value, Values};
