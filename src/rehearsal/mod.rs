//! A pass played with simulated equipment, and judged by what reached it: the equipment that a
//! configuration describes, the score heard from the far end, and a whole station in virtual
//! time.

mod broken;
mod equipment;
mod faults;
mod operator;
mod score;
mod seen;
mod spans;
mod stage;
mod summary;
mod virtual_time;

pub use broken::Broken;
pub use equipment::{Simulated, SimulatedLine, simulate};
pub use faults::{FaultOrder, Pull, known_faults, plan_faults};
pub use operator::{OperatorOrder, plan_operator};
pub use score::{BeamScore, DialScore, Floor, busy_wait, score_beam, score_dial};
pub use seen::{Seen, Watch};
pub use stage::{Stage, demo, demo_evening, floor};
pub use summary::{DeviceSummary, DirectionErrors, Errors, Summary, summarise};
pub use virtual_time::{VirtualDevice, VirtualStation};
