//! The modelled wire: bytes take their time, both ways, in plan time. Virtual time calls it
//! directly; a pseudo-terminal is a thin shell around it.

use std::collections::VecDeque;

use super::chance::Chance;
use super::{Device, Fault, Handles, Utterance};
use crate::terms::{Time, later};

/// The line as the device has it set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WireSettings {
    /// Bits per second.
    pub baud: u32,
    /// Bits on the line for one byte: 10 for 8N1, 11 for 8N2.
    pub bits_per_byte: u32,
    /// Both directions share one conductor: one's own bytes come back, and answers wait until
    /// the bus is free.
    pub one_wire: bool,
    /// Seed of random faults.
    pub seed: u64,
}

impl Default for WireSettings {
    /// 9600 baud, 8N1, two conductors.
    fn default() -> Self {
        Self { baud: 9600, bits_per_byte: 10, one_wire: false, seed: 1 }
    }
}

impl WireSettings {
    /// How long one byte takes, seconds.
    pub fn byte_s(&self) -> f64 {
        f64::from(self.bits_per_byte) / f64::from(self.baud.max(1))
    }
}

/// A device behind a cable. All times given to it must not run backwards.
pub struct Wire {
    device: Box<dyn Device>,
    handles: Handles,
    settings: WireSettings,
    chance: Chance,
    to_device: Lane,
    to_station: Lane,
    waiting: VecDeque<Utterance>,
    /// When the next byte of nonsense begins, while the device babbles.
    babbles_at: Option<Time>,
}

/// One direction: the bytes on their way, each with the instant at which it has arrived in full.
#[derive(Debug, Default)]
struct Lane {
    bytes: VecDeque<(Time, u8)>,
    free_at: Option<Time>,
}

impl Lane {
    /// Puts a byte on the line, at `earliest` or when the line is free; gives its arrival.
    fn send(&mut self, byte: u8, earliest: Time, byte_s: f64) -> Time {
        let start = self.free_at.map_or(earliest, |free_at| free_at.max(earliest));
        self.arrive(byte, later(start, byte_s))
    }

    /// The byte arrives at `at`, or just after those before it.
    fn arrive(&mut self, byte: u8, at: Time) -> Time {
        let at = self.free_at.map_or(at, |free_at| free_at.max(at));
        self.bytes.push_back((at, byte));
        self.free_at = Some(at);
        at
    }

    fn next(&self) -> Option<Time> {
        self.bytes.front().map(|(at, _)| *at)
    }

    fn take_due(&mut self, now: Time) -> Option<(Time, u8)> {
        pop_front_if(&mut self.bytes, |(at, _)| *at <= now)
    }

    fn cut(&mut self) {
        *self = Self::default();
    }
}

impl Wire {
    /// Plugs `device` in.
    pub fn new(device: impl Device + 'static, settings: WireSettings) -> Self {
        Self::boxed(Box::new(device), settings)
    }

    /// Plugs in a device whose kind is only known at run time.
    pub fn boxed(device: Box<dyn Device>, settings: WireSettings) -> Self {
        let handles = device.handles().clone();
        let chance = Chance::new(settings.seed);
        Self {
            device,
            handles,
            settings,
            chance,
            to_device: Lane::default(),
            to_station: Lane::default(),
            waiting: VecDeque::new(),
            babbles_at: None,
        }
    }

    /// The device's record, faults and script.
    pub fn handles(&self) -> &Handles {
        &self.handles
    }

    /// The line as the device has it set.
    pub fn settings(&self) -> &WireSettings {
        &self.settings
    }

    /// The station starts to send `bytes` at `now`. Byte i has arrived one byte time after byte
    /// i-1, the first one a byte time after `now` or after what is still on the line.
    pub fn write(&mut self, bytes: &[u8], now: Time) {
        self.advance(now);
        for &byte in bytes {
            for byte in self.damage(byte) {
                self.send_to_device(byte, now);
            }
        }
    }

    /// What has arrived at the station by `now` and was not yet read.
    pub fn read(&mut self, now: Time) -> Vec<u8> {
        self.advance(now);
        let arrived: Vec<u8> =
            std::iter::from_fn(|| self.to_station.take_due(now)).map(|(_, byte)| byte).collect();
        self.handles.record.count(|counts| counts.bytes_said += arrived.len() as u64);
        arrived
    }

    /// When something next happens: a byte arrives at either end, or the device acts of its own
    /// accord. A byte that has arrived but was not read counts until it is.
    pub fn next_event(&self) -> Option<Time> {
        [self.next_inside(), self.to_station.next()].into_iter().flatten().min()
    }

    /// Lets everything happen that is due by `now`, in order of time.
    pub fn advance(&mut self, now: Time) {
        while let Some(at) = self.next_inside().filter(|at| *at <= now) {
            self.let_faults_come(at);
            if let Some((at, byte)) = self.to_device.take_due(at) {
                self.device_hears(byte, at);
            } else if let Some(utterance) = self.next_due(at) {
                self.send_to_station(utterance);
            } else if let Some(at) = self.babbles_at.take_if(|due| *due <= at) {
                let byte = self.chance.byte();
                self.babbles_at = Some(self.to_station.send(byte, at, self.settings.byte_s()));
            } else {
                self.device.advance(at);
            }
            self.listen();
        }
        self.let_faults_come(now);
        self.device.advance(now);
        self.listen();
    }

    /// Planned faults begin and end, and what begins of itself begins.
    fn let_faults_come(&mut self, now: Time) {
        self.handles.faults.advance(now);
        let is_on = |fault| self.handles.faults.is_on(fault);
        let babbles = is_on(Fault::Babble) && !is_on(Fault::Unplugged);
        self.babbles_at = self.babbles_at.or(Some(now)).filter(|_| babbles);
        if is_on(Fault::Unplugged) {
            self.cut();
        }
    }

    /// The cable is out: what was on it is lost, and what the device says goes nowhere.
    pub(super) fn cut(&mut self) {
        self.to_device.cut();
        self.to_station.cut();
        self.waiting.clear();
    }

    fn next_inside(&self) -> Option<Time> {
        let waiting = self.waiting.front().map(|utterance| utterance.at);
        let (acts, faults) = (self.device.next_event(), self.handles.faults.next_event());
        [self.to_device.next(), waiting, self.babbles_at, acts, faults].into_iter().flatten().min()
    }

    fn next_due(&mut self, at: Time) -> Option<Utterance> {
        pop_front_if(&mut self.waiting, |utterance| utterance.at <= at)
    }

    fn device_hears(&mut self, byte: u8, at: Time) {
        self.device.advance(at);
        if !self.handles.faults.is_on(Fault::Off) {
            self.handles.record.count(|counts| counts.bytes_heard += 1);
            self.device.hear(byte, at);
        }
    }

    /// Collects what the device decided to say, in the order in which it will start.
    fn listen(&mut self) {
        for utterance in self.device.say() {
            let place = self.waiting.partition_point(|other| other.at <= utterance.at);
            self.waiting.insert(place, utterance);
        }
    }

    fn send_to_device(&mut self, byte: u8, now: Time) {
        if self.handles.faults.is_on(Fault::Unplugged) {
            return;
        }
        let echo = self.settings.one_wire || self.handles.faults.is_on(Fault::Echo);
        let bus_free = self.to_station.free_at.filter(|_| self.settings.one_wire);
        let earliest = bus_free.map_or(now, |free_at| free_at.max(now));
        let at = self.to_device.send(byte, earliest, self.settings.byte_s());
        if echo {
            self.to_station.arrive(byte, at);
        }
    }

    fn send_to_station(&mut self, utterance: Utterance) {
        let faults = &self.handles.faults;
        let silent = [Fault::Mute, Fault::Off, Fault::Unplugged, Fault::Babble];
        if silent.into_iter().any(|fault| faults.is_on(fault)) {
            return;
        }
        let half = faults.is_on(Fault::HalfFrame);
        let length = utterance.bytes.len();
        let kept = if half { length / 2 } else { length };
        let byte_s = self.byte_s();
        for &byte in &utterance.bytes[..kept] {
            let garbage = self.handles.faults.is_on(Fault::Garbage);
            let byte = if garbage { self.chance.byte() } else { byte };
            for byte in self.damage(byte) {
                self.to_station.send(byte, utterance.at, byte_s);
            }
        }
    }

    /// How long each byte of the device takes, seconds.
    fn byte_s(&self) -> f64 {
        let slow = self.handles.faults.all().into_iter().find_map(|fault| match fault {
            Fault::SlowBytes { byte_s } => Some(byte_s),
            _ => None,
        });
        slow.unwrap_or(0.0).max(self.settings.byte_s())
    }

    /// What the cable makes of one byte: none, itself, another, or one more.
    fn damage(&mut self, byte: u8) -> Vec<u8> {
        let mut passed = vec![byte];
        for fault in self.handles.faults.all() {
            match fault {
                Fault::LostBytes { one_in } if self.chance.once_in(one_in) => passed.clear(),
                Fault::InsertedBytes { one_in } if self.chance.once_in(one_in) => {
                    passed.push(self.chance.byte());
                }
                Fault::Collisions { one_in } if self.chance.once_in(one_in) => passed = vec![0xFC],
                Fault::WrongSpeed => passed.iter_mut().for_each(|byte| *byte = self.chance.byte()),
                _ => {}
            }
        }
        passed
    }
}

fn pop_front_if<T>(queue: &mut VecDeque<T>, so: impl Fn(&T) -> bool) -> Option<T> {
    if queue.front().is_some_and(so) { queue.pop_front() } else { None }
}

#[cfg(test)]
mod tests;
