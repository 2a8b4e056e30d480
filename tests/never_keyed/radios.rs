//! Whole radios on bad lines: a player follows a plan on simulated equipment, which is the judge,
//! while the operator keys, turns the dial, and changes his mind.

use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use beamhand::device::dialect::Dialect;
use beamhand::device::line::{Line, LineInput, LineSetup, Raise, Write};
use beamhand::device::{
    ByMode, Calibration, DeviceSetup, LinePlan, Order, RadioMemory, RadioOrder, RadioSetup, RadioStage, Use,
};
use beamhand::sim::radio::five_byte::FiveByte;
use beamhand::sim::radio::frames::{Frames, FramesSettings};
use beamhand::sim::radio::semicolon::{Layout, Semicolon, SemicolonSettings};
use beamhand::sim::radio::{Offsets, RadioSettings, Vfo};
use beamhand::sim::{
    Act, Breach, Cause, Change, Device, Fault, Handles, Landing, Violation, Wire, WireSettings,
};
use beamhand::terms::{
    Channel, Dial, Hertz, Mode, Moment, Plan, Segment, Segments, Time, Tone, Validity, later, parse_time,
    seconds_between,
};

use crate::channel::Chance;

/// The dialects that have a simulated radio, and how the radio may be used.
const RADIOS: [(&str, &[Use]); 4] = [
    ("semicolon-eleven", &[Use::Both, Use::Receive, Use::Transmit]),
    ("semicolon-nine", &[Use::Both, Use::Receive, Use::Transmit]),
    ("fe-frames", &[Use::Both, Use::Receive, Use::Transmit]),
    ("five-byte", &[Use::Receive, Use::Transmit]),
];
const ADDRESS: u8 = 0xA2;
/// What an operator may have left on.
const SHIFT: Hertz = Hertz(-600_000);
const XIT: Hertz = Hertz(-200);
/// The pass begins so many seconds after the line was opened, and lasts as long.
const AOS: f64 = 20.0;
const LOS: f64 = 60.0;
/// A key that is pressed just after the radio was read as receiving can't be known in time. Until
/// the next reading 250 ms may pass, and an exchange with a missing answer takes 400 ms more.
const UNKNOWN_FOR: f64 = 0.7;

fn start() -> Time {
    parse_time("2026-11-25T18:00:00Z").unwrap_or_default()
}

/// Dials that slide, as in a pass.
struct Slide {
    channel: Channel,
    rate: f64,
    generation: u64,
}

impl Plan<Channel> for Slide {
    fn at(&self, time: Time) -> Option<Channel> {
        let slide = Hertz::rounded(self.rate * (seconds_between(start(), time) - AOS));
        let moved = |dial: Option<Dial>| dial.map(|dial| Dial { hertz: dial.hertz + slide, ..dial });
        Some(Channel { receive: moved(self.channel.receive), transmit: moved(self.channel.transmit) })
    }

    fn validity(&self) -> Validity {
        Validity { from: later(start(), AOS), until: later(start(), LOS) }
    }

    fn generation(&self) -> u64 {
        self.generation
    }
}

/// What became of many runs.
#[derive(Debug, Default)]
pub(crate) struct Tally {
    pub(crate) runs: u32,
    pub(crate) followed: u32,
    /// Those that followed and were told nothing but to listen.
    pub(crate) only_listened: u32,
    pub(crate) commands: u64,
    pub(crate) keyed_by_the_operator: u32,
}

/// Plays so many runs; the first in which something happened that never must.
pub(crate) fn play(runs: u32, seed: u64) -> Result<Tally, String> {
    let mut tally = Tally::default();
    for number in 0..runs {
        let mut run = Run::new(number as usize, Chance(seed.wrapping_add(u64::from(number) << 20)));
        run.play();
        if let Some(breach) = run.breach() {
            return Err(format!("run {number}, {} {:?}: {breach:?}, {:?}", run.dialect, run.uses, run.had));
        }
        if let Some(landing) = run.moved_while_listening() {
            return Err(format!("run {number}, {}: only listened with, and {landing:?}", run.dialect));
        }
        tally.runs += 1;
        tally.only_listened += u32::from(run.only_listened && run.followed);
        tally.followed += u32::from(run.followed);
        tally.commands += run.handles.record.counts().commands;
        tally.keyed_by_the_operator += run.presses.len() as u32;
    }
    Ok(tally)
}

struct Run {
    dialect: &'static str,
    uses: Use,
    chance: Chance,
    line: Line,
    wire: Wire,
    handles: Handles,
    segments: Segments,
    /// What will go wrong.
    faults: Vec<Fault>,
    /// What went wrong, if only for a time.
    had: Vec<Fault>,
    presses: Vec<Time>,
    followed: bool,
    /// It was never told anything but to listen.
    only_listened: bool,
    /// When it was taken, and whether only to listen.
    takings: Vec<(f64, bool)>,
    now: f64,
}

impl Run {
    fn new(number: usize, mut chance: Chance) -> Self {
        let (dialect, uses) = RADIOS[number % RADIOS.len()];
        let uses = uses[chance.below(uses.len())];
        let mut segments = vec![Segment { from: Hertz(145_800_000), to: Hertz(146_000_000) }];
        if chance.percent(50) {
            segments.push(Segment { from: Hertz(435_000_000), to: Hertz(438_000_000) });
        }
        let segments = Segments::new(segments);
        let handles = Handles::default();
        let device = device(dialect, uses, &segments, handles.clone(), &mut chance);
        let plan = line_plan(dialect, uses, &segments);
        let settings = WireSettings {
            baud: plan.port.baud,
            bits_per_byte: 9 + u32::from(plan.port.stop_bits),
            one_wire: dialect == "fe-frames",
            seed: chance.below(1 << 30) as u64,
        };
        let only_listened = uses != Use::Transmit && chance.percent(40);
        let mut run = Self {
            dialect,
            uses,
            line: plan.line(),
            wire: Wire::boxed(device, settings),
            handles,
            segments,
            faults: faults(dialect, &mut chance),
            had: Vec::new(),
            presses: Vec::new(),
            followed: false,
            only_listened,
            takings: Vec::new(),
            now: 0.0,
            chance,
        };
        run.hire_an_operator();
        run
    }

    /// Presses and releases in turn, and turns the dial.
    fn hire_an_operator(&mut self) {
        let at = |seconds: f64| later(start(), seconds);
        let mut time = 1.0 + self.chance.below(30_000) as f64 / 1000.0;
        while time < LOS + 10.0 {
            self.handles.script.at(at(time), Act::Press);
            self.presses.push(at(time));
            time += 0.05 + self.chance.below(8_000) as f64 / 1000.0;
            self.handles.script.at(at(time), Act::Release);
            time += 0.05 + self.chance.below(20_000) as f64 / 1000.0;
        }
        for _ in 0..self.chance.below(6) {
            let by = Hertz(10 * (self.chance.below(400) as i64 - 200));
            self.handles.script.at(at(self.chance.below(70_000) as f64 / 1000.0), Act::Turn(by));
        }
    }

    fn play(&mut self) {
        self.feed(LineInput::Opened);
        self.run_until(1.0);
        self.take(1);
        let fault_from = self.chance.below(20_000) as f64 / 1000.0;
        let mut next_whim = 5.0;
        while self.now < LOS + 10.0 {
            self.run_until(self.now + 0.5);
            if self.stage() == Some(RadioStage::AwaitingSave) {
                self.order(RadioOrder::Proceed);
            }
            self.followed |= self.stage() == Some(RadioStage::Following);
            if self.now >= fault_from {
                for fault in std::mem::take(&mut self.faults) {
                    self.had.push(fault);
                    self.handles.faults.switch_on(fault);
                }
            }
            if self.now >= next_whim {
                next_whim += 1.0 + self.chance.below(15_000) as f64 / 1000.0;
                self.change_ones_mind();
            }
        }
    }

    fn change_ones_mind(&mut self) {
        match self.chance.below(10) {
            0..=5 => {
                let plan = self.plan(2);
                self.order(RadioOrder::Follow(plan));
            }
            6 => {
                self.feed(LineInput::Lost("pulled"));
                self.run_until(self.now + 0.3);
                self.feed(LineInput::Opened);
            }
            7 => self.handles.faults.clear(),
            8 if self.now > LOS => {
                let memory = RadioMemory { receive_only: self.only_listened, ..RadioMemory::default() };
                self.order(RadioOrder::GiveBack(memory));
            }
            _ => {
                self.only_listened &= !self.chance.percent(30);
                self.take(3);
            }
        }
    }

    /// Takes the radio for a plan, or only to listen with.
    fn take(&mut self, generation: u64) {
        let plan = self.plan(generation);
        let listens = self.only_listened || (self.uses != Use::Transmit && self.chance.percent(40));
        self.takings.push((self.now, listens));
        self.order(if listens { RadioOrder::Listen(plan) } else { RadioOrder::Engage(plan) });
    }

    /// Often inside the segments, sometimes across their edge or outside.
    fn plan(&mut self, generation: u64) -> Arc<Slide> {
        let chance = &mut self.chance;
        let modes = [Mode::Fm, Mode::Fm, Mode::Usb, Mode::Cw];
        let tones: Vec<Tone> = Tone::all().take(30).collect();
        let mode = modes[chance.below(modes.len())];
        let tone = (mode == Mode::Fm && chance.percent(60)).then(|| tones[chance.below(tones.len())]);
        let low = Hertz(145_790_000 + 10 * chance.below(22_000) as i64);
        let high = Hertz(434_990_000 + 10 * chance.below(100_000) as i64);
        let (receive, transmit) = if chance.percent(70) { (high, low) } else { (low, high) };
        let channel = Channel {
            receive: Some(Dial { hertz: receive, mode, tone: None }),
            transmit: Some(Dial { hertz: transmit, mode, tone }),
        };
        Arc::new(Slide { channel, rate: chance.below(300) as f64 - 150.0, generation })
    }

    fn moment(&self) -> Moment {
        let mono = Duration::from_secs_f64(self.now);
        Moment { utc: later(start(), self.now), mono, speed: 1.0 }
    }

    fn feed(&mut self, input: LineInput<'_>) {
        let now = self.moment();
        for Write { bytes, .. } in self.line.step(now, input) {
            self.wire.write(&bytes, now.utc);
        }
    }

    fn order(&mut self, order: RadioOrder) {
        self.feed(LineInput::Order(0, Order::Radio(order)));
    }

    fn stage(&self) -> Option<RadioStage> {
        self.line.status(self.moment()).first()?.radio().map(|radio| radio.stage)
    }

    fn run_until(&mut self, until: f64) {
        while self.now < until {
            let wake = self.line.wake_at().as_secs_f64() + 1e-9;
            let event = self.wire.next_event().map_or(wake, |at| seconds_between(start(), at));
            self.now = event.min(wake).max(self.now + 1e-6).min(until);
            let bytes = self.wire.read(self.moment().utc);
            if bytes.is_empty() {
                self.feed(LineInput::Time);
            } else {
                self.feed(LineInput::Bytes(&bytes));
            }
        }
    }

    /// The first thing that never must happen and was not the operator's own doing.
    fn breach(&self) -> Option<Breach> {
        self.handles.record.violations().into_iter().find(|breach| !self.is_excused(breach))
    }

    /// What a command did to the transmitter alone of a radio that is only listened with: where one dial is
    /// for both directions, the receiver's is told.
    fn moved_while_listening(&self) -> Option<Landing> {
        let landings = self.handles.record.landings();
        let is_the_receivers = |of: &Landing| {
            let is = |what| matches!(what, Change::Receive(_) | Change::ReceiveMode(_));
            landings.iter().any(|landing| landing.at == of.at && is(landing.what))
        };
        let is_the_transmitters = |landing: &&Landing| match landing.what {
            Change::Tone(_) | Change::Split(_) => true,
            Change::Transmit(_) | Change::TransmitMode(_) => !is_the_receivers(landing),
            _ => false,
        };
        let mut commanded = landings.iter().filter(|landing| landing.cause == Cause::Command);
        commanded.find(is_the_transmitters).filter(|_| self.only_listened).copied()
    }

    /// Whether it was only listened with then.
    fn listened(&self, at: Time) -> bool {
        let before = self.takings.iter().rev().find(|(since, _)| *since <= seconds_between(start(), at));
        before.is_some_and(|(_, listens)| *listens)
    }

    fn is_excused(&self, breach: &Breach) -> bool {
        let before_the_pass = seconds_between(start(), breach.at) < AOS;
        let has_been_lossy = self.had(|fault| matches!(fault, Fault::LostBytes { .. }));
        match &breach.what {
            Violation::KeyCommand(_) | Violation::KnobLocked | Violation::OutsideRange(_) => false,
            // Two bytes lost in the head of one frame (the guard says which commands and why).
            Violation::ForbiddenCommand(_) => self.dialect == "fe-frames" && has_been_lossy,
            // A radio that can't say whether it transmits is prepared before the pass all the same.
            Violation::RolesChangedOnAir | Violation::OutsideSegments { keyed: true, .. }
                if before_the_pass && (self.dialect == "semicolon-nine" || self.had(|_| true)) =>
            {
                true
            }
            // The one dial of a radio out of split receives where nobody may transmit.
            Violation::OutsideSegments { keyed: false, .. } if self.listened(breach.at) => true,
            Violation::OutsideSegments { hertz, keyed } => {
                let too_early_to_know = *keyed && self.has_just_been_keyed(breach.at);
                self.is_the_operators(breach.at) || self.is_off_by_clarifier(*hertz) || too_early_to_know
            }
            // What a radio does not take on the air it refuses, and nothing changes.
            Violation::SetOnAir => self.has_just_been_keyed(breach.at) || self.had(|_| true),
            Violation::RolesChangedOnAir => self.has_just_been_keyed(breach.at),
        }
    }

    /// Whether such a fault was on at any time.
    fn had(&self, fault: impl Fn(&Fault) -> bool) -> bool {
        self.had.iter().any(fault)
    }

    fn is_the_operators(&self, at: Time) -> bool {
        let landings = self.handles.record.landings();
        landings.iter().any(|landing| landing.at == at && landing.cause == Cause::Operator)
    }

    /// The frequency that was set is inside, but the transmit clarifier that the operator had left
    /// on is still on, because the radio could not be prepared: that is put to him.
    fn is_off_by_clarifier(&self, hertz: Hertz) -> bool {
        self.had(|_| true) && self.segments.allow(hertz - XIT)
    }

    fn has_just_been_keyed(&self, at: Time) -> bool {
        let since = self.presses.iter().map(|press| seconds_between(*press, at));
        since.filter(|since| *since >= 0.0).any(|since| since < UNKNOWN_FOR)
    }
}

fn device(
    dialect: &str,
    uses: Use,
    segments: &Segments,
    handles: Handles,
    chance: &mut Chance,
) -> Box<dyn Device> {
    let left_on = chance.percent(50);
    let offsets = Offsets { shift: SHIFT, rit: Hertz(350), xit: XIT };
    let mut radio = RadioSettings {
        duplex: uses == Use::Both,
        opening: [Vfo::fm(Hertz(145_850_000)), Vfo::fm(Hertz(435_100_000))],
        opening_offsets: if left_on { offsets } else { Offsets::default() },
        segments: (uses != Use::Receive).then(|| segments.clone()),
        reports: chance.percent(50),
        ..RadioSettings::default()
    };
    let satellite_function = chance.percent(20);
    match dialect {
        "fe-frames" => {
            Box::new(Frames::new(FramesSettings { radio, address: ADDRESS, satellite_function }, handles))
        }
        "five-byte" => Box::new(FiveByte::new(radio, handles)),
        name => {
            let layout = if name == "semicolon-nine" { Layout::Nine } else { Layout::Eleven };
            radio.opening.reverse();
            let settings = SemicolonSettings { radio, ..SemicolonSettings::new(layout) };
            Box::new(Semicolon::new(settings, handles))
        }
    }
}

fn line_plan(dialect: &str, uses: Use, segments: &Segments) -> LinePlan {
    let Some(dialect) = Dialect::builtin(dialect) else { unreachable!("{dialect} is built in") };
    let line = dialect.line();
    LinePlan {
        port: LineSetup {
            port: PathBuf::from("/dev/radio"),
            baud: line.baud,
            stop_bits: line.stop_bits,
            raise: Raise::default(),
        },
        answer: line.answer,
        speed: 1.0,
        devices: vec![DeviceSetup::Radio(RadioSetup {
            name: "radio".to_owned(),
            address: dialect.family().is_addressed().then_some(ADDRESS),
            dialect,
            uses,
            step: ByMode::default(),
            worthwhile: ByMode::default(),
            calibration: Calibration::default(),
            hold_uplink: false,
            receive_only: false,
            segments: segments.clone(),
        })],
    }
}

/// What goes wrong with the line: nothing, or one or two things. Inserted bytes and garbage could
/// forge anything and are not played. A five-byte radio has no word for a refusal: one that
/// refuses its preparation can't be told from one that needs none.
fn faults(dialect: &str, chance: &mut Chance) -> Vec<Fault> {
    let mut faults = Vec::new();
    for _ in 0..chance.below(3) {
        faults.push(match chance.below(8) {
            0 => Fault::Mute,
            1 => Fault::Off,
            2 => Fault::HalfFrame,
            3 if dialect != "five-byte" => Fault::Refusals,
            4 => Fault::SlowBytes { byte_s: 0.0015 * (1 + chance.below(8)) as f64 },
            5 => Fault::Unplugged,
            _ => Fault::LostBytes { one_in: [20, 60, 200][chance.below(3)] },
        });
    }
    faults
}

/// The judge sees what it is there for: the same radio, told by hand.
#[test]
fn the_radios_judge_sees_keying_and_leaving_the_segments() {
    let said = |bytes: &[u8]| {
        let mut run = Run::new(0, Chance(1));
        run.wire.write(bytes, later(start(), 0.2));
        run.now = 0.5;
        run.wire.advance(run.moment().utc);
        run.breach().map(|breach| breach.what)
    };
    assert_eq!(said(b"FA00145950000;FA;"), None);
    assert_eq!(said(b"TX;"), Some(Violation::KeyCommand(b"TX".to_vec())));
    let hertz = Hertz(144_100_000) + SHIFT + XIT;
    let outside = |hertz| Some(Violation::OutsideSegments { hertz, keyed: false });
    assert!([outside(hertz), outside(Hertz(144_100_000))].contains(&said(b"FR0;FT0;FA00144100000;")));
}
