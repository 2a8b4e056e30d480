//! Radios that understand nothing before they were greeted.

use std::cell::Cell;
use std::rc::Rc;
use std::sync::Arc;

use beamhand::device::dialect::Dialect;
use beamhand::device::*;

use crate::stand::*;

/// The shape of five bytes with two bands: computer control on is all zeros (the design's example).
const GREETING: [u8; 5] = [0, 0, 0, 0, 0];

fn greeted_radio() -> DeviceSetup {
    let file = "base = \"five-byte-duplex\"\n[do]\ngreeting = \"00 00 00 00 00\"\n";
    let dialect = Arc::new(Dialect::parse("greeted", file).unwrap());
    let DeviceSetup::Radio(setup) = radio("five-byte-duplex", Use::Both, None, "a") else { unreachable!() };
    DeviceSetup::Radio(RadioSetup { dialect, ..setup })
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
            0x03 | 0x13 | 0x23 if listens => vec![0x43, 0x55, 0x00, 0x00, 0x08],
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
