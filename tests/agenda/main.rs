//! The agenda: its choice against an exhaustive search, its hours against the calendar, and the
//! daemon that works through it.

// The helpers of tests may fail loudly too; the lint knows only the tests themselves.
#![allow(clippy::unwrap_used)]

mod exhaustive;
mod hours;
mod listening;
mod made;
mod oracle;
mod theatre;
mod unattended;
mod words;
