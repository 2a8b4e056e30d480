//! Spells as bytes, and back. Pure: who keeps them is a file's business.
//!
//! What is written is a *block* that stands by itself; blocks are only ever added behind one another.
//! [`read`] makes spells of them again, and passes over what a cut or a bad card has spoilt. A spell may
//! be written in parts, a minute at a time: blocks of one satellite, link, antenna and pass that follow
//! each other within [`PAUSE_S`] are one spell again.
//!
//! What is kept is a little coarser than what was seen:
//!
//! | what | kept to |
//! |---|---|
//! | the moment of a reading | 10 ms (off by 5 ms at most) |
//! | rising and setting, of this satellite and of others | 1 ms |
//! | the dial's shift | 1 Hz |
//! | the meter, the squelch, the sunlight | exactly |
//! | azimuth, elevation | 0.05 degrees, and off by 0.15 at most between the places that are written |
//! | range | 0.5 km, and off by 1.5 km at most |
//! | names | the first 255 bytes |
//! | other satellites | the first 32 |
//!
//! A block is four bytes ([`MARK`], of which the last one is the form's number), the length of what
//! follows the checksum (four bytes, the lowest first), its CRC-32 (the same way; the one of ISO 3309),
//! and that: names, downlink and pass, and then each kind of number by itself, as differences in half
//! bytes (`nibbles.rs`, `column.rs`).

mod block;
mod column;
mod nibbles;
mod read;
mod sights;

use chrono::NaiveDate;

use super::Spell;
use crate::terms::Time;

pub use read::{Damage, Spells, read};

/// How a block begins.
pub const MARK: [u8; 4] = [0xB6, b'h', b'd', 1];

/// Mark, length and checksum, bytes.
const HEAD: usize = 12;

/// A block holds at most so many readings, so that damage costs little.
const MOST: usize = 1024;

/// What stands behind a block's head is at most so long, bytes.
const LONGEST: usize = 1 << 16;

/// A pause within a spell is at most so long, seconds; after a longer one another spell begins.
pub const PAUSE_S: f64 = 300.0;

/// The folder of these files, within the daemon's state folder.
pub const FOLDER: &str = "listening";

const SUFFIX: &str = ".heard";

/// The file of the spells that begin on the UTC day of `time`: `2026-11-30.heard`.
pub fn file_name(time: Time) -> String {
    format!("{}{SUFFIX}", time.date_naive())
}

/// The UTC day of a file of that name; `None` for other files.
pub fn day_of(file_name: &str) -> Option<NaiveDate> {
    file_name.strip_suffix(SUFFIX)?.parse().ok()
}

/// A spell, or a part of one, as bytes to add to a file. Nothing for a spell without readings.
pub fn write(spell: &Spell) -> Vec<u8> {
    let mut bytes = Vec::new();
    for readings in spell.readings.chunks(MOST) {
        let body = block::write(spell, readings);
        bytes.extend(MARK);
        bytes.extend((body.len() as u32).to_le_bytes());
        bytes.extend(crc32fast::hash(&body).to_le_bytes());
        bytes.extend(body);
    }
    bytes
}

#[cfg(test)]
mod tests;
