//! How to say it: what is written to radios and rotators, and what they answer.
//!
//! A [`dialect`] (TOML) says how each command is encoded and each answer decoded; its [`family`]
//! (Rust) frames the bytes and guards the never-list; a [`conversation`] plays one exchange after
//! the other on a line. All three are pure: no I/O, and the time is an argument.

pub mod conversation;
pub mod dialect;
pub mod family;
mod values;

pub use values::{Value, Values};
