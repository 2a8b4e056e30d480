//! Radios that understand nothing before they were greeted.

use std::cell::Cell;
use std::rc::Rc;
use std::sync::Arc;

use beamhand::device::*;
use beamhand::terms::Mode;

use crate::stand::*;

/// The shape of five bytes with two bands: computer control on is all zeros (the design's example).
const GREETING: [u8; 5] = [0, 0, 0, 0, 0];

fn greeted_radio() -> DeviceSetup {
    radio("five-byte-duplex", Use::Both, None, "a")
}

/// Answers questions once it was greeted; forgets the greeting when `off` is set.
fn deaf_until_greeted(off: Rc<Cell<bool>>) -> Answer {
    let mut listens = false;
    Box::new(move |frame| {
        if off.take() {
            listens = false;
        }
        listens |= frame == GREETING;
        match frame[4] {
            0x03 | 0x13 | 0x23 if listens => vec![0x43, 0x55, 0x00, 0x00, 0x01],
            0xF7 if listens => vec![0xFF],
            _ => vec![],
        }
    })
}

#[test]
fn a_radio_is_greeted_before_anything_else_and_once() {
    let mut s = Stand::new(plan(vec![greeted_radio()], 9600), deaf_until_greeted(Default::default()));
    s.run(30.0);
    assert_eq!(s.sent[0].1, GREETING);
    assert_eq!(s.sent.iter().filter(|(_, frame)| *frame == GREETING).count(), 1, "{:?}", s.sent);
    assert!(s.status()[0].contact.is_good());
}

#[test]
fn a_radio_that_was_switched_off_and_on_is_greeted_again() {
    let off = Rc::new(Cell::new(false));
    let mut s = Stand::new(plan(vec![greeted_radio()], 9600), deaf_until_greeted(off.clone()));
    s.run(30.0);
    off.set(true);
    s.run(60.0);
    let greetings = s.sent.iter().filter(|(_, frame)| *frame == GREETING).count();
    assert!(greetings >= 2, "{greetings}");
    assert!(s.status()[0].contact.is_good());
}

/// Its duplex function (`4E`) is gone with the power, too; `13`, `23` and `F7` only ask.
#[test]
fn a_radio_that_lost_its_power_in_mid_pass_is_greeted_then_asked_then_told() {
    let off = Rc::new(Cell::new(false));
    let mut s = Stand::new(plan(vec![greeted_radio()], 9600), deaf_until_greeted(off.clone()));
    let mut channel = channel(None);
    for dial in [&mut channel.receive, &mut channel.transmit].into_iter().flatten() {
        dial.mode = Mode::Usb;
    }
    s.run(0.5);
    s.order(0, Order::Radio(RadioOrder::Engage(Arc::new(Fixed(channel, 100.0)))));
    s.run(5.0);
    s.order(0, Order::Radio(RadioOrder::Proceed));
    s.run(1100.0);
    assert_eq!(s.status()[0].radio().unwrap().stage, RadioStage::Following);
    off.set(true);
    let lost_at = s.sent.len();
    s.run(1110.0);
    let after = |opcode: u8| s.sent[lost_at..].iter().position(|(_, frame)| frame[4] == opcode);
    let greeted = after(0x00).unwrap();
    let asks = |opcode: u8| [0x00, 0x03, 0x13, 0x23, 0xF7].contains(&opcode);
    let told = s.sent[lost_at + greeted..].iter().position(|(_, frame)| !asks(frame[4])).unwrap() + greeted;
    let answered = s.sent[lost_at + greeted..lost_at + told].iter().filter(|(_, frame)| frame[4] & 0x0F == 3);
    assert!(answered.count() > 0, "a dial is asked for between the greeting and the first command");
    assert!(after(0x4E).is_some(), "duplex is switched on again");
    assert!(s.sent[lost_at + told..].iter().any(|(_, frame)| frame[4] == 0x11), "and it is tuned");
    assert!(s.status()[0].contact.is_good());
}
