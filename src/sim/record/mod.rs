//! The far end's own account: what really happened to the equipment, not what was sent to it.

mod event;

pub use event::{AimHeard, Breach, Cause, Change, Counts, Landing, Position, Violation};

use std::sync::{Arc, Mutex};

use super::lock;
use crate::terms::{AzEl, Hertz, Mode, Time, Tone, seconds_between};

/// The record of one device; clones share the same, and it can be read while the device runs.
#[derive(Debug, Clone, Default)]
pub struct Record(Arc<Mutex<Pages>>);

#[derive(Debug, Default)]
struct Pages {
    landings: Vec<Landing>,
    positions: Vec<Position>,
    aims: Vec<AimHeard>,
    breaches: Vec<Breach>,
    counts: Counts,
    far_baud: Option<u32>,
}

/// Reading.
impl Record {
    /// An empty one.
    pub fn new() -> Self {
        Self::default()
    }

    /// Every change of a radio's settings, in order of time; its opening state comes first.
    pub fn landings(&self) -> Vec<Landing> {
        lock(&self.0).landings.clone()
    }

    /// A mount's true directions in its own coordinates: every 0.1 s of plan time while it
    /// turns, and where each turn starts and ends.
    pub fn positions(&self) -> Vec<Position> {
        lock(&self.0).positions.clone()
    }

    /// The directions that a mount was told to take.
    pub fn aims(&self) -> Vec<AimHeard> {
        lock(&self.0).aims.clone()
    }

    /// All that must never happen, but did.
    pub fn violations(&self) -> Vec<Breach> {
        lock(&self.0).breaches.clone()
    }

    /// How busy the line was.
    pub fn counts(&self) -> Counts {
        lock(&self.0).counts
    }

    /// The line speed that whoever holds the other end of the pseudo-terminal chose, as last
    /// seen when bytes passed; `None` before that, and on a wire in virtual time.
    pub fn far_baud(&self) -> Option<u32> {
        lock(&self.0).far_baud
    }

    /// What the receiver was tuned to; `None` before the device started.
    pub fn receive_at(&self, time: Time) -> Option<Hertz> {
        self.last(time, |what| if let Change::Receive(hertz) = what { Some(hertz) } else { None })
    }

    /// Where the transmitter was, or would have been had the key been pressed.
    pub fn transmit_at(&self, time: Time) -> Option<Hertz> {
        self.last(time, |what| if let Change::Transmit(hertz) = what { Some(hertz) } else { None })
    }

    /// The receiver's mode.
    pub fn receive_mode_at(&self, time: Time) -> Option<Mode> {
        self.last(time, |what| if let Change::ReceiveMode(mode) = what { Some(mode) } else { None })
    }

    /// The transmitter's mode.
    pub fn transmit_mode_at(&self, time: Time) -> Option<Mode> {
        self.last(time, |what| if let Change::TransmitMode(mode) = what { Some(mode) } else { None })
    }

    /// The tone that a transmission would have carried; `None` where it would have carried none.
    pub fn tone_at(&self, time: Time) -> Option<Tone> {
        self.last(time, |what| if let Change::Tone(tone) = what { Some(tone) } else { None }).flatten()
    }

    /// Whether the transmitter was on the air.
    pub fn keyed_at(&self, time: Time) -> bool {
        self.last(time, |what| if let Change::Keyed(on) = what { Some(on) } else { None }).unwrap_or(false)
    }

    /// Where the antenna really pointed, in the mount's own coordinates; `None` before the
    /// mount started. Between samples by straight line (0.02 deg at most for 10 deg/s2).
    pub fn position_at(&self, time: Time) -> Option<AzEl> {
        let pages = lock(&self.0);
        let after = pages.positions.partition_point(|position| position.at <= time);
        let before = pages.positions.get(after.checked_sub(1)?)?;
        let Some(next) = pages.positions.get(after) else { return Some(before.direction) };
        let share = seconds_between(before.at, time) / seconds_between(before.at, next.at);
        let between = |from: f64, to: f64| from + share * (to - from);
        Some(AzEl::new(
            between(before.direction.azimuth, next.direction.azimuth),
            between(before.direction.elevation, next.direction.elevation),
        ))
    }

    fn last<T>(&self, time: Time, pick: impl Fn(Change) -> Option<T>) -> Option<T> {
        let pages = lock(&self.0);
        let until = pages.landings.partition_point(|landing| landing.at <= time);
        pages.landings[..until].iter().rev().find_map(|landing| pick(landing.what))
    }
}

/// Writing.
impl Record {
    pub(super) fn landed(&self, landing: Landing) {
        lock(&self.0).landings.push(landing);
    }

    pub(super) fn moved(&self, at: Time, direction: AzEl) {
        lock(&self.0).positions.push(Position { at, direction });
    }

    pub(super) fn aimed(&self, at: Time, aim: AzEl) {
        lock(&self.0).aims.push(AimHeard { at, aim });
    }

    pub(super) fn breached(&self, at: Time, what: Violation) {
        lock(&self.0).breaches.push(Breach { at, what });
    }

    pub(super) fn count(&self, count: impl FnOnce(&mut Counts)) {
        count(&mut lock(&self.0).counts);
    }

    pub(super) fn saw_far_baud(&self, baud: u32) {
        lock(&self.0).far_baud = Some(baud);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::{later, parse_time};

    fn start() -> Time {
        parse_time("2026-11-25T18:30:00Z").unwrap()
    }

    fn at(seconds: f64) -> Time {
        later(start(), seconds)
    }

    #[test]
    fn a_query_answers_with_the_last_landing_of_its_kind() {
        let record = Record::new();
        let land = |seconds, what| record.landed(Landing { at: at(seconds), cause: Cause::Command, what });
        land(1.0, Change::Receive(Hertz(435_000_000)));
        land(2.0, Change::Transmit(Hertz(145_950_000)));
        land(3.0, Change::Receive(Hertz(435_000_010)));
        assert_eq!(record.receive_at(at(0.999)), None);
        assert_eq!(record.receive_at(at(1.0)), Some(Hertz(435_000_000)));
        assert_eq!(record.receive_at(at(2.999)), Some(Hertz(435_000_000)));
        assert_eq!(record.receive_at(at(9.0)), Some(Hertz(435_000_010)));
        assert_eq!(record.transmit_at(at(9.0)), Some(Hertz(145_950_000)));
    }

    #[test]
    fn positions_are_joined_by_straight_lines_and_the_last_one_holds() {
        let record = Record::new();
        record.moved(at(1.0), AzEl::new(10.0, 20.0));
        record.moved(at(1.1), AzEl::new(11.0, 20.5));
        assert_eq!(record.position_at(at(0.9)), None);
        let middle = record.position_at(at(1.05)).unwrap();
        assert!((middle.azimuth - 10.5).abs() < 1e-6 && (middle.elevation - 20.25).abs() < 1e-6);
        assert_eq!(record.position_at(at(5.0)), Some(AzEl::new(11.0, 20.5)));
    }
}
