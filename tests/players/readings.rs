//! Positions that a rotator can't have, and a scale that is not its own: nothing moves by them.

use std::cell::Cell;
use std::rc::Rc;

use beamhand::device::{Order, RotatorOrder};
use beamhand::terms::{AngleRange, AzEl};

use crate::stand::*;

fn is_set(bytes: &[u8]) -> bool {
    bytes.len() == 13 && bytes[11] == 0x2F
}

#[test]
fn a_mount_that_says_what_can_not_be_is_not_moved_until_it_makes_sense() {
    for nonsense in ["AZ1000000000.0 EL-99999.0", "AZ-5000 EL500", "AZ99999999999999999999 EL0"] {
        let says = Rc::new(Cell::new(nonsense));
        let heard = says.clone();
        let answer: Answer = Box::new(move |frame| match frame {
            b"AZ EL\r" => format!("{}\r\n", heard.get()).into_bytes(),
            _ => vec![],
        });
        let mut s = Stand::new(plan(vec![rotator("az-el-words", AngleRange::new(0.0, 450.0))], 9600), answer);
        s.run(1.0);
        s.order(0, Order::Rotator(RotatorOrder::GoTo(AzEl::new(150.0, 40.0))));
        s.run(11.0);
        let aims = |s: &Stand| s.sent.iter().filter(|(_, bytes)| bytes.starts_with(b"AZ1")).count();
        assert_eq!(aims(&s), 0, "{nonsense}: {:?}", s.text());
        let asked = s.sent.len();
        assert!((5..=40).contains(&asked), "{asked} questions in eleven seconds");
        let notes = s.status()[0].rotator().unwrap().notes.clone();
        assert!(notes.iter().any(|note| note.contains("its limits do not let it be")), "{notes:?}");
        says.set("AZ10.0 EL5.0");
        s.run(16.0);
        assert!(aims(&s) > 0);
        assert!(s.status()[0].rotator().unwrap().notes.is_empty());
    }
}

/// A block of position (azimuth 100, elevation 10) with these pulses per degree.
fn block(pulses: u8) -> Vec<u8> {
    vec![b'W', 4, 6, 0, 0, pulses, 3, 7, 0, 0, pulses, 0x20]
}

#[test]
fn one_answer_with_other_pulses_per_degree_sends_the_mount_nowhere_else() {
    let pulses = Rc::new(Cell::new(1_u8));
    let said = pulses.clone();
    let answer: Answer = Box::new(move |frame| match frame.get(11) {
        Some(0x1F) => block(said.get()),
        _ => vec![],
    });
    let mut s = Stand::new(plan(vec![rotator("thirteen-byte", AngleRange::new(0.0, 360.0))], 600), answer);
    s.run(5.0);
    pulses.set(2);
    let asked = s.sent.len();
    while s.sent.len() == asked {
        s.run(s.now + 0.1);
    }
    s.run(s.now + 0.5);
    pulses.set(1);
    s.order(0, Order::Rotator(RotatorOrder::GoTo(AzEl::new(200.0, 30.0))));
    s.run(s.now + 20.0);
    let sets: Vec<&Vec<u8>> = s.sent.iter().map(|(_, bytes)| bytes).filter(|bytes| is_set(bytes)).collect();
    // (200 + 360) x 1 and (30 + 360) x 1.
    assert!(!sets.is_empty());
    assert!(sets.iter().all(|set| set[1..6] == *b"0560\x01" && set[6..11] == *b"0390\x01"), "{sets:02X?}");
}
