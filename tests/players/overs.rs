//! What a player does while the operator transmits, and right after.

use std::cell::Cell;
use std::rc::Rc;
use std::sync::Arc;

use beamhand::device::*;
use beamhand::terms::*;

use crate::stand::*;
use crate::{off, semi};

/// A semicolon radio whose key is `keyed` and whose dials stay where they are set.
fn keyed_radio(keyed: Rc<Cell<bool>>) -> Answer {
    let mut inner = semi(Rc::default());
    let mut dials = [b"FA00435500000;".to_vec(), b"FB00145950000;".to_vec()];
    Box::new(move |frame| {
        let dial = dials.iter_mut().find(|dial| dial[..2] == frame[..2]);
        if let Some(dial) = dial {
            if frame.len() == 14 {
                *dial = frame.to_vec();
                return vec![];
            }
            return dial.clone();
        }
        let mut answer = inner(frame);
        if frame == b"IF;" && keyed.get() {
            answer[28] = b'1';
        }
        answer
    })
}

/// Following a plan that slides by 100 Hz/s in SSB.
fn following(setup: RadioSetup, answer: Answer) -> Stand {
    let baud = 9600;
    let mut s = Stand::new(plan(vec![DeviceSetup::Radio(setup)], baud), answer);
    let mut channel = channel(None);
    for dial in [&mut channel.receive, &mut channel.transmit].into_iter().flatten() {
        dial.mode = Mode::Usb;
    }
    s.run(0.5);
    s.order(0, Order::Radio(RadioOrder::Engage(Arc::new(Fixed(channel, 100.0)))));
    s.run(5.0);
    s.order(0, Order::Radio(RadioOrder::Proceed));
    s.run(20.0);
    s
}

fn duplex(hold_uplink: bool) -> RadioSetup {
    let DeviceSetup::Radio(setup) = radio("semicolon-eleven", Use::Both, None, "a") else { unreachable!() };
    RadioSetup { hold_uplink, ..setup }
}

fn count(s: &Stand, from: f64, start: &[u8]) -> usize {
    s.sent.iter().filter(|(at, frame)| *at > from && frame.starts_with(start)).count()
}

#[test]
fn the_uplink_of_a_duplex_radio_stays_put_during_an_over_if_so_configured() {
    let keyed = off();
    let mut s = following(duplex(true), keyed_radio(keyed.clone()));
    keyed.set(true);
    s.run(40.0);
    assert_eq!(count(&s, 22.0, b"FB0"), 0, "the uplink moved during the over");
    assert!(count(&s, 22.0, b"FA0") > 100, "the downlink goes on");
    let status = s.status().remove(0);
    let transmit = status.radio().unwrap().transmit.unwrap();
    let behind = transmit.behind.unwrap().0;
    assert!((1_700..=2_100).contains(&behind), "18 to 20 s at 100 Hz/s: {behind}");
    keyed.set(false);
    s.run(41.0);
    assert!(count(&s, 40.0, b"FB0") > 0, "one fresh value");
    let status = s.status().remove(0);
    let view = status.radio().unwrap();
    assert_eq!(view.transmit.unwrap().behind, None);
    let drift = view.last_over.unwrap();
    assert!(drift.receive.is_none() && (1_800..=2_150).contains(&drift.transmit.unwrap().0), "{drift}");
}

#[test]
fn without_that_the_uplink_of_a_duplex_radio_goes_on_during_an_over() {
    let keyed = off();
    let mut s = following(duplex(false), keyed_radio(keyed.clone()));
    keyed.set(true);
    s.run(40.0);
    assert!(count(&s, 22.0, b"FB0") > 100);
    assert_eq!(s.status().remove(0).radio().unwrap().last_over, None);
}

#[test]
fn a_held_uplink_stays_put_when_the_radio_is_silent_for_a_while_during_the_over() {
    let (keyed, mute) = (off(), off());
    let (silent, mut inner) = (mute.clone(), keyed_radio(keyed.clone()));
    let mut s = following(
        duplex(true),
        Box::new(move |frame| {
            let answer = inner(frame);
            if silent.get() { vec![] } else { answer }
        }),
    );
    s.order(0, Order::Radio(RadioOrder::Follow(Arc::new(Fixed(channel(None), 40.0)))));
    // The pass begins at 1000 s.
    s.run(1010.0);
    keyed.set(true);
    s.run(1015.0);
    mute.set(true);
    s.run(1025.0);
    mute.set(false);
    s.run(1060.0);
    assert_eq!(count(&s, 1012.0, b"FB0"), 0, "the uplink moved during the over");
    assert!(count(&s, 1030.0, b"FA0") > 1, "the downlink goes on");
    keyed.set(false);
    s.run(1063.0);
    assert!(count(&s, 1060.0, b"FB0") > 0);
}

#[test]
fn a_hold_that_the_radio_can_not_keep_is_said() {
    let mut inner = keyed_radio(off());
    let s = following(
        duplex(true),
        Box::new(move |frame| if frame == b"IF;" { b"?;".to_vec() } else { inner(frame) }),
    );
    let notes = s.status()[0].radio().unwrap().notes.clone();
    assert!(notes.iter().any(|note| note.why.contains("tuned during an over")), "{notes:?}");
}

#[test]
fn a_dial_that_is_refused_again_and_again_is_tried_less_often() {
    let keyed = off();
    let (refuse, mut inner) = (off(), keyed_radio(keyed.clone()));
    let no = refuse.clone();
    let mut s = following(
        duplex(false),
        Box::new(move |frame| {
            let refused = no.get() && frame.len() == 14 && frame.starts_with(b"FB");
            if refused { b"?;".to_vec() } else { inner(frame) }
        }),
    );
    refuse.set(true);
    s.run(60.0);
    let tries = count(&s, 30.0, b"FB0");
    assert!((4..=15).contains(&tries), "{tries} tries in 30 s");
    let downlink = count(&s, 30.0, b"FA0");
    assert!(downlink > 100, "the downlink goes on: {downlink}");
    refuse.set(false);
    s.run(66.0);
    assert!(count(&s, 60.0, b"FB0") > 5);
}
