//! What decides where a radio transmits is lost on the way, in a language that acknowledges
//! nothing. Made by hand from the semicolon examples: `FR` chooses the receive VFO and cancels
//! split, `FT` chooses the transmit VFO, modes and tones act on the receive VFO.

use std::cell::RefCell;
use std::rc::Rc;
use std::sync::Arc;

use beamhand::device::*;
use beamhand::terms::*;

use crate::on_two_metres;
use crate::stand::*;

#[derive(Default)]
struct Radio {
    receives_on: usize,
    transmits_on: usize,
    modes: [u8; 2],
    shift: bool,
    dials: [i64; 2],
    /// So many of the next `FT1;` that end a visit do not reach it.
    loses: u32,
    /// The second VFO's mode was set or asked for since the last FT.
    set: bool,
    /// Questions for the transmit VFO are not answered.
    mute: bool,
    /// Downlinks that reached the dial that transmits.
    misled: Vec<i64>,
}

impl Radio {
    fn hear(&mut self, frame: &[u8]) -> Option<Vec<u8>> {
        let text = String::from_utf8_lossy(frame);
        match &text[..] {
            "FR0;" | "FR1;" => {
                self.receives_on = usize::from(text == "FR1;");
                self.transmits_on = self.receives_on;
            }
            "MD;" => {
                self.set = self.receives_on == 1;
                return Some(
                    format!("MD{};", char::from(self.modes[self.receives_on].max(b'2'))).into_bytes(),
                );
            }
            "FT1;" if self.set && self.loses > 0 => {
                self.loses -= 1;
                self.set = false;
            }
            "FT0;" | "FT1;" => {
                self.transmits_on = usize::from(text == "FT1;");
                self.set = false;
            }
            "FT;" if self.mute => return Some(vec![]),
            "FT;" => return Some(format!("FT{};", self.transmits_on).into_bytes()),
            "OS;" => return Some(format!("OS{};", u8::from(self.shift)).into_bytes()),
            _ if text.len() == 14 => {
                let dial = usize::from(text.starts_with("FB"));
                self.dials[dial] = text[2..13].parse().unwrap();
                if dial == self.transmits_on && dial == 0 {
                    self.misled.push(self.dials[0]);
                }
            }
            _ if text.starts_with("MD") => {
                self.modes[self.receives_on] = frame[2];
                self.set = self.receives_on == 1;
            }
            _ => return None,
        }
        Some(vec![])
    }
}

/// Transmits on two metres only; prepared, and following a plan that slides by 100 Hz/s.
fn following(radio: Radio) -> (Stand, Rc<RefCell<Radio>>) {
    let shared = Rc::new(RefCell::new(radio));
    let far = shared.clone();
    let mut s = on_two_metres(move |frame| far.borrow_mut().hear(frame));
    s.order(0, slide(Mode::Usb, true));
    s.run(5.0);
    s.order(0, Order::Radio(RadioOrder::Proceed));
    s.run(20.0);
    (s, shared)
}

fn slide(mode: Mode, first: bool) -> Order {
    let mut channel = channel(None);
    for dial in [&mut channel.receive, &mut channel.transmit].into_iter().flatten() {
        dial.mode = mode;
    }
    let order = if first { RadioOrder::Engage } else { RadioOrder::Follow };
    Order::Radio(order(Arc::new(Fixed(channel, 20.0))))
}

fn notes(s: &Stand) -> Vec<Note> {
    s.status().remove(0).radio().unwrap().notes.clone()
}

#[test]
fn a_return_that_is_lost_is_noticed_before_the_downlink_reaches_the_transmitter() {
    let (mut s, radio) = following(Radio::default());
    assert_eq!((radio.borrow().transmits_on, &notes(&s)[..]), (1, &[][..]));
    // That of the command, and that of the question which reads it back.
    radio.borrow_mut().loses = 2;
    s.order(0, slide(Mode::Cw, false));
    s.run(22.0);
    assert_eq!(radio.borrow().loses, 0, "both were lost");
    assert_eq!(radio.borrow().transmits_on, 1, "split again");
    assert_eq!(radio.borrow().misled, [0; 0]);
    s.run(40.0);
    let behind = 435_500_000 + 20 * 40 - radio.borrow().dials[0];
    assert!(behind.abs() <= 20, "and the downlink is followed: {behind} Hz off");
}

#[test]
fn until_it_is_known_where_it_transmits_no_dial_leaves_the_segments() {
    let (mut s, radio) = following(Radio::default());
    radio.borrow_mut().mute = true;
    radio.borrow_mut().loses = 1;
    s.order(0, slide(Mode::Cw, false));
    s.run(40.0);
    assert_eq!(radio.borrow().misled, [0; 0]);
    assert!(notes(&s).iter().any(|note| note.what == "split on"), "{:?}", notes(&s));
    let behind = 145_950_000 + 20 * 40 - radio.borrow().dials[1];
    assert!(behind.abs() <= 20, "the uplink is inside, and goes on: {behind} Hz off");
    radio.borrow_mut().mute = false;
    s.run(60.0);
    assert_eq!((radio.borrow().transmits_on, &notes(&s)[..]), (1, &[][..]));
    assert!((435_500_000 + 20 * 60 - radio.borrow().dials[0]).abs() <= 20);
}

#[test]
fn a_transmitter_that_may_be_shifted_is_left_alone() {
    let (mut s, radio) = following(Radio { shift: true, ..Radio::default() });
    // The pass begins at 1000 s; until then the preparation is tried again.
    s.run(1020.0);
    assert_eq!(radio.borrow().dials[1], 0);
    let said = notes(&s);
    let why = |what: &str| said.iter().find(|note| note.what == what).map(|note| &note.why[..]);
    assert!(why("the transmit dial").is_some_and(|why| why.contains("shift")), "{said:?}");
    assert!(why("simplex").is_some(), "{said:?}");
}
