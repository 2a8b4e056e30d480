//! A line that begins from another one's memo does what that one does: in every language and shape of
//! station, from many moments of a pass.

use std::sync::{Arc, Mutex};

use beamhand::device::line::{Line, LineInput, Witness, Write};
use beamhand::device::{LinePlan, Order, RadioOrder, RotatorOrder};
use beamhand::sim::Fault;
use beamhand::terms::{Memo, Moment};

use crate::stations;
use crate::theatre::{MAST, Theatre, demo_with, mast};

/// So many inputs after a memo the next one is taken.
const INPUTS: u32 = 700;

/// Plays the same inputs to a line that began from a memo.
struct Twin {
    plan: LinePlan,
    line: Option<Line>,
    last_plan: Vec<Option<Order>>,
    inputs: u32,
    writes: Vec<Write>,
    /// How many memos were taken, and how many writes compared.
    tally: Arc<Mutex<(u32, u32)>>,
}

impl Witness for Twin {
    fn happens(&mut self, now: Moment, input: &LineInput) {
        self.inputs += 1;
        let input = match input {
            LineInput::Opened => LineInput::Opened,
            LineInput::Lost(why) => LineInput::Lost(why),
            LineInput::Bytes(bytes) => LineInput::Bytes(bytes),
            LineInput::NotSent => LineInput::NotSent,
            LineInput::Order(device, order) => {
                if matches!(
                    order,
                    Order::Radio(RadioOrder::Engage(_) | RadioOrder::Listen(_) | RadioOrder::Follow(_))
                        | Order::Rotator(RotatorOrder::Follow(_))
                ) {
                    self.last_plan[*device] = Some(order.clone());
                }
                LineInput::Order(*device, order.clone())
            }
            LineInput::Halt => LineInput::Halt,
            LineInput::Resume => LineInput::Resume,
            LineInput::Time => LineInput::Time,
        };
        self.writes = self.line.as_mut().map(|line| line.step(now, input)).unwrap_or_default();
    }

    fn said(&mut self, writes: &[Write]) {
        if self.line.is_some() {
            assert_eq!(self.writes, writes, "{:?}", self.plan.port.port);
            self.tally.lock().unwrap().1 += writes.len() as u32;
        }
    }

    fn wants_memo(&self) -> bool {
        self.line.is_none() || self.inputs > INPUTS
    }

    fn remembers(&mut self, _now: Moment, memo: Result<Memo, String>) {
        let text = serde_json::to_string(&memo.unwrap()).unwrap();
        let memo: Memo = serde_json::from_str(&text).unwrap();
        let mut line = self.plan.line();
        line.remember(&memo, self.last_plan.clone()).unwrap();
        let again = serde_json::to_value(line.memo().unwrap().unwrap()).unwrap();
        assert_eq!(again, serde_json::Value::from(memo), "{:?}", self.plan.port.port);
        self.line = Some(line);
        self.inputs = 0;
        self.tally.lock().unwrap().0 += 1;
    }
}

/// Watches every line of a station from its beginning.
fn watch(theatre: &mut Theatre) -> Arc<Mutex<(u32, u32)>> {
    let tally = Arc::new(Mutex::new((0, 0)));
    for (number, plan) in theatre.plans.clone().into_iter().enumerate() {
        let last_plan = vec![None; plan.devices.len()];
        let (line, inputs, writes, tally) = (None, 0, Vec::new(), tally.clone());
        theatre.station.watched_by(number, Box::new(Twin { plan, line, last_plan, inputs, writes, tally }));
    }
    tally
}

#[track_caller]
fn plays_alike(mut theatre: Theatre) {
    let tally = watch(&mut theatre);
    theatre.start();
    theatre.play_out();
    let (memos, writes) = *tally.lock().unwrap();
    assert!(memos > 5 && writes > 50, "{memos} memos, {writes} writes");
}

#[test]
fn a_duplex_radio_of_every_language_goes_on_from_its_memo() {
    for dialect in ["semicolon-eleven", "semicolon-nine", "fe-frames", "five-byte-duplex"] {
        plays_alike(Theatre::open(demo_with(&(stations::fm_radio("set", dialect, "both") + MAST))));
    }
}

#[test]
fn a_radio_that_only_listens_goes_on_from_its_memo() {
    plays_alike(Theatre::open(demo_with(&stations::receive_only("five-byte").equipment)));
}

#[test]
fn a_half_duplex_radio_goes_on_from_its_memo() {
    for dialect in stations::BY_SPLIT {
        plays_alike(Theatre::open(demo_with(&stations::half_duplex(dialect).equipment)));
    }
}

#[test]
fn bands_that_were_left_crossed_go_on_from_their_memo() {
    let station = stations::crossed("fe-frames");
    plays_alike(Theatre::open_for(demo_with(&station.equipment), station.satellite, None));
}

#[test]
fn two_radios_on_one_wire_go_on_from_their_memo() {
    let station = stations::shared_bus();
    plays_alike(Theatre::open_for(demo_with(&station.equipment), station.satellite, None));
}

#[test]
fn every_controller_goes_on_from_its_memo() {
    for dialect in ["az-el-words", "w-lines", "thirteen-byte"] {
        plays_alike(Theatre::open(demo_with(&mast(dialect))));
    }
}

#[test]
fn a_sick_device_goes_on_from_its_memo() {
    for fault in [Fault::Mute, Fault::Echo, Fault::HalfFrame, Fault::Refusals, Fault::Babble] {
        let mut theatre =
            Theatre::open(demo_with(&(stations::fm_radio("set", "semicolon-eleven", "both") + MAST)));
        let tally = watch(&mut theatre);
        theatre.start();
        theatre.play_until(30.0);
        theatre.device("set").handles.faults.switch_on(fault);
        theatre.play_until(60.0);
        theatre.device("set").handles.faults.switch_off(fault);
        theatre.play_until(120.0);
        assert!(tally.lock().unwrap().0 > 5, "{fault:?}");
    }
}
