//! Duplex radios that transmit on their main band, and can't have main and sub in one band.

use std::cell::RefCell;
use std::rc::Rc;
use std::sync::Arc;

use beamhand::device::dialect::Dialect;
use beamhand::device::*;
use beamhand::terms::*;

use crate::stand::*;

/// Main and sub, which `07 B0` exchanges; `07 D0` and `07 D1` select one. `05` sets a frequency,
/// least significant digits first, `03` reads it.
struct Bands {
    hertz: [i64; 2],
    selected: usize,
    exchanges: u32,
    refuses_exchange: bool,
    keyed: bool,
    exchanged_on_air: bool,
    /// So many of its next acknowledgements of an exchange are lost.
    loses: u32,
}

impl Bands {
    fn hear(&mut self, frame: &[u8]) -> Vec<u8> {
        let content = &frame[4..frame.len() - 1];
        let answer = match content {
            [0x03] => {
                let digits = format!("{:010}", self.hertz[self.selected]);
                let pair = |i: usize| u8::from_str_radix(&digits[i..i + 2], 16).unwrap();
                vec![0x03, pair(8), pair(6), pair(4), pair(2), pair(0)]
            }
            [0x04] => vec![0x04, 0x05, 0x01],
            [0x05, digits @ ..] => {
                let text: String = digits.iter().rev().map(|byte| format!("{byte:02X}")).collect();
                let hertz: i64 = text.parse().unwrap();
                let same_band = |other: i64| (hertz < 300_000_000) == (other < 300_000_000);
                if same_band(self.hertz[1 - self.selected]) {
                    vec![0xFA]
                } else {
                    self.hertz[self.selected] = hertz;
                    vec![0xFB]
                }
            }
            [0x07, 0xB0] if self.refuses_exchange => vec![0xFA],
            [0x07, 0xB0] => {
                self.hertz.reverse();
                self.exchanges += 1;
                self.exchanged_on_air |= self.keyed;
                if self.loses > 0 {
                    self.loses -= 1;
                    return vec![];
                }
                vec![0xFB]
            }
            [0x07, band] => {
                self.selected = usize::from(*band == 0xD1);
                vec![0xFB]
            }
            [0x0F] => vec![0x0F, 0x00],
            [0x1C, 0x00] => vec![0x1C, 0x00, u8::from(self.keyed)],
            [0x16 | 0x21, which] => vec![content[0], *which, 0x00],
            _ => vec![0xFB],
        };
        [&[0xFE, 0xFE, 0xE0, frame[2]][..], &answer, &[0xFD]].concat()
    }
}

fn two_bands(main: i64, sub: i64) -> Rc<RefCell<Bands>> {
    let hertz = [main, sub];
    let (refuses_exchange, keyed) = (false, false);
    let bands = Bands {
        hertz,
        selected: 0,
        exchanges: 0,
        refuses_exchange,
        keyed,
        exchanged_on_air: false,
        loses: 0,
    };
    Rc::new(RefCell::new(bands))
}

fn engaged(bands: &Rc<RefCell<Bands>>) -> Stand {
    engaged_for(bands, channel(None))
}

fn engaged_for(bands: &Rc<RefCell<Bands>>, channel: Channel) -> Stand {
    let file = "base = \"fe-frames\"\n[do]\nexchange_bands = \"07 B0\"\n";
    let dialect = Arc::new(Dialect::parse("two-bands", file).unwrap());
    let DeviceSetup::Radio(setup) = radio("fe-frames", Use::Both, Some(0x5A), "a") else { unreachable!() };
    let far = bands.clone();
    let mut s = Stand::new(
        plan(vec![DeviceSetup::Radio(RadioSetup { dialect, ..setup })], 9600),
        Box::new(move |frame| far.borrow_mut().hear(frame)),
    );
    s.run(0.5);
    s.order(0, Order::Radio(RadioOrder::Engage(Arc::new(Fixed(channel, 0.0)))));
    s.run(4.0);
    s.order(0, Order::Radio(RadioOrder::Proceed));
    s
}

#[test]
fn bands_that_are_the_other_way_round_are_exchanged_and_given_back_so() {
    let bands = two_bands(435_100_000, 145_200_000);
    let mut s = engaged(&bands);
    s.run(12.0);
    assert_eq!(bands.borrow().hertz, [145_950_000, 435_500_000]);
    let view = s.status().remove(0);
    let view = view.radio().unwrap();
    assert_eq!((view.stage, view.notes.len()), (RadioStage::Following, 0), "{:?}", view.notes);
    let memory = view.memory.clone().unwrap();
    s.order(0, Order::Radio(RadioOrder::GiveBack(memory)));
    s.run(20.0);
    assert_eq!(bands.borrow().hertz, [435_100_000, 145_200_000]);
    assert_eq!(bands.borrow().exchanges, 2);
}

#[test]
fn bands_that_are_right_are_not_exchanged() {
    let bands = two_bands(145_200_000, 435_100_000);
    let mut s = engaged(&bands);
    s.run(12.0);
    assert_eq!(bands.borrow().hertz, [145_950_000, 435_500_000]);
    assert_eq!(bands.borrow().exchanges, 0);
}

#[test]
fn an_exchange_waits_for_the_end_of_a_transmission() {
    let bands = two_bands(435_100_000, 145_200_000);
    let mut s = engaged(&bands);
    bands.borrow_mut().keyed = true;
    s.run(10.0);
    assert_eq!(bands.borrow().exchanges, 0);
    bands.borrow_mut().keyed = false;
    s.run(18.0);
    assert_eq!(bands.borrow().hertz, [145_950_000, 435_500_000]);
    assert!(!bands.borrow().exchanged_on_air);
}

#[test]
fn bands_that_can_not_be_exchanged_are_left_to_the_operator() {
    let bands = two_bands(435_100_000, 145_200_000);
    bands.borrow_mut().refuses_exchange = true;
    let mut s = engaged(&bands);
    s.run(12.0);
    let view = s.status().remove(0);
    let view = view.radio().unwrap();
    assert_eq!(view.stage, RadioStage::Preparing, "before AOS it is tried again");
    assert!(view.notes.iter().any(|note| note.what == "exchange bands"), "{:?}", view.notes);
}

#[test]
fn an_exchange_whose_answer_is_lost_is_not_undone_by_a_second_one() {
    let bands = two_bands(435_100_000, 145_200_000);
    bands.borrow_mut().loses = 1;
    let mut s = engaged(&bands);
    s.run(14.0);
    assert_eq!(bands.borrow().exchanges, 1);
    assert_eq!(bands.borrow().hertz, [145_950_000, 435_500_000]);
    assert_eq!(s.status()[0].radio().unwrap().notes, []);
}

#[test]
fn for_a_link_without_an_uplink_the_bands_are_exchanged_too() {
    let bands = two_bands(435_100_000, 145_200_000);
    let mut s = engaged_for(&bands, Channel { transmit: None, ..channel(None) });
    s.run(12.0);
    assert_eq!(bands.borrow().exchanges, 1);
    assert_eq!(bands.borrow().hertz, [145_200_000, 435_500_000]);
}
