//! The few value types that everybody speaks. Every other room may import this one; it imports
//! none. Nothing here reads a clock, does I/O or knows a satellite.

mod angle_range;
mod azel;
mod channel;
mod direction;
mod hertz;
pub(crate) mod memo;
mod mode;
mod moment;
mod no_go;
mod plan;
mod segments;
mod spans;
mod time;
mod tone;
mod web_address;

pub use angle_range::AngleRange;
pub use azel::AzEl;
pub use channel::{Channel, Dial};
pub use direction::Direction;
pub use hertz::Hertz;
pub use memo::Memo;
pub(crate) use memo::{maybe_known, remembers};
pub use mode::Mode;
pub use moment::Moment;
pub use no_go::{NoGo, Sweep};
pub use plan::{Generation, Plan, Validity};
pub use segments::{Segment, Segments};
pub use spans::spans_where;
pub use time::{Time, TimeError, later, parse_time, rfc3339, seconds_between};
pub use tone::{Tone, ToneError};
pub use web_address::{WebAddress, WebAddressError};
