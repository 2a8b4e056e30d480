//! Half-duplex by split, on a radio that can only toggle between its VFOs and does not say which
//! one is in use. The radio is made by hand from the five-byte examples: `01` sets the VFO in use,
//! `03` reads it, `81` toggles, `02` switches split on, `F7` bit 7 is low while it transmits.

use std::cell::RefCell;
use std::rc::Rc;
use std::sync::Arc;

use beamhand::device::dialect::Dialect;
use beamhand::device::*;
use beamhand::terms::*;

use crate::stand::*;

const FILE: &str = r#"
base = "five-byte"
[prepare]
split = ["split_on", "simplex", "clarifier_off"]
[do]
split_on = "00 00 00 00 02"
swap_vfo = "00 00 00 00 81"
other_hz = { send = ["00 00 00 00 81", "{hz/10:bcd4} 01"], finally = ["00 00 00 00 81"] }
other_mode = { send = ["00 00 00 00 81", "{mode:table} 00 00 00 07"], finally = ["00 00 00 00 81"] }
[ask]
other_hz = { send = ["00 00 00 00 81", "00 00 00 00 03"], answer = "{other_hz/10:bcd4} {_:raw1}", finally = ["00 00 00 00 81"] }
"#;

/// The radio's two VFOs, of which `in_use` receives and, with split, the other one transmits.
struct Radio {
    hertz: [i64; 2],
    in_use: usize,
    split: bool,
    keyed: bool,
    /// So many of the next toggles do not reach it, though they are answered.
    deaf_to_toggles: u32,
    /// What the transmitter stood on, whenever that changed.
    transmitted_on: Vec<i64>,
    /// Toggles that came while it transmitted.
    toggled_on_air: u32,
}

impl Radio {
    fn transmits(&self) -> i64 {
        self.hertz[if self.split { 1 - self.in_use } else { self.in_use }]
    }

    fn receives(&self) -> i64 {
        self.hertz[self.in_use]
    }

    fn hear(&mut self, frame: &[u8]) -> Vec<u8> {
        let live = if self.keyed && self.split { 1 - self.in_use } else { self.in_use };
        match frame[4] {
            0x03 => {
                let digits = format!("{:08}", self.hertz[live] / 10);
                let pair = |i: usize| u8::from_str_radix(&digits[i..i + 2], 16).unwrap();
                return vec![pair(0), pair(2), pair(4), pair(6), 0x01];
            }
            0xF7 => return vec![if self.keyed { 0x7F } else { 0xFF }],
            _ if self.keyed => self.toggled_on_air += u32::from(frame[4] == 0x81),
            0x01 => {
                let digits: String = frame[..4].iter().map(|byte| format!("{byte:02X}")).collect();
                self.hertz[self.in_use] = digits.parse::<i64>().unwrap() * 10;
            }
            0x02 => self.split = true,
            0x81 if self.deaf_to_toggles > 0 => self.deaf_to_toggles -= 1,
            0x81 => self.in_use = 1 - self.in_use,
            _ => {}
        }
        if self.transmitted_on.last() != Some(&self.transmits()) {
            self.transmitted_on.push(self.transmits());
        }
        vec![0]
    }
}

fn shared() -> Rc<RefCell<Radio>> {
    Rc::new(RefCell::new(Radio {
        hertz: [435_100_000, 145_200_000],
        in_use: 0,
        split: false,
        keyed: false,
        deaf_to_toggles: 0,
        transmitted_on: Vec::new(),
        toggled_on_air: 0,
    }))
}

fn setup() -> RadioSetup {
    let DeviceSetup::Radio(setup) = radio("five-byte", Use::HalfDuplex, None, "a") else { unreachable!() };
    RadioSetup { dialect: Arc::new(Dialect::parse("toggling", FILE).unwrap()), ..setup }
}

/// Both dials slide by 60 Hz/s in SSB.
fn sliding() -> Fixed {
    let mut channel = channel(None);
    for dial in [&mut channel.receive, &mut channel.transmit].into_iter().flatten() {
        dial.mode = Mode::Usb;
    }
    Fixed(channel, 60.0)
}

fn following(radio: &Rc<RefCell<Radio>>) -> Stand {
    let far = radio.clone();
    let mut s = Stand::new(
        plan(vec![DeviceSetup::Radio(setup())], 9600),
        Box::new(move |frame| far.borrow_mut().hear(frame)),
    );
    s.run(0.5);
    s.order(0, Order::Radio(RadioOrder::Engage(Arc::new(sliding()))));
    s.run(3.0);
    s.order(0, Order::Radio(RadioOrder::Proceed));
    s.run(20.0);
    assert_eq!(s.status()[0].radio().unwrap().stage, RadioStage::Following);
    s
}

/// How far the receiver and the transmitter are from the plan.
fn errors(radio: &Rc<RefCell<Radio>>, now: f64) -> (i64, i64) {
    let slide = (60.0 * now).round() as i64;
    let radio = radio.borrow();
    ((radio.receives() - 435_500_000 - slide).abs(), (radio.transmits() - 145_950_000 - slide).abs())
}

#[test]
fn both_vfos_follow_and_the_other_one_is_visited_seldom() {
    let radio = shared();
    let mut s = following(&radio);
    let mut looks = 0;
    for second in 21..80 {
        s.run(f64::from(second));
        if radio.borrow().in_use == 1 {
            continue;
        }
        looks += 1;
        let (receive, transmit) = errors(&radio, s.now);
        assert!(receive <= 20, "receive {receive} Hz off at {second} s");
        // Four seconds at 60 Hz/s, aimed for the middle.
        assert!(transmit <= 150, "transmit {transmit} Hz off at {second} s");
    }
    assert!(looks > 50, "on a visit in {} of 59 looks", 59 - looks);
    let toggles = s.sent.iter().filter(|(at, frame)| *at > 20.0 && frame[4] == 0x81).count();
    assert!((20..=40).contains(&toggles), "{toggles} toggles in a minute");
}

#[test]
fn an_over_is_left_in_peace_and_both_vfos_are_fresh_after_it() {
    let radio = shared();
    let mut s = following(&radio);
    radio.borrow_mut().keyed = true;
    s.run(20.3);
    let before = radio.borrow().hertz;
    s.run(40.0);
    assert_eq!(radio.borrow().hertz, before);
    let view = s.status().remove(0);
    let view = view.radio().unwrap();
    assert_eq!(view.transmitting, Some(true));
    let behind = view.receive.unwrap().behind.unwrap().0;
    assert!((1_150..=1_300).contains(&behind), "20 s at 60 Hz/s: {behind}");
    radio.borrow_mut().keyed = false;
    s.run(40.8);
    let (receive, transmit) = errors(&radio, s.now);
    assert!(receive <= 20 && transmit <= 150, "{receive} {transmit} Hz off");
    let view = s.status().remove(0);
    let drift = view.radio().unwrap().last_over.unwrap();
    assert!(drift.receive.unwrap().0 > 1_150 && drift.transmit.is_some(), "{drift}");
    assert!(radio.borrow().toggled_on_air <= 1, "{}", radio.borrow().toggled_on_air);
}

#[test]
fn a_toggle_that_did_not_reach_the_radio_is_made_good() {
    let radio = shared();
    let mut s = following(&radio);
    radio.borrow_mut().deaf_to_toggles = 1;
    s.run(27.0);
    assert_eq!(radio.borrow().deaf_to_toggles, 0);
    let (receive, transmit) = errors(&radio, s.now);
    assert!(receive <= 30 && transmit <= 200, "{receive} {transmit} Hz off");
    assert_eq!(s.status()[0].radio().unwrap().notes, []);
}

#[test]
fn vfos_that_do_not_come_back_are_left_to_the_operator() {
    let radio = shared();
    let mut s = following(&radio);
    // The way there is taken, the way back never: VFO B receives from now on.
    let far = radio.clone();
    let n = s.sent.len();
    while radio.borrow().in_use == 0 {
        s.run(s.now + 0.001);
    }
    far.borrow_mut().deaf_to_toggles = u32::MAX;
    s.run(60.0);
    let toggles = s.sent[n..].iter().filter(|(_, frame)| frame[4] == 0x81).count();
    assert!((4..=6).contains(&toggles), "two of the visit and three more, but {toggles}");
    let view = s.status().remove(0);
    let notes = &view.radio().unwrap().notes;
    assert!(notes.iter().any(|note| note.why.contains("changed places")), "{notes:?}");
}
