//! All devices of a station, over however many lines they are spread.

use std::io;
use std::sync::Arc;
use std::time::Duration;

use crate::clock::Clock;

use super::conversation::{Conversation, ConversationSettings};
use super::dialect::Dialect;
use super::family::Family;
use super::line::{Line, LineSetup, LineThread, SerialOpener, Witness};
use super::player::Player;
use super::radio::{RadioPlayer, RadioSetup};
use super::rotator::{RotatorPlayer, RotatorSetup};
use super::{DeviceStatus, HaltLatch, Order, RadioOrder, RotatorOrder};

/// A device, as the configuration describes it.
#[derive(Debug, Clone)]
pub enum DeviceSetup {
    /// A radio.
    Radio(RadioSetup),
    /// A rotator.
    Rotator(RotatorSetup),
}

impl DeviceSetup {
    /// The radio, if it is one.
    pub fn radio(&self) -> Option<&RadioSetup> {
        match self {
            DeviceSetup::Radio(setup) => Some(setup),
            DeviceSetup::Rotator(_) => None,
        }
    }

    /// The name from the configuration.
    pub fn name(&self) -> &str {
        match self {
            DeviceSetup::Radio(setup) => &setup.name,
            DeviceSetup::Rotator(setup) => &setup.name,
        }
    }

    /// The device's address on a bus, and its dialect.
    pub fn identity(&self) -> (Option<u8>, Arc<Dialect>) {
        match self {
            DeviceSetup::Radio(setup) => (setup.address.or(setup.dialect.address()), setup.dialect.clone()),
            DeviceSetup::Rotator(setup) => (setup.dialect.address(), setup.dialect.clone()),
        }
    }
}

/// A line and what is on it. All devices of one line speak languages of one family.
#[derive(Debug, Clone)]
pub struct LinePlan {
    /// The port.
    pub port: LineSetup,
    /// How long an answer may take.
    pub answer: Duration,
    /// How many times faster than real the bytes run: 1, but for simulated equipment on a
    /// rehearsal's clock.
    pub speed: f64,
    /// The devices.
    pub devices: Vec<DeviceSetup>,
}

impl LinePlan {
    /// How long a byte takes on this line.
    pub fn byte_time(&self) -> Duration {
        let bits = 9 + u32::from(self.port.stop_bits);
        Duration::from_secs_f64(f64::from(bits) / f64::from(self.port.baud.max(1)) / self.speed)
    }

    /// The line with its players, not open yet.
    pub fn line(&self) -> Line {
        let byte_time = self.byte_time();
        let players = self.devices.iter().map(|device| -> Box<dyn Player> {
            match device {
                DeviceSetup::Radio(setup) => Box::new(RadioPlayer::new(setup.clone(), byte_time)),
                DeviceSetup::Rotator(setup) => Box::new(RotatorPlayer::new(setup.clone())),
            }
        });
        Line::new(players.collect(), self.conversation())
    }

    /// What is said on the line, by itself.
    pub fn conversation(&self) -> Conversation {
        let on_the_line = self.devices.iter().map(DeviceSetup::identity).collect::<Vec<_>>();
        let family = on_the_line.first().map_or(Family::Semicolon, |(_, dialect)| dialect.family());
        let (byte_time, answer, baud) = (self.byte_time(), self.answer, self.port.baud);
        let settings = ConversationSettings { byte_time, answer, baud, devices: on_the_line };
        Conversation::new(family, settings)
    }
}

/// The place of a device: its line, and its number on the line.
type Place = (usize, usize);

/// The running lines of a station. Dropping it closes them.
pub struct Fleet {
    lines: Vec<LineThread>,
    radios: Vec<Place>,
    rotator: Option<Place>,
    halt: HaltLatch,
}

impl Fleet {
    /// Starts a thread for every line. A port that can't be opened is tried again and again; its
    /// devices' status says so.
    pub fn start(plans: &[LinePlan], clock: &Arc<dyn Clock>) -> io::Result<Self> {
        let mut fleet =
            Self { lines: Vec::new(), radios: Vec::new(), rotator: None, halt: HaltLatch::default() };
        for (number, plan) in plans.iter().enumerate() {
            let opener = Arc::new(SerialOpener(plan.port.clone()));
            let name = plan.port.port.display().to_string();
            let line = LineThread::start(&name, plan.line(), opener, clock.clone(), fleet.halt.clone())?;
            fleet.lines.push(line);
            for (index, device) in plan.devices.iter().enumerate() {
                match device {
                    DeviceSetup::Radio(_) => fleet.radios.push((number, index)),
                    DeviceSetup::Rotator(_) => fleet.rotator = Some((number, index)),
                }
            }
        }
        Ok(fleet)
    }

    /// An order to radio number `radio`, counted over all lines.
    pub fn order_radio(&self, radio: usize, order: RadioOrder) {
        if let Some((line, device)) = self.radios.get(radio) {
            self.lines[*line].order(*device, Order::Radio(order));
        }
    }

    /// An order to the rotator, if there is one.
    pub fn order_rotator(&self, order: RotatorOrder) {
        if let Some((line, device)) = self.rotator {
            self.lines[line].order(device, Order::Rotator(order));
        }
    }

    /// Has somebody told all that happens to each line from now on, by its number; `None`: nobody.
    pub fn watched_by(&self, witness: impl Fn(usize) -> Option<Box<dyn Witness>>) {
        self.lines.iter().enumerate().for_each(|(number, line)| line.watched_by(witness(number)));
    }

    /// Puts other threads in the place of those that hang; says which, in words.
    pub fn look_after(&self) -> impl Iterator<Item = String> {
        self.lines.iter().filter_map(LineThread::look_after)
    }

    /// Every line stops its motors, and moves nothing until `resume`.
    pub fn halt(&self) {
        self.halt.set();
    }

    /// Motors may move again.
    pub fn resume(&self) {
        self.halt.clear();
    }

    /// The latch that `halt` sets, for those who can't wait for the daemon's loop.
    pub fn halt_latch(&self) -> HaltLatch {
        self.halt.clone()
    }

    /// What the radios said last.
    pub fn radios(&self) -> Vec<DeviceStatus> {
        self.radios.iter().filter_map(|place| self.status(*place)).collect()
    }

    /// What the rotator said last.
    pub fn rotator(&self) -> Option<DeviceStatus> {
        self.status(self.rotator?)
    }

    fn status(&self, (line, device): Place) -> Option<DeviceStatus> {
        self.lines[line].status().into_iter().nth(device)
    }
}
