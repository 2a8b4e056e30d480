//! A line with its players in virtual time, against a far end made of a closure.

use beamhand::device::dialect::Dialect;
use beamhand::device::line::{Line, LineInput, LineSetup, Raise};
use beamhand::device::*;
use beamhand::terms::*;
use std::path::PathBuf;
use std::time::Duration;

pub(crate) fn t0() -> Time {
    parse_time("2026-11-25T18:00:00Z").unwrap()
}
pub(crate) fn moment(s: f64) -> Moment {
    Moment { utc: later(t0(), s), mono: Duration::from_secs_f64(s), speed: 1.0 }
}

pub(crate) struct Fixed(pub(crate) Channel, pub(crate) f64);
impl Plan<Channel> for Fixed {
    fn at(&self, time: Time) -> Option<Channel> {
        let slide = Hertz::rounded(self.1 * seconds_between(t0(), time));
        let mv = |d: Option<Dial>| d.map(|d| Dial { hertz: d.hertz + slide, ..d });
        Some(Channel { receive: mv(self.0.receive), transmit: mv(self.0.transmit) })
    }
    fn validity(&self) -> Validity {
        Validity { from: later(t0(), 1000.0), until: later(t0(), 2000.0) }
    }
    fn generation(&self) -> u64 {
        1
    }
}
pub(crate) fn channel(tone: Option<u16>) -> Channel {
    let tone = tone.map(|t| Tone::from_tenths(t).unwrap());
    Channel {
        receive: Some(Dial { hertz: Hertz(435_500_000), mode: Mode::Fm, tone: None }),
        transmit: Some(Dial { hertz: Hertz(145_950_000), mode: Mode::Fm, tone }),
    }
}
pub(crate) fn radio(dialect: &str, uses: Use, address: Option<u8>, name: &str) -> DeviceSetup {
    DeviceSetup::Radio(RadioSetup {
        name: name.into(),
        dialect: Dialect::builtin(dialect).unwrap(),
        address,
        uses,
        step: ByMode::default(),
        worthwhile: ByMode::default(),
        calibration: Calibration::default(),
        hold_uplink: false,
        receive_only: false,
        segments: Segments::new(vec![
            Segment { from: Hertz(144_000_000), to: Hertz(146_000_000) },
            Segment { from: Hertz(430_000_000), to: Hertz(440_000_000) },
        ]),
    })
}
pub(crate) fn rotator(dialect: &str, az: AngleRange) -> DeviceSetup {
    DeviceSetup::Rotator(RotatorSetup {
        name: "mast".into(),
        dialect: Dialect::builtin(dialect).unwrap(),
        resolution: 0.1,
        offset: AzEl::ZERO,
        azimuth: az,
        elevation: Some(AngleRange::new(0.0, 180.0)),
        no_go: Vec::new(),
        slew: AzEl::new(5.0, 3.0),
        acceleration: AzEl::new(10.0, 10.0),
        dead_band: 2.0,
        worthwhile: 2.0,
        approach: None,
        by_hand: ByHand::Follow,
    })
}
pub(crate) fn plan(devices: Vec<DeviceSetup>, baud: u32) -> LinePlan {
    LinePlan {
        port: LineSetup { port: PathBuf::from("/dev/x"), baud, stop_bits: 1, raise: Raise::default() },
        answer: Duration::from_millis(200),
        speed: 1.0,
        devices,
    }
}
pub(crate) type Answer = Box<dyn FnMut(&[u8]) -> Vec<u8>>;
pub(crate) struct Stand {
    line: Line,
    pub(crate) now: f64,
    pub(crate) sent: Vec<(f64, Vec<u8>)>,
    due: Vec<(f64, Vec<u8>)>,
    answer: Answer,
    byte: f64,
    free: f64,
}
impl Stand {
    pub(crate) fn new(p: LinePlan, answer: Answer) -> Self {
        let byte = p.byte_time().as_secs_f64();
        let mut s = Self { line: p.line(), now: 0.0, sent: vec![], due: vec![], answer, byte, free: 0.0 };
        s.feed(LineInput::Opened);
        s
    }
    pub(crate) fn feed(&mut self, input: LineInput) {
        for w in self.line.step(moment(self.now), input) {
            let a = (self.answer)(&w.bytes);
            self.free = self.free.max(self.now) + self.byte * w.bytes.len() as f64;
            if !a.is_empty() {
                let at = self.free + 0.01 + self.byte * a.len() as f64;
                self.due.push((at, a));
            }
            self.sent.push((self.now, w.bytes));
        }
    }
    pub(crate) fn run(&mut self, until: f64) {
        let mut steps = 0;
        while self.now < until {
            steps += 1;
            assert!(steps < 2_000_000);
            self.due.sort_by(|a, b| a.0.total_cmp(&b.0));
            let wake = self.line.wake_at().as_secs_f64() + 1e-9;
            let next = self.due.first().map_or(wake, |d| d.0.min(wake)).max(self.now + 1e-6).min(until);
            self.now = next;
            if self.due.first().is_some_and(|d| d.0 <= self.now) {
                let (_, b) = self.due.remove(0);
                self.feed(LineInput::Bytes(&b));
            } else {
                self.feed(LineInput::Time);
            }
        }
    }
    pub(crate) fn order(&mut self, i: usize, o: Order) {
        self.feed(LineInput::Order(i, o));
    }
    pub(crate) fn text(&self) -> Vec<String> {
        self.sent.iter().map(|(t, b)| format!("{t:.3} {}", String::from_utf8_lossy(b).trim())).collect()
    }
    pub(crate) fn status(&self) -> Vec<DeviceStatus> {
        self.line.status(moment(self.now))
    }
}
