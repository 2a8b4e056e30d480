//! Players against far ends that are deaf, stubborn or slow: nothing is asked or told for ever,
//! nothing is given up too soon, and a stop is repeated until it has left.
#![allow(clippy::unwrap_used)]

mod bands;
mod fallen_silent;
mod greeting;
mod licence;
mod listening;
mod live;
mod overs;
mod readings;
mod replug;
mod reset;
mod roles;
mod split;
mod stand;
mod threads;
mod tones;
mod usage;

use std::cell::Cell;
use std::rc::Rc;
use std::sync::Arc;

use beamhand::device::line::LineInput;
use beamhand::device::*;
use beamhand::terms::*;
use stand::*;

fn w_answer(refuse: bool) -> Answer {
    Box::new(move |f| match f.first() {
        Some(b'C') => b"+0100+0010\r\n".to_vec(),
        Some(b'W') if refuse => b"?>\r\n".to_vec(),
        _ => vec![],
    })
}
#[test]
fn a_refused_aim_is_not_hammered() {
    let mut s = Stand::new(plan(vec![rotator("w-lines", AngleRange::new(0.0, 450.0))], 9600), w_answer(true));
    s.run(1.0);
    s.order(0, Order::Rotator(RotatorOrder::GoTo(AzEl::new(200.0, 10.0))));
    s.run(11.0);
    let aims = s.sent.iter().filter(|(_, b)| b[0] == b'W').count();
    let asks = s.sent.iter().filter(|(t, b)| *t > 1.0 && b[0] == b'C').count();
    assert!(aims < 25, "{aims} aims, {asks} questions in 10 s");
}
#[test]
fn a_lost_aim_is_repeated() {
    let mut s =
        Stand::new(plan(vec![rotator("w-lines", AngleRange::new(0.0, 450.0))], 9600), w_answer(false));
    s.run(1.0);
    s.order(0, Order::Rotator(RotatorOrder::GoTo(AzEl::new(200.0, 10.0))));
    s.run(61.0);
    let aims = s.sent.iter().filter(|(_, b)| b[0] == b'W').count();
    assert!(aims > 1, "{aims} aim; mount still reads 100 after a minute");
}
#[test]
fn an_aim_that_cant_be_encoded_is_said() {
    let mut s =
        Stand::new(plan(vec![rotator("w-lines", AngleRange::new(-180.0, 180.0))], 9600), w_answer(false));
    s.run(1.0);
    s.order(0, Order::Rotator(RotatorOrder::GoTo(AzEl::new(-90.0, 10.0))));
    let n = s.sent.len();
    s.run(61.0);
    let st = &s.status()[0];
    assert!(
        s.sent.len() > n,
        "nothing sent for a minute, not even a question; contact {:?} refused {} last {:?}",
        st.contact,
        st.refused,
        st.last_sent
    );
}
#[test]
fn a_stop_that_did_not_leave_is_sent_again() {
    let mut s =
        Stand::new(plan(vec![rotator("w-lines", AngleRange::new(0.0, 450.0))], 9600), w_answer(false));
    s.run(1.0);
    s.order(0, Order::Rotator(RotatorOrder::GoTo(AzEl::new(200.0, 10.0))));
    s.run(2.0);
    s.feed(LineInput::Halt);
    assert_eq!(s.sent.last().unwrap().1, b"S\r");
    s.feed(LineInput::NotSent);
    s.run(62.0);
    assert!(s.sent.iter().filter(|(_, b)| b == b"S\r").count() > 1);
}
#[test]
fn a_stop_order_that_did_not_leave_is_sent_again() {
    let mut s =
        Stand::new(plan(vec![rotator("w-lines", AngleRange::new(0.0, 450.0))], 9600), w_answer(false));
    s.run(1.0);
    s.order(0, Order::Rotator(RotatorOrder::GoTo(AzEl::new(200.0, 10.0))));
    s.run(2.02);
    s.order(0, Order::Rotator(RotatorOrder::Stop));
    s.run(2.3);
    let before = s.sent.iter().filter(|(_, b)| b == b"S\r").count();
    assert_eq!(before, 1, "{:?}", s.text());
    // the write failed: feed NotSent right at the stop
    let mut s =
        Stand::new(plan(vec![rotator("w-lines", AngleRange::new(0.0, 450.0))], 9600), w_answer(false));
    s.run(1.0);
    s.order(0, Order::Rotator(RotatorOrder::GoTo(AzEl::new(200.0, 10.0))));
    s.run(1.5);
    s.order(0, Order::Rotator(RotatorOrder::Stop));
    assert_eq!(s.sent.last().unwrap().1, b"S\r", "{:?}", s.text());
    s.feed(LineInput::NotSent);
    s.run(60.0);
    assert!(s.sent.iter().filter(|(_, b)| b == b"S\r").count() > 1, "one S only; it never left");
}

pub(crate) fn bus(freq: [u8; 5], tx: Rc<Cell<bool>>) -> Answer {
    Box::new(move |f| {
        let wrap = |c: &[u8]| {
            let mut v = vec![0xFE, 0xFE, 0xE0, f[2]];
            v.extend_from_slice(c);
            v.push(0xFD);
            v
        };
        let c = &f[4..f.len() - 1];
        match c[0] {
            0x03 => wrap(&[&[0x03][..], &freq].concat()),
            0x04 => wrap(&[0x04, 0x05, 0x01]),
            0x0F if c.len() == 1 => wrap(&[0x0F, 0x00]),
            0x16 | 0x21 if c.len() == 2 => wrap(&[c, &[0x00]].concat()),
            0x1C => wrap(&[0x1C, 0x00, u8::from(tx.get())]),
            _ => wrap(&[0xFB]),
        }
    })
}
pub(crate) fn off() -> Rc<Cell<bool>> {
    Rc::new(Cell::new(false))
}

#[test]
fn a_radio_left_alone_keeps_its_bands() {
    let tx = off();
    tx.set(true);
    let mut s = Stand::new(
        plan(vec![radio("fe-frames", Use::Both, Some(0x5A), "a")], 9600),
        bus([0, 0, 0x95, 0x45, 1], tx),
    );
    s.run(60.0);
    let selects = s.sent.iter().filter(|(_, b)| b[4] == 0x07).count();
    assert_eq!(selects, 0, "{selects} band selections in a minute of Idle, transmitting all the time");
}

#[test]
fn giving_back_never_moves_a_keyed_transmitter() {
    let tx = off();
    let mut s = Stand::new(
        plan(vec![radio("fe-frames", Use::Transmit, Some(0x5A), "a")], 9600),
        bus([0, 0, 0x95, 0x45, 1], tx.clone()),
    );
    s.run(0.5);
    tx.set(true);
    let m = RadioMemory {
        receive: DialMemory::default(),
        transmit: DialMemory { hertz: Some(Hertz(144_100_000)), mode: None },
        ..RadioMemory::default()
    };
    s.order(0, Order::Radio(RadioOrder::GiveBack(m)));
    s.run(5.0);
    let tunes = s.sent.iter().filter(|(_, b)| b[4] == 0x05).count();
    assert_eq!(tunes, 0, "the transmitter was retuned while keyed");
}

/// A radio for both directions at once that transmits on two metres only. It hears each frame
/// first; what it has no word for is answered as [`semi`] does.
pub(crate) fn on_two_metres(mut hear: impl FnMut(&[u8]) -> Option<Vec<u8>> + 'static) -> Stand {
    let DeviceSetup::Radio(setup) = radio("semicolon-eleven", Use::Both, None, "a") else { unreachable!() };
    let segments = Segments::new(vec![Segment { from: Hertz(145_800_000), to: Hertz(146_000_000) }]);
    let mut inner = semi(Rc::default());
    let mut s = Stand::new(
        plan(vec![DeviceSetup::Radio(RadioSetup { segments, ..setup })], 9600),
        Box::new(move |frame| hear(frame).unwrap_or_else(|| inner(frame))),
    );
    s.run(0.5);
    s
}

pub(crate) fn semi(lose: Rc<Cell<u32>>) -> Answer {
    Box::new(move |f| {
        if lose.get() > 0 && f.ends_with(b"A;") {
            lose.set(lose.get() - 1);
            return vec![];
        }
        match f {
            b"ID;" => b"ID019;".to_vec(),
            b"FT;" => b"FT1;".to_vec(),
            b"OS;" => b"OS0;".to_vec(),
            b"RT;" => b"RT0;".to_vec(),
            b"XT;" => b"XT0;".to_vec(),
            b"CT;" => b"CT0;".to_vec(),
            b"FA;" => b"FA00435500000;".to_vec(),
            b"FB;" => b"FB00145950000;".to_vec(),
            b"MD;" => b"MD4;".to_vec(),
            b"IF;" => {
                let mut v = b"IF".to_vec();
                v.extend(vec![b'0'; 26]);
                v.push(b'0');
                v.extend(vec![b'0'; 8]);
                v.push(b';');
                v
            }
            _ => vec![],
        }
    })
}
fn followed(lose: Rc<Cell<u32>>) -> Stand {
    let mut s = Stand::new(plan(vec![radio("semicolon-eleven", Use::Both, None, "a")], 9600), semi(lose));
    s.run(0.5);
    s.order(0, Order::Radio(RadioOrder::Engage(Arc::new(Fixed(channel(Some(670)), 0.0)))));
    s.run(5.0);
    s.order(0, Order::Radio(RadioOrder::Proceed));
    s.run(20.0);
    assert_eq!(s.status()[0].radio().unwrap().stage, RadioStage::Following, "{:?}", s.text());
    s
}
fn tone_changes(mut s: Stand) -> bool {
    let n = s.sent.len();
    s.order(0, Order::Radio(RadioOrder::Follow(Arc::new(Fixed(channel(Some(885)), 0.0)))));
    s.run(s.now + 20.0);
    s.sent[n..].iter().any(|(_, b)| b == b"TN08;")
}
#[test]
fn a_new_tone_is_sent() {
    assert!(tone_changes(followed(Rc::default())));
}
#[test]
fn a_new_tone_is_sent_even_after_one_missed_answer() {
    let lose = Rc::new(Cell::new(0));
    let mut s = followed(lose.clone());
    lose.set(1);
    s.run(40.0);
    assert_eq!(lose.get(), 0);
    assert!(s.status()[0].contact.is_good());
    assert!(tone_changes(s), "the tone is never set again in this session");
}
#[test]
fn a_refused_question_is_not_hammered() {
    let mut inner = semi(Rc::default());
    let mut s = Stand::new(
        plan(vec![radio("semicolon-eleven", Use::Both, None, "a")], 9600),
        Box::new(move |f| if f == b"IF;" { b"?;".to_vec() } else { inner(f) }),
    );
    s.run(0.5);
    s.order(0, Order::Radio(RadioOrder::Engage(Arc::new(Fixed(channel(Some(670)), 0.0)))));
    s.run(10.5);
    let asks = s.sent.iter().filter(|(_, b)| b == b"IF;").count();
    assert!(asks < 25, "IF; asked {asks} times in 10 s, stage {:?}", s.status()[0].radio().unwrap().stage);
}
#[test]
fn a_question_that_is_never_answered_does_not_stop_the_session() {
    let mut inner = semi(Rc::default());
    let mut s = Stand::new(
        plan(vec![radio("semicolon-eleven", Use::Both, None, "a")], 9600),
        Box::new(move |f| if f == b"MD;" { vec![] } else { inner(f) }),
    );
    s.run(0.5);
    s.order(0, Order::Radio(RadioOrder::Engage(Arc::new(Fixed(channel(Some(670)), 0.0)))));
    s.run(120.0);
    assert_ne!(
        s.status()[0].radio().unwrap().stage,
        RadioStage::Reading,
        "notes {:?}",
        s.status()[0].radio().unwrap().notes
    );
}
#[test]
fn two_radios_on_a_slow_bus_both_get_their_turn() {
    let mut s = Stand::new(
        plan(
            vec![
                radio("fe-frames", Use::Receive, Some(0x5A), "a"),
                radio("fe-frames", Use::Transmit, Some(0x5B), "b"),
            ],
            1200,
        ),
        bus([0, 0, 0x95, 0x45, 1], off()),
    );
    let mut c = channel(None);
    c.receive.as_mut().unwrap().mode = Mode::Usb;
    c.transmit.as_mut().unwrap().mode = Mode::Usb;
    s.run(0.5);
    for i in 0..2 {
        s.order(i, Order::Radio(RadioOrder::Engage(Arc::new(Fixed(c, 0.0)))));
    }
    s.run(10.0);
    for i in 0..2 {
        s.order(i, Order::Radio(RadioOrder::Proceed));
    }
    s.run(40.0);
    for i in 0..2 {
        s.order(i, Order::Radio(RadioOrder::Follow(Arc::new(Fixed(c, 150.0)))));
    }
    let n = s.sent.len();
    s.run(70.0);
    let count = |to: u8| s.sent[n..].iter().filter(|(_, b)| b[2] == to && b[4] == 0x05).count();
    let (a, b) = (count(0x5A), count(0x5B));
    assert!(b * 3 > a, "receiver tuned {a} times, transmitter {b} times in 30 s");
}
#[test]
fn a_step_finer_than_the_wire_does_not_flood() {
    let DeviceSetup::Radio(mut r) = radio("semicolon-eleven", Use::Receive, None, "a") else {
        unreachable!()
    };
    r.step = ByMode::all(Hertz(1));
    r.worthwhile = ByMode::all(Hertz(1));
    let mut s = Stand::new(plan(vec![DeviceSetup::Radio(r)], 9600), semi(Rc::default()));
    let mut c = channel(None);
    c.receive.as_mut().unwrap().hertz = Hertz(435_500_004);
    c.receive.as_mut().unwrap().mode = Mode::Usb;
    s.run(0.5);
    s.order(0, Order::Radio(RadioOrder::Engage(Arc::new(Fixed(c, 0.0)))));
    s.run(5.0);
    s.order(0, Order::Radio(RadioOrder::Proceed));
    s.run(10.0);
    let n = s.sent.len();
    s.run(20.0);
    let sets = s.sent[n..].iter().filter(|(_, b)| b.starts_with(b"FA0")).count();
    assert!(sets < 25, "{sets} tuning commands in 10 s for a frequency that stands still");
}

#[test]
fn a_preparation_that_is_not_confirmed_is_tried_again_until_the_pass_begins() {
    let mut inner = semi(Rc::default());
    let mut s = Stand::new(
        plan(vec![radio("semicolon-eleven", Use::Both, None, "a")], 9600),
        Box::new(move |f| if f == b"FT;" { vec![] } else { inner(f) }),
    );
    s.run(0.5);
    s.order(0, Order::Radio(RadioOrder::Engage(Arc::new(Fixed(channel(Some(670)), 0.0)))));
    s.run(5.0);
    s.order(0, Order::Radio(RadioOrder::Proceed));
    s.run(125.0);
    let asks = s.sent.iter().filter(|(_, b)| b == b"FT;").count();
    let status = s.status().remove(0);
    let view = status.radio().unwrap();
    assert_eq!(view.stage, RadioStage::Preparing);
    assert!((6..=120).contains(&asks), "FT; asked {asks} times in two minutes");
    // The pass begins at 1000 s.
    s.run(1010.0);
    let status = s.status().remove(0);
    let view = status.radio().unwrap();
    assert_eq!(view.stage, RadioStage::Following);
    assert!(view.notes.iter().any(|note| note.what == "split on"), "{:?}", view.notes);
}

/// After a failed preparation the first dial may be the one that transmits.
#[test]
fn a_radio_that_may_transmit_on_the_downlink_is_not_tuned_there() {
    let mut inner = semi(Rc::default());
    let DeviceSetup::Radio(setup) = radio("semicolon-eleven", Use::Both, None, "a") else { unreachable!() };
    let segments = Segments::new(vec![Segment { from: Hertz(145_800_000), to: Hertz(146_000_000) }]);
    let mut s = Stand::new(
        plan(vec![DeviceSetup::Radio(RadioSetup { segments, ..setup })], 9600),
        Box::new(move |f| if f == b"FT;" { b"FT0;".to_vec() } else { inner(f) }),
    );
    s.run(0.5);
    s.order(0, Order::Radio(RadioOrder::Engage(Arc::new(Fixed(channel(Some(670)), 0.0)))));
    s.run(5.0);
    s.order(0, Order::Radio(RadioOrder::Proceed));
    s.run(1040.0);
    assert_eq!(s.status()[0].radio().unwrap().stage, RadioStage::Following);
    let tuned: Vec<&(f64, Vec<u8>)> = s.sent.iter().filter(|(_, b)| b.starts_with(b"FA0")).collect();
    assert_eq!(tuned.first(), None, "and {} more", tuned.len());
}

#[test]
fn the_downlink_is_tuned_while_a_mode_waits_for_the_end_of_a_transmission() {
    let mut inner = semi(Rc::default());
    let tx = off();
    let keyed = tx.clone();
    let mut s = Stand::new(
        plan(vec![radio("semicolon-eleven", Use::Both, None, "a")], 9600),
        Box::new(move |f| {
            let mut a = inner(f);
            if f == b"IF;" && keyed.get() {
                a[28] = b'1';
            }
            a
        }),
    );
    s.run(0.5);
    s.order(0, Order::Radio(RadioOrder::Engage(Arc::new(Fixed(channel(Some(670)), 0.0)))));
    s.run(5.0);
    s.order(0, Order::Radio(RadioOrder::Proceed));
    s.run(20.0);
    tx.set(true);
    s.run(23.0);
    let mut c = channel(Some(885));
    c.receive.as_mut().unwrap().mode = Mode::Usb;
    s.order(0, Order::Radio(RadioOrder::Follow(Arc::new(Fixed(c, 100.0)))));
    s.run(24.0);
    let n = s.sent.len();
    s.run(54.0);
    let tunes = s.sent[n..].iter().filter(|(_, b)| b.starts_with(b"FA0")).count();
    let asks = s.sent[n..].iter().filter(|(_, b)| *b == b"IF;").count();
    assert!(tunes > 20, "{tunes} tunings, {asks} transmit questions in 30 s at 100 Hz/s");
}
