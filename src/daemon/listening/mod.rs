//! The listening watch: what is listened to, and what comes of it.
//!
//! `plan` chooses passes that nothing more important claims, and now and then a time with no satellite at
//! all; the session tunes the receiver; `collect` makes spells of what the radio says, and `writer` puts
//! them on the disk, a file a day.

mod antenna;
mod collect;
mod others;
mod plan;
mod writer;

use std::io;

use crate::config::{Config, Radio};
use crate::device::DeviceStatus;
use crate::session::Session;
use crate::terms::{Direction, Time};

pub(in crate::daemon) use antenna::Antenna;
use collect::{Collector, Piece};
pub(in crate::daemon) use plan::NOISE_EVERY_S;
pub(in crate::daemon) use writer::SpellWriter;

/// The receivers that can tell nothing of what they hear, in words.
pub fn deaf_radios(config: &Config) -> Vec<String> {
    let receives = |radio: &&Radio| radio.uses.serves(Direction::Receive);
    let is_deaf = |radio: &&Radio| {
        !["ask.signal", "ask.squelch"].iter().any(|question| radio.line.dialect.can(question))
    };
    let deaf = config.radios.iter().filter(receives).filter(is_deaf);
    deaf.map(|radio| {
        format!(
            "{} can tell neither squelch nor signal meter in its language, {}: it is tuned, and nothing is stored",
            radio.name,
            radio.line.dialect.name()
        )
    })
    .collect()
}

/// What is heard, on its way to the disk.
pub(in crate::daemon) struct Hearing {
    collector: Collector,
    writer: Option<SpellWriter>,
    /// What the antenna is called.
    pub(in crate::daemon) antenna: Antenna,
    /// Why something of it could not be stored.
    trouble: Option<String>,
    /// Why there is nothing to store at all.
    deaf: Option<String>,
    lost: u64,
}

impl Hearing {
    /// Without a writer, nothing is kept. `deaf`: why there is nothing to keep.
    pub(in crate::daemon) fn new(
        antenna: Antenna,
        writer: Option<SpellWriter>,
        deaf: Option<String>,
    ) -> Self {
        Self { collector: Collector::default(), writer, antenna, trouble: None, deaf, lost: 0 }
    }

    /// Looks at what the radios say.
    pub(in crate::daemon) fn look<'a>(
        &mut self,
        session: &Session,
        radios: impl Iterator<Item = &'a DeviceStatus>,
        now: Time,
    ) {
        for piece in self.collector.look(session, radios, self.antenna.label(), now) {
            self.send(piece);
        }
    }

    /// Ends the spell in progress: the antenna is another one, or the daemon ends.
    pub(in crate::daemon) fn end_spell(&mut self) {
        if let Some(piece) = self.collector.end() {
            self.send(piece);
        }
    }

    fn send(&mut self, piece: Piece) {
        if let Some(writer) = &self.writer
            && !writer.write(piece)
        {
            self.lost += 1;
            self.trouble =
                Some(format!("the disk does not keep up: {} half minutes of it are lost", self.lost));
        }
    }

    /// A piece is on the disk, or not; what is new of that, for the log.
    pub(in crate::daemon) fn written(&mut self, done: io::Result<()>) -> Option<String> {
        let before = self.trouble.take();
        let now = done.err().map(|error| format!("what is heard can't be stored: {error}"));
        self.trouble.clone_from(&now);
        match (before, now) {
            (before, Some(now)) if before.as_ref() != Some(&now) => Some(now),
            (Some(_), None) => Some("what is heard is stored again".to_owned()),
            _ => None,
        }
    }

    /// Why something of it is not stored.
    pub(in crate::daemon) fn trouble(&self) -> Option<&str> {
        self.trouble.as_deref().or(self.deaf.as_deref())
    }

    /// How many readings the spell in progress has; `None` while there is none.
    pub(in crate::daemon) fn count(&self) -> Option<usize> {
        self.collector.count()
    }
}
