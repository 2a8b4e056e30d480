//! Tones and modes that change in mid-pass: on purpose, or because the radio does not keep them.

use std::cell::Cell;
use std::rc::Rc;
use std::sync::Arc;

use beamhand::device::line::LineInput;
use beamhand::device::*;
use beamhand::terms::*;

use crate::semi;
use crate::stand::*;

/// A plan that is up from the start, with a generation of its own.
struct Up(Fixed, Generation);

impl Plan<Channel> for Up {
    fn at(&self, time: Time) -> Option<Channel> {
        self.0.at(time)
    }
    fn validity(&self) -> Validity {
        Validity { from: later(t0(), -100.0), until: later(t0(), 2000.0) }
    }
    fn generation(&self) -> Generation {
        self.1
    }
}

fn up(tone: u16, generation: Generation) -> Order {
    let order = if generation == 1 { RadioOrder::Engage } else { RadioOrder::Follow };
    Order::Radio(order(Arc::new(Up(Fixed(channel(Some(tone)), 0.0), generation))))
}

fn in_mid_pass(dialect: &str, answer: Answer) -> Stand {
    let mut s = Stand::new(plan(vec![radio(dialect, Use::Both, None, "a")], 9600), answer);
    s.run(0.5);
    s.order(0, up(670, 1));
    s.run(5.0);
    s.order(0, Order::Radio(RadioOrder::Proceed));
    s.run(20.0);
    assert_eq!(s.status()[0].radio().unwrap().stage, RadioStage::Following, "{:?}", s.text());
    s
}

#[test]
fn a_tone_may_be_changed_as_often_as_the_operator_likes() {
    let mut s = in_mid_pass("semicolon-eleven", semi(Rc::default()));
    for (generation, tone, frame) in
        (2..22).map(|g| if g % 2 == 0 { (g, 885, b"TN08;") } else { (g, 670, b"TN01;") })
    {
        let n = s.sent.len();
        s.order(0, up(tone, generation));
        s.run(s.now + 5.0);
        assert!(s.sent[n..].iter().any(|(_, sent)| sent == frame), "change {generation}");
    }
    assert_eq!(s.status()[0].radio().unwrap().notes, []);
}

#[test]
fn a_mode_that_does_not_stay_is_set_again_a_few_times_and_then_left() {
    let mut inner = semi(Rc::default());
    let mut s = in_mid_pass(
        "semicolon-eleven",
        Box::new(move |frame| if frame == b"MD;" { b"MD2;".to_vec() } else { inner(frame) }),
    );
    s.run(120.0);
    let sets = s.sent.iter().filter(|(_, frame)| frame == b"MD4;").count();
    assert!((3..=20).contains(&sets), "{sets}");
    let notes = s.status()[0].radio().unwrap().notes.clone();
    assert!(notes.iter().any(|note| note.why.contains("does not stay")), "{notes:?}");
}

/// Nine digits: whether the radio transmits can't be asked.
fn nine() -> Answer {
    Box::new(|frame| match frame {
        b"ID;" => b"ID0670;".to_vec(),
        b"ST;" => b"ST1;".to_vec(),
        b"OS0;" => b"OS00;".to_vec(),
        b"OS1;" => b"OS10;".to_vec(),
        b"CT0;" => b"CT00;".to_vec(),
        b"CT1;" => b"CT10;".to_vec(),
        b"RT;" => b"RT0;".to_vec(),
        b"XT;" => b"XT0;".to_vec(),
        b"FA;" => b"FA435500000;".to_vec(),
        b"FB;" => b"FB145950000;".to_vec(),
        b"MD0;" => b"MD04;".to_vec(),
        b"MD1;" => b"MD14;".to_vec(),
        _ => vec![],
    })
}

// 88.5 Hz is 008 in the list of fifty (the design's example).
#[test]
fn a_tone_that_the_operator_asks_for_is_set_where_the_transmit_state_can_not_be_read() {
    let mut s = Stand::new(plan(vec![radio("semicolon-nine", Use::Both, None, "a")], 9600), nine());
    s.run(0.5);
    s.order(0, Order::Radio(RadioOrder::Engage(Arc::new(Fixed(channel(Some(670)), 0.0)))));
    s.run(5.0);
    s.order(0, Order::Radio(RadioOrder::Proceed));
    // The pass begins at 1000 s.
    s.run(1010.0);
    let n = s.sent.len();
    s.order(0, up(885, 2));
    s.run(1015.0);
    assert!(s.sent[n..].iter().any(|(_, frame)| frame == b"CN10008;"), "{:?}", &s.text()[n..]);
    assert_eq!(s.status()[0].radio().unwrap().notes, []);
}

/// `TO1` is refused, which comes after the command had counted as done.
fn without_an_encoder() -> (Stand, Rc<Cell<bool>>) {
    let refuses = Rc::new(Cell::new(false));
    let (no, mut inner) = (refuses.clone(), semi(Rc::default()));
    let s = in_mid_pass(
        "semicolon-eleven",
        Box::new(move |frame| if no.get() && frame == b"TO1;" { b"?;".to_vec() } else { inner(frame) }),
    );
    (s, refuses)
}

fn tone_and_notes(s: &Stand) -> (Option<Tone>, Vec<Note>) {
    let status = s.status().remove(0);
    let view = status.radio().unwrap();
    (view.transmit.unwrap().tone, view.notes.clone())
}

#[test]
fn a_tone_that_was_refused_is_not_shown_as_set_and_is_tried_again_when_it_is_asked_for() {
    let (mut s, refuses) = without_an_encoder();
    refuses.set(true);
    s.order(0, up(885, 2));
    s.run(25.0);
    let (tone, notes) = tone_and_notes(&s);
    assert_ne!(tone, Tone::from_tenths(885).ok(), "{notes:?} {:?}", s.text());
    assert!(notes.iter().any(|note| note.what == "tone 88.5 Hz"), "{notes:?}");
    let n = s.sent.len();
    s.run(35.0);
    assert!(!s.sent[n..].iter().any(|(_, sent)| sent == b"TO1;"), "it is not hammered");
    refuses.set(false);
    s.order(0, up(885, 3));
    s.run(40.0);
    assert_eq!(tone_and_notes(&s), (Tone::from_tenths(885).ok(), vec![]));
}

/// The refusal arrives when the command has counted as done.
#[test]
fn a_refusal_that_comes_late_takes_back_the_tone_that_was_set() {
    let mut s = in_mid_pass("semicolon-eleven", semi(Rc::default()));
    s.order(0, up(885, 2));
    while tone_and_notes(&s).0 != Tone::from_tenths(885).ok() {
        s.run(s.now + 0.01);
        assert!(s.now < 30.0);
    }
    // Between two questions.
    s.run(s.now + 0.3);
    s.feed(LineInput::Bytes(b"?;"));
    s.run(s.now + 0.2);
    let (tone, notes) = tone_and_notes(&s);
    assert_eq!(tone, None);
    assert!(notes.iter().any(|note| note.what == "tone 88.5 Hz"), "{notes:?}");
}
