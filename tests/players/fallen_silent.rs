//! A radio that has said that it transmits, and then does not say anything about it any more.

use std::cell::Cell;
use std::rc::Rc;
use std::sync::Arc;

use beamhand::device::*;

use crate::semi;
use crate::stand::*;

/// What becomes of the question.
#[derive(Clone, Copy, PartialEq)]
enum Says {
    Transmitting,
    Receiving,
    Nothing,
    No,
}

fn radio_that(says: Rc<Cell<Says>>) -> Answer {
    let mut inner = semi(Rc::default());
    Box::new(move |frame| {
        let mut answer = inner(frame);
        if frame == b"IF;" {
            match says.get() {
                Says::Transmitting => answer[28] = b'1',
                Says::Receiving => {}
                Says::Nothing => answer.clear(),
                Says::No => answer = b"?;".to_vec(),
            }
        }
        answer
    })
}

/// It transmits when it is to be prepared, and a second later it falls silent. The pass begins at
/// 1000 s.
fn falls_silent(how: Says) -> (Stand, Rc<Cell<Says>>) {
    let says = Rc::new(Cell::new(Says::Receiving));
    let mut s = Stand::new(
        plan(vec![radio("semicolon-eleven", Use::Both, None, "a")], 9600),
        radio_that(says.clone()),
    );
    s.run(0.5);
    s.order(0, Order::Radio(RadioOrder::Engage(Arc::new(Fixed(channel(Some(670)), 0.0)))));
    s.run(5.0);
    says.set(Says::Transmitting);
    s.run(10.0);
    s.order(0, Order::Radio(RadioOrder::Proceed));
    s.run(11.0);
    says.set(how);
    (s, says)
}

/// `FR` and `FT` with a digit choose the VFOs that receive and transmit.
fn roles_changed(s: &Stand) -> usize {
    let chooses = |frame: &[u8]| frame.len() == 4 && (frame.starts_with(b"FR") || frame.starts_with(b"FT"));
    s.sent.iter().filter(|(at, frame)| *at > 10.0 && chooses(frame)).count()
}

#[test]
fn which_vfo_transmits_is_not_changed_while_the_last_word_was_that_it_transmits() {
    for how in [Says::Nothing, Says::No] {
        let (mut s, says) = falls_silent(how);
        s.run(130.0);
        assert_eq!(roles_changed(&s), 0, "{:?}", s.text());
        let asked = s.sent.iter().filter(|(at, frame)| *at > 20.0 && frame == b"IF;").count();
        assert!((20..=120).contains(&asked), "asked {asked} times in 110 s");
        says.set(Says::Receiving);
        s.run(140.0);
        assert!(roles_changed(&s) > 0);
        assert_eq!(s.status()[0].radio().unwrap().stage, RadioStage::Following);
        assert_eq!(s.status()[0].radio().unwrap().notes, []);
    }
}

#[test]
fn after_three_minutes_it_is_left_to_the_operator() {
    let (mut s, _) = falls_silent(Says::No);
    s.run(220.0);
    assert_eq!(roles_changed(&s), 0, "{:?}", s.text());
    let notes = s.status()[0].radio().unwrap().notes.clone();
    let said = notes.iter().find(|note| note.what == "transmit simplex").unwrap();
    assert!(said.why.contains("no longer says whether it transmits"), "{notes:?}");
}
