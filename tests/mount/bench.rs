//! A mount on a modelled wire, with the line and the player that are under test.

use std::time::Duration;

use beamhand::device::dialect::Dialect;
use beamhand::device::line::{Line, LineInput, LineSetup, Raise};
use beamhand::device::*;
use beamhand::sim::mount::{AxisSettings, Limits, MountSettings, Words, WordsSettings};
use beamhand::sim::{Fault, Handles, Wire, WireSettings};
use beamhand::terms::*;

/// The line is looked at no more rarely than this, seconds.
const SLICE_S: f64 = 0.02;

pub(crate) fn at(seconds: f64) -> Time {
    later(parse_time("2026-11-25T18:00:00Z").unwrap(), seconds)
}

/// A mount of 0..450 and 0..180 degrees that is said to turn as fast as it does.
pub(crate) fn setup() -> RotatorSetup {
    RotatorSetup {
        name: "mast".into(),
        dialect: Dialect::builtin("az-el-words").unwrap(),
        resolution: 0.1,
        offset: AzEl::ZERO,
        azimuth: AngleRange::new(0.0, 450.0),
        elevation: Some(AngleRange::new(0.0, 180.0)),
        no_go: Vec::new(),
        slew: AzEl::new(5.0, 3.0),
        acceleration: AzEl::new(10.0, 10.0),
        dead_band: 2.0,
        worthwhile: 2.0,
        approach: None,
        by_hand: ByHand::Follow,
    }
}

/// The simulated mount of such a setup, in its controller's figures.
pub(crate) fn mount_of(setup: &RotatorSetup) -> MountSettings {
    let axis = |range: AngleRange, offset: f64, rate| AxisSettings {
        from: range.from - offset,
        to: range.to - offset,
        limits: Limits { rate, acceleration: 10.0 },
        backlash: 0.0,
    };
    MountSettings {
        azimuth: axis(setup.azimuth, setup.offset.azimuth, setup.slew.azimuth),
        elevation: axis(
            setup.elevation.unwrap_or(AngleRange::new(0.0, 90.0)),
            setup.offset.elevation,
            setup.slew.elevation,
        ),
        azimuth_only: setup.elevation.is_none(),
        start: AzEl::new(100.0, 10.0),
        ..MountSettings::default()
    }
}

pub(crate) struct Bench {
    line: Line,
    wire: Wire,
    pub(crate) now: f64,
    /// Every frame that left, and when.
    pub(crate) sent: Vec<(f64, String)>,
    /// How often something came in.
    pub(crate) heard: u64,
    slice: f64,
}

impl Bench {
    pub(crate) fn new(setup: RotatorSetup, mount: MountSettings) -> Self {
        Self::at_baud(setup, mount, 9600, SLICE_S)
    }

    pub(crate) fn at_baud(setup: RotatorSetup, mount: MountSettings, baud: u32, slice: f64) -> Self {
        let device = Words::new(WordsSettings { mount, ..WordsSettings::default() }, Handles::default());
        let plan = LinePlan {
            port: LineSetup { port: "/dev/x".into(), baud, stop_bits: 1, raise: Raise::default() },
            answer: Duration::from_millis(500),
            speed: 1.0,
            devices: vec![DeviceSetup::Rotator(setup)],
        };
        let wire = Wire::new(device, WireSettings { baud, ..WireSettings::default() });
        let (sent, now) = (Vec::new(), 0.0);
        let mut bench = Self { line: plan.line(), wire, now, sent, heard: 0, slice };
        bench.feed(LineInput::Opened);
        bench
    }

    fn moment(&self) -> Moment {
        Moment { utc: at(self.now), mono: Duration::from_secs_f64(self.now), speed: 1.0 }
    }

    pub(crate) fn handles(&self) -> &Handles {
        self.wire.handles()
    }

    pub(crate) fn feed(&mut self, input: LineInput) {
        for write in self.line.step(self.moment(), input) {
            self.wire.write(&write.bytes, at(self.now));
            self.sent.push((self.now, String::from_utf8_lossy(&write.bytes).trim().to_owned()));
        }
    }

    /// Lets time pass until `until`, seconds.
    pub(crate) fn run(&mut self, until: f64) {
        while self.now < until {
            let wake = self.line.wake_at().as_secs_f64() + 1e-6;
            self.now = wake.max(self.now + 0.001).min(self.now + self.slice).min(until);
            let came = self.wire.read(at(self.now));
            if came.is_empty() {
                if self.now >= wake {
                    self.feed(LineInput::Time);
                }
            } else {
                self.heard += 1;
                self.feed(LineInput::Bytes(&came));
            }
        }
    }

    /// The computer hangs just after the next question, for so long.
    pub(crate) fn hang(&mut self, seconds: f64) {
        let asked = self.sent.len();
        while self.sent.len() == asked {
            self.run(self.now + 0.01);
        }
        self.now += seconds;
    }

    pub(crate) fn order(&mut self, order: RotatorOrder) {
        self.feed(LineInput::Order(0, Order::Rotator(order)));
    }

    pub(crate) fn go(&mut self, azimuth: f64, elevation: f64) {
        self.order(RotatorOrder::GoTo(AzEl::new(azimuth, elevation)));
    }

    pub(crate) fn switch(&self, fault: Fault) {
        self.handles().faults.switch_on(fault);
    }

    pub(crate) fn status(&self) -> DeviceStatus {
        self.line.status(self.moment()).remove(0)
    }

    pub(crate) fn view(&self) -> RotatorView {
        self.status().rotator().unwrap().clone()
    }

    /// All that is said of it.
    pub(crate) fn said(&self) -> String {
        let contact = format!("{:?}", self.status().contact);
        [vec![contact], self.view().notes].concat().join("; ")
    }

    /// Where the antenna really is.
    pub(crate) fn antenna(&mut self) -> AzEl {
        self.wire.advance(at(self.now));
        self.handles().record.position_at(at(self.now)).unwrap()
    }

    /// The moments from `from` on at which a stop left.
    pub(crate) fn stops(&self, from: f64) -> Vec<f64> {
        let stops = self.sent.iter().filter(|(at, text)| *at >= from && text == "SA SE");
        stops.map(|(at, _)| *at).collect()
    }

    /// The aims that left from `from` on.
    pub(crate) fn aims(&self, from: f64) -> Vec<(f64, AzEl)> {
        let sent = self.sent.iter().filter(|(at, _)| *at >= from);
        sent.filter_map(|(at, text)| Some((*at, aim_of(text)?))).collect()
    }
}

/// `AZ180.0 EL45.0`, or `AZ180.0` alone.
pub(crate) fn aim_of(text: &str) -> Option<AzEl> {
    let mut words = text.split(' ');
    let azimuth = words.next()?.strip_prefix("AZ")?.parse().ok()?;
    let elevation = words.next().map_or(Some(0.0), |word| word.strip_prefix("EL")?.parse().ok())?;
    Some(AzEl::new(azimuth, elevation))
}
