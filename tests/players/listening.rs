//! A radio that is only listened with: what it is asked and told, byte by byte, and how often.

use std::cell::Cell;
use std::rc::Rc;
use std::sync::Arc;

use beamhand::device::{Order, RadioMemory, RadioOrder, RadioStage, Use};
use beamhand::terms::{Channel, Dial, Hertz, Mode, Tone};

use crate::stand::*;

/// A semicolon radio with a dial, a meter and a squelch.
fn semicolon(dial: Rc<Cell<i64>>) -> Answer {
    Box::new(move |frame| {
        let text = std::str::from_utf8(frame).unwrap_or_default();
        match text {
            "ID;" => b"ID019;".to_vec(),
            "RT;" => b"RT0;".to_vec(),
            "CT;" => b"CT0;".to_vec(),
            "MD;" => b"MD2;".to_vec(),
            "SM0;" => b"SM00007;".to_vec(),
            "BY;" => b"BY1;".to_vec(),
            "IF;" => format!("IF{:0>35};", "").into_bytes(),
            "FA;" => format!("FA{:011};", dial.get()).into_bytes(),
            _ => {
                if let Some(hertz) = text.strip_prefix("FA").and_then(|rest| rest.strip_suffix(';')) {
                    dial.set(hertz.parse().unwrap());
                }
                vec![]
            }
        }
    })
}

fn sideband(slide: f64) -> RadioOrder {
    let receive = Some(Dial { hertz: Hertz(435_500_000), mode: Mode::Usb, tone: None });
    let tone = Tone::from_tenths(670).ok();
    let transmit = Some(Dial { hertz: Hertz(145_950_000), mode: Mode::Fm, tone });
    // Even a plan that has an uplink moves no transmitter.
    RadioOrder::Listen(Arc::new(Fixed(Channel { receive, transmit }, slide)))
}

/// Prepares it and lets it follow from the first second to the last.
fn listened(uses: Use, slide: f64, seconds: f64) -> Stand {
    let dial = Rc::new(Cell::new(435_000_000));
    let mut stand = Stand::new(plan(vec![radio("semicolon-eleven", uses, None, "a")], 9600), semicolon(dial));
    stand.run(1.0);
    stand.order(0, Order::Radio(sideband(slide)));
    stand.run(2.0);
    let view = stand.status()[0].radio().unwrap().clone();
    assert_eq!(view.stage, RadioStage::AwaitingSave);
    let memory = view.memory.unwrap();
    assert!(memory.receive_only && memory.transmit == RadioMemory::default().transmit, "{memory:?}");
    stand.order(0, Order::Radio(RadioOrder::Proceed));
    stand.run(3.0 + seconds);
    stand.order(0, Order::Radio(RadioOrder::GiveBack(memory)));
    stand.run(5.0 + seconds);
    assert_eq!(stand.status()[0].radio().unwrap().stage, RadioStage::Idle);
    stand
}

#[test]
fn not_a_byte_is_for_the_transmitter() {
    let of_the_receiver = ["FA", "MD", "SM0;", "BY;", "RT", "CT", "AI0;", "ID;", "IF;"];
    for uses in [Use::Receive, Use::HalfDuplex, Use::Both] {
        let stand = listened(uses, 20.0, 20.0);
        for (at, frame) in &stand.sent {
            let text = String::from_utf8_lossy(frame);
            // Left alone, before and after, it is asked where both its dials are.
            let is_asked = *at < 1.0 && text == "FB;";
            let fits = is_asked || of_the_receiver.iter().any(|own| text.starts_with(own));
            assert!(fits, "{uses:?}: {text} at {at}");
        }
        assert!(stand.sent.iter().any(|(_, frame)| frame == b"FA00435000000;"), "it is given back");
    }
}

/// 150 Hz/s is the steepest that a low satellite slides in this band (common practice).
#[test]
fn meter_and_squelch_are_read_five_times_a_second_beside_the_tuning() {
    for slide in [0.0, -150.0] {
        let stand = listened(Use::Both, slide, 20.0);
        let between = |frame: &&(f64, Vec<u8>)| (5.0..20.0).contains(&frame.0);
        let count = |is: &dyn Fn(&[u8]) -> bool| {
            stand.sent.iter().filter(between).filter(|(_, frame)| is(frame)).count() as f64 / 15.0
        };
        let (meter, squelch) = (count(&|frame| frame == b"SM0;"), count(&|frame| frame == b"BY;"));
        let tuned = count(&|frame| frame.starts_with(b"FA") && frame.len() > 3);
        assert!(meter >= 5.0 && squelch >= 5.0, "{meter} and {squelch} a second at {slide} Hz/s");
        assert!(tuned >= slide.abs() / 110.0, "{tuned} commands a second at {slide} Hz/s");
    }
}

#[test]
fn what_it_hears_is_told_with_the_dial() {
    let dial = Rc::new(Cell::new(435_000_000));
    let mut stand =
        Stand::new(plan(vec![radio("semicolon-eleven", Use::Receive, None, "a")], 9600), semicolon(dial));
    stand.run(1.0);
    stand.order(0, Order::Radio(sideband(0.0)));
    stand.run(2.0);
    stand.order(0, Order::Radio(RadioOrder::Proceed));
    stand.run(5.0);
    let heard = stand.status()[0].radio().unwrap().heard.clone();
    let last = heard.last().unwrap();
    assert_eq!((last.dial, last.signal, last.open), (Hertz(435_500_000), Some(7), Some(true)));
    assert!(heard.windows(2).all(|pair| pair[1].number == pair[0].number + 1 && pair[1].at > pair[0].at));
}
