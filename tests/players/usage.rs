//! Radios that somebody uses while Beamhand leaves them alone, and radios that are off.

use std::cell::Cell;
use std::rc::Rc;
use std::sync::Arc;

use beamhand::device::*;
use beamhand::terms::*;

use crate::stand::*;
use crate::{bus, off, semi};

fn in_use(s: &Stand) -> Option<String> {
    s.status()[0].radio().unwrap().in_use.clone()
}

#[test]
fn a_radio_whose_dial_is_turned_or_that_transmits_is_in_use() {
    let (turned, keyed) = (off(), off());
    let (knob, key) = (turned.clone(), keyed.clone());
    let mut inner = semi(Rc::default());
    let mut s = Stand::new(
        plan(vec![radio("semicolon-eleven", Use::Both, None, "a")], 9600),
        Box::new(move |frame| {
            let mut answer = inner(frame);
            if frame == b"FA;" && knob.get() {
                answer = b"FA00435503000;".to_vec();
            }
            if frame == b"IF;" && key.get() {
                answer[28] = b'1';
            }
            answer
        }),
    );
    s.run(30.0);
    assert_eq!(in_use(&s), None);
    turned.set(true);
    s.run(36.0);
    let words = in_use(&s).unwrap();
    assert!(words.starts_with("its dial was turned by hand "), "{words}");
    s.run(336.0);
    assert_eq!(in_use(&s).unwrap(), "its dial was turned by hand 5 min ago");
    keyed.set(true);
    s.run(342.0);
    assert_eq!(in_use(&s).unwrap(), "it is transmitting");
    keyed.set(false);
    s.run(402.0);
    assert!(in_use(&s).unwrap().starts_with("it transmitted "));
    s.run(960.0);
    assert_eq!(in_use(&s), None);
}

#[test]
fn what_a_session_does_to_a_radio_is_no_use_of_it() {
    let mut s =
        Stand::new(plan(vec![radio("semicolon-eleven", Use::Both, None, "a")], 9600), semi(Rc::default()));
    s.run(1.0);
    s.order(0, Order::Radio(RadioOrder::Engage(Arc::new(Fixed(channel(None), 0.0)))));
    s.run(5.0);
    s.order(0, Order::Radio(RadioOrder::Proceed));
    s.run(20.0);
    let memory = s.status()[0].radio().unwrap().memory.clone().unwrap();
    s.order(0, Order::Radio(RadioOrder::GiveBack(memory)));
    s.run(60.0);
    assert_eq!(s.status()[0].radio().unwrap().stage, RadioStage::Idle);
    assert_eq!(in_use(&s), None);
}

#[test]
fn a_radio_that_is_off_hardly_delays_the_other_one_on_its_bus() {
    let mut inner = bus([0, 0, 0x50, 0x35, 0x04], Rc::new(Cell::new(false)));
    let devices = vec![
        radio("fe-frames", Use::Receive, Some(0x5A), "a"),
        radio("fe-frames", Use::Transmit, Some(0x5B), "b"),
    ];
    let answer: Answer = Box::new(move |frame| if frame[2] == 0x5B { vec![] } else { inner(frame) });
    let mut s = Stand::new(plan(devices, 9600), answer);
    let mut c = channel(None);
    c.receive.as_mut().unwrap().mode = Mode::Usb;
    s.run(0.5);
    (0..2).for_each(|i| s.order(i, Order::Radio(RadioOrder::Engage(Arc::new(Fixed(c, 100.0))))));
    s.run(10.0);
    (0..2).for_each(|i| s.order(i, Order::Radio(RadioOrder::Proceed)));
    s.run(30.0);
    let n = s.sent.len();
    s.run(60.0);
    let tunes = s.sent[n..].iter().filter(|(_, frame)| frame[2] == 0x5A && frame[4] == 0x05).count();
    // 3000 Hz in steps of ten; a tenth of the time goes to the one that is off.
    assert!(tunes >= 240, "{tunes} commands in 30 s");
    assert!(s.status()[0].contact.is_good() && !s.status()[1].contact.is_good());
}

/// A radio that is switched on after the daemon.
#[test]
fn a_radio_that_was_off_for_a_minute_is_heard_soon_after_it_is_switched_on() {
    let on = off();
    for (dialect, uses, address) in
        [("semicolon-eleven", Use::Both, None), ("fe-frames", Use::Receive, Some(0x5A))]
    {
        on.set(false);
        let power = on.clone();
        let mut inner =
            if address.is_some() { bus([0, 0, 0x50, 0x35, 0x04], off()) } else { semi(Rc::default()) };
        let answer: Answer = Box::new(move |frame| if power.get() { inner(frame) } else { vec![] });
        let mut s = Stand::new(plan(vec![radio(dialect, uses, address, "a")], 9600), answer);
        s.run(60.0);
        assert!(!s.status()[0].contact.is_good());
        let asked = s.sent.iter().filter(|(at, _)| *at > 30.0).count();
        assert!((5..=30).contains(&asked), "{dialect}: asked {asked} times in the second half minute");
        on.set(true);
        s.run(70.0);
        assert!(s.status()[0].contact.is_good(), "{dialect}: {:?}", s.status()[0].contact);
    }
}

#[test]
fn a_radio_that_fell_silent_while_it_transmitted_is_not_said_to_transmit_for_ever() {
    let mute = off();
    let silent = mute.clone();
    let mut inner = semi(Rc::default());
    let mut s = Stand::new(
        plan(vec![radio("semicolon-eleven", Use::Both, None, "a")], 9600),
        Box::new(move |frame| {
            let mut answer = inner(frame);
            if frame == b"IF;" {
                answer[28] = b'1';
            }
            if silent.get() { vec![] } else { answer }
        }),
    );
    s.run(30.0);
    assert_eq!(in_use(&s).unwrap(), "it is transmitting");
    mute.set(true);
    s.run(60.0);
    let words = in_use(&s).unwrap();
    assert!(words.starts_with("it transmitted "), "{words}");
    s.run(660.0);
    assert_eq!(in_use(&s), None);
}
