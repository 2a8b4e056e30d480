//! Contacts: what is written down of each, what is odd about one, and the form in which logs are
//! exchanged. Pure: no I/O, no clock.
//!
//! A [`Log`] is what the lines of a file say: each is an [`Event`] in a contact's life, and none is
//! ever taken back. [`remarks()`] says what is odd about a contact; nothing refuses one. [`adif`] reads
//! and writes the ADIF text form.

pub mod adif;
mod band;
mod callsign;
mod contact;
mod log;
mod remarks;
mod squares;
mod wire;

pub use band::band_of;
pub use callsign::{Callsign, CallsignError};
pub use contact::{Contact, Other};
pub use log::{Complaint, Entry, Event, Log, What};
pub use remarks::{Remark, Sight, remarks};
pub use squares::{Squares, SquaresError};
