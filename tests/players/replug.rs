//! A cable is pulled, and what comes back on the port is another device. It is asked, but nothing
//! is set before an answer came that fits: the languages' questions are listed here by hand.

use std::cell::Cell;
use std::rc::Rc;
use std::sync::Arc;

use beamhand::device::line::LineInput;
use beamhand::device::*;
use beamhand::sim::mount::{Words, WordsSettings};
use beamhand::sim::radio::RadioSettings as Simulated;
use beamhand::sim::radio::five_byte::FiveByte;
use beamhand::sim::radio::frames::{Frames, FramesSettings};
use beamhand::sim::radio::semicolon::{Layout, Semicolon, SemicolonSettings};
use beamhand::sim::{Device, Handles, Wire, WireSettings};
use beamhand::terms::*;

use crate::stand::*;

/// The questions of each language that change nothing.
fn is_question(dialect: &str, frame: &[u8]) -> bool {
    match dialect {
        "semicolon-eleven" => [&b"ID;"[..], b"FA;", b"FB;", b"MD;", b"IF;", b"SM0;", b"BY;"].contains(&frame),
        "fe-frames" => {
            let asked: [&[u8]; 5] = [&[0x03], &[0x04], &[0x1C, 0x00], &[0x15, 0x01], &[0x15, 0x02]];
            asked.contains(&&frame[4..frame.len() - 1])
        }
        "five-byte" => frame[..4] == [0; 4] && [0x03, 0xE7, 0xF7].contains(&frame[4]),
        _ => [&b"AZ EL\r"[..], b"AZ\r"].contains(&frame),
    }
}

/// A device that lives a second for each frame that it hears.
fn simulated(device: impl Device + 'static) -> Answer {
    let (mut now, mut wire) = (t0(), Wire::new(device, WireSettings::default()));
    Box::new(move |frame| {
        now = later(now, 1.0);
        wire.write(frame, now);
        wire.read(later(now, 0.9))
    })
}

fn own(dialect: &str) -> Answer {
    let radio = Simulated::default();
    match dialect {
        "semicolon-eleven" => {
            let settings = SemicolonSettings { radio, ..SemicolonSettings::new(Layout::Eleven) };
            simulated(Semicolon::new(settings, Handles::default()))
        }
        "fe-frames" => {
            let settings = FramesSettings { radio, address: 0x4C, satellite_function: false };
            simulated(Frames::new(settings, Handles::default()))
        }
        "five-byte" => simulated(FiveByte::new(Simulated { duplex: false, ..radio }, Handles::default())),
        _ => simulated(Words::new(WordsSettings::default(), Handles::default())),
    }
}

/// What may come back instead: nothing, other radios, a rotator.
fn strangers() -> Vec<(&'static str, Answer)> {
    let nine = SemicolonSettings::new(Layout::Nine);
    let garbage = [0x3F, 0x3B, 0x00, 0xFF, 0x0D];
    vec![
        ("silence", Box::new(|_: &[u8]| Vec::new())),
        ("garbage", Box::new(move |_: &[u8]| garbage.to_vec())),
        ("nine digits", simulated(Semicolon::new(nine, Handles::default()))),
        ("a rotator", own("az-el-words")),
        ("a rotator's refusals", Box::new(|_: &[u8]| b"?>\r\n".to_vec())),
    ]
}

/// A device with a second one that can take its place on the port.
fn exchangeable(mut own: Answer, mut stranger: Answer) -> (Answer, Rc<Cell<bool>>) {
    let exchanged = Rc::new(Cell::new(false));
    let which = exchanged.clone();
    (Box::new(move |frame| if which.get() { stranger(frame) } else { own(frame) }), exchanged)
}

/// The cable is pulled, and put back into a stranger and later into the right device.
fn replugged(stand: &mut Stand, dialect: &str, exchanged: &Cell<bool>, what: &str) {
    stand.feed(LineInput::Lost("unplugged"));
    exchanged.set(true);
    stand.run(stand.now + 0.5);
    let before = stand.sent.len();
    stand.feed(LineInput::Opened);
    stand.run(stand.now + 12.0);
    let told = stand.sent[before..].iter().find(|(_, frame)| !is_question(dialect, frame));
    assert!(told.is_none(), "{what}: {told:02X?}");
    assert!(stand.sent.len() > before, "{what}: it is asked");
    stand.feed(LineInput::Lost("unplugged"));
    exchanged.set(false);
    stand.run(stand.now + 0.5);
    let before = stand.sent.len();
    stand.feed(LineInput::Opened);
    stand.run(stand.now + 20.0);
    let first_told = stand.sent[before..].iter().position(|(_, frame)| !is_question(dialect, frame));
    assert!(first_told.is_some_and(|at| at > 0), "{what}: asked first, then told: {first_told:?}");
}

/// Where a radio stands when the cable is pulled.
#[derive(Debug, Clone, Copy)]
enum At {
    Preparing,
    Following,
    GivingBack,
}

fn radio_at(at: At, dialect: &str, uses: Use, answer: Answer) -> Stand {
    let address = (dialect == "fe-frames").then_some(0x4C);
    let mut stand = Stand::new(plan(vec![radio(dialect, uses, address, "radio")], 9600), answer);
    stand.run(3.0);
    let moving = Arc::new(Fixed(channel(Some(670)), 50.0));
    stand.order(0, Order::Radio(RadioOrder::Engage(moving)));
    stand.run(8.0);
    stand.order(0, Order::Radio(RadioOrder::Proceed));
    let memory = RadioMemory {
        receive: DialMemory { hertz: Some(Hertz(435_000_000)), mode: Some(Mode::Usb) },
        transmit: DialMemory { hertz: Some(Hertz(145_000_000)), mode: Some(Mode::Usb) },
        ..RadioMemory::default()
    };
    match at {
        At::Preparing => stand.run(8.05),
        At::Following => stand.run(40.0),
        At::GivingBack => {
            stand.run(40.0);
            stand.order(0, Order::Radio(RadioOrder::GiveBack(memory)));
        }
    }
    stand
}

#[test]
fn another_device_in_a_radios_place_is_asked_and_told_nothing() {
    for (dialect, uses) in
        [("semicolon-eleven", Use::Both), ("fe-frames", Use::Both), ("five-byte", Use::Receive)]
    {
        for at in [At::Preparing, At::Following, At::GivingBack] {
            for (stranger, answer) in strangers() {
                let (answer, exchanged) = exchangeable(own(dialect), answer);
                let mut stand = radio_at(at, dialect, uses, answer);
                replugged(&mut stand, dialect, &exchanged, &format!("{dialect} {at:?} {stranger}"));
            }
        }
    }
}

#[test]
fn another_device_in_a_rotators_place_is_asked_and_told_nothing() {
    for (stranger, answer) in strangers().into_iter().filter(|(name, _)| *name != "a rotator") {
        let (answer, exchanged) = exchangeable(own("az-el-words"), answer);
        let mut stand =
            Stand::new(plan(vec![rotator("az-el-words", AngleRange::new(0.0, 450.0))], 9600), answer);
        stand.run(2.0);
        stand.order(0, Order::Rotator(RotatorOrder::GoTo(AzEl::new(200.0, 10.0))));
        stand.run(4.0);
        replugged(&mut stand, "az-el-words", &exchanged, stranger);
    }
}
