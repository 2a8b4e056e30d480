//! A radio is switched off and on again, and has lost what it was told: split is off, the tone is
//! off, the other VFO receives. Made by hand from the semicolon examples: `FR` chooses the receive
//! VFO and cancels split, `FT` chooses the transmit VFO, `TO1` switches the tone on.

use std::cell::RefCell;
use std::rc::Rc;
use std::sync::Arc;

use beamhand::device::line::LineInput;
use beamhand::device::*;

use crate::on_two_metres;
use crate::stand::*;

#[derive(Default)]
struct Radio {
    off: bool,
    receives_on: usize,
    transmits_on: usize,
    tone: bool,
    /// Downlinks that reached the dial that transmits.
    misled: u32,
}

impl Radio {
    fn hear(&mut self, frame: &[u8]) -> Option<Vec<u8>> {
        match frame {
            _ if self.off => {}
            b"FR0;" | b"FR1;" => {
                self.receives_on = usize::from(frame == b"FR1;");
                self.transmits_on = self.receives_on;
            }
            b"FT0;" | b"FT1;" => self.transmits_on = usize::from(frame == b"FT1;"),
            b"FT;" => return Some(format!("FT{};", self.transmits_on).into_bytes()),
            b"TO1;" => self.tone = true,
            b"TO0;" => self.tone = false,
            _ if frame.starts_with(b"FA004") => self.misled += u32::from(self.transmits_on == 0),
            _ => return None,
        }
        Some(vec![])
    }

    /// It has been without power.
    fn forget(&mut self) {
        *self = Radio { receives_on: 1, misled: self.misled, ..Radio::default() };
    }
}

/// Transmits on two metres only; the pass begins at 1000 s.
fn following_at(second: f64) -> (Stand, Rc<RefCell<Radio>>) {
    let radio = Rc::new(RefCell::new(Radio::default()));
    let far = radio.clone();
    let mut s = on_two_metres(move |frame| far.borrow_mut().hear(frame));
    s.order(0, Order::Radio(RadioOrder::Engage(Arc::new(Fixed(channel(Some(670)), 20.0)))));
    s.run(5.0);
    s.order(0, Order::Radio(RadioOrder::Proceed));
    s.run(second);
    assert_eq!(s.status()[0].radio().unwrap().stage, RadioStage::Following, "{:?}", s.text());
    assert!(radio.borrow().tone && radio.borrow().transmits_on == 1);
    (s, radio)
}

fn assert_is_as_before(s: &Stand, radio: &Radio, when: &str) {
    let status = s.status().remove(0);
    let view = status.radio().unwrap();
    assert_eq!((radio.receives_on, radio.transmits_on, radio.tone), (0, 1, true), "{when}: {:?}", view.notes);
    assert_eq!(radio.misled, 0, "{when}: a downlink reached the transmitter");
    assert_eq!((view.stage, view.notes.len()), (RadioStage::Following, 0), "{when}: {:?}", view.notes);
}

#[test]
fn a_radio_that_was_switched_off_and_on_is_prepared_again_before_it_is_followed() {
    // Before the pass, and in it.
    for begin in [30.0, 1010.0] {
        let (mut s, radio) = following_at(begin);
        radio.borrow_mut().off = true;
        s.run(begin + 8.0);
        radio.borrow_mut().forget();
        s.run(begin + 25.0);
        assert_is_as_before(&s, &radio.borrow(), &format!("silent at {begin} s"));
    }
}

#[test]
fn a_radio_that_lost_its_power_with_its_port_is_prepared_again_too() {
    for begin in [30.0, 1010.0] {
        let (mut s, radio) = following_at(begin);
        s.feed(LineInput::Lost("unplugged"));
        radio.borrow_mut().forget();
        s.run(begin + 1.0);
        s.feed(LineInput::Opened);
        s.run(begin + 20.0);
        assert_is_as_before(&s, &radio.borrow(), &format!("unplugged at {begin} s"));
    }
}
