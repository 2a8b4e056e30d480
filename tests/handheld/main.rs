//! What a person with only a handheld relies on: the card's bounds in any pass, and that who follows the
//! sentences has the satellite in the beam.

// The helpers of tests may fail loudly too; the lint knows only the tests themselves.
#![allow(clippy::unwrap_used)]

mod card;
mod guide;
mod person;
