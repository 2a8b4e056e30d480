//! Half-duplex by split on a radio whose other VFO is selected by a command, and which takes a
//! frequency while it transmits: then the plain command reaches the VFO that transmits. Made by
//! hand from the frames' examples: `07 00` and `07 01` select, `05` sets, `03` reads, `0F 01` splits
//! and `0F` asks for that, `21 01`, `21 02` and `16 43` ask for the clarifiers and the tone squelch.

use std::cell::RefCell;
use std::rc::Rc;
use std::sync::Arc;

use beamhand::device::*;
use beamhand::terms::*;

use crate::stand::*;

struct Radio {
    hertz: [i64; 2],
    selected: usize,
    split: bool,
    keyed: bool,
    selects_on_air: u32,
    /// The next return to the first VFO does not reach it.
    loses_return: bool,
}

impl Radio {
    /// The VFO that a plain command reaches.
    fn live(&self) -> usize {
        if self.keyed && self.split { 1 - self.selected } else { self.selected }
    }

    fn hear(&mut self, frame: &[u8]) -> Vec<u8> {
        let content = &frame[4..frame.len() - 1];
        if content == [0x07, 0x00] && self.selected == 1 && std::mem::take(&mut self.loses_return) {
            return vec![];
        }
        let live = self.live();
        let answer = match content {
            [0x03] => {
                let digits = format!("{:010}", self.hertz[live]);
                let pair = |i: usize| u8::from_str_radix(&digits[i..i + 2], 16).unwrap();
                vec![0x03, pair(8), pair(6), pair(4), pair(2), pair(0)]
            }
            [0x04] => vec![0x04, 0x01, 0x01],
            [0x05, digits @ ..] => {
                let text: String = digits.iter().rev().map(|byte| format!("{byte:02X}")).collect();
                self.hertz[live] = text.parse().unwrap();
                vec![0xFB]
            }
            [0x07, vfo] => {
                self.selected = usize::from(*vfo);
                self.selects_on_air += u32::from(self.keyed);
                vec![0xFB]
            }
            [0x0F] => vec![0x0F, u8::from(self.split)],
            [0x0F, 0x10] => vec![0xFB],
            [0x0F, on] => {
                self.split = *on == 1;
                vec![0xFB]
            }
            [0x16, 0x43] | [0x21, _] => [content, &[0x00]].concat(),
            [0x1C, 0x00] => vec![0x1C, 0x00, u8::from(self.keyed)],
            _ => vec![0xFB],
        };
        [&[0xFE, 0xFE, 0xE0, frame[2]][..], &answer, &[0xFD]].concat()
    }
}

/// Following a plan that slides by 60 Hz/s in SSB, with these segments.
fn following(segments: Segments) -> (Stand, Rc<RefCell<Radio>>) {
    let hertz = [435_100_000, 145_200_000];
    let radio =
        Radio { hertz, selected: 0, split: false, keyed: false, selects_on_air: 0, loses_return: false };
    let shared = Rc::new(RefCell::new(radio));
    let DeviceSetup::Radio(setup) = crate::stand::radio("fe-frames", Use::HalfDuplex, Some(0x5A), "a") else {
        unreachable!()
    };
    let far = shared.clone();
    let mut s = Stand::new(
        plan(vec![DeviceSetup::Radio(RadioSetup { segments, ..setup })], 9600),
        Box::new(move |frame| far.borrow_mut().hear(frame)),
    );
    let mut channel = channel(None);
    for dial in [&mut channel.receive, &mut channel.transmit].into_iter().flatten() {
        dial.mode = Mode::Usb;
    }
    s.run(0.5);
    s.order(0, Order::Radio(RadioOrder::Engage(Arc::new(Fixed(channel, 60.0)))));
    s.run(5.0);
    s.order(0, Order::Radio(RadioOrder::Proceed));
    s.run(20.0);
    assert_eq!(s.status()[0].radio().unwrap().stage, RadioStage::Following);
    (s, shared)
}

fn segment(from: i64, to: i64) -> Segment {
    Segment { from: Hertz(from), to: Hertz(to) }
}

fn both_bands() -> Segments {
    Segments::new(vec![segment(145_800_000, 146_000_000), segment(435_000_000, 438_000_000)])
}

#[test]
fn on_the_air_the_transmitting_vfo_is_tuned_without_any_select() {
    let (mut s, radio) = following(both_bands());
    radio.borrow_mut().keyed = true;
    s.run(21.0);
    let receive = radio.borrow().hertz[0];
    let n = s.sent.len();
    for second in 22..40 {
        s.run(f64::from(second));
        let error = radio.borrow().hertz[1] - 145_950_000 - i64::from(second) * 60;
        assert!(error.abs() <= 20, "transmit {error} Hz off at {second} s");
    }
    assert_eq!(radio.borrow().hertz[0], receive, "the receiving VFO waits");
    assert!(s.sent[n..].iter().all(|(_, frame)| frame[4] != 0x07), "a VFO was selected on the air");
    let view = s.status().remove(0);
    assert!(view.radio().unwrap().receive.unwrap().behind.unwrap() > Hertz(1_000));
    radio.borrow_mut().keyed = false;
    s.run(40.6);
    let slide = (60.0 * s.now) as i64;
    let (receive, transmit) = (radio.borrow().hertz[0] - 435_500_000, radio.borrow().hertz[1] - 145_950_000);
    assert!((receive - slide).abs() <= 20, "receive {} Hz off after the over", receive - slide);
    assert!((transmit - slide).abs() <= 150, "transmit {} Hz off after the over", transmit - slide);
    assert!(radio.borrow().selects_on_air <= 3, "the visit that was on its way, and no other");
}

#[test]
fn a_downlink_outside_the_segments_is_not_sent_where_it_might_land_on_the_transmitter() {
    let (mut s, radio) = following(Segments::new(vec![segment(145_800_000, 146_000_000)]));
    s.run(60.0);
    assert_eq!(radio.borrow().hertz[0], 435_100_000);
    assert!((radio.borrow().hertz[1] - 145_953_600).abs() <= 150);
    let view = s.status().remove(0);
    let notes = &view.radio().unwrap().notes;
    assert!(notes.iter().any(|note| note.why.contains("press the key")), "{notes:?}");
}

#[test]
fn a_return_to_the_first_vfo_that_is_lost_is_made_good_before_a_dial_is_tuned() {
    let (mut s, radio) = following(both_bands());
    radio.borrow_mut().loses_return = true;
    let n = s.sent.len();
    s.run(32.0);
    assert!(!radio.borrow().loses_return, "a return was lost");
    assert_eq!(radio.borrow().selected, 0);
    let lost = s.sent[n..].iter().position(|(_, frame)| frame[4..6] == [0x07, 0x00]).unwrap() + n;
    let next = s.sent[lost + 1..].iter().find(|(_, frame)| [0x05, 0x07].contains(&frame[4])).unwrap();
    assert_eq!(next.1[4..6], [0x07, 0x00], "selected again before a frequency is set");
    let slide = (60.0 * s.now) as i64;
    let (receive, transmit) = (radio.borrow().hertz[0] - 435_500_000, radio.borrow().hertz[1] - 145_950_000);
    assert!((receive - slide).abs() <= 20, "receive {} Hz off", receive - slide);
    assert!((transmit - slide).abs() <= 150, "transmit {} Hz off", transmit - slide);
}
