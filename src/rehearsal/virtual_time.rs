//! A whole station in virtual time: the real session, lines and players against modelled wires,
//! on a clock that jumps from one event to the next. The same run gives the same result.

use std::time::Duration;

use crate::clock::Trust;
use crate::device::line::{Line, LineInput, Witness, Write};
use crate::device::{DeviceStatus, LinePlan, Order};
use crate::session::{Circumstances, Command, Output, Refusal, Session};
use crate::sim::Wire;
use crate::terms::{Moment, Time, later, seconds_between};

/// How often the session is stepped.
const TICK_S: f64 = 0.05;

/// Where a device is: its line, and its number on the line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct VirtualDevice {
    /// Which line.
    pub line: usize,
    /// Which device on it.
    pub index: usize,
}

/// A station whose time is the caller's.
pub struct VirtualStation {
    start: Time,
    now: Time,
    /// How far the station's own clock is off, seconds.
    off_s: f64,
    session: Session,
    lines: Vec<(Line, Wire)>,
    radios: Vec<VirtualDevice>,
    rotator: Option<VirtualDevice>,
    next_tick: Time,
    said: Vec<String>,
    /// Who is told what happens to each line.
    witnesses: Vec<Option<Box<dyn Witness>>>,
}

impl VirtualStation {
    /// A station whose lines are opened at `start`; each plan goes with its modelled wire.
    pub fn new(start: Time, session: Session, lines: Vec<(LinePlan, Wire)>) -> Self {
        let (mut radios, mut rotator) = (Vec::new(), None);
        for (line, (plan, _)) in lines.iter().enumerate() {
            for (index, device) in plan.devices.iter().enumerate() {
                let place = VirtualDevice { line, index };
                match device {
                    crate::device::DeviceSetup::Radio(_) => radios.push(place),
                    crate::device::DeviceSetup::Rotator(_) => rotator = Some(place),
                }
            }
        }
        let lines: Vec<_> = lines.into_iter().map(|(plan, wire)| (plan.line(), wire)).collect();
        let witnesses = lines.iter().map(|_| None).collect();
        let (now, next_tick, said) = (start, start, Vec::new());
        let off_s = 0.0;
        let mut station =
            Self { start, now, off_s, session, lines, radios, rotator, next_tick, said, witnesses };
        (0..station.lines.len()).for_each(|line| station.feed(line, LineInput::Opened));
        station
    }

    /// Now, in plan time.
    pub fn now(&self) -> Time {
        self.now
    }

    /// The session.
    pub fn session(&self) -> &Session {
        &self.session
    }

    /// What the session said so far, for people.
    pub fn said(&self) -> &[String] {
        &self.said
    }

    /// What the radios know.
    pub fn radios(&self) -> Vec<DeviceStatus> {
        self.radios.iter().filter_map(|place| self.status(*place)).collect()
    }

    /// What the rotator knows.
    pub fn rotator(&self) -> Option<DeviceStatus> {
        self.status(self.rotator?)
    }

    /// An operator's command.
    ///
    /// # Errors
    /// If the session refuses it.
    pub fn command(&mut self, command: Command) -> Result<(), Refusal> {
        let (radios, rotator) = (self.radios(), self.rotator());
        let around = self.around(&radios, rotator.as_ref());
        let outputs = self.session.command(command, &around)?;
        self.carry_out(outputs);
        Ok(())
    }

    /// Has somebody told all that happens to a line from now on.
    pub fn watched_by(&mut self, line: usize, witness: Box<dyn Witness>) {
        if let Some(place) = self.witnesses.get_mut(line) {
            *place = Some(witness);
        }
    }

    /// The station's clock is stepped by so many seconds, as a time service does: the world and the
    /// monotonic scale go on.
    pub fn step_clock(&mut self, seconds: f64) {
        self.off_s += seconds;
    }

    /// A line loses its port, or gets it back.
    pub fn unplug(&mut self, line: usize) {
        self.feed(line, LineInput::Lost("unplugged"));
    }

    /// The port of a line is open again.
    pub fn plug_in(&mut self, line: usize) {
        self.feed(line, LineInput::Opened);
    }

    /// Lets time pass until `until`.
    pub fn run_until(&mut self, until: Time) {
        while let Some(next) = self.next_event().filter(|next| *next <= until) {
            self.now = next.max(self.now);
            self.settle();
        }
        self.now = until.max(self.now);
        self.settle();
    }

    fn moment(&self) -> Moment {
        let mono = Duration::from_secs_f64(seconds_between(self.start, self.now).max(0.0));
        Moment { utc: later(self.now, self.off_s), mono, speed: 1.0 }
    }

    fn next_event(&self) -> Option<Time> {
        let of_line = |(line, wire): &(Line, Wire)| {
            // Rounded up: a line that wakes a nanosecond early would wake for nothing.
            let wake = later(self.start, line.wake_at().as_secs_f64() + 1e-9);
            wire.next_event().map_or(wake, |event| event.min(wake))
        };
        self.lines.iter().map(of_line).chain([self.next_tick]).min()
    }

    fn settle(&mut self) {
        for line in 0..self.lines.len() {
            let bytes = self.lines[line].1.read(self.now);
            if !bytes.is_empty() {
                self.feed(line, LineInput::Bytes(&bytes));
            } else if self.moment().mono >= self.lines[line].0.wake_at() {
                self.feed(line, LineInput::Time);
            }
        }
        if self.now >= self.next_tick {
            self.next_tick = later(self.now, TICK_S);
            let (radios, rotator) = (self.radios(), self.rotator());
            let around = self.around(&radios, rotator.as_ref());
            let outputs = self.session.tick(&around);
            self.carry_out(outputs);
        }
    }

    fn around<'a>(&self, radios: &'a [DeviceStatus], rotator: Option<&'a DeviceStatus>) -> Circumstances<'a> {
        Circumstances { now: self.moment(), trust: &Trust::Rehearsal, radios, rotator }
    }

    fn feed(&mut self, line: usize, input: LineInput) {
        let now = self.moment();
        let (machine, wire) = &mut self.lines[line];
        let mut witness = self.witnesses[line].as_mut();
        if let Some(witness) = &mut witness {
            witness.happens(now, &input);
        }
        let writes = machine.step(now, input);
        if let Some(witness) = witness {
            witness.said(&writes);
            if witness.wants_memo()
                && let Some(memo) = machine.memo()
            {
                witness.remembers(now, memo);
            }
        }
        for Write { bytes, .. } in writes {
            wire.write(&bytes, self.now);
        }
    }

    fn status(&self, place: VirtualDevice) -> Option<DeviceStatus> {
        self.lines.get(place.line)?.0.status(self.moment()).into_iter().nth(place.index)
    }

    fn carry_out(&mut self, outputs: Vec<Output>) {
        for output in outputs {
            match output {
                Output::Radio(index, order) => {
                    if let Some(VirtualDevice { line, index }) = self.radios.get(index).copied() {
                        self.feed(line, LineInput::Order(index, Order::Radio(order)));
                    }
                }
                Output::Rotator(order) => {
                    if let Some(VirtualDevice { line, index }) = self.rotator {
                        self.feed(line, LineInput::Order(index, Order::Rotator(order)));
                    }
                }
                Output::HaltLines => (0..self.lines.len()).for_each(|line| self.feed(line, LineInput::Halt)),
                Output::ResumeLines => {
                    (0..self.lines.len()).for_each(|line| self.feed(line, LineInput::Resume))
                }
                Output::Save(request, _) => self.session.saved(request),
                Output::Forget | Output::Shelve => {}
                Output::Say(what) => self.said.push(what),
            }
        }
    }
}
