//! From what the radio says to spells: each reading with where the satellite was. Plain values, no I/O.

use crate::device::{DeviceStatus, Heard};
use crate::listening::{Reading, Sight, Spell, form};
use crate::session::{Job, Session};
use crate::sky::Track;
use crate::terms::{Hertz, Time, Validity, seconds_between};

/// So often what was heard goes to the disk, seconds of plan time; a daemon that is killed loses no more.
const WRITE_EVERY_S: f64 = 30.0;

/// Something to add to a day's file.
#[derive(Debug, PartialEq)]
pub(in crate::daemon) struct Piece {
    /// The file's name.
    pub(in crate::daemon) file: String,
    pub(in crate::daemon) bytes: Vec<u8>,
    /// The spell ends with it.
    pub(in crate::daemon) is_last: bool,
}

/// What tells two spells apart.
#[derive(Debug, Clone, PartialEq)]
struct Of {
    satellite: String,
    link: String,
    antenna: String,
    downlink: Hertz,
    span: Validity,
}

/// The spell in progress.
struct Open {
    of: Of,
    track: Track,
    /// With the readings that are not on their way to the disk yet.
    spell: Spell,
    begun: Time,
    written_at: Time,
    count: usize,
    is_unsettled: bool,
}

/// Collects spells.
#[derive(Default)]
pub(in crate::daemon) struct Collector {
    open: Option<Open>,
    /// The last reading that was taken, by its number.
    last: u64,
}

impl Collector {
    /// Looks at what the radios say; returns what is to be written, in this order.
    pub(in crate::daemon) fn look<'a>(
        &mut self,
        session: &Session,
        radios: impl Iterator<Item = &'a DeviceStatus>,
        antenna: &str,
        now: Time,
    ) -> Vec<Piece> {
        let job = session.job().filter(|job| job.only_listens() && session.phase().has_devices());
        let of = job.map(|job| of(job, antenna));
        let mut pieces = Vec::new();
        let is_over = |open: &Open| of.as_ref() != Some(&open.of);
        if self.open.as_ref().is_some_and(is_over) {
            pieces.extend(self.open.take().and_then(Open::ended));
        }
        let Some((job, of)) = job.zip(of) else { return pieces };
        let open = self.open.get_or_insert_with(|| Open::new(job, of, now));
        for heard in radios.filter_map(DeviceStatus::radio).flat_map(|radio| &radio.heard) {
            // The same readings are shown until newer ones push them out.
            if heard.number > self.last {
                self.last = heard.number;
                open.take(heard);
            }
        }
        let waits_s = seconds_between(open.written_at, now);
        if !(0.0..WRITE_EVERY_S).contains(&waits_s) {
            pieces.extend(open.piece(now));
        }
        pieces
    }

    /// Ends the spell in progress.
    pub(in crate::daemon) fn end(&mut self) -> Option<Piece> {
        self.open.take().and_then(Open::ended)
    }

    /// How many readings the spell in progress has.
    pub(in crate::daemon) fn count(&self) -> Option<usize> {
        self.open.as_ref().map(|open| open.count)
    }
}

fn of(job: &Job, antenna: &str) -> Of {
    let link = job.tuning.link();
    Of {
        satellite: job.satellite.clone(),
        link: link.name.clone(),
        antenna: antenna.to_owned(),
        downlink: link.downlink + job.tuning.trim().receive,
        span: job.span,
    }
}

impl Open {
    fn new(job: &Job, of: Of, now: Time) -> Self {
        let listening = job.listening.as_ref();
        let spell = Spell {
            satellite: of.satellite.clone(),
            link: of.link.clone(),
            antenna: of.antenna.clone(),
            downlink: of.downlink,
            pass: listening.and_then(|listening| listening.watch.up),
            others: listening.map(|listening| listening.others.clone()).unwrap_or_default(),
            readings: Vec::new(),
        };
        let (track, count, is_unsettled) = (job.track.clone(), 0, false);
        Self { of, track, spell, begun: now, written_at: now, count, is_unsettled }
    }

    fn take(&mut self, heard: &Heard) {
        let Ok(look) = self.track.at(heard.at) else { return };
        self.count += 1;
        self.spell.readings.push(Reading {
            at: heard.at,
            shift_hz: (heard.dial - self.spell.downlink).as_f64() as f32,
            meter: heard.signal,
            is_open: heard.open,
            sight: Sight {
                azimuth_deg: look.azimuth_deg as f32,
                elevation_deg: look.elevation_deg as f32,
                range_km: look.range_km as f32,
                is_sunlit: look.sunlit,
            },
        });
    }

    /// What waits to be written; the spell goes on.
    fn piece(&mut self, now: Time) -> Option<Piece> {
        self.written_at = now;
        let bytes = form::write(&self.spell);
        self.spell.readings.clear();
        self.is_unsettled |= !bytes.is_empty();
        // A spell lies in one file, that of the day on which it began.
        let file = form::file_name(self.begun);
        (!bytes.is_empty()).then_some(Piece { file, bytes, is_last: false })
    }

    fn ended(mut self) -> Option<Piece> {
        let is_unsettled = self.is_unsettled;
        let last = self.piece(self.written_at).map(|piece| Piece { is_last: true, ..piece });
        let settled = Piece { file: form::file_name(self.begun), bytes: Vec::new(), is_last: true };
        last.or(is_unsettled.then_some(settled))
    }
}
